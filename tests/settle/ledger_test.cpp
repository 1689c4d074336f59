// The sump ledger and the band of a pump known only by its label, by hand.

#include <doctest/doctest.h>

#include <numbers>

#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using doctest::Approx;

constexpr double kG = 9.80665;

layout::Layout loop(double sump_height_m) {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, sump_height_m, 1.5, 0.4, layout::VesselKind::sump), test::prism("TANK", 0.5, 1.0, 8.0, 0.7)};
    test::add_steady_pump(layout, "P", "SUMP", 2e-3, 0.1);
    test::add_standpipe(layout, "S", "TANK", 0.1, 0.7);
    layout.pipes = {test::pipe("RISER", "P", "TANK", 3.0, 0.05), test::drain("HOME", "S", "SUMP", 2.0, 0.1)};
    layout.pipes[0].to.height_m = 0.95;
    layout.pipes[1].to.height_m = sump_height_m - 0.01;
    return layout;
}

double over_lip(double flow_m3_s) { return std::pow(flow_m3_s / (2.0 / 3.0 * 0.62 * std::sqrt(2.0 * kG) * std::numbers::pi * 0.1), 2.0 / 3.0); }

}  // namespace

TEST_CASE("ledger: what comes home, a day's evaporation, the days to the intake") {
    layout::Layout layout = loop(0.8);
    const auto answer = test::solve(layout, true);
    REQUIRE(answer.state == settle::State::settled);
    REQUIRE(answer.ledgers.size() == 1);
    const auto& ledger = answer.ledgers[0];
    const double film_m3 = 8.0 * over_lip(answer.pumps[0].flow_m3_s);  // stands over the lip while it runs
    const double running_m = 0.4 - film_m3 / 1.5, water_m3 = 1.5 * 0.4 + 8.0 * 0.7, day_m3 = 0.015 * water_m3;
    CHECK(ledger.vessel == 0);
    CHECK(ledger.running_depth_m == Approx(running_m).epsilon(1e-7));
    CHECK(ledger.returned_m3 == Approx(film_m3).epsilon(1e-6));
    CHECK(ledger.stopped_depth_m == Approx(0.4).epsilon(1e-7));
    CHECK(ledger.stopped_spill_m3 == 0.0);
    CHECK(ledger.evaporation_m3_day == Approx(day_m3).epsilon(1e-9));
    CHECK(ledger.depth_after_day_m == Approx(running_m - day_m3 / 1.5).epsilon(1e-7));
    CHECK(ledger.least_depth_m == Approx(0.12));  // 20 mm over the intake
    CHECK(ledger.margin_m == Approx(running_m - day_m3 / 1.5 - 0.12).epsilon(1e-6));
    CHECK(ledger.margin_m3 == Approx(1.5 * (running_m - 0.12) - day_m3).epsilon(1e-6));
    CHECK(ledger.days_to_least == Approx(1.5 * (running_m - 0.12) / day_m3).epsilon(1e-6));
    CHECK(ledger.freeboard_running_m == Approx(0.8 - running_m).epsilon(1e-7));
    CHECK(ledger.freeboard_stopped_m == Approx(0.4).epsilon(1e-7));
}

TEST_CASE("ledger: a sump too small for what comes home runs over when everything stops") {
    layout::Layout layout = loop(0.42);
    layout.vessels[0].start_depth_m = 0.42;
    layout.vessels[1].start_depth_m = 0.75;  // 8.0 x 0.05 m3 over the lip before anything runs
    const auto answer = test::solve(layout, true);
    REQUIRE(answer.state == settle::State::settled);
    const auto& ledger = answer.ledgers.at(0);
    // running, what the weir does not hold up has gone over the sump's rim already; stopping sends the film after it
    const double film_m3 = 8.0 * over_lip(answer.pumps[0].flow_m3_s);
    const double running_m3 = answer.vessels[0].volume_m3;
    const double spill_m3 = running_m3 + film_m3 - 1.5 * 0.42;
    REQUIRE(spill_m3 > 0.01);
    CHECK(ledger.stopped_depth_m == Approx(0.42).epsilon(1e-9));
    CHECK(ledger.stopped_spill_m3 == Approx(spill_m3).epsilon(1e-5));
    CHECK(ledger.returned_m3 == Approx(film_m3).epsilon(1e-5));
    CHECK(ledger.freeboard_stopped_m == Approx(0.0));
}

TEST_CASE("ledger: the least depth a user gives is the one that counts") {
    layout::Layout layout = loop(0.8);
    layout.vessels[0].least_depth_m = 0.25;
    const auto answer = test::solve(layout, true);
    CHECK(answer.ledgers.at(0).least_depth_m == 0.25);
}

TEST_CASE("ledger: where routines say what plants drink, a day of the thirstiest counts instead of a share of the water") {
    layout::Layout layout = loop(0.8);
    layout::Arrangement drawn;
    drawn.name = "drawn";
    layout.arrangements = {drawn};
    constexpr double kLitreAnHour_m3_s = 1e-3 / 3600.0;
    for (const double litres_an_hour : {1.0, 3.0, 2.0}) {
        layout::Routine routine;
        routine.name = "summer " + std::to_string(layout.routines.size());
        routine.arrangement_name = "drawn";
        // two beds of one loop drink, in equal parts
        for (const char* from : {"TANK", "SUMP"}) {
            layout::Uptake uptake;
            uptake.from_id = from;
            uptake.rate_m3_s = 0.5 * litres_an_hour * kLitreAnHour_m3_s;
            routine.uptakes.push_back(uptake);
        }
        layout.routines.push_back(routine);
    }
    const auto answer = test::solve(layout, true);
    const auto& ledger = answer.ledgers.at(0);
    CHECK(ledger.evaporation_m3_day == Approx(0.072).epsilon(1e-9));  // 24 hours of 3 litres
    CHECK(ledger.depth_after_day_m == Approx(ledger.running_depth_m - 0.072 / 1.5).epsilon(1e-7));
}

TEST_CASE("ledger: two loops that may run over into one ditch are two, each with its own water") {
    layout::Layout layout = loop(0.8);
    layout.vessels.push_back(test::prism("SUMP2", -1.0, 0.8, 1.5, 0.4, layout::VesselKind::sump));
    layout.vessels.push_back(test::prism("TANK2", 0.5, 1.0, 3.0, 0.7));
    layout.ponds.resize(1);
    layout.ponds[0].id = "DITCH";
    layout.ponds[0].level_m = -5.0;
    test::add_steady_pump(layout, "P2", "SUMP2", 2e-3, 0.1);
    test::add_standpipe(layout, "S2", "TANK2", 0.1, 0.7);
    layout.pipes.push_back(test::pipe("RISER2", "P2", "TANK2", 3.0, 0.05));
    layout.pipes.back().to.height_m = 0.95;
    layout.pipes.push_back(test::drain("HOME2", "S2", "SUMP2", 2.0, 0.1));
    layout.pipes.back().to.height_m = 0.79;
    for (const char* from : {"SUMP", "SUMP2"}) {
        layout.pipes.push_back(test::pipe(std::string("OVER ") + from, from, "DITCH", 5.0, 0.1));
        layout.pipes.back().from.height_m = 0.7;
    }
    const auto answer = test::solve(layout, true);
    REQUIRE(answer.ledgers.size() == 2);
    CHECK(answer.ledgers[0].evaporation_m3_day == Approx(0.015 * (1.5 * 0.4 + 8.0 * 0.7)).epsilon(1e-6));
    CHECK(answer.ledgers[1].evaporation_m3_day == Approx(0.015 * (1.5 * 0.4 + 3.0 * 0.7)).epsilon(1e-6));
}

TEST_CASE("a pump known by its label gives a band: the label rule's three exponents, each against the system curve") {
    constexpr double kMostFlow = 2e-3, kMostHead = 6.0, kLift = 2.0, kHeads = 15.0, kBore = 0.03;
    layout::Layout layout;
    layout.ponds.push_back({.id = "LOW", .place = {}, .level_m = 0.0});
    layout.ponds.push_back({.id = "HIGH", .place = {}, .level_m = kLift});
    layout::PumpModel model;
    model.name = "label";
    model.from_label = true;
    model.greatest_flow_m3_s = kMostFlow;
    model.greatest_head_m = kMostHead;
    const physics::PumpLabel label{.greatest_flow_m3_s = kMostFlow, .greatest_head_m = kMostHead};
    model.curve = physics::PumpCurve::from_label(label);
    model.curve_low = physics::PumpCurve::from_label(label, physics::kLabelExponentLow);
    model.curve_high = physics::PumpCurve::from_label(label, physics::kLabelExponentHigh);
    layout.pump_models = {model};
    layout::Pump pump;
    pump.id = "P";
    pump.model_name = "label";
    pump.in_id = "LOW";
    layout.pumps = {pump};
    layout.pipes = {test::loss_only("R", "P", "HIGH", kBore, kHeads)};
    const auto answer = test::solve(layout);
    const double area = std::numbers::pi * kBore * kBore / 4.0;
    const auto duty = [&](double exponent) {
        double low = 0.0, high = kMostFlow;  // H0 (1 - (Q/Qmax)^n) falls, lift + K v2/2g rises: halve
        for (int i = 0; i < 100; ++i) {
            const double q = 0.5 * (low + high);
            const double left = kMostHead * (1.0 - std::pow(q / kMostFlow, exponent)) - kLift - kHeads * q * q / (2.0 * kG * area * area);
            (left > 0.0 ? low : high) = q;
        }
        return low;
    };
    CHECK(answer.rests_on_label);
    REQUIRE(answer.pumps[0].flow_band.there());
    CHECK(answer.pumps[0].flow_m3_s == Approx(duty(2.0)).epsilon(1e-5));
    CHECK(answer.pumps[0].flow_band.low == Approx(duty(1.0)).epsilon(1e-5));
    CHECK(answer.pumps[0].flow_band.high == Approx(duty(3.0)).epsilon(1e-5));
    CHECK(answer.pipes[0].flow_band.low == Approx(duty(1.0)).epsilon(1e-5));
    CHECK(answer.pipes[0].flow_band.high == Approx(duty(3.0)).epsilon(1e-5));
}
