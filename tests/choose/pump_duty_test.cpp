// The duty of a pump on farms so plain that it can be told without solving them.

#include "solver/choose/pump_duty.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <utility>

#include "netfiles/reader.h"
#include "tests/near.h"

using namespace ebb;
using choose::Duty;
using choose::DutyOutcome;

namespace {

constexpr double kLitrePerMinute_m3_s = 1.0 / 60000.0;
constexpr double kPi = 3.14159265358979323846;

Duty duty_in(const std::string& inside) {
    const std::string model =
        R"(<pump-model name="A"><point flow="0 m3/h" head="9 m" power="60 W"/><point flow="9 m3/h" head="1 m" power="90 W"/></pump-model>)";
    const netfiles::ReadResult read = netfiles::read_layout_text("<layout name=\"x\">" + model + inside + "</layout>", "x.xml");
    for (const layout::Problem& problem : read.problems) MESSAGE(problem.says);
    REQUIRE(read.good());
    return choose::duty_of(read.layout, 0, 0, 0, 0.0, {});
}

/// From a pond through a pipe to a tee that takes what it takes, whatever the pressure.
double head_for_pressure(const std::string& pressure) {
    const Duty duty = duty_in(R"(<pond id="S" level="0 m"/><pump id="P" in="S" model="A"/><pipe id="main" from="P" to="J" length="20 m" bore="25 mm"/>
      <tee id="J" elevation="2 m" takes="30 l/min" least-pressure=")" +
                              pressure + "\"/>");
    REQUIRE(duty.outcome == DutyOutcome::needed);
    CHECK(duty.flow_m3_s == ebb::test::near(30.0 * kLitrePerMinute_m3_s).epsilon(1e-12));
    return duty.head_m;
}

}  // namespace

TEST_SUITE("pump duty") {
    TEST_CASE("between two ponds water begins to flow at the difference of their levels") {
        for (const auto& [level, static_m] : {std::pair("1.25 m", 0.25), {"4.5 m", 3.5}, {"21 m", 20.0}}) {
            const Duty duty = duty_in(R"(<pond id="LOW" level="1 m"/><pump id="P" in="LOW" model="A" check-valve="yes"/>
              <pipe id="rise" from="P" to="UP" length="10 m" bore="50 mm"/><pond id="UP" level=")" +
                                      std::string(level) + "\"/>");
            CHECK(std::abs(duty.static_head_m - static_m) < 2e-6);  // to a thousandth of a millimetre, as it is looked for
        }
    }

    TEST_CASE("where the flow is given, a metre more of pressure asks for a metre more of head") {
        const double for_one = head_for_pressure("1 m");
        for (const auto& [pressure, more_m] : {std::pair("2.5 m", 1.5), {"4 m", 3.0}, {"13.7 m", 12.7}, {"30 m", 29.0}})
            CHECK(std::abs(head_for_pressure(pressure) - for_one - more_m) < 1e-9);
    }

    TEST_CASE("what a turnover asks for is the water of the tank over the time, however much flows") {
        // twin branches: both tanks get the same. One just has the 20 l/min it wants; the other's 0.9 m3 are to turn over in two hours
        const std::string tank = R"(floor="0 m" rim="1 m" diameter="1.2 m" start-depth="0.8 m")";
        const Duty duty = duty_in(R"(<pond id="S" level="-1 m"/><pump id="P" in="S" model="A"/><tee id="J" elevation="0 m"/>
          <pipe id="main" from="P" to="J" length="5 m" bore="50 mm"/>
          <tank id="T1" inflow="20 l/min" )" +
                                  tank + R"(/><pipe id="to-1" from="J" to="T1" to-height="0.95 m" length="3 m" bore="20 mm"/>
          <tank id="T2" turnover="120 min" )" +
                                  tank + R"(/><pipe id="to-2" from="J" to="T2" to-height="0.95 m" length="3 m" bore="20 mm"/>
          <arrangement name="as drawn" levels="start"/>)");
        REQUIRE(duty.outcome == DutyOutcome::needed);
        const double turned_over_m3_s = kPi / 4.0 * 1.2 * 1.2 * 0.8 / 7200.0;
        CHECK(duty.flow_m3_s == ebb::test::near(40.0 * kLitrePerMinute_m3_s).epsilon(1e-8));
        CHECK(duty.asked_m3_s == ebb::test::near(20.0 * kLitrePerMinute_m3_s + turned_over_m3_s).epsilon(1e-8));
        CHECK(duty.sets.about == "T1");
        CHECK(duty.gets_most == "T2");
        CHECK(duty.most_share == ebb::test::near(20.0 * kLitrePerMinute_m3_s / turned_over_m3_s).epsilon(1e-8));
    }
}
