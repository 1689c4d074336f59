// Hours and power turned into money: every figure worked out by hand from pumps that draw the same power at every flow.

#include "solver/choose/economy.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

#include "netfiles/reader.h"
#include "solver/choose/pump_choice.h"
#include "tests/near.h"

using namespace ebb;

namespace {

/// P lifts into a tank and draws 90 W whatever it does, Q lifts from pond to pond and draws 30 W. Both run by day, P alone by night, neither at noon.
layout::Layout two_pumps(const std::string& economy) {
    const std::string text = R"(<layout name="x">
      <pump-model name="A" price="100"><point flow="0 m3/h" head="5 m" power="90 W" npsh="0.5 m"/>
        <point flow="3 m3/h" head="4 m" power="90 W" npsh="0.8 m"/><point flow="6 m3/h" head="1 m" power="90 W" npsh="2 m"/></pump-model>
      <pump-model name="B" price="50"><point flow="0 m3/h" head="3 m" power="30 W"/><point flow="9 m3/h" head="1 m" power="30 W"/></pump-model>
      <tank id="T" floor="1 m" rim="2 m" diameter="1.2 m" start-depth="0.8 m" inflow="20 l/min"/>
      <sump id="S" floor="-1 m" rim="0 m" length="1.5 m" width="1 m" start-depth="0.7 m"/>
      <pump id="P" in="S" intake-height="0.05 m" model="A" check-valve="yes"/>
      <pipe id="feed" from="P" to="T" to-height="0.95 m" length="6 m" bore="32 mm"/>
      <standpipe id="O" in="T" bore="68 mm"><insert name="i" lip="0.8 m"/></standpipe>
      <drain id="home" from="O" to="S" to-height="0.9 m" length="2 m" bore="60 mm"/>
      <pond id="LAKE" level="0 m"/><pond id="HILL" level="1 m"/><pump id="Q" in="LAKE" model="B" check-valve="yes"/>
      <pipe id="hill" from="Q" to="HILL" length="10 m" bore="40 mm"/>
      <arrangement name="day"/><arrangement name="night"><stop pump="Q"/></arrangement>
      <arrangement name="noon"><stop pump="P"/><stop pump="Q"/></arrangement>)" +
                             economy + "</layout>";
    netfiles::ReadResult read = netfiles::read_layout_text(text, "x.xml");
    for (const layout::Problem& problem : read.problems) MESSAGE(problem.says);
    REQUIRE(read.good());
    return std::move(read.layout);
}

struct Bill {
    double own_kwh, all_kwh, cost_a_year, life_cycle_cost;
};
void check_bill(const layout::Layout& farm, const Bill& by_hand) {
    choose::PumpQuestion question;
    question.pumps = {0};
    question.models = {0};
    const choose::PumpChoice choice = choose::choose_pumps(farm, question).pumps.at(0);
    REQUIRE(choice.winner() != nullptr);
    CHECK(choice.winner()->energy_kwh_year == ebb::test::near(by_hand.own_kwh).epsilon(1e-12));
    CHECK(choice.winner()->all_energy_kwh_year == ebb::test::near(by_hand.all_kwh).epsilon(1e-12));
    CHECK(choice.winner()->energy_cost_year == ebb::test::near(by_hand.cost_a_year).epsilon(1e-12));
    CHECK(choice.winner()->life_cycle_cost == ebb::test::near(by_hand.life_cycle_cost).epsilon(1e-12));
}

}  // namespace

TEST_CASE("a year is shared equally among the arrangements that count, or as the layout says") {
    const std::vector<std::int32_t> all = {0, 1, 2}, two = {0, 2};
    const layout::Layout unsaid = two_pumps("");
    CHECK(choose::costing_of(unsaid, all).hours_a_year == std::vector<double>{2920.0, 2920.0, 2920.0});
    CHECK(choose::costing_of(unsaid, two).hours_a_year == std::vector<double>{4380.0, 0.0, 4380.0});
    CHECK(choose::costing_of(unsaid, two).assumed_hours);

    const layout::Layout said =
        two_pumps(R"(<economy><hours arrangement="day" a-year="5000 h"/><hours arrangement="night" a-year="3000 h"/></economy>)");
    CHECK(choose::costing_of(said, all).hours_a_year == std::vector<double>{5000.0, 3000.0, 0.0});
    CHECK(choose::costing_of(said, two).hours_a_year == std::vector<double>{5000.0, 0.0, 0.0});
    CHECK_FALSE(choose::costing_of(said, two).assumed_hours);
}

TEST_CASE("the energy of a year is hours times power, summed over the arrangements, and a pump at rest draws nothing") {
    // a third of the year each, 2920 h: P runs in two of them, Q in one; 0.30 a kWh over ten years where nothing is said
    const double p_kwh = 2.0 * 2920.0 * 0.090, q_kwh = 2920.0 * 0.030;
    check_bill(two_pumps(""), {p_kwh, p_kwh + q_kwh, 0.30 * p_kwh, 100.0 + 10.0 * 0.30 * p_kwh});
    // 5000 h by day, 3000 h by night, 700 h with both at rest: 720 kWh of P at 0.25, and 150 kWh of Q
    check_bill(
        two_pumps(R"(<economy price-per-kwh="0.25" years="4"><hours arrangement="day" a-year="5000 h"/><hours arrangement="night" a-year="3000 h"/>
                            <hours arrangement="noon" a-year="700 h"/></economy>)"),
        {720.0, 870.0, 180.0, 820.0});
}

TEST_CASE("what a pump at rest would draw is not asked for, and of one that runs it must be known") {
    settle::Answer answer;
    answer.pumps.resize(3);
    answer.pumps[0].running = answer.pumps[1].running = true;
    answer.pumps[0].power_w = 90.0;
    answer.pumps[1].power_w = 30.0;
    answer.pumps[2].power_w = 45.0;  // it rests
    bool unknown = false;
    CHECK(choose::power_of(answer, &unknown) == 120.0);
    CHECK_FALSE(unknown);
    answer.pumps[2].power_w = settle::kUnknown;
    CHECK(choose::power_of(answer, &unknown) == 120.0);
    CHECK_FALSE(unknown);
    answer.pumps[1].power_w = settle::kUnknown;
    CHECK(choose::power_of(answer, &unknown) == 90.0);
    CHECK(unknown);
}
