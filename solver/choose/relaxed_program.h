#pragma once
// The linear program of a relaxed farm (relaxation.cpp): its shape is made once, its numbers are those of a box.

#include <array>
#include <utility>
#include <vector>

#include "solver/choose/linear_program.h"
#include "solver/choose/relaxed_farm.h"

namespace ebb::choose {

/// Columns and rows of one link; -1 (or empty) where it has none.
struct LinkPlace {
    std::int32_t flow = -1, from = -1, to = -1;   ///< columns; from and to: the heads shown
    std::int32_t from_chord = -1, to_chord = -1;  ///< rows of ports
    std::vector<std::int32_t> part;               ///< columns t_s
    std::int32_t flow_row = -1;
    std::array<std::int32_t, kLines> under{}, over{};
    std::int32_t power = -1;  ///< column
    std::array<std::int32_t, kLines> power_rows{};
    double money_per_w = 0.0, speed = 0.0;
};

class RelaxedProgram {
public:
    explicit RelaxedProgram(const RelaxedFarm& farm);

    /// The numbers of a box that was just tightened; `options` as tighten() left them.
    void put(const Box& box, const std::vector<std::vector<Interval>>& options);

    // what solve() found, in SI and money
    double flow_m3_s(std::size_t place) const { return value(links_[place].flow) * flow_unit_; }
    double drop_m(std::size_t place) const { return value(links_[place].from) - value(links_[place].to); }
    double power_w(std::size_t place) const { return value(links_[place].power); }
    double share(std::size_t choice, std::size_t size) const { return value(share_[choice][size]); }
    /// Flow of a size of a pipe to choose, were it chosen alone: in its interval `carried`.
    double flow_of_size_m3_s(std::size_t place, std::size_t size, double share, const Interval& carried) const;
    /// Money that a metre is worth at the lines under (over) the law of a link.
    double money_per_m(std::size_t place, bool under) const;
    const LinkPlace& link(std::size_t place) const { return links_[place]; }

    /// Least cost of the box, safe (relaxation.h); +infinity: no design.
    LinearOutcome solve(double cutoff);
    double bound() const { return program_.safe_bound() * money_; }

    /// Asks for the least (sign 1) or the greatest (-1) flow of a link among designs of at most `cutoff` instead; `end` gives it, safe.
    void ask_for_flows(double cutoff);
    double end_of_flow_m3_s(std::size_t place, double sign);
    void ask_for_cost();

private:
    double value(std::int32_t column) const { return program_.values()[static_cast<std::size_t>(column)]; }
    void add_shares();
    void add_cost_row();
    void add_case(const RelaxedCase& one);
    LinkPlace add_link(const RelaxedCase& one, const RelaxedLink& link);
    std::int32_t shown_column(std::int32_t head, double port, std::int32_t& chord);
    void add_power(const RelaxedCase& one, const RelaxedPump& pump);
    std::pair<std::vector<std::int32_t>, std::vector<double>> around(const RelaxedCase& one, std::size_t node) const;

    void put_link(const Box& box, const RelaxedCase& one, std::size_t i);
    struct PortPlace {
        std::int32_t column, chord, head;
        double port_m;
    };
    void put_port(const PortPlace& place, const Interval& level);
    void put_parts(const RelaxedLink& link, std::size_t place);
    void put_lines(const RelaxedCase& one, const RelaxedLink& link, std::size_t place, bool under);
    void put_power(const LinkPlace& place, const network::PumpLaw& law, const Interval& flow);
    void put_inflow(const Box& box, const RelaxedCase& one, const RelaxedInflow& wanted, std::int32_t row);
    std::array<Line, kLines> lines_of(const LinkLaw& law, const Interval& flow, bool under) const;

    const RelaxedFarm& farm_;
    LinearProgram program_;
    const std::vector<std::vector<Interval>>* options_ = nullptr;
    std::vector<std::vector<Interval>> seen_;             ///< per link: options and flow that its numbers were made of
    std::vector<std::vector<std::int32_t>> share_;        ///< columns x
    std::vector<LinkPlace> links_;                        ///< per Box::flow
    std::vector<std::int32_t> heads_;                     ///< columns, per Box::head
    std::vector<std::vector<std::int32_t>> feed_rows_;    ///< per arrangement and inflow
    std::vector<std::pair<std::int32_t, double>> costs_;  ///< columns and what they cost
    std::int32_t cost_row_ = -1;
    double money_ = 1.0, flow_unit_ = 1.0;  ///< units of the program
};

}  // namespace ebb::choose
