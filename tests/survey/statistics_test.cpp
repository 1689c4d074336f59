// What a survey says, held against the same found out row by row the slow way; and pieces put together in any order against the whole.

#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <cmath>
#include <map>
#include <optional>
#include <random>

#include "solver/survey/counter.h"
#include "solver/survey/row.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using doctest::Approx;

/// A sump, a pump, a header with a valve to each of `tanks` tanks, which run back over standpipes. The first two tanks have targets; the last
/// is fed by two pipes, each with a valve.
layout::Layout header(std::size_t tanks) {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 9.0, 0.8, layout::VesselKind::sump)};
    test::add_steady_pump(layout, "P", "SUMP", 1e-3, 0.1);
    layout::Tee tee;
    tee.id = "J";
    tee.elevation_m = 0.2;
    layout.tees = {tee};
    layout.pipes = {test::pipe("RISER", "P", "J", 1.0, 0.05)};
    const auto feed = [&](const std::string& number, const std::string& tank) {
        layout.pipes.push_back(test::pipe("FEED" + number, "J", tank, 2.0, 0.02));
        layout.pipes.back().to.height_m = 0.5;
    };
    for (std::size_t i = 1; i <= tanks; ++i) {
        const std::string number = std::to_string(i);
        layout.vessels.push_back(test::prism("T" + number, 0.5, 0.6, 1.0, 0.3));
        test::add_standpipe(layout, "S" + number, "T" + number, 0.06, 0.3);
        feed(number, "T" + number);
        layout.pipes.push_back(test::drain("HOME" + number, "S" + number, "SUMP", 2.0, 0.06));
        layout.pipes.back().to.height_m = 0.95;
    }
    feed(std::to_string(tanks + 1), "T" + std::to_string(tanks));
    layout.vessels[1].inflow_m3_s = 1e-4;
    layout.vessels[2].turnover_s = 3000.0;
    layout.vessels[3].least_depth_m = 0.25;
    for (std::size_t i = 1; i <= tanks + 1; ++i) test::add_valve(layout, "FEED" + std::to_string(i), "V" + std::to_string(i));
    REQUIRE(layout::validate(layout).empty());
    return layout;
}

survey::Question all_valves(const layout::Layout& layout, int at_most_off) {
    survey::Question question{.arrangement = layout::conditions_of(layout, 0), .at_start_levels = false, .switches = {}, .at_most_off = at_most_off};
    for (std::size_t v = 0; v < layout.valves.size(); ++v)
        question.switches.push_back({.thing = {layout::Kind::valve, static_cast<std::int32_t>(v)}});
    return question;
}

/// Rows of numbers that no farm would give, with ties, gaps and every state: the counting must not care.
survey::Block random_block(const layout::Layout& layout, std::size_t targets, std::uint64_t rows, std::uint32_t seed) {
    std::mt19937 random(seed);
    const auto share = [&] { return std::uniform_real_distribution<double>(0.0, 1.0)(random); };
    survey::Block block;
    survey::resize(layout, targets, rows, block);
    for (std::size_t r = 0; r < rows; ++r) {
        block.state[r] = share() < 0.05  ? settle::State::no_solution
                         : share() < 0.1 ? settle::State::cycles
                         : share() < 0.1 ? settle::State::spills_until_dry
                                         : settle::State::settled;
        if (block.state[r] == settle::State::no_solution) continue;
        block.alarms[r] = static_cast<std::uint8_t>(share() < 0.5 ? survey::kSolvedAlone : 0);
        for (std::size_t i = r * block.vessels; i < (r + 1) * block.vessels; ++i) {
            block.inflow_m3_s[i] = share() < 0.3 ? 0.0 : share() < 0.3 ? 1e-4 : std::exp(-12.0 + 4.0 * share());
            block.depth_m[i] = std::floor(50.0 * share()) / 100.0;
            block.volume_m3[i] = block.depth_m[i] + 0.1;
            block.spill_m3_s[i] = share() < 0.1 ? 1e-5 * share() : 0.0;
            block.spilled_m3[i] = share() < 0.1 ? 1e-3 * share() : 0.0;
            if (block.spill_m3_s[i] > 1e-9 || block.spilled_m3[i] > 1e-6) block.alarms[r] |= survey::kSpills;
        }
        if (block.depth_m[r * block.vessels + 3] < 0.2495) block.alarms[r] |= survey::kBelowLeast;
        block.pump_alarms[r] = static_cast<std::uint8_t>(share() < 0.3 ? random() % 8 : 0);  // the three of pumps
        block.alarms[r] |= block.pump_alarms[r];
        if (share() < 0.2) survey::note_hanging(r, 0, -12.0 * share(), 10.0, block);
        block.pump_flow_m3_s[r] = share() < 0.1 ? 0.0 : 1e-3 * share();
        block.pump_head_m[r] = share() < 0.2 ? settle::kUnknown : 3.0 * share();
        block.pump_power_w[r] = 100.0 * share();
        block.pump_best_ratio[r] = 0.5 + share();
        for (std::size_t i = r * targets; i < (r + 1) * targets; ++i) {
            block.target_state[i] = static_cast<survey::TargetState>(random() % 4);
            block.target_got[i] = share() < 0.1 ? settle::kUnknown : 5e-5 + 1e-4 * share();
        }
    }
    return block;
}

void put(std::vector<double>& to, double value) { to.push_back(std::isnan(value) ? -1e300 : value); }
void put(std::vector<double>& to, const survey::Tally& tally) { to.insert(to.end(), {double(tally.times), double(tally.first)}); }
void put(std::vector<double>& to, const survey::Extreme& extreme) { put(to, extreme.value), put(to, double(extreme.combination)); }
void put(std::vector<double>& to, const survey::PlainExtreme& extreme) {
    put(to, extreme.value), put(to, double(extreme.named.combination)), put(to, double(extreme.named.words));
}
void put(std::vector<double>& to, const survey::Range& range) {
    put(to, range.least), put(to, range.greatest), put(to, range.plain_least), put(to, range.plain_greatest);
}
void put(std::vector<double>& to, const survey::Histogram& histogram) {
    for (const auto& bin : histogram.bins()) put(to, bin.bin), put(to, double(bin.times));
    put(to, -1.0);
}
void put(std::vector<double>& to, const std::vector<double>& values) {
    for (const double value : values) put(to, value);
}

/// Every number of the statistics, to be compared for equality.
std::vector<double> numbers(const survey::Statistics& s) {
    std::vector<double> to{double(s.rows)};
    for (const auto& tally : s.states) put(to, tally);
    for (const auto& tally : s.alarms) put(to, tally);
    put(to, s.all_met);
    for (const auto& v : s.vessels) {
        put(to, v.below_least), put(to, v.fed), put(to, v.nothing), put(to, v.inflow_m3_s), put(to, v.turnover_s), put(to, v.depth_m),
            put(to, v.spills);
        put(to, v.spill_m3_s), put(to, v.spilled_m3), put(to, v.least_inflow_at), put(to, v.least_with_on), put(to, v.least_with_off);
        put(to, v.inflow_alone);
        for (const auto& histogram : v.inflow_at) put(to, histogram);
    }
    for (const auto& p : s.pumps) {
        put(to, p.runs), put(to, p.below_best), put(to, p.above_best), put(to, p.nothing), put(to, p.flow_m3_s), put(to, p.head_m);
        put(to, p.power_w), put(to, p.best_ratio), put(to, p.flows), put(to, p.bare), put(to, p.beyond), put(to, p.shut);
    }
    for (const auto& t : s.tees) put(to, t.breaks), put(to, t.vacuum), put(to, t.pressure_m);
    for (const auto& t : s.targets) {
        put(to, double(t.met)), put(to, double(t.not_asked)), put(to, double(t.unknown)), put(to, t.missed), put(to, t.shortfall);
        put(to, t.worst_got);
        for (const auto number : t.first_missed) put(to, double(number));
    }
    for (const auto& bad : s.worst)
        put(to, double(bad.runs_dry)), put(to, double(bad.troubles)), put(to, double(bad.missed)), put(to, bad.shortfall),
            put(to, double(bad.combination));
    return to;
}

/// The inflow of a vessel where it is meant to have water; the rule said in words: not while every feed of its own is off.
std::optional<double> counted_inflow(const survey::Block& block, std::size_t row, std::size_t vessel, std::uint64_t off, std::size_t tanks) {
    const double inflow = block.inflow_m3_s[row * block.vessels + vessel];
    if (std::isnan(inflow)) return std::nullopt;
    if (inflow > 0.0) return inflow;
    const auto is_off = [&](std::size_t number) { return (off >> (number - 1) & 1U) != 0; };  // valves count from 1
    bool fed = false;
    if (vessel == 0)  // the sump has water while any tank has
        for (std::size_t number = 1; number <= tanks + 1; ++number) fed = fed || !is_off(number);
    else
        fed = !is_off(vessel) || (vessel == tanks && !is_off(tanks + 1));
    return fed ? std::optional(0.0) : std::nullopt;
}

/// What is in trouble in a row: vessels that run over, pumps that draw air, tees at which a line breaks.
std::uint32_t troubles_of(const survey::Block& block, std::size_t row) {
    std::uint32_t troubles = (block.pump_alarms[row] & survey::kIntakeBare) != 0 ? 1 : 0;
    for (std::size_t v = 0; v < block.vessels; ++v) {
        const std::size_t i = row * block.vessels + v;
        troubles += block.spill_m3_s[i] > 1e-9 || block.spilled_m3[i] > 1e-6 ? 1 : 0;
    }
    for (const survey::Hanging& one : block.hanging) troubles += one.row == row && one.breaks ? 1 : 0;
    return troubles;
}

/// For each thing in how many rows it has its alarm, against one look at every row.
void check_alarms(const survey::Statistics& statistics, const survey::Block& block) {
    const survey::PumpStatistics& pump = statistics.pumps[0];
    const survey::TeeStatistics& tee = statistics.tees[0];
    survey::Tally bare, beyond, shut, below, breaks, vacuum;
    for (std::size_t r = 0; r < block.rows; ++r) {
        if ((block.pump_alarms[r] & survey::kIntakeBare) != 0) bare.add(block.first + r);
        if ((block.pump_alarms[r] & survey::kBeyondCurve) != 0) beyond.add(block.first + r);
        if ((block.pump_alarms[r] & survey::kAgainstShut) != 0) shut.add(block.first + r);
        if (block.depth_m[r * block.vessels + 3] < 0.2495) below.add(block.first + r);
    }
    double least = 0.0;
    for (const survey::Hanging& one : block.hanging) {
        (one.pressure_m < -10.0 ? breaks : vacuum).add(block.first + one.row);
        least = std::min(least, one.pressure_m);
    }
    CHECK(bare.times > 0);
    CHECK(pump.bare == bare);
    CHECK(pump.beyond == beyond);
    CHECK(pump.shut == shut);
    CHECK(statistics.vessels[3].below_least == below);
    CHECK(statistics.vessels[2].below_least.times == 0);
    CHECK(tee.breaks == breaks);
    CHECK(tee.vacuum == vacuum);
    CHECK(tee.pressure_m.value == least);
}

void check_against_rows(const survey::Statistics& statistics, const survey::Block& block, const survey::Combinations& combinations,
                        std::size_t tanks) {
    const std::size_t switches = tanks + 1;
    for (std::size_t v = 0; v < block.vessels; ++v) {
        const survey::VesselStatistics& vessel = statistics.vessels[v];
        std::vector<double> inflows;
        std::map<int, std::vector<double>> by_count;
        std::vector<double> on(switches, HUGE_VAL), off_least(switches, HUGE_VAL);
        for (std::size_t r = 0; r < block.rows; ++r) {
            const std::uint64_t off = combinations.off_at(block.first + r);
            const auto inflow = counted_inflow(block, r, v, off, tanks);
            if (!inflow) continue;
            inflows.push_back(*inflow);
            by_count[std::popcount(off)].push_back(*inflow);
            for (std::size_t s = 0; s < switches; ++s) {
                double& least = (off >> s & 1U) != 0 ? off_least[s] : on[s];
                least = std::min(least, *inflow);
            }
        }
        REQUIRE(!inflows.empty());
        const auto [least, greatest] = std::minmax_element(inflows.begin(), inflows.end());
        CHECK(vessel.fed.times == inflows.size());
        CHECK(vessel.nothing.times == static_cast<std::uint64_t>(std::count(inflows.begin(), inflows.end(), 0.0)));
        CHECK(vessel.inflow_m3_s.least.value == *least);
        CHECK(vessel.inflow_m3_s.greatest.value == *greatest);
        CHECK(counted_inflow(block, vessel.inflow_m3_s.greatest.combination - block.first, v,
                             combinations.off_at(vessel.inflow_m3_s.greatest.combination), tanks) == *greatest);
        CHECK(vessel.inflow_m3_s.plain_greatest.value == Approx(*greatest).epsilon(0.004));
        std::sort(inflows.begin(), inflows.end());
        CHECK(vessel.inflows().median() == Approx(inflows[(inflows.size() - 1) / 2]).epsilon(0.004));
        for (std::size_t k = 0; k < vessel.inflow_at.size(); ++k) {
            std::vector<double>& with = by_count[static_cast<int>(k)];
            std::sort(with.begin(), with.end());
            CHECK(vessel.inflow_at[k].count() == with.size());
            if (with.empty()) continue;
            CHECK(vessel.least_inflow_at[k] == with.front());
            CHECK(vessel.inflow_at[k].median() == Approx(with[(with.size() - 1) / 2]).epsilon(0.004));
        }
        for (std::size_t s = 0; s < switches; ++s) {
            CHECK((std::isnan(vessel.least_with_on[s]) ? HUGE_VAL : vessel.least_with_on[s]) == on[s]);
            CHECK((std::isnan(vessel.least_with_off[s]) ? HUGE_VAL : vessel.least_with_off[s]) == off_least[s]);
        }
    }
    std::uint64_t runs = 0, below = 0, nothing = 0, all_met = 0;
    std::vector<survey::BadCombination> bad;
    for (std::size_t r = 0; r < block.rows; ++r) {
        if (!std::isnan(block.pump_head_m[r])) {
            ++runs;
            below += block.pump_best_ratio[r] < 0.7 ? 1 : 0;
            nothing += block.pump_flow_m3_s[r] == 0.0 ? 1 : 0;
        }
        if (block.state[r] == settle::State::no_solution) continue;
        std::uint32_t missed = 0;
        double most = 0.0;
        for (std::size_t t = 0; t < block.targets; ++t) {
            const double got = block.target_got[r * block.targets + t];
            if (block.target_state[r * block.targets + t] != survey::TargetState::missed) continue;
            if (block.state[r] == settle::State::cycles && std::isnan(got)) continue;
            const double lacks = std::isnan(got) ? 1.0 : t == 0 ? 1.0 - got / 1e-4 : 1.0 - 3000.0 / got;
            most = missed == 0 ? lacks : std::max(most, lacks);
            ++missed;
        }
        const bool dry = block.state[r] == settle::State::spills_until_dry;
        const std::uint32_t troubles = troubles_of(block, r);
        if (missed > 0 || troubles > 0 || dry)
            bad.push_back({dry, troubles, missed, most, block.first + r});
        else
            ++all_met;
    }
    CHECK(statistics.pumps[0].runs.times == runs);
    CHECK(statistics.pumps[0].below_best.times == below);
    CHECK(statistics.pumps[0].nothing.times == nothing);
    CHECK(statistics.all_met.times == all_met);
    std::sort(bad.begin(), bad.end(), [](const auto& a, const auto& b) { return a.worse_than(b); });
    REQUIRE(statistics.worst.size() == std::min<std::size_t>(bad.size(), 25));
    for (std::size_t i = 0; i < statistics.worst.size(); ++i) CHECK(statistics.worst[i].combination == bad[i].combination);
}

}  // namespace

TEST_CASE("statistics: as found row by row, and the same from any pieces in any order") {
    constexpr std::size_t kTanks = 10;  // 11 switches
    const layout::Layout layout = header(kTanks);
    const auto targets = survey::targets_of(layout);
    REQUIRE(targets.size() == 2);
    for (const int at_most_off : {-1, 4}) {
        const survey::Question question = all_valves(layout, at_most_off);
        const survey::Combinations combinations(question.switches.size(), at_most_off);
        const survey::Counter counter(layout, question, targets, 25);
        const survey::Block whole = random_block(layout, targets.size(), combinations.count(), 7);
        const survey::Statistics at_once = counter.of(whole);
        CHECK(at_once.rows == combinations.count());
        check_against_rows(at_once, whole, combinations, kTanks);
        check_alarms(at_once, whole);
        std::mt19937 random(3);
        for (int round = 0; round < 6; ++round) {
            std::vector<std::size_t> cuts{0, whole.rows};
            if (round == 0) cuts.insert(cuts.begin() + 1, whole.rows > 1024 ? 1024 : 256);  // as blocks have it: the quick way of with_switches()
            for (int i = 0; round > 0 && i < 3 * round; ++i) cuts.push_back(random() % whole.rows);
            std::sort(cuts.begin(), cuts.end());
            std::vector<survey::Statistics> pieces;
            for (std::size_t i = 1; i < cuts.size(); ++i) pieces.push_back(counter.of(survey::part_of(whole, cuts[i - 1], cuts[i])));
            std::shuffle(pieces.begin(), pieces.end(), random);
            survey::Statistics together = counter.none();
            for (const survey::Statistics& piece : pieces) {
                CHECK(together.fits(piece));
                together.merge(piece);
            }
            CHECK(numbers(together) == numbers(at_once));
        }
    }
}

TEST_CASE("statistics: the plainest of combinations that are alike is named, and a valve that does nothing is not") {
    const layout::Layout layout = header(3);
    const survey::Question question = all_valves(layout, -1);
    const survey::Counter counter(layout, question, survey::targets_of(layout), 5);
    survey::Block block = random_block(layout, 2, 16, 1);
    for (std::size_t r = 0; r < 16; ++r) {
        block.state[r] = settle::State::settled;
        block.inflow_m3_s[r * block.vessels + 1] = (r & 1U) != 0 ? 0.0 : 1e-4 * (1.0 - 1e-7 * static_cast<double>(r));  // by a hair: 1110 off
        block.inflow_m3_s[r * block.vessels + 2] = 1e-4;
    }
    const survey::Statistics statistics = counter.of(block);
    const survey::Range& first = statistics.vessels[1].inflow_m3_s;
    CHECK(first.least.combination == 14);
    CHECK(first.plain_least.named.combination == 0);
    CHECK(statistics.vessels[1].fed.times == 8);  // while its own valve is open
    CHECK(counter.own_switches(1) == 1);
    CHECK(counter.own_switches(3) == 0);  // two feeds: neither alone shuts it off
    CHECK(statistics.vessels[1].inflow_alone.back() == 1e-4);
    CHECK(std::isnan(statistics.vessels[1].inflow_alone[0]));
}

TEST_CASE("histogram: the middle of a bin is within 0.4 % of what is in it, and bins rise with the number") {
    std::mt19937 random(5);
    double before = 0.0;
    for (double value = 1.0001 * survey::kNothing; value < 1000.0; value *= 1.0 + 0.002 * std::uniform_real_distribution<double>(0.1, 1.0)(random)) {
        const int bin = survey::Histogram::bin_of(value);
        CHECK(std::abs(survey::Histogram::middle_of(bin) / value - 1.0) < 0.004);
        CHECK(survey::Histogram::middle_of(bin) >= before);
        before = survey::Histogram::middle_of(bin);
    }
    CHECK(survey::Histogram::bin_of(0.0) == 0);
    CHECK(survey::Histogram::bin_of(settle::kUnknown) == 0);
    CHECK(survey::Histogram::bin_of(1e9) == survey::Histogram::kBins - 1);
    survey::Histogram few;
    for (const int bin : {100, 100, 7, 300}) few.add(bin, 1);
    CHECK(few.median() == survey::Histogram::middle_of(100));
    few.add(20, 1);
    CHECK(few.median() == survey::Histogram::middle_of(100));  // of 7, 20, 100, 100, 300
    few.add(8, 1);
    CHECK(few.median() == survey::Histogram::middle_of(20));  // the lower of the two in the middle
    CHECK(std::isnan(survey::Histogram().median()));
}

TEST_CASE("combinations: one after the other, as their numbers have it") {
    for (const int at_most : {-1, 0, 1, 3, 7}) {
        const survey::Combinations combinations(7, at_most);
        for (std::uint64_t number = 0; number + 1 < combinations.count(); ++number)
            CHECK(combinations.off_after(combinations.off_at(number)) == combinations.off_at(number + 1));
    }
}
