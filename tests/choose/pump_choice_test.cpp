// The choice of pumps on whole farms: the duty held against pumps made for it, curves that cross where the pump runs, what no pump can do,
// labels, costs that are not known, failures; the same answer on any number of threads, and an end when asked for one.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "netfiles/reader.h"
#include "solver/choose/margins.h"
#include "solver/choose/pump_choice.h"
#include "solver/physics/monotone_curve.h"
#include "solver/settle/farm.h"
#include "tests/near.h"

using namespace ebb;
using choose::Candidate;
using choose::DutyOutcome;
using choose::PumpsAnswer;
using choose::Standing;

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

layout::Layout first_farm() {
    netfiles::ReadResult read = netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/first.xml");
    REQUIRE(read.good());
    return std::move(read.layout);
}

layout::Layout farm_of(const std::string& inside) {
    netfiles::ReadResult read = netfiles::read_layout_text("<layout name=\"x\">" + inside + "</layout>", "x.xml");
    for (const layout::Problem& problem : read.problems) MESSAGE(problem.says);
    REQUIRE(read.good());
    return std::move(read.layout);
}

/// A tank over a sump, fed by a pump; what `more` says beside it.
std::string lift(const std::string& tank, const std::string& feed, const std::string& drain_bore, const std::string& more) {
    return R"(<tank id="T" floor="1 m" rim="2 m" diameter="1.2 m" start-depth="0.8 m" )" + tank + R"(/>
      <sump id="S" floor="-1 m" rim="0 m" length="1.5 m" width="1 m" start-depth="0.7 m"/>
      <pump id="P" in="S" intake-height="0.05 m" model="A" check-valve="yes"/>
      <pipe id="feed" from="P" to="T" to-height="0.95 m" length="6 m" bore="32 mm" roughness="0.0015 mm">)" +
           feed + R"(</pipe>
      <standpipe id="O" in="T" bore="68 mm"><insert name="i" lip="0.8 m"/></standpipe>
      <drain id="home" from="O" to="S" to-height="0.9 m" length="2 m" bore=")" +
           drain_bore + R"(" roughness="0.0015 mm"/>)" + more;
}

const std::string kModelA = R"(<pump-model name="A" price="100"><point flow="0 m3/h" head="5 m" power="60 W" npsh="0.5 m"/>
  <point flow="3 m3/h" head="4 m" power="90 W" npsh="0.8 m"/><point flow="6 m3/h" head="1 m" power="100 W" npsh="2 m"/></pump-model>)";

/// A falling straight line through a point.
physics::PumpCurve line_through(double flow_m3_s, double head_m) {
    const physics::PumpPoint points[] = {{.flow_m3_s = 0.0, .head_m = 1.2 * head_m}, {.flow_m3_s = 2.0 * flow_m3_s, .head_m = 0.8 * head_m}};
    return physics::PumpCurve(points);
}

/// Least margin of an arrangement with such a pump in the place, solved as `flows` does.
double margin_with(layout::Layout farm, std::int32_t pump, std::int32_t arrangement, const physics::PumpCurve& curve) {
    layout::PumpModel model;
    model.name = "made for it";
    model.curve = curve;
    farm.pump_models.push_back(model);
    farm.pumps[at(pump)].model = static_cast<std::int32_t>(farm.pump_models.size()) - 1;
    settle::Farm solver(farm);
    return choose::worst_margin(solver.solve(arrangement));
}

const Candidate* find(const choose::PumpChoice& choice, const layout::Layout& farm, const std::string& model, int count = 1) {
    for (const Candidate& one : choice.candidates)
        if (farm.pump_models[at(one.model)].name == model && one.count == count) return &one;
    return nullptr;
}

}  // namespace

TEST_SUITE("pump choice") {
    TEST_CASE("at the duty the targets are just met, and a thousandth less head misses one") {
        const layout::Layout farm = first_farm();
        const PumpsAnswer answer = choose::choose_pumps(farm, {});
        REQUIRE(answer.pumps.size() == 1);
        int needed = 0;
        for (const choose::Duty& duty : answer.pumps[0].duties) {
            CAPTURE(farm.arrangements[at(duty.arrangement)].name);
            if (farm.arrangements[at(duty.arrangement)].name == "pump stopped") CHECK(duty.outcome == DutyOutcome::rests);
            if (duty.outcome != DutyOutcome::needed) continue;
            ++needed;
            CHECK(std::abs(duty.margin) < 1e-6);
            CHECK(std::abs(margin_with(farm, 0, duty.arrangement, line_through(duty.flow_m3_s, duty.head_m))) < 1e-6);
            CHECK(margin_with(farm, 0, duty.arrangement, line_through(duty.flow_m3_s, 0.999 * duty.head_m)) < 0.0);
            CHECK(duty.static_head_m > 0.0);
            CHECK(duty.static_head_m < duty.head_m);
        }
        CHECK(needed == 3);
        const choose::PumpChoice& choice = answer.pumps[0];
        for (const choose::Duty& duty : choice.duties)
            if (duty.outcome == DutyOutcome::needed) CHECK(duty.head_m <= choice.duties[at(choice.greatest_head)].head_m);
    }

    TEST_CASE("a pump runs where its curve crosses the system curve") {
        const layout::Layout farm = first_farm();
        choose::PumpQuestion question;
        question.curve_points = 81;
        const choose::PumpChoice choice = choose::choose_pumps(farm, question).pumps.at(0);
        int crossings = 0;
        for (std::size_t d = 0; d < choice.duties.size(); ++d) {
            std::vector<double> flow, head;
            for (const choose::SystemPoint& point : choice.duties[d].curve) {
                if (!point.solved || (!flow.empty() && point.flow_m3_s <= flow.back())) continue;
                flow.push_back(point.flow_m3_s);
                head.push_back(point.head_m);
            }
            for (const Candidate& one : choice.candidates) {
                const choose::CandidatePoint& runs = one.points[d];
                if (!(runs.speed > 0.0) || flow.empty() || runs.pump.flow_m3_s <= flow.front() || runs.pump.flow_m3_s >= flow.back()) continue;
                ++crossings;
                CHECK(physics::monotone_at(flow, head, runs.pump.flow_m3_s).value == ebb::test::near(runs.pump.head_m).epsilon(2e-3));
            }
        }
        CHECK(crossings > 5);
    }

    TEST_CASE("the same answer on one thread and on four") {
        const layout::Layout farm = first_farm();
        choose::PumpQuestion question;
        const PumpsAnswer one = choose::choose_pumps(farm, question);
        question.watch.threads = 4;
        const PumpsAnswer four = choose::choose_pumps(farm, question);
        REQUIRE(one.pumps[0].candidates.size() == four.pumps[0].candidates.size());
        for (std::size_t c = 0; c < one.pumps[0].candidates.size(); ++c) {
            const Candidate &a = one.pumps[0].candidates[c], &b = four.pumps[0].candidates[c];
            CHECK(a.model == b.model);
            CHECK((a.energy_kwh_year == b.energy_kwh_year || (std::isnan(a.energy_kwh_year) && std::isnan(b.energy_kwh_year))));
            for (std::size_t i = 0; i < a.points.size(); ++i)
                CHECK((a.points[i].pump.flow_m3_s == b.points[i].pump.flow_m3_s || !(a.points[i].speed > 0.0)));
        }
        for (std::size_t d = 0; d < one.pumps[0].duties.size(); ++d)
            if (one.pumps[0].duties[d].outcome == DutyOutcome::needed) CHECK(one.pumps[0].duties[d].head_m == four.pumps[0].duties[d].head_m);
    }

    TEST_CASE("asked to stop it says so and gives what is done") {
        std::stop_source stop;
        stop.request_stop();
        choose::PumpQuestion question;
        question.watch.stop = stop.get_token();
        const PumpsAnswer answer = choose::choose_pumps(first_farm(), question);
        CHECK(answer.stopped);
        CHECK(answer.pumps.empty());
        int calls = 0;
        std::stop_source later;
        question.watch.stop = later.get_token();
        question.watch.progress = [&](double share) {
            CHECK(share >= 0.0);
            CHECK(share <= 1.0);
            if (++calls == 6) later.request_stop();
        };
        const PumpsAnswer part = choose::choose_pumps(first_farm(), question);
        CHECK(part.stopped);
        CHECK(part.pumps.size() == 1);
    }

    TEST_CASE("a tank that runs over before it turns over fast enough: the pump is not the cure") {
        // the way home carries less than the turnover asks: 0.9 m3 in 4 minutes is 226 l/min, and a 25 mm drain lets a few dozen through
        const layout::Layout farm = farm_of(lift("turnover=\"4 min\"", "", "25 mm", kModelA));
        const choose::PumpChoice choice = choose::choose_pumps(farm, {}).pumps.at(0);
        const choose::Duty& duty = choice.duties.at(0);
        REQUIRE(duty.outcome == DutyOutcome::unreachable);
        CHECK(duty.obstacle == choose::Obstacle::spills);
        CHECK(duty.at == "T");
        CHECK(duty.margin < 0.0);
        CHECK(choice.winner() == nullptr);
        CHECK(choice.any_unreachable);
    }

    TEST_CASE("a narrow window between too little and too much is found, and what `flows` solves there is met") {
        // common practice: an overflow that carries hardly more than is wanted; one rung of trial heads falls short, the next runs over
        const std::string farm_text = R"(<pump-model name="A" price="100" least-speed="30 %"><point flow="0 m3/h" head="10 m" power="100 W"/>
            <point flow="3 m3/h" head="8 m" power="140 W"/><point flow="6 m3/h" head="1 m" power="160 W"/></pump-model>
          <tank id="T" floor="0.2 m" rim="1 m" diameter="1.4 m" start-depth="0.7 m" inflow="1.35 m3/h"/><pond id="S" level="0 m"/>
          <pump id="P" in="S" model="A" check-valve="yes"/>
          <pipe id="rise" from="P" to="T" to-height="0.75 m" length="12 m" bore="20 mm" roughness="0.01 mm"/>
          <standpipe id="O" in="T" bore="26 mm"><insert name="i" lip="0.72 m"/></standpipe>
          <drain id="home" from="O" to="S" length="2.5 m" bore="75 mm"/>)";
        const layout::Layout farm = farm_of(farm_text);
        const choose::PumpChoice choice = choose::choose_pumps(farm, {}).pumps.at(0);
        REQUIRE(choice.duties.at(0).outcome == DutyOutcome::needed);
        CHECK(choice.duties.at(0).margin == doctest::Approx(0.0).epsilon(1e-6));
        CHECK(choice.duties.at(0).flow_m3_s == ebb::test::near(1.35 / 3600.0).epsilon(1e-6));
        REQUIRE(choice.winner() != nullptr);
        CHECK(choice.winner()->mode == choose::SpeedMode::one_speed);
        layout::Conditions conditions = layout::conditions_of(farm, 0);
        conditions.pump_speed.at(0) = choice.winner()->speed;
        const settle::Answer there = settle::Farm(farm, {}).solve(conditions, false);
        CHECK(choose::worst_margin(there) >= 0.0);
        CHECK(there.vessels.at(0).spill_m3_s == 0.0);
    }

    TEST_CASE("beside a pump that does it all: met without it; and a pump held shut is not chosen") {
        const std::string two =
            R"(<pump-model name="A" price="100"><point flow="0 m3/h" head="5 m" power="60 W"/><point flow="8 m3/h" head="1 m" power="110 W"/></pump-model>
          <pump-model name="tiny" price="10"><point flow="0 m3/h" head="1 m" power="5 W"/><point flow="1 m3/h" head="0.5 m" power="6 W"/></pump-model>
          <tank id="T" floor="0 m" rim="1 m" diameter="1.5 m" start-depth="0.7 m" inflow="60 l/min"/>
          <sump id="S" floor="-1 m" rim="0 m" length="2 m" width="1.5 m" start-depth="0.6 m"/>
          <pump id="P1" in="S" model="A" check-valve="yes"/><pump id="P2" in="S" model="A" check-valve="yes"/><tee id="J" elevation="0.2 m"/>
          <pipe id="m1" from="P1" to="J" length="3 m" bore="34 mm"/><pipe id="m2" from="P2" to="J" length="3 m" bore="34 mm"/>
          <pipe id="f" from="J" to="T" to-height="0.8 m" length="3 m" bore="34 mm"/>
          <standpipe id="O" in="T" bore="90 mm"><insert name="a" lip="0.7 m"/></standpipe>
          <drain id="d" from="O" to="S" to-height="0.9 m" length="3 m" bore="90 mm"/>)";
        for (const choose::PumpChoice& choice : choose::choose_pumps(farm_of(two), {}).pumps) {
            CHECK(choice.duties.at(0).met_without);
            CHECK(choice.winner() == nullptr);
        }
    }

    TEST_CASE("a valve turned far down takes all the head, and is named") {
        const layout::Layout farm = farm_of(lift("inflow=\"90 l/min\"", R"(<valve id="V" kind="gate"/>)", "60 mm",
                                                 kModelA + R"(<arrangement name="on" levels="start"><throttle valve="V" to="3 %"/></arrangement>)"));
        const choose::Duty duty = choose::choose_pumps(farm, {}).pumps.at(0).duties.at(0);
        REQUIRE(duty.outcome == DutyOutcome::unreachable);
        CHECK(duty.obstacle == choose::Obstacle::head);
        REQUIRE(duty.taken.pipe == 0);
        CHECK(duty.taken.valve == 0);
        CHECK(duty.taken.loss_m > 50.0);
        CHECK(duty.taken.whole_loss_m >= duty.taken.loss_m);
    }

    TEST_CASE("a target of another pump is told apart and condemns nobody") {
        const layout::Layout farm = farm_of(lift("inflow=\"20 l/min\"", "", "60 mm", kModelA + R"(
            <pond id="LAKE" level="0 m"/><pump id="Q" in="LAKE" model="weak"/>
            <pump-model name="weak" price="1"><point flow="0 m3/h" head="2 m" power="9 W"/><point flow="1 m3/h" head="1 m" power="9 W"/></pump-model>
            <pipe id="hill" from="Q" to="H" to-height="0.5 m" length="1 m" bore="20 mm" roughness="0 mm"/>
            <tank id="H" floor="9 m" rim="10 m" diameter="1 m" start-depth="0.1 m" inflow="5 l/min"/>)"));
        choose::PumpQuestion question;
        question.pumps = {0};
        const choose::PumpChoice choice = choose::choose_pumps(farm, question).pumps.at(0);
        REQUIRE(choice.duties.at(0).outcome == DutyOutcome::needed);
        REQUIRE(choice.duties.at(0).apart.size() == 1);
        CHECK(choice.duties.at(0).apart[0].about == "H");
        REQUIRE(choice.winner() != nullptr);
        CHECK(farm.pump_models[at(choice.winner()->model)].name == "A");
        const Candidate* weak = find(choice, farm, "weak");
        REQUIRE(weak != nullptr);
        CHECK(weak->standing == Standing::rejected);
        CHECK(weak->reason.fault == choose::Fault::shut_off_too_low);
        CHECK(weak->reason.head_m == ebb::test::near(2.0));
        CHECK(weak->reason.needed_head_m == choice.duties.at(0).head_m);
    }

    TEST_CASE("what is known by its label may do perhaps, and what has no price comes after what has") {
        // label rule H0 (1 - (Q/Qmax)^n): at half the flow 50 % of the head are left for n = 1, 87.5 % for n = 3
        const std::string more = kModelA + R"(
            <pump-model name="label" price="10" greatest-flow="5 m3/h" greatest-head="5 m"/>
            <pump-model name="big label" price="10" greatest-flow="60 m3/h" greatest-head="5 m"/>
            <pump-model name="no price"><point flow="0 m3/h" head="5 m" power="30 W" npsh="0.5 m"/><point flow="3 m3/h" head="4 m" power="40 W" npsh="1 m"/>
              <point flow="6 m3/h" head="1 m" power="50 W" npsh="1 m"/></pump-model>
            <pump-model name="no power" price="5"><point flow="0 m3/h" head="5 m"/><point flow="3 m3/h" head="4 m"/><point flow="6 m3/h" head="1 m"/></pump-model>)";
        const layout::Layout farm = farm_of(lift("inflow=\"50 l/min\"", "", "60 mm", more));
        const choose::PumpChoice choice = choose::choose_pumps(farm, {}).pumps.at(0);
        REQUIRE(choice.candidates.size() == 5);
        std::vector<std::string> order;
        for (const Candidate& one : choice.candidates) order.push_back(farm.pump_models[at(one.model)].name);
        CHECK(order[0] == "A");
        CHECK(std::find(order.begin(), order.end(), "no price") > order.begin());
        CHECK(std::isnan(find(choice, farm, "no price")->life_cycle_cost));
        CHECK(std::isnan(find(choice, farm, "no power")->life_cycle_cost));
        CHECK(find(choice, farm, "no power")->standing == Standing::meets);
        CHECK(find(choice, farm, "label")->standing == Standing::perhaps);
        CHECK(find(choice, farm, "big label")->standing == Standing::meets);
        CHECK(order.back() == "label");
        // the label's points lie in a band
        const Candidate* label = find(choice, farm, "label");
        CHECK(label->points_low.at(0).pump.flow_m3_s < label->points.at(0).pump.flow_m3_s);
        CHECK(label->points.at(0).pump.flow_m3_s < label->points_high.at(0).pump.flow_m3_s);
    }

    TEST_CASE("a pump that lacks suction head, or runs beyond its curve, is rejected for that") {
        const std::string more = kModelA + R"(
            <pump-model name="thirsty" price="1"><point flow="0 m3/h" head="5 m" power="60 W" npsh="11 m"/><point flow="6 m3/h" head="1 m" power="90 W" npsh="12 m"/></pump-model>
            <pump-model name="cut short" price="1"><point flow="0 m3/h" head="5 m" power="60 W" npsh="1 m"/><point flow="1 m3/h" head="4.8 m" power="90 W" npsh="1 m"/></pump-model>)";
        const layout::Layout farm = farm_of(lift("inflow=\"20 l/min\"", "", "60 mm", more));
        const choose::PumpChoice choice = choose::choose_pumps(farm, {}).pumps.at(0);
        CHECK(find(choice, farm, "thirsty")->reason.fault == choose::Fault::cavitates);
        CHECK(find(choice, farm, "cut short")->reason.fault == choose::Fault::beyond_curve);
        REQUIRE(choice.winner() != nullptr);
        CHECK(farm.pump_models[at(choice.winner()->model)].name == "A");
    }

    TEST_CASE("one of two pumps stops: the other goes on, and what it cannot meet is said") {
        layout::Layout farm = farm_of(lift("inflow=\"85 l/min\"", "", "60 mm", kModelA));
        farm.pumps[0].count = 2;
        farm.pumps[0].check_valve = false;
        choose::PumpQuestion question;
        question.standby = true;
        const PumpsAnswer answer = choose::choose_pumps(farm, question);
        REQUIRE(answer.standby.size() >= 1);
        const choose::Standby& now = answer.standby[0];
        REQUIRE(now.cases.size() == 1);
        CHECK(now.cases[0].left == 1);
        // the flow that is left is that of a farm with one pump
        layout::Layout alone = farm;
        alone.pumps[0].count = 1;
        settle::Farm solver(alone);
        CHECK(now.cases[0].flow_after_m3_s == ebb::test::near(solver.solve(0).pumps[0].flow_m3_s).epsilon(1e-9));
        CHECK(now.cases[0].flow_before_m3_s > now.cases[0].flow_after_m3_s);
        REQUIRE(now.cases[0].unmet.size() == 1);
        CHECK(now.cases[0].unmet[0].about == "T");
        CHECK(now.without_check_valve == std::vector<std::int32_t>{0});

        farm.pumps[0].count = 1;
        const choose::Failed stopped = choose::choose_pumps(farm, question).standby.at(0).cases.at(0);
        CHECK(stopped.left == 0);
        CHECK(stopped.without_water == std::vector<std::int32_t>{0});
    }

    TEST_CASE("an arrangement that runs a pump slower than it goes rejects it") {
        std::string slow = kModelA;
        slow.replace(slow.find("price"), 0, "least-speed=\"90 %\" ");
        const layout::Layout farm =
            farm_of(lift("inflow=\"20 l/min\"", "", "60 mm", slow + R"(<arrangement name="low"><run pump="P" speed="80 %"/></arrangement>)"));
        const choose::PumpChoice choice = choose::choose_pumps(farm, {}).pumps.at(0);
        REQUIRE(choice.candidates.size() == 2);
        CHECK(choice.candidates[1].reason.fault == choose::Fault::too_slow);
        CHECK(choice.candidates[0].mode == choose::SpeedMode::one_speed);
        CHECK(choice.candidates[0].speed == ebb::test::near(0.9));
    }
}
