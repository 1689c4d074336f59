#include "solver/choose/sizing.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <unordered_map>

namespace ebb::choose {

namespace {

using layout::Kind;
using layout::Layout;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Lines joined by tees and filters, as sets of pipes; which of them touch an inlet of a pump, and which anything that gives pressure.
class Lines {
public:
    explicit Lines(const Layout& layout) : layout_(layout), root_(layout.tees.size() + layout.filters.size() + layout.pipes.size()) {
        std::iota(root_.begin(), root_.end(), std::size_t{0});
        for (std::size_t p = 0; p < layout.pipes.size(); ++p)
            for (const layout::End* end : {&layout.pipes[p].from, &layout.pipes[p].to}) {
                if (end->ref.kind == Kind::tee) join(pipe(p), at(end->ref.index));
                if (end->ref.kind == Kind::filter) join(pipe(p), layout.tees.size() + at(end->ref.index));
            }
    }

    /// Per pipe: it leads to a pump, and no pump or supply presses on its line.
    std::vector<std::uint8_t> suction() {
        std::vector<std::uint8_t> leads(root_.size(), 0), pressed(root_.size(), 0), result(layout_.pipes.size(), 0);
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) {
            const layout::Pipe& line = layout_.pipes[p];
            if (line.to.ref.kind == Kind::pump) leads[find(pipe(p))] = 1;
            if (line.from.ref.kind == Kind::pump || line.from.ref.kind == Kind::supply) pressed[find(pipe(p))] = 1;
        }
        for (std::size_t p = 0; p < result.size(); ++p) {
            const std::size_t line = find(pipe(p));
            const bool at_pump = layout_.pipes[p].to.ref.kind == Kind::pump;
            result[p] = at_pump || (leads[line] != 0 && pressed[line] == 0) ? 1 : 0;
        }
        return result;
    }

private:
    std::size_t pipe(std::size_t p) const { return layout_.tees.size() + layout_.filters.size() + p; }
    std::size_t find(std::size_t n) {
        while (root_[n] != n) n = root_[n] = root_[root_[n]];
        return n;
    }
    void join(std::size_t one, std::size_t other) { root_[find(one)] = find(other); }

    const Layout& layout_;
    std::vector<std::size_t> root_;
};

void take_if_said(double said_value, double& limit) {
    if (said(said_value)) limit = said_value;
}

/// Pipes by the name of their group, in the order of their first pipe.
std::vector<Choice> choices_of(const Layout& layout) {
    std::vector<Choice> choices;
    std::unordered_map<std::string, std::size_t> by_name;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const layout::Pipe& pipe = layout.pipes[p];
        if (!pipe.choose) continue;
        assert(pipe.sold_series >= 0 && "the reader gives every pipe to choose its series");
        const std::string& name = pipe.choose_group.empty() ? pipe.id : pipe.choose_group;
        const auto [place, fresh] = by_name.try_emplace(name, choices.size());
        if (fresh) choices.push_back({.name = name, .pipes = {}, .series = pipe.sold_series, .cost = {}});
        Choice& choice = choices[place->second];
        assert(choice.series == pipe.sold_series && "pipes of a group are of one series");
        choice.pipes.push_back(static_cast<std::int32_t>(p));
    }
    for (Choice& choice : choices) {
        assert(layout.sold_series[at(choice.series)].sizes.size() <= 255 && "a Design counts in bytes");
        for (const layout::SoldSize& size : layout.sold_series[at(choice.series)].sizes) {
            double cost = 0.0;
            for (const std::int32_t p : choice.pipes) cost += size.price_per_metre * layout.pipes[at(p)].length_m;
            choice.cost.push_back(cost);
        }
    }
    return choices;
}

}  // namespace

LimitsInForce limits_of(const Layout& layout) {
    LimitsInForce limits;
    take_if_said(layout.limits.greatest_velocity_m_s, limits.greatest_velocity_m_s);
    take_if_said(layout.limits.greatest_suction_velocity_m_s, limits.greatest_suction_velocity_m_s);
    take_if_said(layout.limits.least_velocity_m_s, limits.least_velocity_m_s);
    take_if_said(layout.limits.greatest_drain_fill, limits.greatest_drain_fill);
    take_if_said(layout.limits.least_drain_velocity_m_s, limits.least_drain_velocity_m_s);
    return limits;
}

double greatest_velocity_m_s(const SizingProblem& problem, std::int32_t pipe) {
    const LimitsInForce& limits = problem.limits;
    return problem.suction[at(pipe)] != 0 ? std::fmin(limits.greatest_velocity_m_s, limits.greatest_suction_velocity_m_s)
                                          : limits.greatest_velocity_m_s;
}

SizingProblem sizing_problem_of(const Layout& layout, std::span<const std::int32_t> arrangements, const EconomySaid& said_now) {
    SizingProblem problem;
    problem.layout = &layout;
    problem.arrangements.assign(arrangements.begin(), arrangements.end());
    problem.choices = choices_of(layout);
    problem.limits = limits_of(layout);
    problem.costing = costing_of(layout, arrangements, said_now);
    problem.suction = Lines(layout).suction();
    return problem;
}

double pipes_cost(const SizingProblem& problem, const Design& design) {
    double cost = 0.0;
    for (std::size_t c = 0; c < design.size(); ++c) cost += problem.choices[c].cost[design[c]];
    return cost;
}

Layout layout_with(const SizingProblem& problem, const Design& design) {
    Layout result = *problem.layout;
    for (std::size_t c = 0; c < design.size(); ++c) {
        const Choice& choice = problem.choices[c];
        const layout::SoldSize& size = result.sold_series[at(choice.series)].sizes[design[c]];
        for (const std::int32_t p : choice.pipes) {
            layout::Pipe& pipe = result.pipes[at(p)];
            pipe.bore_m = size.bore_m;
            pipe.wall_m = size.wall_m;
            pipe.price_per_metre = size.price_per_metre;
            pipe.size = size.name;
            pipe.series = result.sold_series[at(choice.series)].name;
        }
    }
    return result;
}

Design design_as_drawn(const SizingProblem& problem) {
    constexpr double kSame_m = 1e-6;
    Design design;
    for (const Choice& choice : problem.choices) {
        const auto& sizes = problem.layout->sold_series[at(choice.series)].sizes;
        double drawn = 0.0;
        for (const std::int32_t p : choice.pipes) drawn = std::max(drawn, problem.layout->pipes[at(p)].bore_m);
        std::size_t option = 0;
        while (option + 1 < sizes.size() && sizes[option].bore_m < drawn - kSame_m) ++option;
        design.push_back(static_cast<std::uint8_t>(option));
    }
    return design;
}

bool better(const Verdict& one, const Design& one_design, const Verdict& other, const Design& other_design) {
    constexpr double kSameCost = 1e-9;  // of the cost: sums in another order, and power to the solver's tolerance
    if (one.allowed != other.allowed) return one.allowed;
    const double same = kSameCost * std::max(1.0, std::abs(other.total_cost));
    if (std::abs(one.total_cost - other.total_cost) > same) return one.total_cost < other.total_cost;
    return one_design < other_design;
}

}  // namespace ebb::choose
