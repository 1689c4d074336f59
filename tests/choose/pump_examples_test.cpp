// Pumps against worked examples of textbooks: the head a duty needs, operating points of one pump and of two in parallel, the affinity laws,
// what a year of pumping costs, what years of payments are worth.
//
// White: F. M. White, Fluid Mechanics. The numbers of the examples are from memory of the book; each was recomputed apart (SciPy).

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "netfiles/reader.h"
#include "solver/choose/economy.h"
#include "solver/choose/pump_choice.h"
#include "tests/near.h"

using namespace ebb;
using choose::Candidate;
using choose::DutyOutcome;

namespace {

constexpr double kFoot_m = 0.3048, kGpm_m3_s = 231.0 * 0.0254 * 0.0254 * 0.0254 / 60.0;

/// A pump that lifts out of a pond, a resistance of square law, and a vessel `lift_ft` higher that wants `wanted` of what comes.
layout::Layout square_system(double lift_ft, const std::string& resistance, const std::string& wanted, const std::string& more) {
    const auto feet = [](double value) { return std::to_string(value) + " ft"; };
    const std::string text = R"(<layout name="square law"><pond id="LOW" level="0 ft"/>
      <vessel id="HIGH" floor=")" +
                             feet(lift_ft - 3.0) + R"(" rim=")" + feet(lift_ft + 3.0) + R"(" start-depth="1 ft" inflow=")" + wanted + R"(">
        <volume at="0 ft" is="0 gal"/><volume at="6 ft" is="90000 gal"/></vessel>
      <filter id="F"><loss state="clean" )" +
                             resistance + R"(/></filter>
      <pipe id="up" from="P" to="F" length="0.1 m" bore="4 m" roughness="0 mm"/>
      <pipe id="over" from="F" to="HIGH" to-height="3 ft" length="0.1 m" bore="4 m" roughness="0 mm"/>)" +
                             more + "</layout>";
    netfiles::ReadResult read = netfiles::read_layout_text(text, "square.xml");
    for (const layout::Problem& problem : read.problems) MESSAGE(problem.says);
    REQUIRE(read.good());
    return std::move(read.layout);
}

const Candidate* find(const choose::PumpChoice& choice, int count, choose::SpeedMode mode) {
    for (const Candidate& one : choice.candidates)
        if (one.count == count && one.mode == mode) return &one;
    return nullptr;
}

}  // namespace

TEST_SUITE("pump examples") {
    TEST_CASE("the head a pump must lift: White example 6.16") {
        // 0.2 ft3/s from 20 ft to 120 ft through 400 ft of 2 in pipe, e/d = 0.001, losses of 12.2 velocity heads: 184 ft (183.4 recomputed
        // with the exact friction factor)
        const double flow_gpm = 0.2 * 1728.0 / 231.0 * 60.0;
        const std::string text = R"(<layout name="White 6.16">
          <site water-temperature="20 degC"/><pond id="LOW" level="20 ft"/>
          <pump-model name="any"><point flow="0 gpm" head="100 ft"/><point flow="100 gpm" head="90 ft"/></pump-model>
          <pump id="P" in="LOW" model="any"/>
          <pipe id="main" from="P" to="J" length="400 ft" bore="2 in" roughness="0.002 in"><fitting loss="12.2"/></pipe>
          <tee id="J" elevation="100 ft" least-pressure="20 ft" takes=")" +
                                 std::to_string(flow_gpm) + R"( gpm"/></layout>)";
        const netfiles::ReadResult read = netfiles::read_layout_text(text, "white.xml");
        REQUIRE(read.good());
        const choose::PumpsAnswer answer = choose::choose_pumps(read.layout, {});
        const choose::Duty& duty = answer.pumps.at(0).duties.at(0);
        REQUIRE(duty.outcome == DutyOutcome::needed);
        CHECK(duty.flow_m3_s == ebb::test::near(0.2 * std::pow(kFoot_m, 3)).epsilon(1e-5));
        CHECK(duty.head_m / kFoot_m == ebb::test::near(184.0).epsilon(0.005));
        CHECK(duty.sets.about == "J");
    }

    TEST_CASE("one pump and two in parallel: White examples 11.6 and 11.7") {
        // H = 490 - 0.26 Q^2 against 120 + 1.335 Q^2 (ft, thousands of gpm): 15,200 gpm at 430 ft; two in parallel 16,300 gpm at 473 ft
        std::string points;
        for (int q = 0; q <= 40; ++q)
            points += "<point flow=\"" + std::to_string(1000 * q) + " gpm\" head=\"" + std::to_string(490.0 - 0.26 * q * q) + " ft\"/>";
        const layout::Layout farm = square_system(120.0, R"(flow="10000 gpm" head="133.5 ft")", "1000 gpm",
                                                  "<pump-model name=\"white\">" + points +
                                                      "</pump-model><pump id=\"P\" in=\"LOW\" model=\"white\"/>"
                                                      "<arrangement name=\"on\" levels=\"start\"/>");
        choose::PumpQuestion question;
        question.most = 2;
        const choose::PumpsAnswer answer = choose::choose_pumps(farm, question);
        const Candidate* one = find(answer.pumps.at(0), 1, choose::SpeedMode::as_arranged);
        const Candidate* two = find(answer.pumps.at(0), 2, choose::SpeedMode::as_arranged);
        REQUIRE(one != nullptr);
        REQUIRE(two != nullptr);
        CHECK(one->points.at(0).pump.flow_m3_s / kGpm_m3_s == ebb::test::near(15200.0).epsilon(0.003));
        CHECK(one->points.at(0).pump.head_m / kFoot_m == ebb::test::near(430.0).epsilon(0.003));
        CHECK(two->points.at(0).pump.flow_m3_s / kGpm_m3_s == ebb::test::near(16300.0).epsilon(0.003));
        CHECK(two->points.at(0).pump.head_m / kFoot_m == ebb::test::near(473.0).epsilon(0.003));
    }

    TEST_CASE("affinity laws: DOE-HDBK-1012/3-92, Fluid Flow, pump laws") {
        // 1800 rpm: 400 gpm, 48 ft, 45 kW; 3600 rpm: 800 gpm, 192 ft, 360 kW. Against a pure square resistance a pump turned down to half its
        // speed keeps to the same point of its curve; the least speed that gives 400 gpm is half.
        const layout::Layout farm =
            square_system(0.0, R"(flow="800 gpm" head="192 ft")", "400 gpm",
                          R"(<pump-model name="doe" price="1" least-speed="20 %"><point flow="0 gpm" head="240 ft" power="200 kW"/>
                             <point flow="800 gpm" head="192 ft" power="360 kW"/><point flow="1200 gpm" head="100 ft" power="400 kW"/></pump-model>
                             <pump id="P" in="LOW" model="doe"/><arrangement name="on" levels="start"/>)");
        const choose::PumpsAnswer answer = choose::choose_pumps(farm, {});
        const choose::PumpChoice& choice = answer.pumps.at(0);
        const Candidate* full = find(choice, 1, choose::SpeedMode::as_arranged);
        const Candidate* half = find(choice, 1, choose::SpeedMode::one_speed);
        REQUIRE(full != nullptr);
        REQUIRE(half != nullptr);
        CHECK(full->points.at(0).pump.flow_m3_s / kGpm_m3_s == ebb::test::near(800.0).epsilon(1e-6));
        CHECK(full->points.at(0).pump.head_m / kFoot_m == ebb::test::near(192.0).epsilon(1e-6));
        CHECK(full->points.at(0).pump.power_w == ebb::test::near(360e3).epsilon(1e-6));
        // the least thousandth of speed that gives it: the friction of the short pipes is not quite nothing
        CHECK(half->speed == ebb::test::near(0.5).epsilon(0.0021));
        CHECK(half->points.at(0).pump.flow_m3_s / kGpm_m3_s == ebb::test::near(400.0 * half->speed / 0.5).epsilon(1e-6));
        CHECK(half->points.at(0).pump.head_m / kFoot_m == ebb::test::near(48.0 * std::pow(half->speed / 0.5, 2)).epsilon(1e-6));
        CHECK(half->points.at(0).pump.power_w == ebb::test::near(45e3 * std::pow(half->speed / 0.5, 3)).epsilon(1e-6));
        CHECK(choice.winner() == half);
    }

    TEST_CASE("a year of pumping: Crane TP-410 example 7-34") {
        // 700 gpm at 428 ft, pump 70.7 %, motor 95 %, drive 96 %, 8000 h a year at 0.12 a kWh: 83,970 a year (as quoted in the notebooks of
        // the fluids library)
        const layout::Layout farm = square_system(
            0.0, R"(flow="700 gpm" head="428 ft")", "600 gpm",
            R"(<pump-model name="crane"><point flow="0 gpm" head="500 ft" efficiency="10 %"/><point flow="700 gpm" head="428 ft" efficiency="64.47840 %"/>
               <point flow="900 gpm" head="300 ft" efficiency="50 %"/></pump-model><pump id="P" in="LOW" model="crane"/>
               <arrangement name="on" levels="start"/><economy price-per-kwh="0.12"><hours arrangement="on" a-year="8000 h"/></economy>)");
        const choose::PumpsAnswer answer = choose::choose_pumps(farm, {});
        CHECK(answer.pumps.at(0).as_it_is.energy_cost_year == ebb::test::near(83970.0).epsilon(0.002));
    }

    TEST_CASE("what a yearly payment is worth: tables of engineering economy, uniform series present worth") {
        // from memory: any such table (P/A, i %, n)
        CHECK(choose::worth_of_yearly_payment(10.0, 0.06) == ebb::test::near(7.3601).epsilon(1e-5));
        CHECK(choose::worth_of_yearly_payment(5.0, 0.08) == ebb::test::near(3.9927).epsilon(1e-5));
        CHECK(choose::worth_of_yearly_payment(20.0, 0.10) == ebb::test::near(8.5136).epsilon(1e-5));
        CHECK(choose::worth_of_yearly_payment(15.0, 0.0) == 15.0);
    }
}
