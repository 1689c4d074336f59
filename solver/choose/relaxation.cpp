// The linear program that bounds a box of the sizing problem.
//
// Unknowns: a share x_s of every size s of every choice (0 to 1, together 1), and in every arrangement the flow q of each open link and the head of
// each node. A design is a point where every x is 0 or 1. The program asks of (x, q, heads) only what every allowed design of the box fulfils, so its
// least cost is a lower bound on theirs:
//
//  - balances at the nodes, targets, and ports, which are linear or between lines (shown >= level, shown >= port, shown <= the chord);
//  - of a link with a law, lines under and over the law (law_lines.h) on the interval of its flow;
//  - of a pipe to choose, the convex hull of the choices: its flow is parted into shares q_s, of which each lies in the interval that size s can
//  carry
//    in the box, [l_s x_s, u_s x_s], written q_s = l_s x_s + (u_s - l_s) t_s, 0 <= t_s <= x_s; and the lines of all sizes are added up,
//        dh >= sum_s (a_s q_s + b_s x_s),
//    which for x = 0 or 1 is the line of the size that was chosen (disjunctive programming: E. Balas, SIAM J. Algebraic Discrete Methods 6, 1985;
//    perspective of the lines). With flows in narrow intervals this is the linear program of split pipes (Alperovits and Shamir 1977), and its
//    gap to the flows falls with the square of their width;
//  - the energy of a pump is at least its lines under the power.
// Rows give way by the slack of a solved network (relaxed_farm.h); the bound is that of linear_program.h, safe against rounding.
//
// What is loose shows where to part the box: a law that the program's own flow and drop break by so much, times the price of a metre there, against
// the money at stake in sizes that are shared.
//
// Cost: 2 unknowns per pipe and size and 6 rows per pipe; 1 to 10 ms warm for 34 pipes of 6 sizes. Failure: a program the simplex code cannot
// finish keeps the box's old bound, and the box is parted all the same.

#include "solver/choose/relaxation.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/relaxed_farm.h"
#include "solver/choose/relaxed_program.h"

namespace ebb::choose {

namespace {

constexpr double kInfinity = HUGE_VAL;
constexpr double kWholeShare = 1e-6;    // a share this near to 0 or 1 is that
constexpr double kBroken_m = 1e-6;      // a law broken by less is kept
constexpr double kSharedWorth = 0.1;    // of the money at stake in a shared size, against that of a broken law
constexpr double kNarrowFlow = 1e-6;    // share of a flow that matters: narrower intervals are not parted
constexpr double kSqueezedFlow = 1e-3;  // nor squeezed
constexpr double kInner = 0.2;          // a flow is parted in the inner part of its interval

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

}  // namespace

struct Relaxation::Impl {
    RelaxedFarm farm;
    RelaxedProgram program;
    std::vector<std::vector<Interval>> options;  ///< of the box tightened last

    explicit Impl(const SizingProblem& problem) : farm(problem), program(farm) {}

    /// Loss of a link by the mixture of sizes and flows that the program made of it, m.
    double loss_of_mixture(const RelaxedCase& one, std::size_t i) const {
        const RelaxedLink& link = one.links[i];
        const std::size_t place = one.first_flow + i;
        if (link.choice < 0) return farm.law(one, link, 0).loss_m(program.flow_m3_s(place));
        double loss = 0.0;
        for (std::size_t s = 0; s < options[place].size(); ++s) {
            const double share = program.share(at(link.choice), s);
            if (options[place][s].low > options[place][s].high || share < kWholeShare) continue;
            loss += share * farm.law(one, link, s).loss_m(program.flow_of_size_m3_s(place, s, share, options[place][s]));
        }
        return loss;
    }

    /// Money by which repairing the law (and power) of a link would raise the bound, at the program's own prices.
    double worth_of_law(const Box& box, const RelaxedCase& one, std::size_t i) const {
        const RelaxedLink& link = one.links[i];
        const std::size_t place = one.first_flow + i;
        double worth = 0.0;
        if (link.has_law) {
            const double over = loss_of_mixture(one, i) - program.drop_m(place);
            if (over > kBroken_m && link.holds_from_below(box.flow[place])) worth += over * program.money_per_m(place, true);
            if (over < -kBroken_m && link.holds_from_above(box.flow[place])) worth += -over * program.money_per_m(place, false);
        }
        const LinkPlace& columns = program.link(place);
        if (columns.power >= 0) {
            const network::PumpLaw& law = farm.network().pumps[at(farm.network().links[at(link.link)].law_index)];
            const physics::PumpDuty duty{.speed = columns.speed, .count = law.count, .wear = law.wear};
            worth += columns.money_per_w * std::max(0.0, law.curve.power_w(program.flow_m3_s(place), duty) - program.power_w(place));
        }
        return worth;
    }

    /// Where to part the flow of a link: at 0 where it may turn round, else where the program has it, but not near an end.
    double cut(const Interval& flow, double now) const {
        const double low = flow.low + kInner * flow.width(), high = flow.high - kInner * flow.width();
        if (low < 0.0 && high > 0.0) return 0.0;
        return std::clamp(now, low, high);
    }

    void consider(std::optional<Split>& best, const Split& split) const {
        if (!best || split.worth > best->worth) best = split;
    }

    std::optional<Split> best_split(const Box& box) const {
        std::optional<Split> best;
        for (const RelaxedCase& one : farm.cases)
            for (std::size_t i = 0; i < one.links.size(); ++i) {
                const std::size_t place = one.first_flow + i;
                if (box.flow[place].width() < kNarrowFlow * farm.flow_scale_m3_s) continue;
                const double worth = worth_of_law(box, one, i);
                if (worth > 0.0)
                    consider(best, {.of_flow = true, .place = place, .at = cut(box.flow[place], program.flow_m3_s(place)), .worth = worth});
            }
        for (std::size_t c = 0; c < box.may.size(); ++c)
            if (const auto split = split_of_choice(box, c)) consider(best, *split);
        return best;
    }

    /// Parts the sizes of a choice at the mean of its shares; worth the money between the two parts, by the smaller of their shares.
    std::optional<Split> split_of_choice(const Box& box, std::size_t c) const {
        const std::vector<double>& cost = farm.problem->choices[c].cost;
        double mean = 0.0, most = 0.0;
        std::size_t last = 0;
        for (std::size_t s = 0; s < cost.size(); ++s) {
            mean += static_cast<double>(s) * program.share(c, s);
            most = std::max(most, program.share(c, s));
            if (box.may[c][s] != 0) last = s;
        }
        if (most > 1.0 - kWholeShare) return std::nullopt;
        std::size_t cut = static_cast<std::size_t>(std::max(mean, 0.0));
        while (cut >= last && cut > 0) --cut;
        double below = 0.0, above = 0.0, cost_below = 0.0, cost_above = 0.0;
        for (std::size_t s = 0; s < cost.size(); ++s) {
            const double share = program.share(c, s);
            (s <= cut ? below : above) += share;
            (s <= cut ? cost_below : cost_above) += share * cost[s];
        }
        if (std::min(below, above) < kWholeShare) return std::nullopt;
        const double apart = std::abs(cost_above / above - cost_below / below);
        return Split{.of_flow = false, .place = c, .at = static_cast<double>(cut), .worth = kSharedWorth * std::min(below, above) * apart};
    }

    Relaxed solve(const Box& box, double cutoff) {
        program.put(box, options);
        Relaxed result;
        const LinearOutcome outcome = program.solve(cutoff);
        result.bound = program.bound();
        result.solved = outcome == LinearOutcome::optimal;
        if (!result.solved || result.bound >= cutoff) return result;
        for (std::size_t c = 0; c < box.may.size(); ++c) {
            result.share.emplace_back();
            for (std::size_t s = 0; s < box.may[c].size(); ++s) result.share.back().push_back(program.share(c, s));
        }
        result.split = best_split(box);
        return result;
    }

    bool squeeze_link(Box& box, std::size_t place, double cutoff, std::int64_t& programs) {
        program.put(box, options);
        program.ask_for_flows(cutoff);
        Interval& flow = box.flow[place];
        const double low = program.end_of_flow_m3_s(place, 1.0), high = program.end_of_flow_m3_s(place, -1.0);
        program.ask_for_cost();
        programs += 2;
        if (low == kInfinity || high == -kInfinity) return false;
        const double slack = farm.flow_slack_m3_s();
        flow = {std::max(flow.low, low - slack), std::min(flow.high, high + slack)};
        if (flow.low > flow.high + 2.0 * slack) return false;
        if (flow.low > flow.high) std::swap(flow.low, flow.high);
        return choose::tighten(farm, box, options);
    }
};

std::size_t sizes_left(const Box& box, std::size_t choice) {
    return static_cast<std::size_t>(std::count(box.may[choice].begin(), box.may[choice].end(), std::uint8_t{1}));
}

std::int64_t designs_left(const Box& box, std::int64_t most) {
    std::int64_t count = 1;
    for (std::size_t c = 0; c < box.may.size(); ++c) {
        const auto sizes = static_cast<std::int64_t>(sizes_left(box, c));
        if (sizes > 0 && count >= (most + sizes - 1) / sizes) return most;
        count *= sizes;
    }
    return count;
}

Relaxation::Relaxation(const SizingProblem& problem) : impl_(std::make_unique<Impl>(problem)) {}
Relaxation::~Relaxation() = default;
Relaxation::Relaxation(Relaxation&&) noexcept = default;
Relaxation& Relaxation::operator=(Relaxation&&) noexcept = default;

Box Relaxation::root() const { return impl_->farm.root; }

bool Relaxation::tighten(Box& box) {
    do {
        if (!choose::tighten(impl_->farm, box, impl_->options)) return false;
    } while (impl_->farm.add_pressures(box));
    return true;
}

Relaxed Relaxation::solve(const Box& box, double cutoff) { return impl_->solve(box, cutoff); }

bool Relaxation::squeeze(Box& box, double cutoff, std::int64_t& programs, const std::stop_token& stop) {
    if (!tighten(box)) return false;
    for (std::size_t place = 0; place < box.flow.size() && !stop.stop_requested(); ++place) {
        if (box.flow[place].width() < kSqueezedFlow * impl_->farm.flow_scale_m3_s) continue;
        if (!impl_->squeeze_link(box, place, cutoff, programs)) return false;
    }
    return true;
}

}  // namespace ebb::choose
