// Things that fight: switching without getting anywhere ends the run, names who fights, and leaves what was found until then.

#include "tests/near.h"
#include "tests/time/busy_farm.h"

namespace {

using namespace ebb;
using layout::Layout;
using layout::VesselKind;

/// A large pump that fills a cup from a pond; a wide hole lets it out again.
Layout cup(double area_m2) {
    Layout layout;
    layout.vessels = {test::prism("CUP", 0.0, 0.5, area_m2, 0.2, VesselKind::sump)};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = -0.5});
    test::add_steady_pump(layout, "P", "W", 5e-3);
    layout.pumps[0].intake_height_m = layout::kNotSaid;
    layout.pipes = {test::pipe("UP", "P", "CUP", 1.0, 0.08)};
    layout.pipes[0].to.height_m = 0.45;
    test::add_standpipe(layout, "S", "CUP", 0.1, 0.4);
    layout.standpipes[0].holes.push_back({.height_m = 0.0, .diameter_m = 0.04, .count = 1, .discharge_coefficient = 0.61, .place = {}});
    layout.pipes.push_back(test::drain("D", "S", "W", 1.0, 0.15));
    return layout;
}

}  // namespace

TEST_CASE("a level-switch with next to no dead band, a large pump and a small cup chatter") {
    Layout layout = cup(0.01);
    layout::Routine routine;
    routine.level_switches = {test::level_switch("CUP", "P", 0.1999, 0.2001, false)};
    const auto course = test::follow(layout, 3600.0, routine);
    CHECK(course.ending == time::Ending::chatters);
    CHECK(course.why.find("CUP") != std::string::npos);
    CHECK(course.why.find("P") != std::string::npos);
    CHECK(course.lasted_s < 60.0);
    CHECK(course.counts.steps < 5000);
    CHECK(course.vessels[0].end_depth_m == ebb::test::near(0.2).epsilon(0.01));
}

TEST_CASE("two switches that fight over one cup chatter, and both are named") {
    Layout layout = cup(0.01);
    layout.pipes.push_back(test::loss_only("OUT", "CUP", "W", 0.05, 10.0));
    test::add_valve(layout, "OUT", "V");
    layout::Routine routine;
    // the one lets water out as soon as the other's pump has brought it; the hole brings the pump back
    routine.level_switches = {test::level_switch("CUP", "P", 0.2006, 0.2008, false), test::level_switch("CUP", "V", 0.20065, 0.2007)};
    const auto course = test::follow(layout, 3600.0, routine);
    CHECK(course.ending == time::Ending::chatters);
    CHECK(course.why.find("the level-switch of CUP on P") != std::string::npos);
    CHECK(course.why.find("the level-switch of CUP on V") != std::string::npos);
    CHECK(course.lasted_s < 60.0);
    CHECK(course.counts.steps < 20000);
}

TEST_CASE("a switch that works often but for a purpose does not chatter") {
    Layout layout = cup(1.0);
    layout::Routine routine;
    routine.level_switches = {test::level_switch("CUP", "P", 0.15, 0.25, false)};
    const auto course = test::follow(layout, 7200.0, routine);
    CHECK(course.ending == time::Ending::time_over);
    CHECK(course.pumps[0].starts > 20);
    CHECK(course.vessels[0].least_depth_m == ebb::test::near(0.15).epsilon(1e-4));
    CHECK(course.vessels[0].greatest_depth_m == ebb::test::near(0.25).epsilon(1e-4));
}
