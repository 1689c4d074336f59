#pragma once
// Choosing pipe sizes: what is to be chosen, and what a design is worth.
//
// A design gives every choice (a pipe marked choose, or a group of pipes of one size) one of its sizes. It costs its pipes plus the energy of
// its years; it is allowed when every target that an arrangement asks is met in every arrangement that counts, the chosen pipes keep within the
// limits, nothing runs over a rim, no pump that runs draws air at a bare intake, and every siphon that gets water starts and stops.
// (Least-cost design of networks with discrete sizes: E. Alperovits and U. Shamir, Water Resources Research 13(6), 1977, 885-900.)

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "solver/choose/economy.h"
#include "solver/layout/layout.h"

namespace ebb::choose {

/// One thing to choose: pipes of one size.
struct Choice {
    std::string name;                 ///< of the group, or of its only pipe
    std::vector<std::int32_t> pipes;  ///< of the layout
    std::int32_t series = -1;         ///< of Layout::sold_series: option k is its size k
    std::vector<double> cost;         ///< per option: price per metre times all their length; rises with the bore or not, as the prices do
    double bore_m(const layout::Layout& layout, std::size_t option) const {
        return layout.sold_series[static_cast<std::size_t>(series)].sizes[option].bore_m;
    }
};

/// Limits in force: what the layout says, else the defaults of common practice (NaN: no limit). They bind chosen pipes alone:
///  - a pipe under pressure: its velocity, of a suction line by the least of the two; above the least velocity while water flows in it;
///  - a drain while water flows in it: its fill and its least velocity; one whose lower end is under water runs full whatever its size, and keeps
///    within the greatest velocity instead.
struct LimitsInForce {
    double greatest_velocity_m_s = 1.5;
    double greatest_suction_velocity_m_s = 1.2;
    double least_velocity_m_s = layout::kNotSaid;
    double greatest_drain_fill = 0.75;
    double least_drain_velocity_m_s = layout::kNotSaid;
};
LimitsInForce limits_of(const layout::Layout& layout);

/// Water that a bed is to get in an arrangement, besides what the layout asks, so that it fills in time in a routine (sizing_in_time.h).
struct FeedAsked {
    std::int32_t arrangement = -1, vessel = -1;
    double inflow_m3_s = 0.0;
};

/// The choices of a layout with the options, costs and limits of each; made by sizing_problem_of().
struct SizingProblem {
    const layout::Layout* layout = nullptr;  ///< outlives this
    std::vector<std::int32_t> arrangements;  ///< those that count
    std::vector<Choice> choices;
    LimitsInForce limits;
    Costing costing;
    std::vector<std::uint8_t> suction;  ///< per pipe of the layout: it leads to a pump, and nothing but tees and filters stands between
    double least_margin = 0.0;          ///< what every target must have to spare (margins.h); the limits are kept as they are
    std::vector<FeedAsked> feeds;       ///< kept like limits; a lower bound that leaves them out holds all the same
};

/// Greatest velocity that the limits let a pipe under pressure have, m/s; NaN: any.
double greatest_velocity_m_s(const SizingProblem& problem, std::int32_t pipe);

/// `layout` must have passed validate(); its pipes marked choose have a sold series each.
SizingProblem sizing_problem_of(const layout::Layout& layout, std::span<const std::int32_t> arrangements, const EconomySaid& said = {});

/// One option per choice.
using Design = std::vector<std::uint8_t>;

/// Cost of the pipes of a design.
double pipes_cost(const SizingProblem& problem, const Design& design);

/// The layout with the sizes of a design in it: bore, wall, price and the name of the size.
layout::Layout layout_with(const SizingProblem& problem, const Design& design);

/// The design whose sizes have the bores that the layout has now; the next larger where there is none of that bore (else the largest).
Design design_as_drawn(const SizingProblem& problem);

/// One target or limit in one arrangement, and how far it is met or missed.
struct Judgement {
    std::int32_t arrangement = -1;
    std::string about;     ///< vessel, tee or pipe
    std::string quantity;  ///< of a target (settle::Target), or "velocity_m_s", "fill_ratio", "spill_m3_s", "spilled_m3", "inflow_m3_s",
                           ///< "intake_bare", "siphon"
    bool is_limit = false;
    bool at_most = false;
    bool met = false;
    double wanted = layout::kNotSaid, got = layout::kNotSaid;
    double margin = 0.0;  ///< margins.h; negative where it is missed
};

/// What an Evaluator says of one design.
struct Verdict {
    bool solved = false;   ///< every arrangement has a settled (or given) state, or one in which siphons start and stop
    bool allowed = false;  ///< solved, all targets met, all limits kept
    double pipes_cost = 0.0;
    double energy_a_year_kwh = 0.0;
    double total_cost = 0.0;            ///< pipes, and the present worth of the energy
    bool power_known = true;            ///< false: a running pump has no power curve, and its energy counts as nothing
    double worst_margin = 0.0;          ///< least over targets and limits; +infinity without any, -infinity when not solved
    double targets_margin = 0.0;        ///< least over targets alone
    bool limits_kept = false;           ///< solved, all limits kept, nothing runs over
    double missed = 0.0;                ///< sum of what is missed, for a search that comes from outside; 0 when allowed
    std::int32_t unsolved = -1;         ///< first arrangement without a settled state
    bool unfinished = false;            ///< a solve did not arrive: whether the design would be allowed is not known
    std::string why;                    ///< of that; filled by Evaluator::explain only
    std::vector<Judgement> judgements;  ///< every target and limit, the worst first; filled by Evaluator::explain only
};

/// Is `one` a better design than `other`: allowed first, then cheaper, then the smaller in the order of the choices (which makes the best unique)?
bool better(const Verdict& one, const Design& one_design, const Verdict& other, const Design& other_design);

/// Solves designs. A workspace of one thread: copies of the problem's layout, networks and solvers, warm from design to design; the verdict does not
/// depend on what was solved before (to the tolerances of the solve).
class Evaluator {
public:
    explicit Evaluator(const SizingProblem& problem);
    ~Evaluator();
    Evaluator(Evaluator&&) noexcept;
    Evaluator& operator=(Evaluator&&) noexcept;

    /// Quick: the settled state directly, without the walk from the start depths (farm.h does both). What the search calls. Allocates nothing in
    /// networks without vessels.
    Verdict evaluate(const Design& design);

    /// With the walk, as explain() does: for farms in which what spills on the way decides. Slower.
    void walk_from_now_on();

    /// Forgets what it solved before.
    void start_cold();

    /// As `flows` answers it, with every shortfall: what a design that is to be shown must pass.
    Verdict explain(const Design& design);

    /// The same of the layout as it is drawn, whose bores need not be sold. Its pipes cost what the layout says, or what the series does of their
    /// bore; NaN where neither does.
    Verdict explain_drawn();

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::choose
