// Where levels end, against what can be worked out on paper: inventories of closed loops, the weir over a lip, the square law, what spills on
// the way and when. g = 9.80665 m/s2; the weir of a lip is Q = 2/3 0.62 sqrt(2g) pi D h^1.5, its mouth Q = 0.62 A sqrt(2 g h) (docs/theory.md);
// Torricelli's law for emptying vessels.

#include <doctest/doctest.h>

#include <numbers>

#include "tests/near.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;

constexpr double kG = 9.80665;

double area(double bore_m) { return std::numbers::pi * bore_m * bore_m / 4.0; }

double weir_depth(double bore_m, double flow_m3_s) {
    return std::pow(flow_m3_s / (2.0 / 3.0 * 0.62 * std::sqrt(2.0 * kG) * std::numbers::pi * bore_m), 2.0 / 3.0);
}

/// A sump, a steady pump and a tank with a standpipe that drains home.
Layout overflow_loop(double flow_m3_s, double bore_m) {
    Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 1.5, 0.8, VesselKind::sump), test::prism("TANK", 0.5, 1.0, 2.0, 0.3)};
    test::add_steady_pump(layout, "P", "SUMP", flow_m3_s, 0.1);
    test::add_standpipe(layout, "S", "TANK", bore_m, 0.7);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::drain("HOME", "S", "SUMP", 2.0, 0.1)};
    layout.pipes[0].to.height_m = 0.95;
    layout.pipes[1].to.height_m = 0.9;
    return layout;
}

}  // namespace

TEST_CASE("two vessels joined by a pipe level out at their common inventory") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 2.0, 2.0, 1.0), test::prism("B", 0.0, 2.0, 1.0, 0.1)};
    layout.pipes = {test::pipe("P", "A", "B", 5.0, 0.04)};
    const auto answer = test::solve(layout);
    CHECK(answer.state == settle::State::settled);
    // (2.0 x 1.0 + 1.0 x 0.1) / 3.0
    CHECK(answer.vessels[0].level_m == Approx(0.7).epsilon(1e-8));
    CHECK(answer.vessels[1].level_m == Approx(0.7).epsilon(1e-8));
    CHECK(std::abs(answer.pipes[0].flow_m3_s) < 1e-12);
    CHECK(answer.vessels[0].spilled_m3 == 0.0);
}

TEST_CASE("a port above the common level parts two vessels: the upper keeps what stands below it") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 2.0, 2.0, 1.0), test::prism("B", -1.0, 2.0, 4.0, 0.1)};
    layout.pipes = {test::pipe("P", "A", "B", 5.0, 0.04)};
    layout.pipes[0].from.height_m = 0.6;
    layout.pipes[0].to.height_m = 0.0;
    const auto answer = test::solve(layout);
    CHECK(answer.vessels[0].level_m == Approx(0.6).epsilon(1e-5));
    CHECK(answer.vessels[1].depth_m == Approx(0.1 + 2.0 * 0.4 / 4.0).epsilon(1e-5));
}

TEST_CASE("parted loops keep one inventory each, a valve opened between them makes one of two") {
    Layout layout;
    for (const char* id : {"A", "B", "C", "D"}) layout.vessels.push_back(test::prism(id, 0.0, 2.0, 1.0, 1.0));
    layout.vessels[0].start_depth_m = 0.4;
    layout.vessels[1].start_depth_m = 0.8;
    layout.vessels[3].start_depth_m = 1.4;
    layout.pipes = {test::pipe("AB", "A", "B", 2.0, 0.05), test::pipe("CD", "C", "D", 2.0, 0.05), test::pipe("BC", "B", "C", 2.0, 0.05)};
    test::add_valve(layout, "BC", "V");
    layout::Arrangement open, shut;
    open.name = "open";
    shut.name = "shut";
    layout::Setting close;
    close.act = layout::Act::close;
    close.about_id = "V";
    shut.settings = {close};
    layout.arrangements = {shut, open};
    REQUIRE(layout::validate(layout).empty());
    settle::Farm farm(layout);
    const auto parted = farm.solve(0), coupled = farm.solve(1);
    CHECK(parted.vessels[0].level_m == Approx(0.6).epsilon(1e-8));
    CHECK(parted.vessels[1].level_m == Approx(0.6).epsilon(1e-8));
    CHECK(parted.vessels[2].level_m == Approx(1.2).epsilon(1e-8));
    CHECK(parted.vessels[3].level_m == Approx(1.2).epsilon(1e-8));
    CHECK(parted.pipes[2].flow_m3_s == 0.0);
    CHECK(parted.pipes[2].shut);
    for (const auto& vessel : coupled.vessels) CHECK(vessel.level_m == Approx(0.9).epsilon(1e-8));
}

TEST_CASE("an idle vessel keeps its level, one joined to a pond takes the pond's") {
    Layout layout;
    layout.vessels = {test::prism("ALONE", 0.0, 1.0, 1.0, 0.37), test::prism("JOINED", 0.0, 1.0, 1.0, 0.2)};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = 0.65});
    layout.pipes = {test::pipe("P", "W", "JOINED", 5.0, 0.05)};
    const auto answer = test::solve(layout);
    CHECK(answer.vessels[0].level_m == Approx(0.37).epsilon(1e-12));
    CHECK(answer.vessels[1].level_m == Approx(0.65).epsilon(1e-8));
}

TEST_CASE("a mouth that hangs over a pond draws no water out of it, whichever way the pipe is drawn") {
    for (const bool drawn_from_pond : {true, false}) {
        Layout layout;
        layout::Pond pond;
        pond.id = "POND";
        pond.level_m = 1.0;
        layout.ponds = {pond};
        layout.vessels = {test::prism("TANK", -1.0, 3.0, 2.0, 0.2)};
        layout.pipes = {drawn_from_pond ? test::pipe("P", "POND", "TANK", 5.0, 0.04) : test::pipe("P", "TANK", "POND", 5.0, 0.04)};
        layout::End& mouth = drawn_from_pond ? layout.pipes[0].from : layout.pipes[0].to;
        mouth.height_m = 0.3;
        const auto over = test::solve(layout);
        CHECK(over.pipes[0].flow_m3_s == 0.0);
        CHECK(over.vessels[0].depth_m == Approx(0.2).epsilon(1e-12));
        mouth.height_m = 0.0;  // and down in it, it does
        CHECK(test::solve(layout).vessels[0].depth_m == Approx(2.0).epsilon(1e-8));
    }
}

TEST_CASE("beside a flood, the head between two all but shut ways stands where their losses part it") {
    constexpr double kFall = 0.01;
    Layout layout;
    layout.ponds.resize(2);
    layout.ponds[0].id = "HIGH";
    layout.ponds[0].level_m = kFall;
    layout.ponds[1].id = "LOW";
    layout.ponds[1].level_m = 0.0;
    layout::Tee tee;
    tee.id = "T";
    tee.elevation_m = -1.0;
    layout.tees.push_back(tee);
    layout.pipes = {test::pipe("FLOOD", "P", "HIGH", 10.0, 5.0), test::loss_only("A", "HIGH", "T", 0.005, 1e11),
                    test::loss_only("B", "T", "LOW", 0.005, 3e11)};
    test::add_steady_pump(layout, "P", "LOW", 100.0);
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    REQUIRE(answer.pipes[0].flow_m3_s > 99.0);
    // one flow through both: their heads are as 1 to 3, and the whole is 4e11 velocity heads
    CHECK(answer.tees[0].head_m == test::near(0.75 * kFall).epsilon(1e-6));
    CHECK(answer.pipes[1].flow_m3_s == test::near(area(0.005) * std::sqrt(2.0 * kG * kFall / 4e11)).epsilon(1e-6));
}

TEST_CASE("overflow balance: the weir sets the tank, the inventory sets the sump") {
    constexpr double kFlow = 1.5e-3, kBore = 0.1;
    Layout layout = overflow_loop(kFlow, kBore);
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    const double flow = answer.pumps[0].flow_m3_s;
    // the pump's straight line, at its own head
    CHECK(flow == Approx(kFlow * (1.0 - answer.pumps[0].head_m / test::kSteadyHead_m)).epsilon(1e-9));
    const double over = weir_depth(kBore, flow);
    REQUIRE(over < 0.375 * kBore);
    CHECK(answer.standpipes[0].depth_over_lip_m == Approx(over).epsilon(1e-7));
    CHECK(answer.vessels[1].depth_m == Approx(0.7 + over).epsilon(1e-8));
    CHECK(answer.vessels[0].depth_m == Approx((1.5 * 0.8 + 2.0 * 0.3 - 2.0 * (0.7 + over)) / 1.5).epsilon(1e-8));
    CHECK(answer.vessels[1].turnover_s == Approx(2.0 * (0.7 + over) / flow).epsilon(1e-7));
    CHECK(answer.vessels[1].freeboard_m == Approx(0.3 - over).epsilon(1e-7));
}

TEST_CASE("a vented tee that stands dry gives nothing: no water climbs out of a tank and over it") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 1.5, 2.0, 0.25), test::prism("B", 0.0, 1.5, 1.0, 0.1)};
    layout::Tee tee;
    tee.id = "W";
    tee.elevation_m = 0.3;
    tee.vented = true;
    layout.tees.push_back(tee);
    layout.pipes = {test::pipe("BW", "B", "W", 2.0, 0.05), test::drain("WA", "W", "A", 2.0, 0.05)};
    layout.pipes[0].from.height_m = 0.02;
    layout.pipes[1].to.height_m = 0.05;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    CHECK(answer.pipes[0].flow_m3_s == 0.0);
    CHECK(answer.vessels[0].depth_m == Approx(0.25).epsilon(1e-12));
    CHECK(answer.vessels[1].depth_m == Approx(0.1).epsilon(1e-12));
    // from above the tee B gives over it, down to its height
    layout.vessels[0].start_depth_m = 0.1;
    layout.vessels[1].start_depth_m = 0.5;
    const auto over = test::solve(layout);
    CHECK(over.vessels[1].depth_m == Approx(0.3).epsilon(1e-5));
    CHECK(over.vessels[0].depth_m == Approx(0.2).epsilon(1e-5));
}

TEST_CASE("air trapped in a drain is head that the water in the vented tee above it must stand higher") {
    constexpr double kHeads = 3.0, kBore = 0.05;
    const auto tee_over_sump = [](double air_m, double& flow_m3_s, bool& air_stands) {
        Layout layout;
        layout.vessels = {test::prism("SUMP", 0.0, 2.0, 50.0, 1.0, VesselKind::sump)};
        test::add_steady_pump(layout, "P", "SUMP", 2e-3);
        layout::Tee tee;
        tee.id = "W";
        tee.elevation_m = 1.4;
        tee.vented = true;
        layout.tees.push_back(tee);
        layout.pipes = {test::pipe("RISER", "P", "W", 3.0, 0.05), test::loss_only("HOME", "W", "SUMP", kBore, kHeads)};
        layout.pipes[1].gravity = true;
        layout.pipes[1].trapped_air_m = air_m;
        const auto answer = test::solve(layout);
        REQUIRE(answer.state == settle::State::settled);
        flow_m3_s = answer.pipes[1].flow_m3_s;
        air_stands = answer.tees[0].air;
        return answer.tees[0].head_m - answer.vessels[0].level_m;
    };
    double flow = 0.0;
    bool air_stands = false;
    // by Bernoulli from the tee to the sump: the air's height and the velocity heads, 0.159 m of them at 2 l/s
    for (const double air : {0.3, 0.9}) {
        const double over = tee_over_sump(air, flow, air_stands);
        const double velocity = flow / area(kBore);
        REQUIRE(air + kHeads * velocity * velocity / (2.0 * kG) > 0.4);
        CHECK_FALSE(air_stands);
        CHECK(over == test::near(air + kHeads * velocity * velocity / (2.0 * kG)).epsilon(1e-6));
    }
    // less of both than the tee stands above the sump: it runs as a tee that stands in air
    CHECK(tee_over_sump(0.1, flow, air_stands) == test::near(0.4).epsilon(1e-9));
    CHECK(air_stands);
}

TEST_CASE("beyond three eighths of its bore the lip is an orifice") {
    constexpr double kBore = 0.04;
    Layout layout = overflow_loop(1.5e-3, kBore);
    const auto answer = test::solve(layout);
    const double velocity = answer.pumps[0].flow_m3_s / (0.62 * area(kBore));
    const double over = velocity * velocity / (2.0 * kG);
    REQUIRE(over > 0.375 * kBore);
    CHECK(answer.standpipes[0].regime == settle::OverflowRegime::orifice);
    CHECK(answer.vessels[1].depth_m == Approx(0.7 + over).epsilon(1e-8));
}

TEST_CASE("a drowned return stands as many velocity heads above the sump as it loses") {
    constexpr double kHeads = 12.0, kBore = 0.05;
    Layout layout;
    layout.vessels = {test::prism("SUMP", 0.0, 2.0, 2.0, 1.2, VesselKind::sump), test::prism("TANK", 0.0, 3.0, 1.0, 1.2)};
    test::add_steady_pump(layout, "P", "SUMP", 4e-3);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::loss_only("BACK", "TANK", "SUMP", kBore, kHeads)};
    layout.pipes[0].to.height_m = 2.9;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    const double velocity = answer.pumps[0].flow_m3_s / area(kBore), head = kHeads * velocity * velocity / (2.0 * kG);
    CHECK(answer.vessels[1].level_m - answer.vessels[0].level_m == Approx(head).epsilon(1e-5));
    CHECK(2.0 * answer.vessels[0].level_m + answer.vessels[1].level_m == Approx(3.6).epsilon(1e-9));
}

TEST_CASE("a float valve fills its vessel to where it closes, and no further") {
    Layout layout;
    layout.vessels = {test::prism("LOW", 0.0, 1.0, 1.0, 0.2), test::prism("HIGH", 0.0, 1.0, 1.0, 0.8)};
    for (const char* into : {"LOW", "HIGH"}) {
        const std::string name = into;
        layout.supplies.push_back({.id = "S" + name, .place = {}, .head_m = 20.0, .elevation_m = 0.0});
        layout::FloatValve valve;
        valve.id = "X" + name;
        valve.into_id = name;
        valve.opens_at_m = 0.5;
        valve.closes_at_m = 0.55;
        valve.rated_flow_m3_s = 1e-4;
        valve.rated_head_m = 20.0;
        layout.float_valves.push_back(valve);
        layout.pipes.push_back(test::pipe("P" + name, "S" + name, "X" + name, 10.0, 0.02));
    }
    const auto answer = test::solve(layout);
    CHECK(answer.vessels[0].depth_m == Approx(0.55).epsilon(1e-6));
    CHECK(answer.vessels[1].depth_m == Approx(0.8).epsilon(1e-9));
    CHECK(answer.supplies[1].flow_m3_s == 0.0);
    CHECK(answer.float_valves[1].opening == 0.0);
}

TEST_CASE("spilled on the way: a tank empties into a small vessel that cannot hold it") {
    constexpr double kHeads = 20.0, kBore = 0.03;
    Layout layout;
    layout.vessels = {test::prism("TANK", 2.0, 1.5, 2.0, 1.2), test::prism("CUP", 0.0, 0.5, 1.0, 0.1)};
    layout.pipes = {test::loss_only("P", "TANK", "CUP", kBore, kHeads)};
    layout.pipes[0].from.height_m = 0.2;
    layout.pipes[0].to.height_m = 0.52;  // above the rim: it falls freely all the time
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    // the tank keeps 0.2 m below the mouth; 2.0 x 1.0 m3 come, 1.0 x 0.4 m3 find room
    CHECK(answer.vessels[0].depth_m == Approx(0.2).epsilon(1e-5));
    CHECK(answer.vessels[1].level_m == Approx(0.5).epsilon(1e-9));
    CHECK(answer.vessels[1].spilled_m3 == Approx(1.6).epsilon(1e-5));
    CHECK(answer.vessels[1].spill_m3_s < 1e-12);
    // Torricelli: the root of the head falls evenly; the room is full when the tank has fallen 0.2 m
    const double high = std::sqrt(3.2 - 0.52), low = std::sqrt(3.0 - 0.52);
    const double full_s = 2.0 * 2.0 * std::sqrt(kHeads / (2.0 * kG)) / area(kBore) * (high - low);
    CHECK(answer.vessels[1].first_spill_s == Approx(full_s).epsilon(0.01));
}

TEST_CASE("spilled on the way, slowly, and not at the end: a cup that cannot pass on all that comes at first") {
    // TANK gives a little more to the brimming CUP than that hands on to LOW at its rim, until it has fallen far enough; hours later all are drained
    constexpr double kHeads = 100.0, kBore = 0.01, kTank_m2 = 10.0, kShare = 0.9, kHigh_m = 3.0 - 0.52, kCup_m = 0.5 + 0.2;
    Layout layout;
    layout.vessels = {test::prism("TANK", 2.0, 1.5, kTank_m2, 1.0), test::prism("CUP", 0.0, 0.5, 1.0, 0.5), test::prism("LOW", -2.0, 1.9, 20.0, 0.1)};
    layout.pipes = {test::loss_only("IN", "TANK", "CUP", kBore, kHeads),
                    test::loss_only("OUT", "CUP", "LOW", kBore, kHeads * kCup_m / kHigh_m / (kShare * kShare))};
    layout.pipes[0].to.height_m = 0.52;
    layout.pipes[1].to.height_m = 1.8;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    // Torricelli: the root of the head falls evenly, from that of 2.48 m to nine tenths of it; what comes by then less what the cup hands on
    const double per_root = area(kBore) * std::sqrt(2.0 * kG / kHeads), root = std::sqrt(kHigh_m);
    const double lasts_s = 2.0 * kTank_m2 / per_root * (1.0 - kShare) * root;
    const double spilled_m3 = kTank_m2 * kHigh_m * (1.0 - kShare * kShare) - kShare * per_root * root * lasts_s;
    REQUIRE(spilled_m3 > 0.2);
    CHECK(answer.vessels[1].spilled_m3 == test::near(spilled_m3).epsilon(2e-3));
    CHECK(answer.vessels[1].spill_m3_s < 1e-12);
    CHECK(answer.vessels[2].volume_m3 == test::near(10.0 + 0.5 + 2.0 - spilled_m3).epsilon(1e-3));
}

TEST_CASE("a closed loop that spills runs until its pump is dry, and says when") {
    constexpr double kFlow = 1e-3, kIntake = 0.1, kBareBand = 0.02;
    Layout layout;
    layout.vessels = {test::prism("SUMP", 0.0, 1.0, 2.0, 0.8, VesselKind::sump), test::prism("TANK", 0.5, 0.6, 1.0, 0.5)};
    test::add_steady_pump(layout, "P", "SUMP", kFlow, kIntake);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 1.0, 0.05)};
    layout.pipes[0].to.height_m = 0.65;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::spills_until_dry);
    // 2.0 m2 down to 20 mm over the intake at a steady flow; the tank's last 0.1 m3 are full after 100 s
    CHECK(answer.dry_after_s == Approx(2.0 * (0.8 - kIntake - kBareBand) / kFlow).epsilon(1e-4));
    CHECK(answer.vessels[1].first_spill_s == Approx(0.1 / kFlow).epsilon(0.01));
    CHECK(answer.vessels[0].depth_m == Approx(kIntake).epsilon(1e-4));
    CHECK(answer.vessels[1].level_m == Approx(1.1).epsilon(1e-9));
    CHECK(answer.vessels[1].spilled_m3 == Approx(2.0 * (0.8 - kIntake) - 0.1).epsilon(1e-4));
    CHECK(answer.pumps[0].intake_bare);
    CHECK_FALSE(answer.why.empty());
}

TEST_CASE("a spill fed from outside goes on for ever and has no volume") {
    Layout layout;
    layout.vessels = {test::prism("TANK", 0.0, 1.0, 1.0, 0.5)};
    layout.ponds.push_back({.id = "W", .place = {}, .level_m = 3.0});
    layout.pipes = {test::loss_only("P", "W", "TANK", 0.03, 10.0)};
    layout.pipes[0].to.height_m = 1.05;
    const auto answer = test::solve(layout);
    CHECK(answer.state == settle::State::settled);
    CHECK(answer.vessels[0].level_m == 1.0);
    CHECK(answer.vessels[0].spill_m3_s == Approx(area(0.03) * std::sqrt(2.0 * kG * 1.95 / 10.0)).epsilon(1e-5));
    CHECK(answer.vessels[0].spilled_m3 == 0.0);
}

TEST_CASE("what holds a pump's water from boiling: the air, less the vapour, and the water over the pump itself") {
    // at sea level and 20 degC the air is 101,325 Pa, the vapour 2339 Pa, water 998.21 kg/m3 (IAPWS): 10.112 m
    const double air_m = (101325.0 - 2339.0) / (998.21 * kG);
    constexpr double kHeads = 20.0, kBore = 0.04, kElevation = -0.6, kIntake = 0.1;
    Layout layout;
    layout.water_temperature_c = 20.0;
    layout.vessels = {test::prism("LOWER", -3.0, 2.0, 2.0, 0.8)};
    layout.ponds.resize(2);
    layout.ponds[0].id = "UPPER";
    layout.ponds[0].level_m = 2.5;
    layout.ponds[1].id = "POND";
    layout.ponds[1].level_m = 4.0;
    test::add_steady_pump(layout, "SUNK", "LOWER", 1e-3, kIntake);
    test::add_steady_pump(layout, "BESIDE", "POND", 1e-3);
    test::add_steady_pump(layout, "FED", "", 2e-3);
    layout.pumps[2].elevation_m = kElevation;
    layout.pipes = {test::loss_only("SUCTION", "UPPER", "FED", kBore, kHeads), test::pipe("ON", "FED", "POND", 5.0, 0.04),
                    test::pipe("ROUND", "SUNK", "LOWER", 5.0, 0.04), test::pipe("OVER", "BESIDE", "UPPER", 5.0, 0.04)};
    layout.pipes[2].to.height_m = 1.9;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    const double velocity = answer.pumps[2].flow_m3_s / area(kBore);
    const double inlet_m = 2.5 - kHeads * velocity * velocity / (2.0 * kG);
    CHECK(answer.pumps[0].npsh_available_m == test::near(air_m + 0.8 - kIntake).epsilon(1e-4));
    CHECK(answer.pumps[1].npsh_available_m == test::near(air_m).epsilon(1e-4));
    CHECK(answer.pumps[2].npsh_available_m == test::near(air_m + inlet_m - kElevation).epsilon(1e-4));
}
