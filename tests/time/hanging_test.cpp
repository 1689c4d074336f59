// Things that hang: a float valve that stays open or shut, mains that fail, a pump and a valve that the clock no longer moves. Against geometry
// and the square law of the rating.

#include <doctest/doctest.h>

#include <cmath>

#include "solver/time/what_if.h"
#include "tests/time/busy_farm.h"
#include "tests/time/what_fails.h"

using namespace ebb;
using doctest::Approx;
using layout::Kind;
using layout::Layout;
using layout::VesselKind;
using test::fails;
using test::struck;
using time::Clock;

namespace {

constexpr double kArea_m2 = 0.8, kDepth_m = 0.5, kHeight_m = 1.0;
constexpr double kRated_m3_s = 2e-4, kRatedHead_m = 10.0;

/// A tank that the mains fill through a float valve, which is shut at the depth it stands at; the hose end hangs at the rim.
Layout filled_by_mains(double drive_m) {
    Layout farm;
    farm.vessels = {test::prism("TANK", 0.0, kHeight_m, kArea_m2, kDepth_m)};
    test::add_float_valve(farm, "FV", "MAINS", "TANK", kDepth_m - 0.1, kDepth_m);
    farm.float_valves[0].rated_flow_m3_s = kRated_m3_s;
    farm.float_valves[0].rated_head_m = kRatedHead_m;
    farm.float_valves[0].height_m = kHeight_m;
    farm.supplies[0].elevation_m = kHeight_m;
    farm.supplies[0].head_m = drive_m;
    farm.pipes[0].bore_m = 0.1;  // loses less than a millimetre
    farm.arrangements.resize(1);
    farm.arrangements[0].name = "drawn";
    REQUIRE(layout::validate(farm).empty());
    return farm;
}

}  // namespace

TEST_CASE("a float valve that hangs open runs the tank over after (room to the rim) / (rated flow x sqrt(drive / rated at))") {
    for (const double drive_m : {kRatedHead_m, 4.0 * kRatedHead_m}) {
        const double flow_m3_s = kRated_m3_s * std::sqrt(drive_m / kRatedHead_m);
        const auto answer = fails(filled_by_mains(drive_m), time::Fault::opens, {Kind::float_valve, 0}, 7200.0);
        REQUIRE(answer.cannot.empty());
        REQUIRE(answer.settled);
        const auto* over = struck(answer, Clock::overflow, "TANK");
        REQUIRE(over != nullptr);
        CHECK(over->t_s == Approx(kArea_m2 * (kHeight_m - kDepth_m) / flow_m3_s).epsilon(1e-3));
        CHECK(over->spill_m3_s == Approx(flow_m3_s).epsilon(1e-3));
        CHECK_FALSE(over->also_without);
        CHECK(over->goes_on_m3_s == Approx(flow_m3_s).epsilon(1e-3));
    }
}

TEST_CASE("a float valve that hangs shut, its pipe blocked or mains that fail: the plants drink the tank down") {
    constexpr double kDrunk_m3_s = 2e-5, kLasts_s = 3600.0;
    Layout farm = filled_by_mains(kRatedHead_m);
    layout::Routine day;
    day.uptakes = {test::uptake("TANK", kDrunk_m3_s)};
    (void)test::plan_for(farm, day, kLasts_s);
    const auto as_drawn = fails(farm, time::Fault::opens, {Kind::float_valve, 0}, kLasts_s, 0);
    CHECK(as_drawn.course.supplies[0].given_m3 == Approx(kRated_m3_s * kLasts_s).epsilon(1e-3));
    const std::vector<std::pair<time::Fault, layout::Ref>> all = {{time::Fault::shuts, {Kind::float_valve, 0}},
                                                                  {time::Fault::blocks, {Kind::float_valve, 0}},
                                                                  {time::Fault::blocks, {Kind::pipe, 0}},
                                                                  {time::Fault::stops, {Kind::supply, 0}},
                                                                  {time::Fault::blocks, {Kind::supply, 0}}};
    for (const auto& [fault, about] : all) {
        CAPTURE(time::name_of(fault));
        const auto answer = fails(farm, fault, about, kLasts_s, 0);
        REQUIRE(answer.cannot.empty());
        CHECK(std::abs(answer.course.supplies[0].given_m3) < 1e-15);
        CHECK(answer.course.vessels[0].end_depth_m == Approx(kDepth_m - kDrunk_m3_s * kLasts_s / kArea_m2).epsilon(1e-6));
    }
}

TEST_CASE("a pump that nothing stops runs through its pauses, and one that runs already changes nothing") {
    Layout farm;
    farm.vessels = {test::prism("SUMP", -1.0, 0.9, 2.0, 0.7, VesselKind::sump), test::prism("TANK", 0.0, 1.0, 1.5, 0.8)};
    test::add_steady_pump(farm, "P", "SUMP", 5e-4, 0.08);
    farm.pipes = {test::pipe("FEED", "P", "TANK", 3.0, 0.032), test::pipe("HOME", "TANK", "SUMP", 2.0, 0.075)};
    farm.pipes[0].to.height_m = 0.9;
    farm.pipes[1].from.height_m = 0.8;
    layout::Routine day;
    day.timers = {test::timer("P", 1800.0, 600.0)};
    (void)test::plan_for(farm, day, 7200.0);
    const auto always = fails(farm, time::Fault::runs, {Kind::pump, 0}, 7200.0, 0);
    REQUIRE(always.cannot.empty());
    CHECK(always.course.pumps[0].run_s == Approx(7200.0));
    CHECK(always.course.pumps[0].pumped_m3 == Approx(5e-4 * 7200.0).epsilon(1e-3));
    const auto never = fails(farm, time::Fault::stops, {Kind::pump, 0}, 7200.0, 0);
    CHECK(never.course.pumps[0].run_s == 0.0);
    CHECK(fails(farm, time::Fault::runs, {Kind::pump, 0}, 600.0).nothing_changes);
}

TEST_CASE("a valve of a rotation that hangs is out of the clock's hands, the others keep their turns") {
    constexpr double kTurn_s = 900.0, kLasts_s = 5400.0;
    Layout farm;
    farm.vessels = {test::prism("SUMP", -1.0, 0.9, 4.0, 0.7, VesselKind::sump)};
    farm.ponds.push_back({.id = "AWAY", .place = {}, .level_m = -3.0});
    for (const char* out : {"A", "B", "C"}) {
        farm.pipes.push_back(test::pipe(out, "SUMP", "AWAY", 2.0, 0.01));
        test::add_valve(farm, out, std::string("V") + out);
    }
    layout::Routine day;
    layout::Rotation rotation;
    rotation.valve_ids = {"VA", "VB", "VC"};
    rotation.each_s = kTurn_s;
    day.rotations = {rotation};
    const time::Plan plan = test::plan_for(farm, day, kLasts_s);
    const auto flowed = [](const time::Course& course, std::size_t pipe) { return course.pipes[pipe].net_m3; };
    const time::Course as_drawn = time::Simulation(farm).run(plan);
    // two turns of three each, the later ones under a little less water
    for (const std::size_t pipe : {0U, 1U, 2U}) CHECK(flowed(as_drawn, pipe) == Approx(flowed(as_drawn, 0)).epsilon(0.05));
    const auto open = fails(farm, time::Fault::opens, {Kind::valve, 0}, kLasts_s, 0);
    REQUIRE(open.cannot.empty());
    CHECK(flowed(open.course, 0) == Approx(3.0 * flowed(as_drawn, 0)).epsilon(0.05));
    CHECK(flowed(open.course, 1) == Approx(flowed(as_drawn, 1)).epsilon(0.05));
    const auto shut = fails(farm, time::Fault::shuts, {Kind::valve, 0}, kLasts_s, 0);
    CHECK(flowed(shut.course, 0) == 0.0);
    CHECK(flowed(shut.course, 2) == Approx(flowed(as_drawn, 2)).epsilon(0.05));
}

TEST_CASE("what may go wrong with each kind of thing") {
    CHECK(time::faults_of(Kind::valve).size() == 3);
    CHECK(time::faults_of(Kind::float_valve).size() == 3);
    CHECK(time::faults_of(Kind::pump).size() == 3);
    CHECK(time::faults_of(Kind::supply).size() == 2);
    CHECK(time::faults_of(Kind::pipe).back() == time::Fault::breaks);
    CHECK(time::faults_of(Kind::siphon).front() == time::Fault::blocks);
    CHECK(time::faults_of(Kind::tee).empty());
}
