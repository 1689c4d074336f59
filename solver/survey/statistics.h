#pragma once
// What a designer must know of all combinations, in a few thousand numbers that can be gathered piece by piece and put together.
//
// Everything here is a count, a least or a greatest value, or a short list in a fixed order: merge() of any pieces in any order gives the same
// to the last bit, so that one run, many threads and many machines say the same. Where two combinations share an extreme, the one with the
// lower number has it. A middle value comes from counts in bins (histogram.h).
//
// An extreme is often shared but for the last digits: a valve that has nothing to do with a bed changes its inflow by a millionth, and the
// combination with the very least then names that valve. Beside the exact extremes stand the plain ones: values are told apart by their leading
// bits alone (less than half a per cent), and of those that are then alike the combination that is said in the fewest words has it.
//
// A vessel's inflow counts only where the combination means it to have water: while its own feed is shut, nothing coming in is no finding.

#include <array>
#include <bit>
#include <cstdint>
#include <limits>
#include <vector>

#include "solver/settle/answer.h"
#include "solver/survey/histogram.h"
#include "solver/survey/question.h"

namespace ebb::survey {

inline constexpr std::uint64_t kNoCombination = std::numeric_limits<std::uint64_t>::max();

/// The share of the flow of best efficiency that a pump should keep between (common practice).
inline constexpr double kBelowBest = 0.70, kAboveBest = 1.20;

/// In how many combinations something is so, and the first of them.
struct Tally {
    std::uint64_t times = 0, first = kNoCombination;

    /// Counts this combination.
    void add(std::uint64_t combination) { ++times, first = combination < first ? combination : first; }
    /// Counts what the other counted.
    void merge(const Tally& other) { times += other.times, first = other.first < first ? other.first : first; }
    friend bool operator==(const Tally&, const Tally&) = default;
};

/// A value that no other combination goes beyond. NaN: there was none.
struct Extreme {
    double value = settle::kUnknown;
    std::uint64_t combination = kNoCombination;

    /// Whether there was one.
    bool there() const { return combination != kNoCombination; }
    /// Becomes the other where that is less (of equals the lower number).
    void keep_least(double other, std::uint64_t of) {
        if (!there() || other < value || (other == value && of < combination)) *this = {other, of};
    }
    /// Becomes the other where that is greater.
    void keep_greatest(double other, std::uint64_t of) {
        if (!there() || other > value || (other == value && of < combination)) *this = {other, of};
    }
};

/// A combination, and how many things must be named to say it: those off, or those on where they are fewer.
struct Named {
    std::uint64_t combination = kNoCombination;
    std::uint32_t words = 0;
};

/// The value, cut to steps of 0.2 to 0.4 %: alike are what a person would call the same.
inline std::uint64_t cut(double value) {
    constexpr int kBitsCut = 52 - 8;
    return value > 0.0 ? std::bit_cast<std::uint64_t>(value) >> kBitsCut : 0;
}

/// An extreme to less than half a per cent, had by the combination that is said most plainly.
struct PlainExtreme {
    double value = settle::kUnknown;
    Named named;

    /// Whether there was one.
    bool there() const { return named.combination != kNoCombination; }
    /// `seen`: what is added before cutting, so that figures near nothing are alike.
    void keep_least(double other, const Named& of, double seen) {
        if (!there() || cut(other + seen) < cut(value + seen) || (cut(other + seen) == cut(value + seen) && plainer(of))) *this = {other, of};
    }
    /// The same for the greatest.
    void keep_greatest(double other, const Named& of, double seen) {
        if (!there() || cut(other + seen) > cut(value + seen) || (cut(other + seen) == cut(value + seen) && plainer(of))) *this = {other, of};
    }

private:
    bool plainer(const Named& of) const { return of.words != named.words ? of.words < named.words : of.combination < named.combination; }
};

/// Least and greatest of a figure, exactly and as it is plainly said.
struct Range {
    Extreme least, greatest;
    PlainExtreme plain_least, plain_greatest;

    /// Takes in one value. `seen`: as for PlainExtreme::keep_least().
    void add(double value, const Named& of, double seen) {
        constexpr double kBeyondCut = 0.005;  // so far from both ends nothing can change, and most values are
        if (value > plain_least.value + kBeyondCut * (plain_least.value + seen) &&
            value < plain_greatest.value - kBeyondCut * (plain_greatest.value + seen))
            return;
        least.keep_least(value, of.combination), greatest.keep_greatest(value, of.combination);
        plain_least.keep_least(value, of, seen), plain_greatest.keep_greatest(value, of, seen);
    }
    /// Takes in what the other saw.
    void merge(const Range& other, double seen);
};

/// Differences nobody sees, for keep_least() and keep_greatest() of plain extremes.
inline constexpr double kSeenFlow_m3_s = 1e-7, kSeenHeight_m = 0.5e-3, kSeenTime_s = 1.0, kSeenPower_w = 0.1, kSeenShare = 1e-3;

/// What the combinations say of a vessel.
struct VesselStatistics {
    Tally fed;      ///< the combination means it to have water, and there is an answer
    Tally nothing;  ///< so meant, and none comes
    Range inflow_m3_s, turnover_s;
    Range depth_m;                                      ///< of every combination with an answer
    Tally below_least;                                  ///< it stands below its least depth
    Tally spills;                                       ///< over its rim, now or on the way
    Extreme spill_m3_s, spilled_m3;                     ///< the greatest
    std::vector<Histogram> inflow_at;                   ///< [k]: inflows while k things are off
    std::vector<double> least_inflow_at;                ///< [k]; NaN where it never is fed
    std::vector<double> least_with_on, least_with_off;  ///< [switch]: least inflow over the combinations with that switch on, off
    std::vector<double> inflow_alone;                   ///< [switch]: while only that one is off; last: while all are on. NaN: not fed

    Histogram inflows() const;  ///< of every combination
};

/// What the combinations say of a pump.
struct PumpStatistics {
    Tally runs, below_best, above_best;            ///< below 70 % and above 120 % of the flow of best efficiency
    Tally nothing;                                 ///< runs and gives nothing
    Tally bare, beyond, shut;                      ///< draws air; beyond the last point of its curve; against shut valves
    Range flow_m3_s, head_m, power_w, best_ratio;  ///< while it runs
    Histogram flows;
};

/// Water that hangs at a tee.
struct TeeStatistics {
    Tally breaks, vacuum;  ///< lower below the pressure of the air than any can; less than that
    Extreme pressure_m;    ///< the least, of both
};

/// What the combinations say of a target.
struct TargetStatistics {
    std::uint64_t met = 0, not_asked = 0, unknown = 0;
    Tally missed;
    std::vector<std::uint64_t> first_missed;  ///< the lowest numbers, at most kFirst
    PlainExtreme shortfall;                   ///< the greatest share of what is wanted that lacks (turnover: of the wanted rate)
    double worst_got = settle::kUnknown;      ///< there

    static constexpr std::size_t kFirst = 8;
};

/// A combination in which something goes wrong or targets are missed; the worst first: water spills until a pump runs dry; by how many things are in
/// trouble (vessels that run over, pumps that draw air, tees at which a line breaks); by how many targets are missed, by the greatest shortfall after
/// cut(), by its number.
struct BadCombination {
    bool runs_dry = false;
    std::uint32_t troubles = 0, missed = 0;
    double shortfall = 0.0;
    std::uint64_t combination = kNoCombination;

    /// Whether it comes before the other in the list of the worst.
    bool worse_than(const BadCombination& other) const;
};

inline constexpr std::size_t kStates = 6;  ///< of settle::State
inline constexpr std::size_t kAlarms = 8;  ///< bits of survey::Alarm

/// What is known of any number of combinations: counts and extremes, which can be merged in any order.
struct Statistics {
    std::uint64_t rows = 0;
    std::array<Tally, kStates> states;
    std::array<Tally, kAlarms> alarms;
    Tally all_met;  ///< an answer, no target that is asked for missed, and nothing in trouble as BadCombination has it
    std::vector<VesselStatistics> vessels;
    std::vector<PumpStatistics> pumps;
    std::vector<TeeStatistics> tees;
    std::vector<TargetStatistics> targets;
    std::size_t most_worst = 0;
    std::vector<BadCombination> worst;  ///< the `most_worst` worst, in that order

    /// The other is of a question with as many vessels, pumps, targets and switches: they can be merged.
    bool fits(const Statistics& other) const;

    /// Adds what another piece of the same question saw.
    void merge(const Statistics& other);
};

/// What lacks of a missed target, as a share of what is wanted: of a flow or pressure 1 - got / wanted, of a turnover 1 - wanted / got.
double shortfall_of(bool at_most, double wanted, double got);

}  // namespace ebb::survey
