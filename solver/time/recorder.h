#pragma once
// Keeps the account of a run: extremes, averages, energy, what went through each pipe and each boundary, levels against time.
//
// Flows are integrated over the steps of the integration by the trapezoidal rule, by Simpson's where they bend; volumes are the integration's own.
// Extremes of levels between two steps are those of the cubic through both ends with their rates.

#include <span>
#include <vector>

#include "solver/time/bed_watch.h"
#include "solver/time/clockwork.h"
#include "solver/time/stepper.h"
#include "solver/time/water_balance.h"

namespace ebb::time {

/// Sums that only grow, so that a cycle's share is the difference of two.
struct Totals {
    double t_s = 0.0;
    std::vector<double> inflow_m3, depth_s, volume_s, spilled_m3, energy_j;
};

class Recorder {
public:
    Recorder(const layout::Layout& layout, const network::Network& network, const Plan& plan, const Options& options, Course& course);

    /// Just after a restart: flows have jumped, states have not.
    void begin(double t_s, std::span<const double> state, const WaterBalance& balance, const Moment& moment);

    /// A step has ended here. `inside`: for even series.
    void step(double t_s, std::span<const double> state, WaterBalance& balance, const Stepper& stepper);

    void intake(std::size_t pump, bool bare) { bare_[pump] = bare; }
    Totals totals(double t_s, std::span<const double> state, const WaterBalance& balance) const;
    std::span<const double> inflow() const { return now_.inflow; }
    std::span<const double> outflow() const { return now_.outflow; }
    BedWatch& beds() { return beds_; }

    /// Net rate of level of every vessel, m/s, at the last sample; the largest.
    double fastest_level_m_s() const;

    /// Fills the figures of the course that come from the account. `from`, `to`: the cycle averages are taken over.
    void finish(const Totals& from, const Totals& to, std::span<const double> state, const WaterBalance& balance);

private:
    struct Sample {
        double t_s = 0.0;
        std::vector<double> level, volume, area, inflow, outflow, net;  // per vessel
        std::vector<double> pump_flow, power;
        std::vector<double> link_flow;
        std::vector<double> spilled, pond;  // so far; with keep_flows only
    };
    void sample(double t_s, std::span<const double> state, const WaterBalance& balance, Sample& into) const;
    void extremes(std::size_t vessel);
    void note_depth(std::size_t vessel, double level, double t_s);
    double between(double first, double middle, double second, double length_s) const;
    void look_at_middle(WaterBalance& balance, const Stepper& stepper);
    void pumps_between(double length_s);
    void pipes_between(double length_s);
    void series(double t_s, const WaterBalance& balance, const Stepper& stepper);
    void row(double t_s, std::span<const double> depth, const Sample& flows);

    const layout::Layout* layout_;
    const network::Network* network_;
    const Options* options_;
    Course* course_;
    BedWatch beds_;
    Sample before_, middle_, now_;
    bool has_middle_ = false;
    std::vector<double> speed_;
    std::vector<std::uint8_t> bare_;
    std::vector<double> inflow_m3_, depth_s_, volume_s_, energy_j_, state_inside_, depth_inside_;
    double next_row_s_ = 0.0;
};

}  // namespace ebb::time
