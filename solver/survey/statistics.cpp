#include "solver/survey/statistics.h"

#include <algorithm>
#include <cmath>
#include <iterator>

namespace ebb::survey {

namespace {

void merge_least(Extreme& to, const Extreme& from) {
    if (from.there()) to.keep_least(from.value, from.combination);
}
void merge_greatest(Extreme& to, const Extreme& from) {
    if (from.there()) to.keep_greatest(from.value, from.combination);
}

/// Per entry the lesser; NaN is none.
void merge_least(std::vector<double>& to, const std::vector<double>& from) {
    for (std::size_t i = 0; i < to.size(); ++i) to[i] = std::fmin(to[i], from[i]);
}

void merge_vessel(VesselStatistics& to, const VesselStatistics& from) {
    to.fed.merge(from.fed);
    to.nothing.merge(from.nothing);
    to.inflow_m3_s.merge(from.inflow_m3_s, kSeenFlow_m3_s);
    to.turnover_s.merge(from.turnover_s, kSeenTime_s);
    to.depth_m.merge(from.depth_m, kSeenHeight_m);
    to.below_least.merge(from.below_least);
    to.spills.merge(from.spills);
    merge_greatest(to.spill_m3_s, from.spill_m3_s);
    merge_greatest(to.spilled_m3, from.spilled_m3);
    for (std::size_t k = 0; k < to.inflow_at.size(); ++k) to.inflow_at[k].merge(from.inflow_at[k]);
    merge_least(to.least_inflow_at, from.least_inflow_at);
    merge_least(to.least_with_on, from.least_with_on);
    merge_least(to.least_with_off, from.least_with_off);
    merge_least(to.inflow_alone, from.inflow_alone);  // one combination each: at most one piece has it
}

void merge_pump(PumpStatistics& to, const PumpStatistics& from) {
    to.runs.merge(from.runs);
    to.below_best.merge(from.below_best);
    to.above_best.merge(from.above_best);
    to.nothing.merge(from.nothing);
    to.bare.merge(from.bare);
    to.beyond.merge(from.beyond);
    to.shut.merge(from.shut);
    to.flow_m3_s.merge(from.flow_m3_s, kSeenFlow_m3_s);
    to.head_m.merge(from.head_m, kSeenHeight_m);
    to.power_w.merge(from.power_w, kSeenPower_w);
    to.best_ratio.merge(from.best_ratio, kSeenShare);
    to.flows.merge(from.flows);
}

void merge_tee(TeeStatistics& to, const TeeStatistics& from) {
    to.breaks.merge(from.breaks);
    to.vacuum.merge(from.vacuum);
    merge_least(to.pressure_m, from.pressure_m);
}

void merge_target(TargetStatistics& to, const TargetStatistics& from) {
    to.met += from.met;
    to.not_asked += from.not_asked;
    to.unknown += from.unknown;
    to.missed.merge(from.missed);
    std::vector<std::uint64_t> first;
    std::merge(to.first_missed.begin(), to.first_missed.end(), from.first_missed.begin(), from.first_missed.end(), std::back_inserter(first));
    first.resize(std::min(first.size(), TargetStatistics::kFirst));
    to.first_missed = std::move(first);
    if (!from.shortfall.there()) return;
    to.shortfall.keep_greatest(from.shortfall.value, from.shortfall.named, kSeenShare);
    if (to.shortfall.named.combination == from.shortfall.named.combination) to.worst_got = from.worst_got;
}

}  // namespace

void Range::merge(const Range& other, double seen) {
    if (!other.least.there()) return;
    merge_least(least, other.least);
    merge_greatest(greatest, other.greatest);
    plain_least.keep_least(other.plain_least.value, other.plain_least.named, seen);
    plain_greatest.keep_greatest(other.plain_greatest.value, other.plain_greatest.named, seen);
}

bool BadCombination::worse_than(const BadCombination& other) const {
    if (runs_dry != other.runs_dry) return runs_dry;
    if (troubles != other.troubles) return troubles > other.troubles;
    if (missed != other.missed) return missed > other.missed;
    if (cut(shortfall) != cut(other.shortfall)) return cut(shortfall) > cut(other.shortfall);
    return combination < other.combination;
}

Histogram VesselStatistics::inflows() const {
    Histogram all;
    for (const Histogram& one : inflow_at) all.merge(one);
    return all;
}

bool Statistics::fits(const Statistics& other) const {
    const auto vessel_fits = [](const VesselStatistics& a, const VesselStatistics& b) {
        return a.inflow_at.size() == b.inflow_at.size() && a.least_inflow_at.size() == b.least_inflow_at.size() &&
               a.least_with_on.size() == b.least_with_on.size() && a.least_with_off.size() == b.least_with_off.size() &&
               a.inflow_alone.size() == b.inflow_alone.size();
    };
    return pumps.size() == other.pumps.size() && tees.size() == other.tees.size() && targets.size() == other.targets.size() &&
           most_worst == other.most_worst && std::equal(vessels.begin(), vessels.end(), other.vessels.begin(), other.vessels.end(), vessel_fits);
}

void Statistics::merge(const Statistics& other) {
    rows += other.rows;
    for (std::size_t i = 0; i < kStates; ++i) states[i].merge(other.states[i]);
    for (std::size_t i = 0; i < kAlarms; ++i) alarms[i].merge(other.alarms[i]);
    all_met.merge(other.all_met);
    for (std::size_t v = 0; v < vessels.size(); ++v) merge_vessel(vessels[v], other.vessels[v]);
    for (std::size_t p = 0; p < pumps.size(); ++p) merge_pump(pumps[p], other.pumps[p]);
    for (std::size_t t = 0; t < tees.size(); ++t) merge_tee(tees[t], other.tees[t]);
    for (std::size_t t = 0; t < targets.size(); ++t) merge_target(targets[t], other.targets[t]);
    std::vector<BadCombination> all;
    std::merge(worst.begin(), worst.end(), other.worst.begin(), other.worst.end(), std::back_inserter(all),
               [](const BadCombination& a, const BadCombination& b) { return a.worse_than(b); });
    if (all.size() > most_worst) all.resize(most_worst);
    worst = std::move(all);
}

double shortfall_of(bool at_most, double wanted, double got) {
    constexpr double kEverything = 1.0;
    if (std::isnan(got) || !(wanted > 0.0)) return kEverything;  // does not turn over, gets nothing; or there is no share of what is wanted
    return at_most ? 1.0 - wanted / got : 1.0 - got / wanted;
}

}  // namespace ebb::survey
