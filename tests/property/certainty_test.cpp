// Certainty against the walk: wherever it is said to be certain that nothing spills and that the water ends in one place, the water followed along
// the way ends there too, on random farms. And by hand: what it must not be certain of.

#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdlib>
#include <cstring>

#include "solver/settle/levels.h"
#include "solver/settle/model.h"
#include "tests/near.h"
#include "tests/property/random_farm.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;

struct Both {
    settle::Settled walked, quick;
    bool certain() const { return quick.network_solves < walked.network_solves; }
    double levels_apart_m() const {
        double apart = 0.0;
        for (std::size_t n = 0; n < walked.point.head_m.size(); ++n)
            if (n >= walked.point.air.size()) apart = std::max(apart, std::abs(walked.point.head_m[n] - quick.point.head_m[n]));
        return apart;
    }
    double lost_apart_m3() const {
        double apart = 0.0;
        for (std::size_t v = 0; v < walked.lost.size(); ++v) apart = std::max(apart, std::abs(walked.lost[v].volume_m3 - quick.lost[v].volume_m3));
        return apart;
    }
};

/// The same settings settled with the walk and with leave to spare it.
Both settle_both(settle::Model& model, const layout::Layout& layout, std::int32_t arrangement) {
    const network::Settings settings = network::settings_for(model.network, layout, layout::conditions_of(layout, arrangement),
                                                             std::vector<std::uint8_t>(model.network.siphons.size(), 0));
    const settle::Start start = settle::start_of(layout);
    const settle::LevelTolerances tolerances{.network = {.flow_share = 1e-11}};
    return {settle::settle_levels(model.solver, settings, start.volume_m3, start.level_m, tolerances),
            settle::settle_levels(model.solver, settings, start.volume_m3, start.level_m, tolerances, &model.certainty)};
}

void hold_on_random_farms(std::uint64_t first, std::uint64_t count) {
    int asked = 0, certain = 0;
    for (std::uint64_t seed = first; seed < first + count; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        settle::Model model(network::compile(layout));
        for (std::int32_t a = 0; a < static_cast<std::int32_t>(layout.arrangements.size()); ++a) {
            const Both both = settle_both(model, layout, a);
            if (!both.walked.found) continue;
            CAPTURE(seed);
            CAPTURE(a);
            ++asked;
            certain += both.certain() ? 1 : 0;
            CHECK(both.quick.found);
            CHECK(both.levels_apart_m() <= 1e-7);
            CHECK(both.lost_apart_m3() <= 1e-9);
        }
    }
    MESSAGE("certain of " << certain << " of " << asked);
    CHECK(certain * 8 > asked);  // else this would say little
}

/// A tank high up that empties through two pipes of different length, each falling freely into a vessel without a way out.
layout::Layout two_dead_ends() {
    layout::Layout layout;
    layout.vessels = {test::prism("high", 2.0, 1.0, 1.0, 0.8), test::prism("left", 0.0, 1.0, 1.0, 0.0), test::prism("right", 0.0, 1.0, 1.0, 0.0)};
    layout.pipes = {test::pipe("to-left", "high", "left", 3.0, 0.05), test::pipe("to-right", "high", "right", 9.0, 0.05)};
    for (auto& pipe : layout.pipes) pipe.to.height_m = 0.9;
    return layout;
}

}  // namespace

TEST_CASE("where it is certain where the water ends, the way ends there: random farms") { hold_on_random_farms(0, 60); }

TEST_SUITE("slow") {
    TEST_CASE("where it is certain where the water ends, the way ends there: many random farms") {
        double share = 1.0;
        if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
        hold_on_random_farms(1000, static_cast<std::uint64_t>(std::max(50.0, 8000.0 * share)));
    }
}

TEST_CASE("what two dead ends get is decided on the way, and is not certain") {
    layout::Layout layout = two_dead_ends();
    REQUIRE(layout::validate(layout).empty());
    settle::Model model(network::compile(layout));
    const Both both = settle_both(model, layout, 0);
    REQUIRE(both.walked.found);
    CHECK_FALSE(both.certain());
    // the shorter pipe gives more
    CHECK(both.quick.point.head_m[1] > both.quick.point.head_m[2]);
}

TEST_CASE("a pipe between the dead ends makes one of them: now it is certain") {
    layout::Layout layout = two_dead_ends();
    layout.pipes.push_back(test::pipe("between", "left", "right", 1.0, 0.05));
    REQUIRE(layout::validate(layout).empty());
    settle::Model model(network::compile(layout));
    const Both both = settle_both(model, layout, 0);
    REQUIRE(both.walked.found);
    CHECK(both.certain());
    CHECK(both.levels_apart_m() <= 1e-9);
    CHECK(both.quick.point.head_m[1] == ebb::test::near(0.4).epsilon(1e-6));  // 0.8 m3 over 2 m2
}

TEST_CASE("a vessel that may run over on the way is not certain, though it would not at the end") {
    layout::Layout layout = two_dead_ends();
    layout.pipes.push_back(test::pipe("between", "left", "right", 1.0, 0.05));
    layout.vessels[1].rim_m = layout.vessels[1].floor_m + 0.95;
    layout.vessels[1].plan_area_m2 = 0.5;
    layout.vessels[1].volume = layout::prism_volume(0.5, 0.95);
    REQUIRE(layout::validate(layout).empty());
    settle::Model model(network::compile(layout));
    CHECK_FALSE(settle_both(model, layout, 0).certain());  // 0.475 m3 to its rim, 0.8 m3 may come before any goes on
}

TEST_CASE("a pipe that rises to a free end passes no fall on: nothing comes back out of water below its port") {
    // C fills A and, more slowly, B; B's bottom outlet rises to 0.3 m over A. Where it is B that ends at 0.3 m depends on how much came to it on the
    // way.
    layout::Layout layout;
    layout.vessels = {test::prism("C", 1.0, 1.0, 1.0, 0.5), test::prism("A", 0.0, 1.0, 2.0, 0.05), test::prism("B", 0.0, 1.0, 1.0, 0.1)};
    layout.pipes = {test::pipe("CA", "C", "A", 3.0, 0.05), test::pipe("CB", "C", "B", 3.0, 0.02), test::pipe("BA", "B", "A", 2.0, 0.05)};
    layout.pipes[0].from.height_m = 0.05;
    for (int p : {0, 1}) layout.pipes[static_cast<std::size_t>(p)].to.height_m = 0.9;
    layout.pipes[2].from.height_m = 0.02;
    layout.pipes[2].to.height_m = 0.3;
    REQUIRE(layout::validate(layout).empty());
    settle::Model model(network::compile(layout));
    const Both both = settle_both(model, layout, 0);
    REQUIRE(both.walked.found);
    CHECK_FALSE(both.certain());
    CHECK(both.levels_apart_m() <= 1e-7);
}

TEST_CASE("an air-hole that lets nothing back passes no fall on") {
    layout::Layout layout;
    layout.vessels = {test::prism("A", 0.0, 1.2, 1.0, 0.2), test::prism("B", 0.0, 1.2, 1.0, 0.2), test::prism("C", 1.5, 1.0, 1.0, 0.3),
                      test::prism("F", 1.5, 1.0, 1.0, 0.3)};
    layout.pipes = {test::pipe("AB", "A", "B", 2.0, 0.05), test::pipe("CB", "C", "B", 3.0, 0.03), test::pipe("FA", "F", "A", 3.0, 0.004)};
    layout.pipes[0].to.height_m = 0.05;
    layout.pipes[0].air_hole_m = 1.0;
    for (int p : {1, 2}) layout.pipes[static_cast<std::size_t>(p)].to.height_m = 1.1;
    REQUIRE(layout::validate(layout).empty());
    settle::Model model(network::compile(layout));
    const Both both = settle_both(model, layout, 0);
    REQUIRE(both.walked.found);
    CHECK_FALSE(both.certain());
    CHECK(both.levels_apart_m() <= 1e-7);
}

TEST_CASE("a float valve that opens on the way and is shut again at the end has let water in: that is not certain") {
    // F hands 0.3 m3 to A at once and gets 0.4 m3 back from B slowly: 0.6 m falls to about 0.3 m, and would end at 0.7 m
    for (const double closes_m : {0.5, 0.1}) {
        layout::Layout layout;
        layout.vessels = {test::prism("F", 0.0, 2.0, 1.0, 0.6), test::prism("A", 3.0, 1.0, 1.0, 0.0), test::prism("B", 3.0, 1.0, 1.0, 0.4)};
        test::add_steady_pump(layout, "P", "F", 2e-3);
        test::add_standpipe(layout, "S", "A", 0.1, 0.28);
        layout.pipes = {test::pipe("UP", "P", "A", 4.0, 0.05), test::drain("HOME", "S", "F", 3.0, 0.1), test::pipe("SLOW", "B", "F", 20.0, 0.012),
                        test::pipe("SERVICE", "MAINS", "FLOAT", 3.0, 0.02)};
        layout.pipes[0].to.height_m = 0.9;
        for (int p : {1, 2}) layout.pipes[static_cast<std::size_t>(p)].to.height_m = 1.9;
        layout.supplies.push_back({.id = "MAINS", .place = {}, .head_m = 20.0, .elevation_m = 0.0});
        layout::FloatValve valve;
        valve.id = "FLOAT";
        valve.into_id = "F";
        valve.opens_at_m = closes_m - 0.05;
        valve.closes_at_m = closes_m;
        valve.rated_flow_m3_s = 2e-4;
        valve.rated_head_m = 20.0;
        layout.float_valves.push_back(valve);
        for (const auto& problem : layout::validate(layout)) FAIL(problem.says);
        settle::Model model(network::compile(layout));
        const Both both = settle_both(model, layout, 0);
        REQUIRE(both.walked.found);
        CAPTURE(closes_m);
        const auto level_of_f = both.walked.point.head_m[both.walked.point.air.size()];
        CHECK(both.levels_apart_m() <= 1e-7);
        if (closes_m > 0.4) {
            CHECK_FALSE(both.certain());
            CHECK(level_of_f > 0.72);  // what came in through it is in the loop
        } else {
            CHECK(both.certain());  // it cannot fall so low
            CHECK(level_of_f < 0.70);
        }
    }
}
