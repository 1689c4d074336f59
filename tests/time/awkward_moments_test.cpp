// Moments at which something is at an end of what it can do: a pump that has emptied its sump when a valve shuts, a drain shut under water, a vessel
// full to the rim, an intake bare when its pump is switched on. What must come out is geometry and counting.

#include "tests/time/in_time.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;
using time::Happening;

constexpr double kRises_m = 3.0;  ///< of the pump's curve at no flow

/// A pump in a sump, and a valve in its pipe to a tank above.
Layout sump_and_tank(double sump_depth_m) {
    Layout layout;
    layout.vessels = {test::prism("S", 0.0, 0.6, 0.5, sump_depth_m, VesselKind::sump), test::prism("T", 1.0, 1.0, 2.0, 0.1)};
    test::add_steady_pump(layout, "P", "S", 1e-3, 0.05);
    layout.pump_models[0].curve =
        physics::PumpCurve(std::vector<physics::PumpPoint>{{.flow_m3_s = 0.0, .head_m = kRises_m}, {.flow_m3_s = 1e-3, .head_m = 0.5}});
    layout.pipes = {test::pipe("UP", "P", "T", 3.0, 0.03)};
    layout.pipes[0].to.height_m = 0.9;
    test::add_valve(layout, "UP", "V");
    return layout;
}

}  // namespace

TEST_CASE("a pump that has emptied its sump meets a valve that shuts, again and again") {
    Layout layout = sump_and_tank(0.3);
    layout::Routine routine;
    routine.timers = {test::timer("V", 30.0, 15.0)};
    const auto course = test::follow(layout, 7200.0, routine);
    CHECK_MESSAGE(course.ending == time::Ending::time_over, course.why);
    CHECK(course.vessels[0].end_depth_m == Approx(0.05).epsilon(1e-3));                    // down to its intake, and no further
    CHECK(course.vessels[1].end_depth_m == Approx(0.1 + 0.25 * 0.5 / 2.0).epsilon(1e-3));  // where that water went
    CHECK(course.pumps[0].dry_s > 3600.0);
}

TEST_CASE("a drain shut under a bed that stands over its lip: nothing leaves it, neither over the lip nor through the hole") {
    Layout layout;
    layout.vessels = {test::prism("B", 1.0, 0.5, 1.0, 0.35, VesselKind::bed), test::prism("S", 0.0, 0.6, 2.0, 0.1, VesselKind::sump)};
    test::add_standpipe(layout, "O", "B", 0.05, 0.30);
    layout.standpipes[0].holes.push_back({.height_m = 0.0, .diameter_m = 0.01, .count = 1, .discharge_coefficient = 0.61, .place = {}});
    layout.pipes = {test::drain("D", "O", "S", 2.0, 0.06)};
    test::add_valve(layout, "D", "V");
    layout::Arrangement shut;
    shut.name = "drain shut";
    shut.settings = {{.act = layout::Act::close, .place = {}, .about_id = "V", .about = {}, .value = layout::kNotSaid, .insert = ""}};
    layout.arrangements = {shut};
    const auto course = test::follow(layout, 3600.0);
    CHECK_MESSAGE(course.ending == time::Ending::time_over, course.why);
    CHECK(course.vessels[0].end_depth_m == Approx(0.35).epsilon(1e-12));
    CHECK(course.vessels[1].end_depth_m == Approx(0.1).epsilon(1e-12));
    CHECK(settle::Farm(layout).solve(0).state == settle::State::settled);
}

TEST_CASE("an intake that is bare when its pump is switched on is told, and its time counts as dry") {
    Layout layout = sump_and_tank(0.04);  // 10 mm below the intake
    layout::Routine routine;
    routine.timers = {test::timer("P", 600.0, 300.0, 60.0)};
    const auto course = test::follow(layout, 600.0, routine);
    CHECK(test::times_of(course, Happening::intake_bare, "P") == std::vector<double>{60.0});
    CHECK(course.pumps[0].run_s == Approx(300.0));
    CHECK(course.pumps[0].dry_s == Approx(300.0));
}

TEST_CASE("a vessel full to its rim spills from the moment it gets more, and says so") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 0.5, 1.0, 0.5), test::prism("B", 0.0, 1.0, 1.0, 0.5)};
    layout.pipes = {test::loss_only("IDLE", "A", "B", 0.02, 1.0)};
    test::add_valve(layout, "IDLE", "V");
    layout::Arrangement shut;
    shut.name = "shut";
    shut.settings = {{.act = layout::Act::close, .place = {}, .about_id = "V", .about = {}, .value = layout::kNotSaid, .insert = ""}};
    layout.arrangements = {shut};
    layout::Routine routine;
    routine.draws = {test::draw("B", "A", 0.1, 100.0, 50.0)};
    const auto course = test::follow(layout, 600.0, routine);
    CHECK(test::first_of(course, Happening::reaches_rim, "A") == Approx(100.0).epsilon(1e-4));
    CHECK(course.vessels[0].first_spill_s == Approx(100.0).epsilon(1e-4));
    CHECK(course.vessels[0].spilled_m3 == Approx(0.1).epsilon(1e-6));  // a tenth of a micrometre on its 1 m2
}

TEST_CASE("many switches that go over together do not fight") {
    Layout layout;
    layout::Routine routine;
    for (int i = 0; i < 30; ++i) {
        const std::string number = std::to_string(i);
        layout.vessels.push_back(test::prism("A" + number, 1.0, 1.0, 1.0, 0.5));
        layout.vessels.push_back(test::prism("B" + number, 0.0, 1.0, 1.0, 0.1));
        layout.pipes.push_back(test::loss_only("D" + number, "A" + number, "B" + number, 0.02, 1.0));
        test::add_valve(layout, "D" + number, "V" + number);
        routine.level_switches.push_back(test::level_switch("A" + number, "V" + number, 0.4, 0.45));
    }
    const auto course = test::follow(layout, 1200.0, routine);
    CHECK_MESSAGE(course.ending == time::Ending::time_over, course.why);
    CHECK(test::times_of(course, Happening::valve_closes, "V7").size() == 1);
    CHECK(course.vessels[14].end_depth_m == Approx(0.4).epsilon(1e-6));
}
