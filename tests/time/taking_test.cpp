// Water taken at tees, in time: a tank that a tap empties falls by what is taken; the account closes; a tap that is cut off gives nothing.
#include "tests/near.h"
#include "tests/time/in_time.h"

namespace {

using namespace ebb;
using layout::Layout;

constexpr double kTakes_m3_s = 2e-4, kArea_m2 = 1.5;

/// A tank, a tap below it behind a valve, and a pump that could lift out of a sump into the tank.
Layout tap_farm(bool pumped) {
    Layout layout;
    layout.vessels = {test::prism("T", 2.0, 2.0, kArea_m2, 1.6)};
    layout::Tee tap;
    tap.id = "TAP";
    tap.elevation_m = 0.5;
    tap.takes_m3_s = kTakes_m3_s;
    layout.tees = {tap};
    layout.pipes = {test::pipe("down", "T", "TAP", 5.0, 0.04)};
    layout::Valve valve;
    valve.id = "V";
    valve.loss = 0.1;
    layout.valves = {valve};
    layout.pipes[0].valves = {0};
    if (pumped) {
        layout.vessels[0] = test::prism("S", -1.0, 2.0, kArea_m2, 1.6, layout::VesselKind::sump);
        layout::PumpModel model;
        model.name = "M";
        model.curve = physics::PumpCurve(std::vector<physics::PumpPoint>{{0.0, 8.0, 50.0, layout::kNotSaid}, {2e-3, 2.0, 90.0, layout::kNotSaid}});
        model.greatest_flow_m3_s = 2e-3;
        model.greatest_head_m = 8.0;
        model.has_power = true;
        layout.pump_models = {model};
        layout::Pump pump;
        pump.id = "P";
        pump.model_name = "M";
        pump.in_id = "S";
        pump.intake_height_m = 0.05;
        layout.pumps = {pump};
        layout.pipes[0].from.id = "P";
    }
    return layout;
}

}  // namespace

TEST_CASE("a tank falls by what a tap takes, to the last digits") {
    Layout layout = tap_farm(false);
    constexpr double kLasts_s = 3600.0;
    const time::Course course = test::follow(layout, kLasts_s);
    REQUIRE(course.ending == time::Ending::time_over);
    CHECK(course.vessels[0].end_depth_m == ebb::test::near(1.6 - kTakes_m3_s * kLasts_s / kArea_m2).epsilon(1e-9));
    REQUIRE(course.tees.size() == 1);
    CHECK(course.tees[0].taken_m3 == ebb::test::near(kTakes_m3_s * kLasts_s).epsilon(1e-12));
    CHECK(course.tees[0].missing_m3 < 1e-12);
    CHECK(course.worst_water_error_m3 <= 1e-9 * course.water_m3);
    CHECK(course.water_m3 - course.vessels[0].end_volume_m3 == ebb::test::near(course.tees[0].taken_m3).epsilon(1e-9));
}

TEST_CASE("a tap behind a shut valve gives nothing, and what is missing is told") {
    Layout layout = tap_farm(false);
    layout::Routine routine;
    layout::Timer timer;
    timer.about_id = "V";
    timer.about.kind = layout::Kind::valve;
    timer.every_s = 600.0;
    timer.for_s = 200.0;
    routine.timers = {timer};
    const time::Course course = test::follow(layout, 3600.0, routine);
    REQUIRE(course.ending == time::Ending::time_over);
    CHECK(course.tees[0].wanted_m3 == ebb::test::near(kTakes_m3_s * 3600.0).epsilon(1e-12));
    CHECK(course.tees[0].taken_m3 == ebb::test::near(kTakes_m3_s * 1200.0).epsilon(1e-9));
    CHECK(course.tees[0].missing_m3 == ebb::test::near(kTakes_m3_s * 2400.0).epsilon(1e-9));
    CHECK(course.vessels[0].end_volume_m3 == ebb::test::near(1.6 * kArea_m2 - kTakes_m3_s * 1200.0).epsilon(1e-9));
    CHECK(course.worst_water_error_m3 <= 1e-9 * course.water_m3);
}

TEST_CASE("a tap fed by a pump gives nothing while the power is off") {
    Layout layout = tap_farm(true);
    layout::Routine routine;
    layout::PowerCut cut;
    cut.at_s = 600.0;
    cut.for_s = 900.0;
    routine.power_cuts = {cut};
    const time::Course course = test::follow(layout, 3600.0, routine);
    REQUIRE(course.ending == time::Ending::time_over);
    CHECK(course.tees[0].taken_m3 == ebb::test::near(kTakes_m3_s * 2700.0).epsilon(1e-9));
    CHECK(course.pumps[0].pumped_m3 == ebb::test::near(course.tees[0].taken_m3).epsilon(1e-6));
    CHECK(course.worst_water_error_m3 <= 1e-9 * course.water_m3);
}

TEST_CASE("a tap that empties its tank ends with a sentence, not with a wrong answer") {
    Layout layout = tap_farm(false);
    const time::Course course = test::follow(layout, 86400.0);  // there is water for 12000 s
    CHECK(course.ending == time::Ending::no_solution);
    CHECK(course.why.find("more than can reach") != std::string::npos);
    CHECK(course.lasted_s > 11000.0);
    CHECK(course.lasted_s <= 1.6 * kArea_m2 / kTakes_m3_s);
    CHECK(course.worst_water_error_m3 <= 1e-9 * course.water_m3);
}
