// The figures that an answer adds to its flows and heads, each by the law that it follows: continuity, Hagen and Poiseuille, Bernoulli, hydrostatics,
// Manning. g = 9.80665 m/s2; at 20 degC water has 1.0016 mPa s and 998.21 kg/m3 (IAPWS).

#include <doctest/doctest.h>

#include <numbers>

#include "tests/near.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using layout::Layout;

constexpr double kG = 9.80665;
constexpr double kViscosity_m2_s = 1.0016e-3 / 998.21;

double area(double bore_m) { return std::numbers::pi * bore_m * bore_m / 4.0; }
double velocity_head(double bore_m, double flow_m3_s) { return flow_m3_s * flow_m3_s / (2.0 * kG * area(bore_m) * area(bore_m)); }

/// Two ponds, and a tee between them when it is asked for.
Layout two_ponds(double high_m, double low_m) {
    Layout layout;
    layout.water_temperature_c = 20.0;
    layout.ponds.resize(2);
    layout.ponds[0].id = "HIGH";
    layout.ponds[0].level_m = high_m;
    layout.ponds[1].id = "LOW";
    layout.ponds[1].level_m = low_m;
    return layout;
}

}  // namespace

TEST_CASE("a pipe of slow water: velocity, Reynolds number and loss by Hagen and Poiseuille, and what its ponds give and take") {
    constexpr double kBore = 0.008, kLength = 40.0, kFall = 0.3;
    Layout layout = two_ponds(kFall, 0.0);
    layout.pipes = {test::pipe("P", "HIGH", "LOW", kLength, kBore)};
    layout.pipes[0].entry_loss = layout.pipes[0].exit_loss = 0.0;
    const auto answer = test::solve(layout);
    const auto& pipe = answer.pipes[0];
    CHECK(pipe.flow_m3_s == test::near(std::numbers::pi * kG * std::pow(kBore, 4) * kFall / (128.0 * kViscosity_m2_s * kLength)).epsilon(1e-3));
    CHECK(pipe.velocity_m_s == test::near(pipe.flow_m3_s / area(kBore)).epsilon(1e-12));
    CHECK(pipe.reynolds == test::near(pipe.velocity_m_s * kBore / kViscosity_m2_s).epsilon(1e-3));
    REQUIRE(pipe.reynolds < 2000.0);
    // the friction factor of slow water is 64 over the Reynolds number
    const double factor = pipe.loss_m * kBore / kLength / velocity_head(kBore, pipe.flow_m3_s);
    CHECK(factor * pipe.reynolds == test::near(64.0).epsilon(1e-6));
    CHECK(answer.ponds[0].flow_m3_s == test::near(pipe.flow_m3_s).epsilon(1e-12));
    CHECK(answer.ponds[1].flow_m3_s == test::near(-pipe.flow_m3_s).epsilon(1e-12));
}

TEST_CASE("the loss of a pipe is the whole fall between its ponds, trapped air and all") {
    for (const double air : {0.0, 0.5}) {
        Layout layout = two_ponds(3.0, 0.5);
        layout.pipes = {test::pipe("P", "HIGH", "LOW", 30.0, 0.05)};
        layout.pipes[0].trapped_air_m = air;
        CHECK(test::solve(layout).pipes[0].loss_m == test::near(2.5).epsilon(1e-8));
    }
}

TEST_CASE("in still water the pressure at a tee is its depth") {
    Layout layout = two_ponds(3.0, 3.0);
    layout::Tee tee;
    tee.id = "T";
    tee.elevation_m = 1.2;
    layout.tees.push_back(tee);
    layout.pipes = {test::pipe("A", "HIGH", "T", 3.0, 0.05), test::pipe("B", "T", "LOW", 3.0, 0.05)};
    const auto answer = test::solve(layout);
    CHECK(answer.tees[0].head_m == test::near(3.0).epsilon(1e-9));
    CHECK(answer.tees[0].pressure_m == test::near(1.8).epsilon(1e-9));
}

TEST_CASE("a pump whose head falls evenly at even power is best at half of its greatest flow") {
    Layout layout = two_ponds(2.0, 0.0);
    test::add_steady_pump(layout, "P", "LOW", 4e-3);
    std::vector<physics::PumpPoint> points;
    for (const double q : {0.0, 1e-3, 2e-3, 3e-3, 4e-3}) points.push_back({.flow_m3_s = q, .head_m = 8.0 - 2000.0 * q, .power_w = 300.0});
    layout.pump_models[0].curve = physics::PumpCurve(points);
    layout.pipes = {test::pipe("UP", "P", "HIGH", 10.0, 0.05)};
    const auto pump = test::solve(layout).pumps[0];
    REQUIRE(pump.flow_m3_s > 2.2e-3);
    CHECK(pump.best_point_ratio == test::near(pump.flow_m3_s / 2e-3).epsilon(0.01));
    // what it gives the water over what it takes
    CHECK(pump.efficiency == test::near(998.21 * kG * pump.flow_m3_s * pump.head_m / 300.0).epsilon(1e-4));
}

TEST_CASE("how much of a drain is used: Manning's full pipe at its fall") {
    constexpr double kBore = 0.1, kLength = 10.0, kFall = 0.2;
    Layout layout = two_ponds(-1.0, -3.0);
    layout.vessels = {test::prism("TANK", 0.0, 1.0, 1.0, 0.4)};
    test::add_steady_pump(layout, "P", "HIGH", 1e-3);
    test::add_standpipe(layout, "S", "TANK", kBore, 0.4);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::drain("D", "S", "LOW", kLength, kBore)};
    layout.pipes[0].to.height_m = 0.9;
    layout.pipes[1].to.height_m = 3.0 - kFall;
    const auto answer = test::solve(layout);
    const double full = area(kBore) * std::pow(kBore / 4.0, 2.0 / 3.0) * std::sqrt(kFall / kLength) / 0.010;
    CHECK(answer.pipes[1].capacity_used == test::near(answer.pipes[1].flow_m3_s / full).epsilon(1e-9));
    CHECK(answer.pipes[1].fill_ratio < 0.5);  // half full it would carry half of that
}

TEST_CASE("a downpipe that sweeps its air out stands its tank at the entry and the losses behind, by Bernoulli") {
    constexpr double kBore = 0.03, kHeads = 3.0;
    Layout layout = two_ponds(-1.0, -3.0);
    layout.vessels = {test::prism("TANK", 0.0, 2.5, 1.0, 0.4)};
    test::add_steady_pump(layout, "P", "HIGH", 1.77e-3);
    test::add_standpipe(layout, "S", "TANK", kBore, 0.1);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::loss_only("D", "S", "HIGH", kBore, kHeads)};
    layout.pipes[0].to.height_m = 2.4;
    layout.pipes[1].gravity = true;
    const auto answer = test::solve(layout);
    const auto& standpipe = answer.standpipes[0];
    const double full_m = -1.0 + (kHeads + 0.5) * velocity_head(kBore, standpipe.flow_m3_s);
    REQUIRE(full_m > 0.1);
    CHECK(standpipe.may_run_full);
    CHECK(standpipe.full_pipe_level_m == test::near(full_m).epsilon(1e-5));
}

TEST_CASE("below a dry lip all that comes goes through the holes, whether water stands behind them or not") {
    for (const double behind_m : {-1.0, 0.3}) {
        Layout layout = two_ponds(-1.0, behind_m);
        layout.vessels = {test::prism("TANK", 0.0, 2.0, 1.0, 0.4)};
        test::add_steady_pump(layout, "P", "HIGH", 1e-4);
        test::add_standpipe(layout, "S", "TANK", 0.1, 1.8);
        layout.standpipes[0].holes.push_back({.height_m = 0.1, .diameter_m = 0.01, .count = 1, .discharge_coefficient = 0.61, .place = {}});
        layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::drain("D", "S", "LOW", 2.0, 0.1)};
        layout.pipes[0].to.height_m = 1.9;
        const auto answer = test::solve(layout);
        CAPTURE(behind_m);
        CHECK(answer.standpipes[0].through_holes_m3_s == test::near(answer.pumps[0].flow_m3_s).epsilon(1e-8));
        // Torricelli, from the water behind where it stands over the hole
        const double over = std::pow(answer.pumps[0].flow_m3_s / (0.61 * area(0.01)), 2) / (2.0 * kG);
        CHECK(answer.vessels[0].depth_m == test::near(std::max(0.1, behind_m) + over).epsilon(1e-4));
    }
}

TEST_CASE("a float valve half way down its travel is half open, and gives half of what it gives open") {
    Layout layout = two_ponds(-5.0, -5.0);
    layout.vessels = {test::prism("TANK", 0.0, 1.0, 1.0, 0.3)};
    layout.supplies.push_back({.id = "MAINS", .place = {}, .head_m = 20.0, .elevation_m = 0.0});
    layout::FloatValve valve;
    valve.id = "FLOAT";
    valve.into_id = "TANK";
    valve.opens_at_m = 0.4;
    valve.closes_at_m = 0.6;
    valve.rated_flow_m3_s = 1e-4;
    valve.rated_head_m = 20.0;
    layout.float_valves.push_back(valve);
    test::add_steady_pump(layout, "P", "TANK", 3e-5, 0.05);
    layout.pipes = {test::pipe("SERVICE", "MAINS", "FLOAT", 1.0, 0.05), test::pipe("AWAY", "P", "LOW", 3.0, 0.05)};
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    const auto& source = answer.float_valves[0];
    // in proportion between the marks, and by the square root of the head over its rated one
    CHECK(source.opening == test::near((0.6 - answer.vessels[0].depth_m) / 0.2).epsilon(1e-9));
    CHECK(source.flow_m3_s == test::near(answer.pumps[0].flow_m3_s).epsilon(1e-8));
    const double head_m = 20.0 - answer.vessels[0].depth_m;
    CHECK(source.flow_m3_s == test::near(source.opening * 1e-4 * std::sqrt(head_m / 20.0)).epsilon(0.02));
}

TEST_CASE("behind a check valve stands the head before it; where no water stands before it, none is known") {
    for (const double level_m : {3.0, 0.2}) {
        for (const bool pond : {true, false}) {
            Layout layout = two_ponds(level_m, 5.0);
            layout.vessels = {test::prism("TANK", 0.0, 4.0, 1.0, level_m)};
            layout::Tee tee;
            tee.id = "T";
            tee.elevation_m = 0.1;
            layout.tees.push_back(tee);
            layout.pipes = {test::pipe("IN", pond ? "HIGH" : "TANK", "T", 3.0, 0.05), test::pipe("OUT", "T", "LOW", 3.0, 0.05)};
            layout.pipes[0].from.height_m = pond ? 0.0 : 0.5;
            if (pond && level_m < 0.5) layout.pipes[0].from.height_m = 0.3;
            test::add_valve(layout, "IN", "CHECK", physics::ValveKind::check);
            test::add_valve(layout, "OUT", "TURNED");
            layout::Arrangement shut;
            shut.name = "shut";
            layout::Setting close;
            close.act = layout::Act::close;
            close.about_id = "TURNED";
            shut.settings = {close};
            layout.arrangements = {shut};
            CAPTURE(level_m);
            CAPTURE(pond);
            const double head_m = test::solve(layout).tees[0].head_m;
            if (level_m > 0.5)
                CHECK(head_m == test::near(level_m).epsilon(1e-9));
            else
                CHECK(std::isnan(head_m));
        }
    }
}

TEST_CASE("verdicts: a turnover not slower, an inflow not less than is wanted") {
    constexpr double kFlow = 1e-3;
    for (const double share : {0.95, 1.05}) {
        Layout layout = two_ponds(-1.0, -1.0);
        layout.vessels = {test::prism("TANK", 0.0, 1.0, 2.0, 0.5)};
        test::add_steady_pump(layout, "P", "HIGH", kFlow);
        test::add_steady_pump(layout, "Q", "TANK", 2.0 * kFlow, 0.49);  // holds the water at its intake
        layout.pipes = {test::pipe("UP", "P", "TANK", 3.0, 0.05), test::pipe("AWAY", "Q", "LOW", 3.0, 0.05)};
        layout.pipes[0].to.height_m = 0.9;
        layout.vessels[0].turnover_s = share * 2.0 * 0.5 / kFlow;  // 1000 s at half a metre of depth, nearly
        layout.vessels[0].inflow_m3_s = share * kFlow;
        const auto answer = test::solve(layout);
        REQUIRE(answer.state == settle::State::settled);
        REQUIRE(answer.vessels[0].volume_m3 == test::near(1.0).epsilon(0.03));
        REQUIRE(answer.targets.size() == 2);
        CHECK(answer.targets[0].quantity == "turnover_s");
        CHECK(answer.targets[0].met == (share > 1.0));
        CHECK(answer.targets[1].quantity == "inflow_m3_s");
        CHECK(answer.targets[1].met == (share < 1.0));
    }
}

TEST_CASE("a pump is said to cavitate where it needs more than holds its water from boiling, and nowhere else") {
    for (const double needs_m : {9.9, 10.3}) {  // at a pond's level it has 10.11 m
        Layout layout = two_ponds(0.0, 2.0);
        test::add_steady_pump(layout, "P", "HIGH", 4e-3);
        std::vector<physics::PumpPoint> points;
        for (const double q : {0.0, 2e-3, 4e-3}) points.push_back({.flow_m3_s = q, .head_m = 8.0 - 2000.0 * q, .npsh_required_m = needs_m});
        layout.pump_models[0].curve = physics::PumpCurve(points);
        layout.pipes = {test::pipe("UP", "P", "LOW", 10.0, 0.05)};
        const auto answer = test::solve(layout);
        const bool said = std::any_of(answer.warnings.begin(), answer.warnings.end(), [](const settle::Warning& w) { return w.code == "cavitates"; });
        CHECK(said == (needs_m > 10.11));
    }
}
