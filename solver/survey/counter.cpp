#include "solver/survey/counter.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "solver/settle/fed.h"
#include "solver/survey/row.h"

namespace ebb::survey {

namespace {

constexpr double kUnknown = settle::kUnknown;
constexpr double kNever = std::numeric_limits<double>::infinity();
constexpr std::size_t kTogether = 8;  // numbers in a line of memory

bool has_answer(settle::State state) { return state != settle::State::no_solution && state != settle::State::not_run; }

double unless_never(double value) { return value == kNever ? kUnknown : value; }

}  // namespace

bool is_missed(const Block& block, std::size_t row, std::size_t target) {
    const std::size_t i = row * block.targets + target;
    return block.target_state[i] == TargetState::missed && !(block.state[row] == settle::State::cycles && std::isnan(block.target_got[i]));
}

/// What one call of of() works with.
struct Counter::Work {
    const Block& block;
    Statistics& to;
    std::vector<std::uint64_t> off;             ///< per row
    std::vector<double> inflow, volume, depth;  ///< columns of kTogether vessels, one after the other
    std::vector<double> counted;                ///< one column: the inflow where the vessel is meant to have water, else kNever
    std::vector<std::uint16_t> bins;            ///< one column
    std::vector<std::uint16_t> histogram;       ///< [number off][bin]
    std::vector<double> tournament;
    std::vector<std::vector<std::uint8_t>> fed;  ///< per row, where it had to be asked

    std::vector<std::uint32_t> words;     ///< per row: Named::words
    std::vector<std::uint32_t> troubles;  ///< per row: BadCombination::troubles

    std::uint64_t number(std::size_t row) const { return block.first + row; }
    Named named(std::size_t row) const { return {block.first + row, words[row]}; }
};

Counter::Counter(const layout::Layout& layout, const Question& question, std::vector<TargetColumn> targets, std::size_t most_worst)
    : layout_(layout), question_(question), combinations_(question.switches.size(), question.at_most_off), targets_(std::move(targets)),
      most_worst_(most_worst), own_switches_(layout.vessels.size(), 0) {
    const std::size_t switches = question.switches.size();
    most_off_ = question.at_most_off < 0 ? switches : std::min(switches, static_cast<std::size_t>(question.at_most_off));
    can_be_fed_ = settle::fed_vessels(layout, conditions_with(question, 0));
    for (std::size_t s = 0; s < switches; ++s) {
        const std::vector<std::uint8_t> fed = settle::fed_vessels(layout, conditions_with(question, std::uint64_t{1} << s));
        for (std::size_t v = 0; v < fed.size(); ++v)
            if (can_be_fed_[v] != 0 && fed[v] == 0) own_switches_[v] |= std::uint64_t{1} << s;
    }
}

Statistics Counter::none() const {
    Statistics none;
    none.most_worst = most_worst_;
    none.vessels.resize(layout_.vessels.size());
    none.pumps.resize(layout_.pumps.size());
    none.tees.resize(layout_.tees.size());
    none.targets.resize(targets_.size());
    for (VesselStatistics& vessel : none.vessels) {
        vessel.inflow_at.resize(most_off_ + 1);
        vessel.least_inflow_at.assign(most_off_ + 1, kUnknown);
        vessel.least_with_on.assign(question_.switches.size(), kUnknown);
        vessel.least_with_off.assign(question_.switches.size(), kUnknown);
        vessel.inflow_alone.assign(question_.switches.size() + 1, kUnknown);
    }
    return none;
}

Statistics Counter::of(const Block& block) const {
    Statistics statistics = none();
    if (block.rows == 0) return statistics;
    statistics.rows = block.rows;
    Work work{.block = block,
              .to = statistics,
              .off = {},
              .inflow = {},
              .volume = {},
              .depth = {},
              .counted = {},
              .bins = {},
              .histogram = {},
              .tournament = {},
              .fed = {},
              .words = {},
              .troubles = std::vector<std::uint32_t>(block.rows, 0)};
    work.off.resize(block.rows);
    work.off[0] = combinations_.off_at(block.first);
    for (std::size_t r = 1; r < block.rows; ++r) work.off[r] = combinations_.off_after(work.off[r - 1]);
    const auto switches = static_cast<std::uint32_t>(question_.switches.size());
    for (const std::uint64_t off : work.off) {
        const auto count = static_cast<std::uint32_t>(std::popcount(off));
        work.words.push_back(std::min(count, switches - count));
    }
    for (std::size_t r = 0; r < block.rows; ++r) {
        statistics.states[static_cast<std::size_t>(block.state[r])].add(work.number(r));
        for (std::size_t bit = 0; block.alarms[r] >> bit != 0; ++bit)
            if ((block.alarms[r] >> bit & 1U) != 0) statistics.alarms[bit].add(work.number(r));
    }
    for (std::size_t v = 0; v < block.vessels; v += kTogether) vessel_columns(work, v, std::min(kTogether, block.vessels - v));
    pumps(work);
    troubles(work);
    judge(work);
    return statistics;
}

void Counter::vessel_columns(Work& work, std::size_t first, std::size_t count) const {
    const Block& block = work.block;
    const auto gather = [&](const std::vector<double>& from, std::vector<double>& to) {
        to.resize(kTogether * block.rows);
        for (std::size_t r = 0; r < block.rows; ++r)
            for (std::size_t i = 0; i < count; ++i) to[i * block.rows + r] = from[r * block.vessels + first + i];
    };
    gather(block.inflow_m3_s, work.inflow);
    gather(block.volume_m3, work.volume);
    gather(block.depth_m, work.depth);
    for (std::size_t i = 0; i < count; ++i) one_vessel(work, first + i, i);
}

void Counter::one_vessel(Work& work, std::size_t vessel, std::size_t column) const {
    const std::size_t rows = work.block.rows;
    VesselStatistics& to = work.to.vessels[vessel];
    const double* depth = &work.depth[column * rows];
    for (std::size_t r = 0; r < rows; ++r)
        if (!std::isnan(depth[r])) to.depth_m.add(depth[r], work.named(r), kSeenHeight_m);
    work.counted.assign(&work.inflow[column * rows], &work.inflow[column * rows] + rows);
    find_fed(work, vessel);
    const double* volume = &work.volume[column * rows];
    for (std::size_t r = 0; r < rows; ++r) {
        const double inflow = work.counted[r];
        if (inflow == kNever) continue;
        to.fed.add(work.number(r));
        to.inflow_m3_s.add(inflow, work.named(r), kSeenFlow_m3_s);
        if (inflow > kNothing)
            to.turnover_s.add(volume[r] / inflow, work.named(r), kSeenTime_s);
        else
            to.nothing.add(work.number(r));
    }
    if (to.fed.times == 0) return;
    count_inflow(work, to);
    with_switches(work, to);
}

/// kNever where the vessel is not meant to have water: nothing comes in, and no way is open that the layout has.
void Counter::find_fed(Work& work, std::size_t vessel) const {
    const std::uint64_t own = own_switches_[vessel];
    const bool never = can_be_fed_[vessel] == 0;
    for (std::size_t r = 0; r < work.block.rows; ++r) {
        double& inflow = work.counted[r];
        if (inflow > kNothing) continue;
        if (std::isnan(inflow) || never || (work.off[r] & own) != 0) {
            inflow = kNever;
            continue;
        }
        if (work.fed.empty()) work.fed.resize(work.block.rows);
        if (work.fed[r].empty()) work.fed[r] = settle::fed_vessels(layout_, conditions_with(question_, work.off[r]));
        if (work.fed[r][vessel] == 0) inflow = kNever;
    }
}

/// By how many things are off.
void Counter::count_inflow(Work& work, VesselStatistics& to) const {
    const std::size_t rows = work.block.rows;
    work.bins.resize(rows);
    int least = Histogram::kBins, greatest = -1;
    for (std::size_t r = 0; r < rows; ++r) {
        if (work.counted[r] == kNever) continue;
        const int bin = Histogram::bin_of(work.counted[r]);
        work.bins[r] = static_cast<std::uint16_t>(bin);
        if (bin != 0) least = std::min(least, bin), greatest = std::max(greatest, bin);
    }
    const std::size_t wide = greatest < least ? 0 : static_cast<std::size_t>(greatest - least) + 1;
    work.histogram.assign(wide * (most_off_ + 1), 0);
    for (std::size_t r = 0; r < rows; ++r) {
        const double inflow = work.counted[r];
        if (inflow == kNever) continue;
        const auto k = static_cast<std::size_t>(std::popcount(work.off[r]));
        to.least_inflow_at[k] = std::fmin(to.least_inflow_at[k], inflow);
        if (k == 0) to.inflow_alone.back() = inflow;
        if (k == 1) to.inflow_alone[static_cast<std::size_t>(std::countr_zero(work.off[r]))] = inflow;
        if (work.bins[r] == 0)
            to.inflow_at[k].add(0, 1);
        else
            ++work.histogram[k * wide + work.bins[r] - static_cast<std::size_t>(least)];
    }
    if (wide > 0)
        for (std::size_t k = 0; k <= most_off_; ++k) to.inflow_at[k].add(least, std::span(work.histogram).subspan(k * wide, wide));
}

/// Least inflow with every switch on, and off.
void Counter::with_switches(Work& work, VesselStatistics& to) const {
    const std::size_t switches = question_.switches.size(), rows = work.block.rows;
    std::vector<double> on(switches, kNever), off(switches, kNever);
    if (question_.at_most_off < 0 && std::has_single_bit(rows) && work.off[0] % rows == 0) {
        const auto inner = static_cast<std::size_t>(std::countr_zero(rows));  // switches that change within the block
        std::vector<double>& left = work.tournament;
        left = work.counted;
        for (std::size_t s = inner; s-- > 0;) {
            const std::size_t half = std::size_t{1} << s;
            for (std::size_t i = 0; i < half; ++i) {
                on[s] = std::min(on[s], left[i]);
                off[s] = std::min(off[s], left[half + i]);
                left[i] = std::min(left[i], left[half + i]);
            }
        }
        for (std::size_t s = inner; s < switches; ++s) ((work.off[0] >> s & 1U) != 0 ? off : on)[s] = left[0];
    } else {
        for (std::size_t r = 0; r < rows; ++r)
            for (std::size_t s = 0; s < switches; ++s) {
                double& least = ((work.off[r] >> s & 1U) != 0 ? off : on)[s];
                least = std::min(least, work.counted[r]);
            }
    }
    std::transform(on.begin(), on.end(), to.least_with_on.begin(), unless_never);
    std::transform(off.begin(), off.end(), to.least_with_off.begin(), unless_never);
}

void Counter::pumps(Work& work) const {
    const Block& block = work.block;
    for (std::size_t r = 0; r < block.rows; ++r) {
        const std::uint64_t number = work.number(r);
        const Named named = work.named(r);
        for (std::size_t p = 0; p < block.pumps; ++p) {
            const std::size_t i = r * block.pumps + p;
            if (std::isnan(block.pump_head_m[i])) continue;
            PumpStatistics& to = work.to.pumps[p];
            const double flow = block.pump_flow_m3_s[i], ratio = block.pump_best_ratio[i], power = block.pump_power_w[i];
            to.runs.add(number);
            to.flow_m3_s.add(flow, named, kSeenFlow_m3_s);
            to.head_m.add(block.pump_head_m[i], named, kSeenHeight_m);
            to.flows.add(Histogram::bin_of(flow), 1);
            if (!(flow > kNothing)) to.nothing.add(number);
            if (!std::isnan(power)) to.power_w.add(power, named, kSeenPower_w);
            if (std::isnan(ratio)) continue;
            to.best_ratio.add(ratio, named, kSeenShare);
            if (ratio < kBelowBest) to.below_best.add(number);
            if (ratio > kAboveBest) to.above_best.add(number);
        }
    }
}

/// Which vessel, pump or tee it is: rows without an alarm, as most are, are not looked at.
void Counter::troubles(Work& work) const {
    constexpr unsigned kOfThings = kIntakeBare | kBeyondCurve | kAgainstShut | kBelowLeast | kSpills;
    for (std::size_t r = 0; r < work.block.rows; ++r)
        if ((work.block.alarms[r] & kOfThings) != 0) trouble_of_row(work, r);
    for (const Hanging& one : work.block.hanging) {
        TeeStatistics& to = work.to.tees[static_cast<std::size_t>(one.tee)];
        (one.breaks ? to.breaks : to.vacuum).add(work.number(one.row));
        to.pressure_m.keep_least(one.pressure_m, work.number(one.row));
        if (one.breaks) ++work.troubles[one.row];
    }
}

void Counter::trouble_of_row(Work& work, std::size_t row) const {
    const Block& block = work.block;
    const std::uint64_t number = work.number(row);
    const std::uint8_t alarms = block.alarms[row];
    for (std::size_t v = 0; (alarms & (kSpills | kBelowLeast)) != 0 && v < block.vessels; ++v) {
        const std::size_t i = row * block.vessels + v;
        const double spill = block.spill_m3_s[i], spilled = block.spilled_m3[i];
        VesselStatistics& to = work.to.vessels[v];
        if (stands_below_least(layout_, block, row, v)) to.below_least.add(number);
        if (!spills_over(block, row, v)) continue;
        if (spill > kSpill_m3_s) to.spill_m3_s.keep_greatest(spill, number);
        if (spilled > kSpilled_m3) to.spilled_m3.keep_greatest(spilled, number);
        to.spills.add(number);
        ++work.troubles[row];
    }
    for (std::size_t p = 0; (alarms & (kIntakeBare | kBeyondCurve | kAgainstShut)) != 0 && p < block.pumps; ++p) {
        const std::uint8_t own = block.pump_alarms[row * block.pumps + p];
        PumpStatistics& to = work.to.pumps[p];
        if ((own & kIntakeBare) != 0) to.bare.add(number), ++work.troubles[row];
        if ((own & kBeyondCurve) != 0) to.beyond.add(number);
        if ((own & kAgainstShut) != 0) to.shut.add(number);
    }
}

void Counter::judge(Work& work) const {
    const Block& block = work.block;
    for (std::size_t r = 0; r < block.rows; ++r) {
        if (!has_answer(block.state[r])) continue;
        BadCombination row{.runs_dry = block.state[r] == settle::State::spills_until_dry,
                           .troubles = work.troubles[r],
                           .missed = 0,
                           .shortfall = 0.0,
                           .combination = work.number(r)};
        for (std::size_t t = 0; t < block.targets; ++t) {
            TargetStatistics& to = work.to.targets[t];
            const TargetState state = block.target_state[r * block.targets + t];
            const double got = block.target_got[r * block.targets + t];
            if (state == TargetState::met) {
                ++to.met;
            } else if (state == TargetState::not_asked) {
                ++to.not_asked;
            } else if (!is_missed(block, r, t)) {
                ++to.unknown;
            } else {
                const double shortfall = shortfall_of(targets_[t].at_most, targets_[t].wanted, got);
                to.missed.add(row.combination);
                if (to.first_missed.size() < TargetStatistics::kFirst) to.first_missed.push_back(row.combination);
                to.shortfall.keep_greatest(shortfall, work.named(r), kSeenShare);
                if (to.shortfall.named.combination == row.combination) to.worst_got = got;
                row.shortfall = ++row.missed == 1 ? shortfall : std::max(row.shortfall, shortfall);
            }
        }
        if (row.missed == 0 && row.troubles == 0 && !row.runs_dry)
            work.to.all_met.add(row.combination);
        else
            work.to.worst.push_back(row);
    }
    std::vector<BadCombination>& worst = work.to.worst;
    const auto kept = static_cast<std::ptrdiff_t>(std::min(worst.size(), most_worst_));
    std::partial_sort(worst.begin(), worst.begin() + kept, worst.end(),
                      [](const BadCombination& a, const BadCombination& b) { return a.worse_than(b); });
    worst.resize(static_cast<std::size_t>(kept));
}

}  // namespace ebb::survey
