// The layout as a C++ user makes it: volumes, settings, and what validate() says. Volumes are elementary geometry.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/layout/nearest.h"
#include "solver/layout/validate.h"
#include "tests/near.h"

using namespace ebb::layout;

namespace {

Vessel tank(std::string id, double floor_m) {
    Vessel vessel;
    vessel.id = std::move(id);
    vessel.floor_m = floor_m;
    vessel.rim_m = floor_m + 1.0;
    vessel.start_depth_m = 0.5;
    vessel.plan_area_m2 = 2.0;
    vessel.volume = prism_volume(2.0, 1.0);
    return vessel;
}

Pipe pipe(std::string id, std::string from, std::string to) {
    Pipe made;
    made.id = std::move(id);
    made.from.id = std::move(from);
    made.to.id = std::move(to);
    made.to.height_m = 0.8;
    made.length_m = 3.0;
    made.bore_m = 0.03;
    made.roughness_m = 1.5e-6;
    return made;
}

Layout two_tanks() {
    Layout layout;
    layout.vessels = {tank("HIGH", 1.0), tank("LOW", 0.0)};
    layout.pipes = {pipe("P", "HIGH", "LOW")};
    Valve valve;
    valve.id = "V";
    valve.loss = 0.1;
    layout.valves = {valve};
    layout.pipes[0].valves = {0};
    return layout;
}

Arrangement arrangement(std::string name, std::string based_on, std::vector<Setting> settings) {
    Arrangement made;
    made.name = std::move(name);
    made.based_on = std::move(based_on);
    made.settings = std::move(settings);
    return made;
}

Setting setting(Act act, std::string about, double value = kNotSaid) {
    Setting made;
    made.act = act;
    made.about_id = std::move(about);
    made.value = value;
    return made;
}

bool has(const std::vector<Problem>& problems, std::string_view code) { return std::ranges::find(problems, code, &Problem::code) != problems.end(); }

}  // namespace

TEST_CASE("volume and depth are inverse, straight between points and beyond the rim") {
    Vessel vessel;
    vessel.volume = {{0.0, 0.0}, {0.3, 0.2}, {0.5, 0.25}, {1.1, 0.53}};
    CHECK(volume_at_depth(vessel, 0.0) == 0.0);
    CHECK(volume_at_depth(vessel, 0.15) == ebb::test::near(0.1));
    CHECK(volume_at_depth(vessel, 0.3) == ebb::test::near(0.2));
    CHECK(volume_at_depth(vessel, 0.4) == ebb::test::near(0.225));
    CHECK(volume_at_depth(vessel, 1.1) == ebb::test::near(0.53));
    CHECK(volume_at_depth(vessel, 1.4) == ebb::test::near(0.53 + 0.3 * 0.28 / 0.6));
    for (double depth = 0.0; depth < 1.5; depth += 0.01) {
        CHECK(depth_at_volume(vessel, volume_at_depth(vessel, depth)) == ebb::test::near(depth).epsilon(1e-12));
    }
}

TEST_CASE("media hold their pores, open water above them all of its volume") {
    Vessel bed;
    bed.volume = prism_volume(2.88, 0.35, 0.30, 0.42);
    CHECK(volume_at_depth(bed, 0.30) == ebb::test::near(2.88 * 0.42 * 0.30));
    CHECK(volume_at_depth(bed, 0.35) == ebb::test::near(2.88 * (0.42 * 0.30 + 0.05)));
    bed.volume = prism_volume(2.88, 0.35, kNotSaid, 0.42);  // media to the rim
    CHECK(volume_at_depth(bed, 0.35) == ebb::test::near(2.88 * 0.42 * 0.35));
    bed.volume = prism_volume(2.0, 1.0);
    CHECK(volume_at_depth(bed, 0.5) == ebb::test::near(1.0));
}

TEST_CASE("a layout made by hand is resolved and gets an arrangement") {
    Layout layout = two_tanks();
    CHECK(validate(layout).empty());
    REQUIRE(layout.arrangements.size() == 1);
    CHECK(layout.arrangements[0].name == "as drawn");
    CHECK(layout.pipes[0].from.ref == Ref{Kind::vessel, 0});
    CHECK(layout.pipes[0].to.ref == Ref{Kind::vessel, 1});
    CHECK(layout.valves[0].pipe == 0);
    CHECK(validate(layout).empty());  // once more changes nothing
    CHECK(layout.arrangements.size() == 1);
}

TEST_CASE("what a layout made by hand may lack is said, all at once") {
    Layout layout = two_tanks();
    layout.vessels[0].volume.clear();
    layout.pipes[0].bore_m = kNotSaid;
    layout.pipes[0].to.id = "LWO";
    layout.pipes[0].roughness_m = kNotSaid;
    const std::vector<Problem> problems = validate(layout);
    CHECK(has(problems, "volume-table"));
    CHECK(has(problems, "missing"));
    REQUIRE(has(problems, "dangling"));
    CHECK(std::ranges::find(problems, "dangling", &Problem::code)->advice == "did you mean \"LOW\"?");
    CHECK(problems.size() == 4);
    Layout empty;
    CHECK(has(validate(empty), "nothing-there"));
}

TEST_CASE("a target of nothing, less or without end is refused; one left out is none") {
    for (double Vessel::*const target : {&Vessel::turnover_s, &Vessel::inflow_m3_s, &Vessel::fills_within_s, &Vessel::drains_within_s}) {
        for (const double wanted : {0.0, -1.0, HUGE_VAL}) {
            Layout layout = two_tanks();
            layout.vessels[0].*target = wanted;
            CHECK(has(validate(layout), "target-of-nothing"));
        }
        Layout layout = two_tanks();
        layout.vessels[0].*target = 1e-6;
        CHECK(validate(layout).empty());
    }
}

TEST_CASE("the nearest line of a chain of arrangements wins") {
    Layout layout = two_tanks();
    layout.arrangements = {
        arrangement("c", "b", {setting(Act::throttle, "V", 0.7)}),
        arrangement("b", "a", {}),
        arrangement("a", "", {setting(Act::close, "V")}),
        arrangement("free", "", {}),
    };
    REQUIRE(validate(layout).empty());
    CHECK(conditions_of(layout, 0).valve_opening[0] == 0.7);
    CHECK(conditions_of(layout, 1).valve_opening[0] == 0.0);
    CHECK(conditions_of(layout, 2).valve_opening[0] == 0.0);
    CHECK(conditions_of(layout, 3).valve_opening[0] == 1.0);
}

TEST_CASE("a chain of ten thousand arrangements is followed without a search") {
    Layout layout = two_tanks();
    constexpr int kLong = 10'000;
    for (int i = 0; i < kLong; ++i)
        layout.arrangements.push_back(arrangement("a" + std::to_string(i), i == 0 ? "" : "a" + std::to_string(i - 1),
                                                  i == 0 ? std::vector<Setting>{setting(Act::close, "V")} : std::vector<Setting>{}));
    REQUIRE(validate(layout).empty());
    for (int i = 0; i < kLong; ++i) REQUIRE(layout.arrangements[static_cast<std::size_t>(i)].base == i - 1);
    CHECK(conditions_of(layout, kLong - 1).valve_opening[0] == 0.0);
}

TEST_CASE("circles of any length are found once, and do not hang") {
    Layout layout = two_tanks();
    layout.arrangements = {arrangement("a", "b", {}), arrangement("b", "c", {}), arrangement("c", "a", {}), arrangement("d", "a", {})};
    const std::vector<Problem> problems = validate(layout);
    CHECK(problems.size() == 1);
    CHECK(has(problems, "based-on-circle"));
    layout = two_tanks();
    layout.arrangements = {arrangement("a", "a", {})};
    CHECK(has(validate(layout), "based-on-circle"));
}

TEST_CASE("contradictions are errors, repetitions are not") {
    Layout layout = two_tanks();
    layout.arrangements = {arrangement("a", "", {setting(Act::open, "V"), setting(Act::close, "V")})};
    CHECK(has(validate(layout), "contradiction"));
    layout.arrangements = {arrangement("a", "", {setting(Act::close, "V"), setting(Act::close, "V")})};
    CHECK(validate(layout).empty());
    layout.arrangements = {arrangement("a", "", {setting(Act::throttle, "V", 0.4), setting(Act::throttle, "V", 0.5)})};
    CHECK(has(validate(layout), "contradiction"));
}

TEST_CASE("edit distance of words") {
    // by hand: optimal string alignment
    CHECK(edit_distance("tank", "tank", 3) == 0);
    CHECK(edit_distance("tonk", "tank", 3) == 1);
    CHECK(edit_distance("tnak", "tank", 3) == 1);
    CHECK(edit_distance("tan", "tank", 3) == 1);
    CHECK(edit_distance("kitten", "sitting", 5) == 3);
    CHECK(edit_distance("abcdef", "uvwxyz", 3) == 4);  // limit + 1
    const std::vector<std::string_view> words = {"tank", "tee", "tier"};
    CHECK(nearest_word("TANK", words) == "tank");
    CHECK(nearest_word("zzzzzz", words).empty());
    CHECK(nearest_word("", words).empty());
}

namespace {

std::vector<std::string> codes_with(const std::function<void(Routine&)>& bend) {
    Layout layout = two_tanks();
    Routine routine;
    routine.name = "day";
    bend(routine);
    layout.routines = {routine};
    std::vector<std::string> codes;
    for (const Problem& problem : validate(layout)) {
        CHECK_FALSE(problem.advice.empty());
        codes.push_back(problem.code);
    }
    return codes;
}

}  // namespace

TEST_CASE("routines made in C++ are held to what a clock can follow") {
    using Codes = std::vector<std::string>;
    const Codes bounds = {"out-of-bounds"};
    const auto timer = [](double every_s, double for_s, double after_s) {
        return
            [=](Routine& day) { day.timers = {{.place = {}, .about_id = "V", .about = {}, .every_s = every_s, .for_s = for_s, .after_s = after_s}}; };
    };
    const auto draw = [](double volume_m3, double at_s, double over_s, double every_s) {
        return [=](Routine& day) {
            Draw made;
            made.from_id = "HIGH";
            made.volume_m3 = volume_m3, made.at_s = at_s, made.over_s = over_s, made.every_s = every_s;
            day.draws = {made};
        };
    };
    const auto level_switch = [](double below_m, double above_m) {
        return [=](Routine& day) {
            LevelSwitch made;
            made.watches_id = "LOW", made.about_id = "V", made.below_m = below_m, made.above_m = above_m;
            day.level_switches = {made};
        };
    };
    const auto change = [](double at_s, std::vector<Setting> settings) { return [=](Routine& day) { day.changes = {{{}, at_s, settings}}; }; };
    CHECK(codes_with([](Routine&) {}).empty());
    CHECK(codes_with([](Routine& day) { day.lasts_s = 0.0; }) == bounds);
    CHECK(codes_with(timer(60.0, 30.0, 0.0)).empty());
    CHECK(codes_with(timer(0.0, 30.0, 0.0)).size() == 2);  // and longer than its period
    CHECK(codes_with(timer(60.0, -1.0, 0.0)) == bounds);
    CHECK(codes_with(timer(60.0, 30.0, -1.0)) == bounds);
    CHECK(codes_with(timer(60.0, kNotSaid, 0.0)) == Codes{"missing"});
    CHECK(codes_with(draw(0.1, 0.0, 60.0, kNotSaid)).empty());
    CHECK(codes_with(draw(0.1, 0.0, 60.0, 60.0)).empty());
    CHECK(codes_with(draw(0.1, 0.0, 60.0, 59.0)) == Codes{"draw-longer-than-period"});
    CHECK(codes_with(draw(0.0, 0.0, 60.0, kNotSaid)) == bounds);
    CHECK(codes_with(draw(0.1, -1.0, 60.0, kNotSaid)) == bounds);
    CHECK(codes_with(draw(0.1, 0.0, 0.0, kNotSaid)) == bounds);
    CHECK(codes_with([](Routine& day) { day.uptakes = {{{}, "LOW", {}, 0.0}}; }) == bounds);
    CHECK(codes_with([](Routine& day) { day.power_cuts = {{{}, 0.0, 0.0}}; }) == bounds);
    CHECK(codes_with([](Routine& day) { day.rotations = {{{}, {"V"}, {}, 0.0}}; }) == bounds);
    CHECK(codes_with([](Routine& day) { day.failures = {{{}, "P9", -1, 0.0, kNotSaid}}; }) == Codes{"dangling"});
    CHECK(codes_with(level_switch(0.2, 0.3)).empty());
    CHECK(codes_with(level_switch(0.2, 0.2)) == Codes{"switch-thresholds"});
    CHECK(codes_with(level_switch(0.3, 0.2)) == Codes{"switch-thresholds"});
    CHECK(codes_with(level_switch(kNotSaid, 0.2)) == Codes{"missing"});
    CHECK(codes_with(change(0.0, {setting(Act::throttle, "V", 0.5)})).empty());
    CHECK(codes_with(change(0.0, {setting(Act::throttle, "V", 1.5)})) == bounds);
    CHECK(codes_with(change(0.0, {setting(Act::open, "V"), setting(Act::close, "V")})) == Codes{"contradiction"});
    CHECK(codes_with(change(-1.0, {setting(Act::open, "V")})) == bounds);
    CHECK(codes_with(change(0.0, {})) == Codes{"missing"});
    CHECK(codes_with([&](Routine& day) {
              timer(60.0, 30.0, 0.0)(day);
              day.rotations = {{{}, {"V"}, {}, 10.0}};
          }) == Codes{"two-clocks"});
}
