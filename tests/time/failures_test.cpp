// What a failure does and when, the order of moves between two arrangements, and the window of a siphon: against geometry and closed forms.

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "solver/physics/water.h"
#include "solver/time/break_pipe.h"
#include "solver/time/change_over.h"
#include "solver/time/siphon_window.h"
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

constexpr double kG = 9.80665;
constexpr double kPumped_m3_s = 5e-4;

layout::Arrangement arrangement(const std::string& name, std::vector<layout::Setting> settings = {}) {
    layout::Arrangement made;
    made.name = name;
    made.settings = std::move(settings);
    return made;
}

layout::Setting setting(layout::Act act, const std::string& about) {
    layout::Setting made;
    made.act = act;
    made.about_id = about;
    return made;
}

/// A sump, a pump, a tank that overflows home: what most farms are.
Layout loop() {
    Layout farm;
    farm.vessels = {test::prism("SUMP", -1.0, 0.9, 2.0, 0.7, VesselKind::sump), test::prism("TANK", 0.0, 1.0, 1.5, 0.8)};
    farm.vessels[1].turnover_s = 3600.0;
    test::add_steady_pump(farm, "P", "SUMP", kPumped_m3_s, 0.08);
    farm.pipes = {test::pipe("FEED", "P", "TANK", 3.0, 0.032)};
    farm.pipes[0].to.height_m = 0.9;
    test::add_valve(farm, "FEED", "V");
    test::add_standpipe(farm, "SP", "TANK", 0.06, 0.8);
    farm.pipes.push_back(test::drain("HOME", "SP", "SUMP", 2.0, 0.075));
    farm.arrangements = {arrangement("all on")};
    REQUIRE(layout::validate(farm).empty());
    return farm;
}

}  // namespace

TEST_CASE("a blocked overflow: the tank is full after (room to the rim) / inflow") {
    const Layout farm = loop();
    for (const layout::Ref about : {layout::Ref{Kind::standpipe, 0}, layout::Ref{Kind::pipe, 1}}) {
        const auto answer = fails(farm, time::Fault::blocks, about, 1200.0);
        REQUIRE(answer.cannot.empty());
        REQUIRE(answer.settled);
        const auto* over = struck(answer, Clock::overflow, "TANK");
        REQUIRE(over != nullptr);
        const double room_m3 = 1.5 * (1.0 - answer.before_depth_m[1]);
        constexpr double kLift_m = 1.4;  // from the sump's surface to the end of the feed, and a little friction
        CHECK(over->t_s == Approx(room_m3 / (kPumped_m3_s * (1.0 - kLift_m / test::kSteadyHead_m))).epsilon(3e-5));
        CHECK(over->spill_m3_s == Approx(kPumped_m3_s).epsilon(1e-4));
        // what has left the sump by then is what the tank had room for: areas 2.0 and 1.5 m2
        const double spilled = answer.course.vessels[1].spilled_m3;
        CHECK(2.0 * (answer.before_depth_m[0] - answer.course.vessels[0].end_depth_m) == Approx(room_m3 + spilled).epsilon(1e-6));
    }
}

TEST_CASE("a pump that stops: its tank gets nothing at once, and no clock brings it back") {
    Layout farm = loop();
    layout::Routine routine;
    routine.name = "by the hour";
    routine.arrangement_name = "all on";
    routine.lasts_s = 7200.0;
    routine.timers = {test::timer("P", 1800.0, 900.0)};
    farm.routines = {routine};
    REQUIRE(layout::validate(farm).empty());
    const auto still = fails(farm, time::Fault::stops, {Kind::pump, 0});
    const auto* gone = struck(still, Clock::no_inflow, "TANK");
    REQUIRE(gone != nullptr);
    CHECK(gone->t_s == 0.0);
    CHECK(std::isnan(gone->over_s));
    CHECK(struck(still, Clock::overflow, "SUMP") == nullptr);

    time::Simulation simulation(farm);
    time::WhatIfWanted wanted;
    wanted.mishap = {time::Fault::stops, {Kind::pump, 0}, "P"};
    wanted.routine = 0;
    wanted.lasts_s = 7200.0;
    const auto clocked = time::what_if(simulation, wanted);
    CHECK(clocked.course.pumps[0].run_s == 0.0);
    CHECK(struck(clocked, Clock::no_inflow, "TANK") != nullptr);
}

TEST_CASE("a valve that is shut already changes nothing when it shuts") {
    Layout farm = loop();
    farm.arrangements = {arrangement("shut", {setting(layout::Act::close, "V")})};
    REQUIRE(layout::validate(farm).empty());
    CHECK(fails(farm, time::Fault::shuts, {Kind::valve, 0}).nothing_changes);
    CHECK_FALSE(fails(farm, time::Fault::opens, {Kind::valve, 0}).nothing_changes);
}

TEST_CASE("a pipe broken between two tanks: everything above the break is on the floor, nothing below") {
    Layout farm;
    farm.vessels = {test::prism("HIGH", 1.0, 1.0, 0.8, 0.5), test::prism("LOW", 0.0, 1.5, 0.5, 1.2)};
    farm.pipes = {test::pipe("LINK", "HIGH", "LOW", 2.0, 0.04)};
    farm.pipes[0].to.height_m = 0.4;
    test::add_valve(farm, "LINK", "V");
    farm.arrangements = {arrangement("shut", {setting(layout::Act::close, "V")})};
    REQUIRE(layout::validate(farm).empty());
    // lower end: LOW, 0.4 m. The shut valve stays with the long piece, so that only LOW loses water: 0.5 m2 x (1.2 - 0.4) m
    const auto shut = fails(farm, time::Fault::breaks, {Kind::pipe, 0});
    REQUIRE(shut.cannot.empty());
    CHECK(shut.break_elevation_m == Approx(0.4));
    CHECK(shut.break_at_id == "LOW");
    CHECK(shut.floor_m3 == Approx(0.5 * 0.8).epsilon(1e-3));
    CHECK(shut.course.vessels[0].end_depth_m == Approx(0.5));
    CHECK(shut.course.vessels[1].end_depth_m == Approx(0.4).epsilon(2e-3));
    CHECK(time::break_pipe(farm, 0).layout.pipes.size() == 2);
}

namespace {

/// A tank with a feed and a drain, each with a valve, both shut to begin with; opened in the wrong order the tank spills, in the other the
/// pump merely goes round.
Layout two_valves(double drain_bore_m) {
    Layout farm;
    farm.vessels = {test::prism("SUMP", -1.0, 0.9, 1.0, 0.7, VesselKind::sump), test::prism("TANK", 0.0, 0.4, 0.5, 0.1)};
    test::add_pump(farm, "P", "SUMP", 1.2e-3, 4.0, 0.08);
    farm.pipes = {test::pipe("FEED", "P", "TANK", 3.0, 0.032), test::pipe("HOME", "TANK", "SUMP", 2.0, drain_bore_m)};
    farm.pipes[0].to.height_m = 0.38;
    farm.pipes[1].to.height_m = 0.85;
    test::add_valve(farm, "FEED", "VF");
    test::add_valve(farm, "HOME", "VD");
    farm.arrangements = {arrangement("shut", {setting(layout::Act::close, "VF"), setting(layout::Act::close, "VD")}), arrangement("open")};
    REQUIRE(layout::validate(farm).empty());
    return farm;
}

}  // namespace

TEST_CASE("of two orders the one that does not spill is found, and where there is none it is said what spills") {
    time::ChangeOverWanted wanted;
    wanted.from = 0;
    wanted.to = 1;
    {
        const Layout farm = two_valves(0.05);
        time::Simulation simulation(farm);
        const auto answer = time::change_over(simulation, wanted);
        REQUIRE(answer.end == time::ChangeEnd::found);
        REQUIRE(answer.steps.size() == 2);
        CHECK(answer.moves[static_cast<std::size_t>(answer.steps[0].moves[0])].setting.about_id == "VD");
        CHECK(answer.moves[static_cast<std::size_t>(answer.steps[1].moves[0])].setting.about_id == "VF");
        CHECK_FALSE(answer.in_pairs);
        CHECK(answer.ends_as_settled);
        CHECK(answer.steps[0].after_depth_m[1] < 0.02);  // the tank has drained to its port
        // the water of the two is kept: areas 1.0 and 0.5 m2
        for (const auto& step : answer.steps) CHECK(step.after_depth_m[0] + 0.5 * step.after_depth_m[1] == Approx(0.7 + 0.05).epsilon(1e-6));
        // and back again: the feed has to be shut first
        wanted.from = 1;
        wanted.to = 0;
        const auto back = time::change_over(simulation, wanted);
        REQUIRE(back.end == time::ChangeEnd::found);
        CHECK(back.moves[static_cast<std::size_t>(back.steps[0].moves[0])].setting.about_id == "VF");
        wanted.to = 1;
        CHECK(time::change_over(simulation, wanted).end == time::ChangeEnd::nothing_to_do);
    }
    {
        const Layout farm = two_valves(0.012);  // carries a tenth of what the pump gives
        wanted.from = 0;
        time::Simulation simulation(farm);
        const auto answer = time::change_over(simulation, wanted);
        REQUIRE(answer.end == time::ChangeEnd::none);
        CHECK(answer.trouble.spills);
        CHECK(answer.trouble.about_id == "TANK");
        CHECK(answer.trouble.after_s > 0.0);
    }
}

namespace {

constexpr double kBed = 0.6, kBore = 0.04, kCrest = 0.25, kBreaks = 0.05, kLoss = 2.0, kTail = 1.5, kTailBore = 0.045, kRough = 1e-4, kEnd = -0.4;

Layout siphon_bed(double starts_with_m3_s) {
    Layout farm;
    farm.water_temperature_c = 20.0;
    farm.vessels = {test::prism("BED", 0.0, 0.4, kBed, 0.0, VesselKind::bed), test::prism("BELOW", -1.2, 1.0, 50.0, 0.3, VesselKind::sump)};
    test::add_siphon(farm, "SI", "BED", kBore, kCrest, kBreaks, starts_with_m3_s);
    farm.siphons[0].loss = kLoss;
    farm.pipes = {test::pipe("TAIL", "SI", "BELOW", kTail, kTailBore)};
    farm.pipes[0].to.height_m = kEnd + 1.2;
    farm.pipes[0].roughness_m = kRough;
    farm.arrangements = {arrangement("drawn")};
    REQUIRE(layout::validate(farm).empty());
    return farm;
}

/// Q = sqrt(2 g z / sum(K_i / A_i^2)): Torricelli with the losses of Darcy and Weisbach, friction factor by Colebrook and White (1937).
double full_flow(double depth_m) {
    const double up = 0.25 * std::numbers::pi * kBore * kBore, tail = 0.25 * std::numbers::pi * kTailBore * kTailBore;
    const double viscosity = physics::water_at(20.0, 0.0).kinematic_viscosity_m2_s;
    double x = 7.0, flow = 0.0;
    for (int i = 0; i < 200; ++i) {
        flow = std::sqrt(2.0 * kG * (depth_m - kEnd) / ((0.5 + kLoss) / (up * up) + (kTail / kTailBore / (x * x) + 1.0) / (tail * tail)));
        x = -2.0 * std::log10(kRough / (3.7 * kTailBore) + 2.51 * x * viscosity / (flow / tail * kTailBore));
    }
    return flow;
}

bool happens(const time::Course& course, time::Happening what) { return !test::times_of(course, what, "SI").empty(); }

}  // namespace

TEST_CASE("the window of a siphon: its upper end is the full pipe's flow at the break height, its lower end what starts it") {
    constexpr double kStarts = 1.5e-4;
    const Layout farm = siphon_bed(kStarts);
    time::Simulation simulation(farm);
    time::SiphonWindowWanted wanted;
    wanted.siphon = 0;
    const auto window = time::siphon_window(simulation, wanted);
    REQUIRE(window.lower == time::WindowEnd::found);
    REQUIRE(window.upper == time::WindowEnd::found);
    CHECK(window.starts_from_m3_s == Approx(kStarts).epsilon(1e-3));  // nothing else drains this bed
    CHECK(window.breaks_to_m3_s == Approx(full_flow(kBreaks)).epsilon(1e-3));
    CHECK_FALSE(window.empty);
    CHECK(window.inflow_is == time::InflowIs::nothing);
    // common practice: 0.3 to 1.0 of A sqrt(g D)
    CHECK(window.surely_starts_from_m3_s == Approx(0.25 * std::numbers::pi * kBore * kBore * std::sqrt(kG * kBore)));
    CHECK(window.may_start_from_m3_s == Approx(0.3 * window.surely_starts_from_m3_s));
    REQUIRE(window.rows.size() == 5);
    for (std::size_t r = 0; r < window.rows.size(); ++r) {
        CAPTURE(r);
        CHECK(window.rows[r].period_s == Approx(window.rows[r].fill_s + window.rows[r].drain_s).epsilon(1e-3));
        if (r > 0) CHECK(window.rows[r].fill_s < window.rows[r - 1].fill_s);
        if (r > 0) CHECK(window.rows[r].drain_s > window.rows[r - 1].drain_s);
    }

    // stepping the inflow by hand, a hundredth of each end at a time, from an empty bed
    const time::Memory start = time::siphon_trial_start(simulation, wanted);
    const auto by_hand = [&](double inflow_m3_s) {
        time::Plan plan = time::siphon_trial(farm, wanted, start, inflow_m3_s);
        plan.lasts_s = 3.0 * kBed * kCrest / inflow_m3_s;
        return simulation.run(plan);
    };
    double first_that_starts = 0.0, last_that_breaks = 0.0;
    for (int step = -3; step <= 3; ++step) {
        const double share = 1.0 + (step + 0.5) / 100.0;
        if (first_that_starts == 0.0 && happens(by_hand(share * window.starts_from_m3_s), time::Happening::siphon_starts)) first_that_starts = share;
        time::Plan plan = time::siphon_trial(farm, wanted, start, share * window.breaks_to_m3_s);
        plan.lasts_s = 40.0 * kBed * kCrest / plan.hoses[0].rate_m3_s;
        const auto course = simulation.run(plan);
        CHECK(happens(course, time::Happening::siphon_starts));
        if (happens(course, time::Happening::siphon_breaks)) last_that_breaks = share;
    }
    CHECK(first_that_starts == Approx(1.005));
    CHECK(last_that_breaks == Approx(0.995));
}

TEST_CASE("a siphon that needs more to start than lets it break has an empty window; a longer leg opens it") {
    Layout farm = siphon_bed(1.1 * full_flow(kBreaks));
    time::SiphonWindowWanted wanted;
    wanted.siphon = 0;
    {
        time::Simulation simulation(farm);
        const auto window = time::siphon_window(simulation, wanted);
        CHECK(window.empty);
        CHECK(window.rows.empty());
    }
    farm.pipes[0].to.height_m = 0.35;  // ends 0.45 m lower
    time::Simulation simulation(farm);
    const auto window = time::siphon_window(simulation, wanted);
    CHECK_FALSE(window.empty);
    CHECK(window.breaks_to_m3_s > window.starts_from_m3_s);
}

TEST_CASE("of two orders that do no harm the one is taken that keeps more of the room that both arrangements have at rest") {
    // SRC holds 0.3 m3, for which TANK has 0.5 m3 of room: emptied first, it comes within 0.2 m of its rim; emptied after TANK, never. A pump that
    // runs with little water over its intake the whole time has nothing to do with it.
    Layout farm;
    farm.vessels = {test::prism("SRC", 2.0, 1.2, 0.3, 1.0), test::prism("TANK", 0.0, 1.0, 1.0, 0.5), test::prism("LOW", -2.0, 1.0, 5.0, 0.1),
                    test::prism("SUMP", -4.0, 1.0, 1.0, 0.22, VesselKind::sump)};
    test::add_pump(farm, "ROUND", "SUMP", 1.2e-3, 4.0, 0.1);
    farm.pipes = {test::pipe("IN", "SRC", "TANK", 3.0, 0.05), test::pipe("OUT", "TANK", "LOW", 3.0, 0.05),
                  test::pipe("BACK", "ROUND", "SUMP", 2.0, 0.04)};
    farm.pipes[0].to.height_m = 0.95;
    farm.pipes[1].from.height_m = 0.02;
    farm.pipes[1].to.height_m = 0.9;
    farm.pipes[2].to.height_m = 0.8;
    test::add_valve(farm, "IN", "VI");
    test::add_valve(farm, "OUT", "VO");
    farm.arrangements = {arrangement("shut", {setting(layout::Act::close, "VI"), setting(layout::Act::close, "VO")}), arrangement("open")};
    REQUIRE(layout::validate(farm).empty());
    time::Simulation simulation(farm);
    time::ChangeOverWanted wanted;
    wanted.from = 0;
    wanted.to = 1;
    const auto answer = time::change_over(simulation, wanted);
    REQUIRE(answer.end == time::ChangeEnd::found);
    REQUIRE(answer.steps.size() == 2);
    CHECK(answer.moves[static_cast<std::size_t>(answer.steps[0].moves[0])].setting.about_id == "VO");
    CHECK(answer.moves[static_cast<std::size_t>(answer.steps[1].moves[0])].setting.about_id == "VI");
}
