// Every row of a survey is what the single solve says of that combination, on random farms with everything in them; and no digit of a row depends on
// the threads, on where the run begins and ends, or on the processor's instructions.

#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <iterator>
#include <memory>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/survey/lane_settle.h"
#include "solver/survey/row.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;
using survey::Block;

/// Keeps every block.
class Keeper : public survey::Consumer {
public:
    std::vector<Block> blocks;
    std::unique_ptr<survey::Digest> digest(const Block& block) const override { return std::make_unique<Kept>(block); }
    void take(std::unique_ptr<survey::Digest> digest) override { blocks.push_back(static_cast<Kept&>(*digest).block); }

private:
    struct Kept : survey::Digest {
        explicit Kept(const Block& of) : block(of) {}
        Block block;
    };
};

/// Switches for a random farm: up to `most` of its valves, pumps and two-insert standpipes, in turn.
std::vector<survey::Switch> some_switches(const layout::Layout& layout, std::size_t most, test::Random& random) {
    std::vector<survey::Switch> all;
    for (std::size_t v = 0; v < layout.valves.size(); ++v)
        if (!physics::valve_is_one_way(layout.valves[v].kind)) all.push_back({{layout::Kind::valve, static_cast<std::int32_t>(v)}});
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) all.push_back({{layout::Kind::pump, static_cast<std::int32_t>(p)}});
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s)
        if (layout.standpipes[s].inserts.size() > 1)
            all.push_back({.thing = {layout::Kind::standpipe, static_cast<std::int32_t>(s)}, .other_insert = 1});
    while (all.size() > most) all.erase(all.begin() + random.integer(0, static_cast<int>(all.size()) - 1));
    return all;
}

survey::Question ask(const layout::Layout& layout, std::size_t most, test::Random& random) {
    survey::Question question;
    question.arrangement = layout::conditions_of(layout, 0);
    for (std::size_t s = 0; s < question.arrangement.insert.size(); ++s) question.arrangement.insert[s] = 0;
    question.at_start_levels = random.chance(0.2);
    question.switches = some_switches(layout, most, random);
    return question;
}

/// What settle calls nothing: a flow of a drop a month (fill_answer.cpp), and a tenth of a millilitre, which the last trickle out of a vessel that
/// has all but drained may be short of its end by when the solve calls it at rest (levels.cpp).
constexpr double kNoFlow_m3_s = 1e-12, kSeen_m3 = 1e-7;

struct Tally {
    std::uint64_t rows = 0, alone = 0, hanging = 0;
    double worst_flow_share = 0.0, worst_depth_m = 0.0;
};

bool both_nan_or_near(double a, double b, double within) { return (std::isnan(a) && std::isnan(b)) || std::abs(a - b) <= within; }

std::vector<survey::Hanging> hanging_of(const Block& block, std::size_t row) {
    std::vector<survey::Hanging> of;
    std::copy_if(block.hanging.begin(), block.hanging.end(), std::back_inserter(of), [row](const auto& one) { return one.row == row; });
    return of;
}

enum class Rows : std::uint8_t { of_the_lanes, all };

/// Rows against Farm::solve: those solved on the lanes, or all.
void hold_rows(const layout::Layout& layout, const survey::Question& question, const survey::Survey& survey, const Block& block, Tally& tally,
               Rows rows = Rows::of_the_lanes) {
    settle::Options options;
    options.bands = options.ledgers = false;
    settle::Farm farm(layout, options);
    Block single;
    for (std::size_t row = 0; row < block.rows; ++row) {
        ++tally.rows;
        const bool alone = (block.alarms[row] & survey::kSolvedAlone) != 0;
        tally.alone += alone ? 1 : 0;
        if (alone && rows == Rows::of_the_lanes) continue;
        const std::uint64_t off = survey.combinations().off_at(block.first + row);
        survey::resize(layout, block.targets, 1, single);
        const settle::Answer answer = farm.solve(survey::conditions_with(question, off), question.at_start_levels);
        survey::write_row(layout, answer, 0, single);
        CAPTURE(off);
        CHECK(block.state[row] == single.state[0]);
        CHECK((block.alarms[row] | survey::kSolvedAlone) == single.alarms[0]);
        double largest = 1e-5;
        for (const auto& pipe : answer.pipes) largest = std::max(largest, std::abs(pipe.flow_m3_s));
        bool near = true;
        for (std::size_t v = 0; v < block.vessels; ++v) {
            const std::size_t i = row * block.vessels + v;
            tally.worst_flow_share = std::max(tally.worst_flow_share, std::abs(block.inflow_m3_s[i] - single.inflow_m3_s[v]) / largest);
            tally.worst_depth_m = std::max(tally.worst_depth_m, std::abs(block.depth_m[i] - single.depth_m[v]));
            near = near && both_nan_or_near(block.volume_m3[i], single.volume_m3[v], kSeen_m3);
            near = near && (alone ? both_nan_or_near(block.spilled_m3[i], single.spilled_m3[v], kSeen_m3) : single.spilled_m3[v] < 1e-9);
        }
        for (std::size_t p = 0; p < block.pumps; ++p) {
            const std::size_t i = row * block.pumps + p;
            near = near && both_nan_or_near(block.pump_flow_m3_s[i], single.pump_flow_m3_s[p], std::max(1e-9 * largest, kNoFlow_m3_s));
            near = near && both_nan_or_near(block.pump_head_m[i], single.pump_head_m[p], 1e-8);
            near = near && both_nan_or_near(block.pump_power_w[i], single.pump_power_w[p], 1e-6);
            near = near && both_nan_or_near(block.pump_best_ratio[i], single.pump_best_ratio[p], 1e-8);
        }
        near = near && std::equal(single.pump_alarms.begin(), single.pump_alarms.end(),
                                  block.pump_alarms.begin() + static_cast<std::ptrdiff_t>(row * block.pumps));
        const std::vector<survey::Hanging> hanging = hanging_of(block, row);
        tally.hanging += hanging.size();
        near = near && std::equal(hanging.begin(), hanging.end(), single.hanging.begin(), single.hanging.end(), [](const auto& a, const auto& b) {
                   return a.tee == b.tee && a.breaks == b.breaks && std::abs(a.pressure_m - b.pressure_m) <= 1e-7;
               });
        for (std::size_t t = 0; t < block.targets; ++t) near = near && block.target_state[row * block.targets + t] == single.target_state[t];
        CHECK(near);
    }
}

void survey_random_farms(std::uint64_t first, std::uint64_t count) {
    Tally tally;
    test::Random random(first);
    for (std::uint64_t seed = first; seed < first + count; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        const survey::Question question = ask(layout, 5, random);
        const survey::Survey survey(layout, question);
        Keeper keeper;
        CAPTURE(seed);
        REQUIRE(survey.run(0, survey.combinations().count(), 1, {}, keeper) == survey.combinations().count());
        for (const Block& block : keeper.blocks) hold_rows(layout, question, survey, block, tally);
    }
    MESSAGE(tally.rows << " combinations, " << tally.alone << " of them left to the single solve; apart by " << tally.worst_flow_share
                       << " of the largest flow and " << tally.worst_depth_m << " m; water hangs " << tally.hanging << " times");
    CHECK(tally.worst_flow_share <= 1e-9);
    CHECK(tally.worst_depth_m <= 1e-8);
    CHECK(tally.alone * 10 < tally.rows * 9);  // else this would say little
}

/// The same doubles, bit for bit, NaN or not.
bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](double x, double y) { return std::bit_cast<std::uint64_t>(x) == std::bit_cast<std::uint64_t>(y); });
}

bool same(const Block& a, const Block& b) {
    return a.first == b.first && a.rows == b.rows && a.state == b.state && a.alarms == b.alarms && same_bits(a.depth_m, b.depth_m) &&
           same_bits(a.volume_m3, b.volume_m3) && same_bits(a.inflow_m3_s, b.inflow_m3_s) && same_bits(a.spill_m3_s, b.spill_m3_s) &&
           same_bits(a.spilled_m3, b.spilled_m3) && same_bits(a.pump_flow_m3_s, b.pump_flow_m3_s) && same_bits(a.pump_head_m, b.pump_head_m) &&
           a.pump_alarms == b.pump_alarms && std::is_permutation(a.hanging.begin(), a.hanging.end(), b.hanging.begin(), b.hanging.end()) &&
           same_bits(a.pump_power_w, b.pump_power_w) && same_bits(a.pump_best_ratio, b.pump_best_ratio) && same_bits(a.target_got, b.target_got) &&
           a.target_state == b.target_state;
}

/// The first random farm from `seed` with at least `valves` valves to switch.
layout::Layout farm_with_valves(std::uint64_t seed, std::size_t valves) {
    for (;; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        if (test::style_of(seed) != test::FarmStyle::farm || layout.valves.size() < valves || !layout::validate(layout).empty()) continue;
        if (survey::LaneSettle::applies_to(network::compile(layout), layout)) return layout;
    }
}

}  // namespace

TEST_CASE("every row of a survey is the single solve's answer: random farms") { survey_random_farms(0, 25); }

TEST_CASE("every row of a survey is the single solve's answer where pipes hold trapped air, which the lanes do not know") {
    Tally tally;
    double moved_m3_s = 0.0;
    test::Random random(3);
    for (std::uint64_t seed = 0; seed < 8; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        const survey::Question question = ask(layout, 3, random);
        settle::Options options;
        options.bands = options.ledgers = false;
        const settle::Answer without = settle::Farm(layout, options).solve(question.arrangement, question.at_start_levels);
        for (std::size_t p = 0; p < layout.pipes.size(); p += 2) layout.pipes[p].trapped_air_m = 0.05;
        REQUIRE_FALSE(survey::LaneSolver::supports(network::compile(layout)));
        const survey::Survey survey(layout, question);
        Keeper keeper;
        CAPTURE(seed);
        REQUIRE(survey.run(0, survey.combinations().count(), 2, {}, keeper) == survey.combinations().count());
        for (const Block& block : keeper.blocks) hold_rows(layout, question, survey, block, tally, Rows::all);
        const settle::Answer with = settle::Farm(layout, options).solve(question.arrangement, question.at_start_levels);
        for (std::size_t p = 0; p < without.pipes.size() && p < with.pipes.size(); ++p)
            moved_m3_s = std::max(moved_m3_s, std::abs(with.pipes[p].flow_m3_s - without.pipes[p].flow_m3_s));
    }
    CHECK(tally.rows >= 32);
    CHECK(tally.alone == tally.rows);
    CHECK(tally.worst_flow_share <= 1e-9);
    CHECK(tally.worst_depth_m <= 1e-8);
    CHECK(moved_m3_s > 1e-5);  // and the air is felt
}

TEST_SUITE("slow") {
    TEST_CASE("every row of a survey is the single solve's answer: many random farms") {
        double share = 1.0;
        if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
        survey_random_farms(5000, static_cast<std::uint64_t>(std::max(20.0, 3000.0 * share)));
    }
}

TEST_CASE("a survey has the same digits on one thread and on many, whole and in parts") {
    const layout::Layout layout = farm_with_valves(100, 5);
    test::Random random(7);
    survey::Question question = ask(layout, 12, random);
    question.at_start_levels = true;  // quick, and nothing is left alone: blocks, not solves, are asked about
    while (question.switches.size() < 12) question.switches.push_back(question.switches.front());
    const survey::Survey survey(layout, question);
    REQUIRE(survey.combinations().count() == 4096);
    Keeper one, four, parts;
    survey.run(0, 4096, 1, {}, one);
    survey.run(0, 4096, 4, {}, four);
    CHECK(survey.run(0, 1500, 2, {}, parts) == 1500);
    CHECK(survey.run(1500, 4096, 1, {}, parts) == 4096);
    REQUIRE(one.blocks.size() == 4);
    REQUIRE(four.blocks.size() == 4);
    for (std::size_t b = 0; b < 4; ++b) CHECK(same(one.blocks[b], four.blocks[b]));
    REQUIRE(parts.blocks.size() == 5);
    CHECK(same(parts.blocks[1], survey::part_of(one.blocks[1], 0, 476)));
    CHECK(same(parts.blocks[2], survey::part_of(one.blocks[1], 476, 1024)));
}

TEST_CASE("a survey has the same digits whatever instructions the processor has") {
    using Instructions = survey::LaneSolver::Instructions;
    for (std::uint64_t seed = 0; seed < 12; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        const network::Network net = network::compile(layout);
        if (!survey::LaneSettle::applies_to(net, layout)) continue;
        test::Random random(seed);
        const survey::Question question = ask(layout, 6, random);
        const survey::Combinations combinations(question.switches.size(), -1);
        const auto targets = survey::targets_of(layout);
        std::vector<Block> blocks;
        std::vector<std::vector<std::size_t>> left;
        for (const Instructions instructions : {Instructions::baseline, Instructions::avx2, Instructions::avx512}) {
            if (!survey::LaneSolver::has(instructions)) continue;
            survey::LaneSettle lanes(net, layout, question, targets, {}, instructions);
            Block& block = blocks.emplace_back();
            survey::resize(layout, targets.size(), static_cast<std::size_t>(combinations.count()), block);
            lanes.solve(combinations, block, left.emplace_back());
        }
        CAPTURE(seed);
        for (std::size_t i = 1; i < blocks.size(); ++i) {
            CHECK(same(blocks[0], blocks[i]));
            CHECK(left[0] == left[i]);
        }
    }
}
