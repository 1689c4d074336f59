// Whether a farm does the same again: periods that are known beforehand (the clock's, the water budget's), and declines that must not pass for
// repetition.

#include "tests/time/busy_farm.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;
using time::Repeat;

/// A sump, a pump, a timed bed with a hole.
Layout timed_bed(bool top_up) {
    Layout layout;
    layout.vessels = {test::prism("SUMP", -0.9, 0.8, 1.5, 0.5, VesselKind::sump), test::prism("BED", 0.3, 0.35, 0.6, 0.0, VesselKind::bed)};
    test::add_pump(layout, "P", "SUMP", 8e-4, 3.0, 0.05);
    layout.pipes = {test::pipe("UP", "P", "BED", 2.0, 0.025)};
    layout.pipes[0].to.height_m = 0.34;
    test::add_valve(layout, "UP", "V");
    test::add_standpipe(layout, "S", "BED", 0.05, 0.25);
    layout.standpipes[0].holes.push_back({.height_m = 0.0, .diameter_m = 0.014, .count = 1, .discharge_coefficient = 0.61, .place = {}});
    layout.pipes.push_back(test::drain("HOME", "S", "SUMP", 1.0, 0.07));
    layout.pipes[1].to.height_m = 0.75;
    if (top_up) test::add_float_valve(layout, "FV", "MAINS", "SUMP", 0.4, 0.45);
    return layout;
}

time::Course until_repeats(Layout& layout, layout::Routine routine, double lasts_s) {
    time::Plan plan = test::plan_for(layout, std::move(routine), lasts_s);
    plan.until_repeats = true;
    return time::Simulation(layout).run(plan);
}

}  // namespace

TEST_CASE("a timed bed repeats with its timer") {
    Layout layout = timed_bed(false);
    layout::Routine routine;
    routine.timers = {test::timer("V", 2700.0, 700.0)};
    const auto course = until_repeats(layout, routine, test::kDay_s);
    CHECK(course.ending == time::Ending::repeats);
    CHECK(course.repeat == Repeat::repeats);
    CHECK(course.repeats_every_s == Approx(2700.0));
    CHECK(course.lasted_s < 20000.0);
    CHECK(course.cycle_end_s - course.cycle_begin_s == Approx(2700.0));
}

TEST_CASE("timers of 20 and of 30 minutes repeat after 60") {
    Layout layout = timed_bed(false);
    layout.pipes.push_back(test::pipe("UP2", "P", "BED", 2.0, 0.02));
    layout.pipes.back().to.height_m = 0.34;
    // two pipes leave the pump through a tee
    layout.tees.resize(1);
    layout.tees[0].id = "J";
    layout.tees[0].elevation_m = 0.0;
    layout.pipes[0].from.id = layout.pipes.back().from.id = "J";
    layout.pipes.push_back(test::pipe("RISE", "P", "J", 1.0, 0.03));
    test::add_valve(layout, "UP2", "V2");
    layout::Routine routine;
    routine.timers = {test::timer("V", 1200.0, 300.0), test::timer("V2", 1800.0, 400.0)};
    const auto course = until_repeats(layout, routine, test::kDay_s);
    CHECK(course.ending == time::Ending::repeats);
    CHECK(course.repeats_every_s == Approx(3600.0));
}

TEST_CASE("a siphon bed repeats with a period of its own") {
    Layout layout;
    layout.vessels = {test::prism("SUMP", -0.9, 0.8, 1.5, 0.5, VesselKind::sump), test::prism("BED", 0.3, 0.35, 0.6, 0.0, VesselKind::bed)};
    test::add_steady_pump(layout, "P", "SUMP", 2e-4, 0.05);
    layout.pipes = {test::pipe("UP", "P", "BED", 2.0, 0.025)};
    layout.pipes[0].to.height_m = 0.34;
    test::add_siphon(layout, "SI", "BED", 0.03, 0.25, 0.04, 1e-4);
    layout.pipes.push_back(test::pipe("HOME", "SI", "SUMP", 1.0, 0.035));
    layout.pipes[1].to.height_m = 0.75;
    const auto course = until_repeats(layout, {}, test::kDay_s);
    CHECK(course.ending == time::Ending::repeats);
    REQUIRE(course.beds.size() == 1);
    CHECK(course.repeats_every_s == Approx(course.beds[0].period_s).epsilon(1e-6));
    const auto breaks = test::times_of(course, time::Happening::siphon_breaks, "SI");
    REQUIRE(breaks.size() > 1);
    CHECK(course.repeats_every_s == Approx(breaks.back() - breaks[breaks.size() - 2]).epsilon(1e-6));
    // and that is what goes in over a cycle: the bed's water from break to start, and what runs through meanwhile
    CHECK(course.vessels[1].mean_inflow_m3_s == Approx(2e-4).epsilon(1e-3));
}

TEST_CASE("plants that drink without a top-up: it never repeats, and says how much goes") {
    Layout layout = timed_bed(false);
    layout::Routine routine;
    routine.timers = {test::timer("V", 2700.0, 700.0)};
    constexpr double kDrunk_m3_s = 1e-7;
    routine.uptakes = {test::uptake("SUMP", kDrunk_m3_s)};
    const auto course = until_repeats(layout, routine, test::kDay_s);
    CHECK(course.ending == time::Ending::time_over);
    CHECK(course.repeat == Repeat::never);
    CHECK(std::isnan(course.repeats_every_s));
    CHECK(course.drift_m3 == Approx(-kDrunk_m3_s * 2700.0).epsilon(1e-3));
    CHECK_FALSE(course.why_no_repeat.empty());
}

TEST_CASE("plants that drink with a float valve: it repeats once the valve makes up for them") {
    Layout layout = timed_bed(true);
    layout::Routine routine;
    routine.timers = {test::timer("V", 2700.0, 700.0)};
    constexpr double kDrunk_m3_s = 1e-6;
    routine.uptakes = {test::uptake("SUMP", kDrunk_m3_s)};
    const auto course = until_repeats(layout, routine, 5.0 * test::kDay_s);
    CHECK(course.ending == time::Ending::repeats);
    CHECK(course.repeats_every_s == Approx(2700.0));
}

TEST_CASE("a slow decline is no repetition: fractions of a millimetre in a cycle, over and over") {
    for (const double fall_m : {2e-5, 8e-6, 1e-6}) {
        CAPTURE(fall_m);
        Layout layout = timed_bed(false);
        layout::Routine routine;
        routine.timers = {test::timer("V", 2700.0, 700.0)};
        routine.uptakes = {test::uptake("SUMP", fall_m * 1.5 / 2700.0)};
        const auto course = until_repeats(layout, routine, test::kDay_s);
        CHECK_MESSAGE(course.ending == time::Ending::time_over, course.repeats_every_s);
        CHECK(course.repeat != Repeat::repeats);
    }
}

TEST_CASE("clocks without a common period never repeat") {
    Layout layout = timed_bed(false);
    layout::Routine routine;
    routine.timers = {test::timer("V", 999.983, 300.0), test::timer("P", 1234.577, 600.0)};
    const auto course = until_repeats(layout, routine, 20000.0);
    CHECK(course.repeat == Repeat::never);
    CHECK(course.ending == time::Ending::time_over);
}

TEST_CASE("two vessels that have levelled out stand still") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 2.0, 2.0, 1.0), test::prism("B", 0.0, 2.0, 1.0, 0.1)};
    layout.pipes = {test::pipe("P", "A", "B", 5.0, 0.04)};
    time::Plan plan = test::plan_for(layout, {}, test::kDay_s);
    plan.until_still = true;
    const auto course = time::Simulation(layout).run(plan);
    CHECK(course.ending == time::Ending::still);
    CHECK(course.lasted_s < 7200.0);
    CHECK(course.vessels[0].end_depth_m == Approx(0.7).epsilon(1e-3));
}
