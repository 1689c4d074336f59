#include "solver/survey/again.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace ebb::survey {

namespace {

constexpr double kFlowFloor_m3_s = 1.0 / 60000.0, kHeightFloor_m = 0.010;

/// A figure of a survey and where it stands in the answer of a single solve.
struct Figure {
    enum class Of : std::uint8_t { inflow, depth, pump_flow, pump_head, target, none } of = Of::none;
    std::size_t index = 0;
    Extreme extreme;
};

std::vector<Figure> figures_of(const Statistics& statistics) {
    std::vector<Figure> figures;
    const auto both = [&](Figure::Of of, std::size_t index, const Range& range) {
        for (const Extreme& extreme : {range.least, range.greatest})
            if (extreme.there()) figures.push_back({of, index, extreme});
        for (const PlainExtreme& plain : {range.plain_least, range.plain_greatest})
            if (plain.there()) figures.push_back({of, index, {plain.value, plain.named.combination}});
    };
    for (std::size_t v = 0; v < statistics.vessels.size(); ++v) {
        both(Figure::Of::inflow, v, statistics.vessels[v].inflow_m3_s);
        both(Figure::Of::depth, v, statistics.vessels[v].depth_m);
    }
    for (std::size_t p = 0; p < statistics.pumps.size(); ++p) {
        both(Figure::Of::pump_flow, p, statistics.pumps[p].flow_m3_s);
        both(Figure::Of::pump_head, p, statistics.pumps[p].head_m);
    }
    for (std::size_t t = 0; t < statistics.targets.size(); ++t) {
        const TargetStatistics& target = statistics.targets[t];
        if (target.shortfall.there()) figures.push_back({Figure::Of::target, t, {target.worst_got, target.shortfall.named.combination}});
    }
    const auto only_solved = [&](std::uint64_t combination) {
        if (combination != kNoCombination) figures.push_back({Figure::Of::none, 0, {0.0, combination}});
    };
    for (const BadCombination& bad : statistics.worst) only_solved(bad.combination);
    for (const PumpStatistics& pump : statistics.pumps)
        for (const Tally& tally : {pump.bare, pump.beyond, pump.shut}) only_solved(tally.first);
    for (const TeeStatistics& tee : statistics.tees) only_solved(tee.pressure_m.combination);
    for (const VesselStatistics& vessel : statistics.vessels) {
        only_solved(vessel.spill_m3_s.combination);
        only_solved(vessel.spilled_m3.combination);
    }
    for (const settle::State state : {settle::State::no_solution, settle::State::spills_until_dry})
        only_solved(statistics.states[static_cast<std::size_t>(state)].first);
    for (std::size_t bit = 0; bit < kAlarms; ++bit)
        if ((1U << bit & kSolvedAlone) == 0) only_solved(statistics.alarms[bit].first);
    return figures;
}

double in_answer(const Figure& figure, const settle::Answer& answer) {
    switch (figure.of) {
        case Figure::Of::inflow: return answer.vessels[figure.index].inflow_m3_s;
        case Figure::Of::depth: return answer.vessels[figure.index].depth_m;
        case Figure::Of::pump_flow: return answer.pumps[figure.index].flow_m3_s;
        case Figure::Of::pump_head: return answer.pumps[figure.index].head_m;
        case Figure::Of::target: return answer.targets.empty() ? settle::kUnknown : answer.targets[figure.index].got;
        case Figure::Of::none: break;
    }
    return settle::kUnknown;
}

/// Depths, heads and pressures; of the others it is flows that may be next to nothing.
bool is_height(const Figure& figure, const settle::Answer& answer) {
    if (figure.of == Figure::Of::target) return !answer.targets.empty() && answer.targets[figure.index].quantity == "pressure_m";
    return figure.of == Figure::Of::depth || figure.of == Figure::Of::pump_head;
}

double difference(const Figure& figure, const settle::Answer& answer) {
    constexpr double kAll = 1.0;
    const double own = figure.extreme.value, other = in_answer(figure, answer);
    if (std::isnan(own) || std::isnan(other)) return std::isnan(own) == std::isnan(other) ? 0.0 : kAll;
    return std::abs(own - other) / std::max({std::abs(own), std::abs(other), is_height(figure, answer) ? kHeightFloor_m : kFlowFloor_m3_s});
}

}  // namespace

Again solve_again(const layout::Layout& layout, const Question& question, const Statistics& statistics, const settle::Options& options,
                  const std::function<void(double)>& progress, const std::stop_token& stop) {
    Again again;
    settle::Options plain = options;
    plain.bands = plain.ledgers = false;
    settle::Farm farm(layout, plain);
    const Combinations combinations(question.switches.size(), question.at_most_off);
    const std::vector<Figure> figures = figures_of(statistics);
    std::size_t done = 0;
    for (const Figure& figure : figures) {
        progress(static_cast<double>(done++) / static_cast<double>(figures.size()));
        const std::uint64_t number = figure.extreme.combination;
        auto found = again.answers.find(number);
        if (found == again.answers.end()) {
            if (stop.stop_requested()) {
                again.whole = false;
                break;
            }
            const layout::Conditions conditions = conditions_with(question, combinations.off_at(number));
            found = again.answers.emplace(number, farm.solve(conditions, question.at_start_levels)).first;
        }
        if (figure.of == Figure::Of::none) continue;
        ++again.figures;
        const settle::State state = found->second.state;  // what has no solution has no figures; what runs dry or cycles has some
        const bool has_figures = state != settle::State::no_solution && state != settle::State::not_run;
        const double off = has_figures ? difference(figure, found->second) : 1.0;
        if (off > again.worst_difference) again.worst_difference = off, again.worst_combination = number;
    }
    return again;
}

}  // namespace ebb::survey
