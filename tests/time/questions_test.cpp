// The questions asked in one word, against what can be worked out on paper.
//
// Sources: the overflow lip, Q = k h^1.5 with k = 2/3 0.62 sqrt(2g) pi D (the weir formula of Poleni, 1717, around a pipe's rim, as in
// docs/theory.md), so that a film of area A falls as h(t) = (h0^-0.5 + k t/(2A))^-2; Torricelli's law for a hole, t = 2A/(C a sqrt(2g)) (sqrt h1 -
// sqrt h2); communicating vessels (Stevin, 1586): two surfaces joined by water end at one level. Everything else is counting water. What is promised
// is 0.1 %.

#include <numbers>

#include "solver/time/drain_down.h"
#include "solver/time/first_fill.h"
#include "solver/time/power_cut.h"
#include "solver/time/water_paths.h"
#include "tests/time/in_time.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;

constexpr double kG = 9.80665;
constexpr double kPromised = 1e-3;

double weir_factor(double bore_m) { return 2.0 / 3.0 * 0.62 * std::sqrt(2.0 * kG) * std::numbers::pi * bore_m; }

void made(Layout& layout) { (void)test::plan_for(layout, {}, 1.0); }

/// A sump, a pump, a trough that overflows back into the sump. The pump lets nothing back.
Layout ring(double trough_m2, double sump_m2, double flow_m3_s, double bore_m, double lip_m) {
    Layout layout;
    layout.vessels = {test::prism("R", 1.0, 0.5, trough_m2, lip_m, VesselKind::trough), test::prism("S", -1.0, 1.0, sump_m2, 0.6, VesselKind::sump)};
    test::add_steady_pump(layout, "P", "S", flow_m3_s, 0.05);
    test::add_standpipe(layout, "O", "R", bore_m, lip_m);
    layout.pipes = {test::pipe("rise", "P", "R", 3.0, 0.1), test::drain("home", "O", "S", 2.0, 2.0 * bore_m)};
    layout.pipes[0].to.height_m = 0.7;
    layout.pipes[1].to.height_m = 0.95;
    return layout;
}

/// A tank fed under water, 1 m above a sump, through a pump that lets water back when it stops.
Layout drawn_back(double port_m, double sump_floor_m) {
    Layout layout;
    layout.vessels = {test::prism("T", 1.0, 1.2, 2.0, 1.0), test::prism("S", sump_floor_m, 1.5, 3.0, 0.5, VesselKind::sump)};
    test::add_steady_pump(layout, "P", "S", 2e-4, 0.05);
    layout.pumps[0].stopped_flow_m3_s = 1e-3;
    layout.pumps[0].stopped_head_m = 0.2;
    test::add_standpipe(layout, "O", "T", 0.1, 1.0);
    layout.pipes = {test::pipe("feed", "P", "T", 3.0, 0.05), test::drain("home", "O", "S", 2.0, 0.2)};
    layout.pipes[0].to.height_m = port_m;
    layout.pipes[1].to.height_m = std::min(1.45, 0.9 - sump_floor_m);
    return layout;
}

const time::CutVessel& vessel(const Layout& layout, const time::PowerCutAnswer& answer, const std::string& id) {
    for (std::size_t v = 0; v < layout.vessels.size(); ++v)
        if (layout.vessels[v].id == id) return answer.vessels[v];
    FAIL("no vessel of that name");
    return answer.vessels[0];
}

time::PowerCutAnswer cut(Layout& layout, double lasts_s = time::kUnknown) {
    made(layout);
    time::Simulation simulation(layout);
    return time::power_cut(simulation, {.arrangement = 0, .lasts_s = lasts_s});
}

}  // namespace

TEST_SUITE("a power cut") {
    TEST_CASE("the film over a lip comes home, plan area times its height") {
        for (const double area : {0.5, 2.0, 8.0}) {
            const double flow = 2e-3, bore = 0.15;
            Layout layout = ring(area, 3.0, flow, bore, 0.3);
            const auto answer = cut(layout);
            const double k = weir_factor(bore), first = std::pow(flow / k, 2.0 / 3.0);
            const double last = std::pow(std::pow(first, -0.5) + k * answer.cut.lasted_s / (2.0 * area), -2.0);
            CAPTURE(area);
            CHECK(answer.start == time::CutStart::settled);
            CHECK(answer.cut.ending == time::Ending::still);
            CHECK(vessel(layout, answer, "R").before_depth_m - 0.3 == Approx(first).epsilon(kPromised));
            CHECK(-vessel(layout, answer, "R").gained_m3 == Approx(area * (first - last)).epsilon(kPromised));
            REQUIRE(answer.home.size() == 1);
            CHECK(answer.home[0].returned_m3 == Approx(area * (first - last)).epsilon(kPromised));
            REQUIRE(answer.home[0].from.size() == 1);
            CHECK(answer.home[0].from[0].vessel == 0);
            CHECK(answer.home[0].from[0].volume_m3 == Approx(area * (first - last)).epsilon(kPromised));
            CHECK(answer.backflows.empty());
            CHECK(answer.comes_back);
            CHECK(answer.missing_m3 == Approx(0.0).scale(1.0).epsilon(1e-6));
            CHECK(vessel(layout, answer, "S").after_depth_m == Approx(vessel(layout, answer, "S").before_depth_m).epsilon(1e-4));
        }
    }
    TEST_CASE("a sump that passes on most of what comes home keeps its share of it, and no more is said to have come") {
        Layout layout = ring(8.0, 3.0, 2e-3, 0.15, 0.3);
        const double running_m = vessel(layout, cut(layout), "S").before_depth_m;
        layout.vessels.push_back(test::prism("D", -6.0, 2.0, 5.0, 0.1));
        layout.pipes.push_back(test::pipe("on", "S", "D", 2.0, 0.1));
        layout.pipes.back().from.height_m = running_m + 0.002;
        const auto answer = cut(layout);
        REQUIRE(answer.home.size() == 1);
        const double passed_m3 = vessel(layout, answer, "D").gained_m3;
        CHECK(passed_m3 > 2.0 * answer.home[0].returned_m3);
        CHECK(passed_m3 + answer.home[0].returned_m3 == Approx(-vessel(layout, answer, "R").gained_m3).epsilon(1e-6));
        double from_m3 = 0.0;
        for (const auto& one : answer.home[0].from) from_m3 += one.volume_m3;
        CHECK(from_m3 == Approx(answer.home[0].returned_m3).epsilon(1e-9));
    }
    TEST_CASE("a cut that ends before the water does: the film at that moment") {
        const double area = 8.0, flow = 2e-3, bore = 0.15, k = weir_factor(bore), first = std::pow(flow / k, 2.0 / 3.0);
        Layout layout = ring(area, 3.0, flow, bore, 0.3);
        const auto answer = cut(layout, 60.0);
        const double last = std::pow(std::pow(first, -0.5) + k * 60.0 / (2.0 * area), -2.0);
        CHECK(answer.cut.lasted_s == Approx(60.0));
        CHECK(vessel(layout, answer, "R").end_depth_m - 0.3 == Approx(last).epsilon(kPromised));
        CHECK(answer.home[0].returned_m3 == Approx(area * (first - last)).epsilon(kPromised));
    }
    TEST_CASE("what the sump cannot hold is on the floor, and missing afterwards") {
        Layout layout = ring(8.0, 0.5, 2e-3, 0.15, 0.3);
        layout.vessels[1].start_depth_m = 0.97;
        layout.vessels[0].start_depth_m = 0.3 + std::pow(2e-3 / weir_factor(0.15), 2.0 / 3.0);  // running: the mistake of filling while it runs
        const auto answer = cut(layout);
        const double room = 0.5 * (1.0 - vessel(layout, answer, "S").before_depth_m);
        const double came = -vessel(layout, answer, "R").gained_m3;
        CHECK(came > room);
        CHECK(answer.spilled_m3 == Approx(came - room).epsilon(kPromised));
        CHECK(answer.first_spills == 1);
        CHECK(answer.missing_m3 == Approx(answer.spilled_m3).epsilon(kPromised));
        CHECK_FALSE(answer.comes_back);
        CHECK(answer.not_back == std::vector<std::int32_t>{1});
        // the time: when the film has given as much as there is room, from A (h0 - h(t)) = room
        const double k = weir_factor(0.15), first = vessel(layout, answer, "R").before_depth_m - 0.3, then = first - room / 8.0;
        CHECK(answer.first_spill_s == Approx(2.0 * 8.0 / k * (std::pow(then, -0.5) - std::pow(first, -0.5))).epsilon(kPromised));
    }
    TEST_CASE("a submerged inlet draws its tank down to its port") {
        const double film = std::pow(2e-4 / weir_factor(0.1), 2.0 / 3.0);
        Layout layout = drawn_back(0.4, -2.0);
        const auto answer = cut(layout);
        REQUIRE(answer.backflows.size() == 1);
        const auto& back = answer.backflows[0];
        CHECK(layout.pipes[static_cast<std::size_t>(back.pipe)].id == "feed");
        CHECK(back.vessel == 0);
        CHECK(back.into == std::vector<std::int32_t>{1});
        CHECK(back.ended == time::BackflowEnd::port);
        CHECK(back.down_to_depth_m == Approx(0.4).epsilon(0.01));
        CHECK(-vessel(layout, answer, "T").gained_m3 == Approx(2.0 * (1.0 + film - 0.4)).epsilon(kPromised));
        CHECK(back.volume_m3 > 2.0 * 0.6 * (1.0 - kPromised));
        CHECK(back.volume_m3 < 2.0 * (0.6 + film));
        CHECK(back.air_hole_advised_m == Approx(1.0 + film - 0.02).epsilon(kPromised));
        CHECK(back.saved_m3 == Approx(2.0 * (1.0 + film - 0.02 - back.down_to_depth_m)).epsilon(kPromised));
    }
    TEST_CASE("an air hole ends it there") {
        Layout layout = drawn_back(0.4, -2.0);
        layout.pipes[0].air_hole_m = 0.9;
        const auto answer = cut(layout);
        REQUIRE(answer.backflows.size() == 1);
        CHECK(answer.backflows[0].ended == time::BackflowEnd::air_hole);
        CHECK(vessel(layout, answer, "T").end_depth_m == Approx(0.9).epsilon(0.006));
    }
    TEST_CASE("a check valve in the pump holds it") {
        Layout layout = drawn_back(0.4, -2.0);
        layout.pumps[0].check_valve = true;
        const auto answer = cut(layout);
        CHECK(answer.backflows.empty());
        CHECK(vessel(layout, answer, "T").end_depth_m == Approx(1.0).epsilon(kPromised));
    }
    TEST_CASE("with nothing to stop it, until the two surfaces are level") {
        Layout layout = drawn_back(0.0, 0.0);
        const auto answer = cut(layout);
        REQUIRE(answer.backflows.size() == 1);
        const auto& back = answer.backflows[0];
        CHECK(back.ended == time::BackflowEnd::levels_equal);
        CHECK(back.equal_with == 1);
        const double tank = vessel(layout, answer, "T").before_depth_m + 1.0, sump = vessel(layout, answer, "S").before_depth_m;
        const double level = (2.0 * tank + 3.0 * sump) / 5.0;
        REQUIRE(level > 1.0);
        CHECK(vessel(layout, answer, "T").end_depth_m + 1.0 == Approx(level).epsilon(kPromised));
        CHECK(vessel(layout, answer, "S").end_depth_m == Approx(level).epsilon(kPromised));
    }
    TEST_CASE("nothing to cut where no pump runs") {
        Layout layout = ring(2.0, 3.0, 2e-3, 0.15, 0.3);
        layout::Arrangement still;
        still.name = "still";
        still.settings.push_back({.act = layout::Act::stop, .about_id = "P", .insert = ""});
        layout.arrangements = {still};
        CHECK_FALSE(cut(layout).any_pump_ran);
    }
    TEST_CASE("a small sump goes bare when the power returns") {
        // the trough must fill by its whole film before anything comes home; the sump has less than that over its intake
        Layout layout = ring(8.0, 3.0, 2e-3, 0.15, 0.3);
        layout.vessels[0].start_depth_m = 0.3;
        layout.vessels[1].start_depth_m = 0.12;
        layout.pumps[0].intake_height_m = 0.02;
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::power_cut(simulation, {.arrangement = 0});
        const double film = std::pow(2e-3 / weir_factor(0.15), 2.0 / 3.0);
        CHECK(vessel(layout, answer, "S").before_depth_m == Approx(0.12 - 8.0 * film / 3.0).epsilon(0.01));
        CHECK(vessel(layout, answer, "S").restart_least_depth_m <= vessel(layout, answer, "S").before_depth_m + 1e-4);
    }
}

TEST_SUITE("a routine that goes on") {
    TEST_CASE("in two parts as in one") {
        Layout layout = ring(2.0, 3.0, 2e-3, 0.15, 0.3);
        test::add_valve(layout, "rise", "V");
        layout::Routine routine;
        routine.timers = {test::timer("V", 700.0, 300.0, 100.0)};
        routine.draws = {test::draw("S", "", 0.05, 500.0, 60.0, 1500.0), test::draw("R", "", 0.02, 2000.0, 60.0)};
        routine.power_cuts = {test::power_cut(900.0, 200.0)};
        routine.changes = {test::change(2500.0, layout::Act::throttle, "V", 0.5)};
        const time::Plan whole = test::plan_for(layout, routine, 4000.0);
        time::Simulation simulation(layout);
        const auto one = simulation.run(whole);
        for (const double at : {50.0, 520.0, 950.0, 1400.0, 3000.0}) {
            time::Plan first = whole;
            first.lasts_s = at;
            time::Plan second = whole;
            second.start = simulation.run(first).end;
            second.routine = time::gone_on(whole.routine, at);
            second.lasts_s = 4000.0 - at;
            const auto two = simulation.run(second);
            CAPTURE(at);
            for (std::size_t v = 0; v < layout.vessels.size(); ++v) CHECK(two.end.volume_m3[v] == Approx(one.end.volume_m3[v]).epsilon(1e-5));
        }
    }
    TEST_CASE("a rotation keeps its turn") {
        Layout layout = ring(2.0, 3.0, 2e-3, 0.15, 0.3);
        test::add_valve(layout, "rise", "V");
        layout::Rotation rotation;
        rotation.valve_ids = {"V", "V"};
        rotation.valves = {0, 0};
        rotation.each_s = 60.0;
        layout::Routine routine;
        routine.rotations = {rotation};
        const auto on = time::gone_on(routine, 90.0);
        REQUIRE(on.rotations.empty());
        REQUIRE(on.timers.size() == 2);
        CHECK(on.timers[0].after_s == Approx(-90.0));
        CHECK(on.timers[1].after_s == Approx(-30.0));
        CHECK(on.timers[0].every_s == Approx(120.0));
    }
}

TEST_SUITE("where water came from") {
    TEST_CASE("shares at a junction, by counting") {
        // two tanks into one tee, a third straight home; then half of it on to another vessel
        Layout layout;
        layout.vessels = {test::prism("A", 2.0, 1.0, 1.0, 0.5), test::prism("B", 2.0, 1.0, 1.0, 0.5), test::prism("C", 2.0, 1.0, 1.0, 0.5),
                          test::prism("S", 0.0, 1.0, 1.0, 0.5), test::prism("D", -2.0, 1.0, 1.0, 0.5)};
        layout::Tee tee;
        tee.id = "J";
        tee.elevation_m = 1.0;
        layout.tees = {tee};
        layout.pipes = {test::pipe("a", "A", "J", 1.0, 0.05), test::pipe("b", "J", "B", 1.0, 0.05), test::pipe("j", "J", "S", 1.0, 0.05),
                        test::pipe("c", "C", "S", 1.0, 0.05), test::pipe("d", "S", "D", 1.0, 0.05)};
        made(layout);
        const time::Moved moved{.pipe_net_m3 = {0.30, -0.10, 0.40, 0.20, 0.30}, .left_m3 = {0.30, 0.10, 0.20, -0.30, -0.30}};
        const auto home = time::arrived_in(layout, moved, 3);
        CHECK(home.from_vessel_m3[0] == Approx(0.30));
        CHECK(home.from_vessel_m3[1] == Approx(0.10));
        CHECK(home.from_vessel_m3[2] == Approx(0.20));
        CHECK(home.from_outside_m3 == Approx(0.0));
        const auto on = time::arrived_in(layout, moved, 4);
        CHECK(on.from_vessel_m3[0] == Approx(0.15));
        CHECK(on.from_vessel_m3[1] == Approx(0.05));
        CHECK(on.from_vessel_m3[2] == Approx(0.10));
        CHECK(on.from_vessel_m3[3] == Approx(0.0));
    }
}

TEST_SUITE("a vessel left to drain") {
    /// A bed of `area` fed by a pump as fast as its hole lets go at depth `stands`.
    Layout holed(double area, double stands, double hole, double lip) {
        const double flow = 0.61 * std::numbers::pi * hole * hole / 4.0 * std::sqrt(2.0 * kG * stands);
        Layout layout = ring(area, 3.0, flow, 0.1, lip);
        layout.vessels[0].kind = VesselKind::bed;
        layout.vessels[0].start_depth_m = stands;
        layout.standpipes[0].holes.push_back({.height_m = 0.0, .diameter_m = hole, .count = 1, .discharge_coefficient = 0.61, .place = {}});
        return layout;
    }
    TEST_CASE("through a hole at the floor: Torricelli's times") {
        for (const double hole : {0.008, 0.012, 0.025}) {
            Layout layout = holed(0.8, 0.25, hole, 0.4);
            layout.vessels[0].drains_within_s = 600.0;
            made(layout);
            time::Simulation simulation(layout);
            const auto answer = time::drain_down(simulation, {.arrangement = 0, .vessel = 0});
            const double first = answer.before_depth_m, factor = 2.0 * 0.8 / (0.61 * std::numbers::pi * hole * hole / 4.0 * std::sqrt(2.0 * kG));
            const auto fall = [&](double depth) { return factor * (std::sqrt(first) - std::sqrt(depth)); };
            CAPTURE(hole);
            CHECK(first == Approx(0.25).epsilon(kPromised));
            CHECK(answer.share_after_s[0] == Approx(fall(0.75 * first)).epsilon(kPromised));
            CHECK(answer.share_after_s[1] == Approx(fall(0.50 * first)).epsilon(kPromised));
            CHECK(answer.share_after_s[2] == Approx(fall(0.25 * first)).epsilon(kPromised));
            CHECK(answer.drained_after_s == Approx(fall(0.005)).epsilon(kPromised));
            CHECK(answer.peak_m3_s == Approx(0.8 / factor * 2.0 * std::sqrt(first)).epsilon(kPromised));
            CHECK(answer.in_time == (fall(0.005) <= 600.0));
            CHECK(answer.stop == time::DrainStop::drained);
            REQUIRE(answer.taken.size() == 1);
            CHECK(answer.taken[0].volume_m3 == Approx(answer.before_m3 - answer.end_m3).epsilon(1e-6));
            CHECK(answer.shut == std::vector<layout::Ref>{{layout::Kind::pipe, 0}});
            REQUIRE(answer.others.size() == 1);
            CHECK(answer.others[0].gained_m3 == Approx(answer.before_m3 - answer.end_m3).epsilon(kPromised));
        }
    }
    TEST_CASE("over a lip alone: the film goes, the rest stays") {
        const double flow = 5e-3, bore = 0.15, area = 8.0;
        Layout layout = ring(area, 3.0, flow, bore, 0.3);
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::drain_down(simulation, {.arrangement = 0, .vessel = 0});
        const double k = weir_factor(bore), first = answer.before_depth_m - 0.3;
        CHECK(answer.drained_after_s == Approx(2.0 * area / k * (std::pow(0.005, -0.5) - std::pow(first, -0.5))).epsilon(kPromised));
        CHECK(answer.peak_m3_s == Approx(flow).epsilon(kPromised));
        REQUIRE(answer.ways_out.size() == 1);
        CHECK(answer.ways_out[0].kind == time::WayOut::lip);
        CHECK(answer.end_m3 == Approx(area * 0.3).epsilon(kPromised));
        CHECK(std::isnan(answer.share_after_s[0]));
        CHECK(answer.over_lip_m3 == Approx(answer.before_m3 - answer.end_m3).epsilon(1e-9));
    }
    TEST_CASE("into a vessel that stands as high: it stops level with it") {
        Layout layout;
        layout.vessels = {test::prism("A", 0.0, 1.0, 1.0, 0.8), test::prism("B", 0.0, 1.0, 3.0, 0.2)};
        layout.pipes = {test::pipe("low", "A", "B", 2.0, 0.05)};
        // settled they are level already; a valve keeps them apart until then
        test::add_valve(layout, "low", "V");
        layout::Arrangement apart;
        apart.name = "apart";
        apart.settings.push_back({.act = layout::Act::close, .about_id = "V", .insert = ""});
        layout.arrangements = {apart};
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::drain_down(simulation, {.arrangement = 0, .vessel = 0});
        CHECK(answer.stop == time::DrainStop::shut_in);
        CHECK(answer.shut_ways == std::vector<std::int32_t>{0});
        CHECK(answer.end_m3 == Approx(0.8));
    }
    TEST_CASE("drowned: a fed vessel drains only down to the water it stands in") {
        // A is fed and runs into B through a wide pipe low down; B overflows. With A's feed shut both stand at B's lip
        Layout layout;
        layout.vessels = {test::prism("A", 0.0, 1.0, 1.0, 0.5), test::prism("B", 0.0, 1.0, 3.0, 0.5),
                          test::prism("S", -2.0, 1.0, 3.0, 0.6, VesselKind::sump)};
        test::add_steady_pump(layout, "P", "S", 1e-3, 0.05);
        test::add_standpipe(layout, "O", "B", 0.15, 0.5);
        layout.pipes = {test::pipe("rise", "P", "A", 3.0, 0.1), test::pipe("low", "A", "B", 1.0, 0.04), test::drain("home", "O", "S", 2.0, 0.3)};
        layout.pipes[0].to.height_m = 0.95;
        layout.pipes[2].to.height_m = 0.95;
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::drain_down(simulation, {.arrangement = 0, .vessel = 0});
        CHECK(answer.stop == time::DrainStop::level_with);
        CHECK(answer.level_with == 1);
        CHECK(answer.end_depth_m == Approx(0.5).epsilon(kPromised));
    }
}

TEST_SUITE("the first fill") {
    TEST_CASE("one vessel and a hose: volume over flow") {
        Layout layout;
        layout.vessels = {test::prism("A", 0.0, 1.0, 2.0, 0.6)};
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::first_fill(simulation, {.arrangement = 0, .hose_m3_s = 5e-4});
        REQUIRE(answer.left_on.made);
        CHECK(answer.left_on.done_after_s == Approx(1.2 / 5e-4).epsilon(kPromised));
        CHECK(answer.left_on.loops[0].hose_m3 == Approx(1.2).epsilon(1e-6));
        CHECK(answer.reaches_running);
        CHECK_FALSE(answer.left_on.any_gulps);
    }
    TEST_CASE("a ring: all its water, its settled levels, its rest marks") {
        const double flow = 2e-3, bore = 0.15;
        Layout layout = ring(2.0, 3.0, flow, bore, 0.3);
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::first_fill(simulation, {.arrangement = 0, .hose_m3_s = 4e-4});
        REQUIRE(answer.left_on.made);
        REQUIRE(answer.left_on.loops.size() == 1);
        const double water = 2.0 * 0.3 + 3.0 * 0.6;
        CHECK(answer.left_on.loops[0].vessel == 1);
        CHECK(answer.left_on.loops[0].hose_m3 == Approx(water).epsilon(1e-6));
        CHECK(answer.left_on.loops[0].hose_ends_s == Approx(water / 4e-4).epsilon(kPromised));
        CHECK(answer.reaches_running);
        // the trough stands when it is full to its film, long before the sump has its own
        CHECK(answer.left_on.vessels[0].reaches_after_s < answer.left_on.vessels[1].reaches_after_s);
        CHECK(answer.left_on.vessels[1].rest_depth_m == Approx(0.6).epsilon(kPromised));
        CHECK(answer.left_on.vessels[0].rest_depth_m == Approx(0.3).epsilon(kPromised));
        // the pump takes five times what the hose brings: it gulps until the trough runs over, and by hand it does not
        CHECK(answer.left_on.any_gulps);
        REQUIRE(answer.by_hand.made);
        CHECK_FALSE(answer.by_hand.any_gulps);
        CHECK(answer.by_hand.loops[0].hose_m3 == Approx(water).epsilon(1e-6));
        CHECK(answer.by_hand.vessels[1].end_depth_m == Approx(answer.left_on.vessels[1].end_depth_m).epsilon(1e-4));
    }
    TEST_CASE("what the mains give is taken off the hose") {
        Layout layout = ring(2.0, 3.0, 2e-3, 0.15, 0.3);
        layout::Supply mains;
        mains.id = "M";
        mains.head_m = 20.0;
        mains.elevation_m = 0.0;
        layout.supplies = {mains};
        layout::FloatValve valve;
        valve.id = "F";
        valve.into_id = "S";
        valve.opens_at_m = 0.20;
        valve.closes_at_m = 0.30;
        valve.rated_flow_m3_s = 1e-4;
        valve.rated_head_m = 20.0;
        valve.height_m = 0.98;
        layout.float_valves = {valve};
        layout.pipes.push_back(test::pipe("mains", "M", "F", 2.0, 0.02));
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::first_fill(simulation, {.arrangement = 0, .hose_m3_s = 4e-4});
        REQUIRE(answer.left_on.made);
        const auto& loop = answer.left_on.loops[0];
        CHECK(loop.mains_m3 > 0.05);
        CHECK(loop.hose_m3 + loop.mains_m3 == Approx(2.0 * 0.3 + 3.0 * 0.6).epsilon(kPromised));
        CHECK(answer.reaches_running);
    }
    TEST_CASE("a lone vessel upstream has a hose of its own; one that starts empty has none") {
        Layout layout = ring(2.0, 3.0, 2e-3, 0.15, 0.3);
        layout.vessels.push_back(test::prism("U", 1.0, 1.0, 1.0, 0.4));
        layout.vessels.push_back(test::prism("E", 1.0, 1.0, 1.0, 0.0));
        layout.pipes.push_back(test::pipe("out", "U", "S", 2.0, 0.03));
        layout.pipes.back().from.height_m = 0.5;
        layout.pipes.back().to.height_m = 0.95;
        made(layout);
        time::Simulation simulation(layout);
        const auto answer = time::first_fill(simulation, {.arrangement = 0, .hose_m3_s = 2e-3});
        REQUIRE(answer.left_on.made);
        REQUIRE(answer.left_on.loops.size() == 2);
        CHECK(answer.left_on.loops[1].vessel == 2);
        CHECK(answer.left_on.loops[1].hose_m3 == Approx(0.4).epsilon(1e-6));
        CHECK(answer.left_on.loops[1].hose_ends_s == Approx(0.4 / 2e-3).epsilon(kPromised));
        CHECK(std::isnan(answer.left_on.vessels[3].reaches_after_s));
    }
}
