// Faults: their list, their sizes, and what they do, held to handbook values and to the same fault drawn by hand in a layout.
#include "solver/diagnose/fault.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/diagnose/predict.h"
#include "solver/settle/farm.h"
#include "tests/diagnose/layout_text.h"
#include "tests/near.h"

using namespace ebb;
using namespace ebb::diagnose;

namespace {

// Sump, pump, filter, a tee to two beds (one by a nozzle), standpipes, drains home.
const std::string kFarm = R"(<layout><site water-temperature="20 degC"/>
  <sump id="S" floor="-0.5 m" rim="0.3 m" length="1.5 m" width="1 m" start-depth="0.6 m"/>
  <pump-model name="p"><point flow="0 m3/h" head="4 m"/><point flow="2 m3/h" head="3 m"/><point flow="4 m3/h" head="0.5 m"/></pump-model>
  <pump id="P" in="S" intake-height="0.05 m" model="p" check-valve="yes"/>
  <filter id="F"><loss state="clean" flow="2 m3/h" head="0.2 m"/><loss state="dirty" flow="2 m3/h" head="1 m"/></filter>
  <tee id="J" elevation="0.4 m"/>
  <pipe id="rise" from="P" to="F" length="1 m" bore="36 mm"/>
  <pipe id="on" from="F" to="J" length="1 m" bore="36 mm"/>
  <bed id="B" floor="0.5 m" rim="0.85 m" length="1 m" width="1 m" void-fraction="0.4" media-depth="0.3 m"/>
  <bed id="C" floor="0.5 m" rim="0.85 m" length="1 m" width="1 m" void-fraction="0.4" media-depth="0.3 m"/>
  <pipe id="feed" from="J" to="B" to-height="0.33 m" length="2 m" bore="17 mm"><valve id="V" kind="gate"/></pipe>
  <pipe id="spray" from="J" to="Z" length="2 m" bore="17 mm"/>
  <nozzle id="Z" into="C" height="0.4 m" holes="8" hole-diameter="3 mm"/>
  <standpipe id="OB" in="B" bore="45 mm"><insert name="tall" lip="0.24 m"/><insert name="short" lip="0.1 m"/><drain-hole height="0 m" diameter="6 mm"/></standpipe>
  <standpipe id="OC" in="C" bore="45 mm"><insert name="only" lip="0.2 m"/></standpipe>
  <drain id="home-B" from="OB" to="S" to-height="0.75 m" length="1.5 m" bore="45 mm"/>
  <drain id="home-C" from="OC" to="S" to-height="0.75 m" length="1.5 m" bore="45 mm"/>
  <arrangement name="a"><throttle valve="V" to="40 %"/></arrangement>
</layout>)";

settle::Answer solve(const layout::Layout& layout, const layout::Conditions& conditions) {
    settle::Options options;
    options.bands = options.ledgers = false;
    return settle::Farm(layout, options).solve(conditions, false);
}

const Fault& of(const std::vector<Fault>& faults, FaultKind kind, std::int32_t index = 0) {
    const auto found = std::find_if(faults.begin(), faults.end(), [&](const Fault& fault) { return fault.kind == kind && fault.at.index == index; });
    REQUIRE(found != faults.end());
    return *found;
}

}  // namespace

TEST_CASE("a blockage loses what Weisbach's contraction and a sudden expansion lose") {
    // A2/A1 and Cc: V. L. Streeter, Fluid Mechanics (Weisbach), from memory; K = (1/(Cc A2/A1) - 1)^2, Borda and Carnot
    const std::map<double, double> contraction = {{0.1, 0.624}, {0.2, 0.632}, {0.3, 0.643}, {0.4, 0.659}, {0.5, 0.681},
                                                  {0.6, 0.712}, {0.7, 0.755}, {0.8, 0.813}, {0.9, 0.892}};
    for (const auto& [share, coefficient] : contraction) {
        const double open = share;  // clang 14 lets no lambda take a part of a binding
        CAPTURE(open);
        const double jet = 1.0 / (coefficient * open);  // the formula is furthest from it at a tenth open, by 1.02 %
        CHECK(1.0 + std::sqrt(blockage_loss(open)) == ebb::test::near(jet).epsilon(0.0105));
    }
    CHECK(blockage_loss(1.0) == doctest::Approx(0.0));
}

TEST_CASE("every fault is at every place where it can be, and nowhere else") {
    const layout::Layout farm = layout_of(kFarm);
    const std::vector<layout::Conditions> conditions = {layout::conditions_of(farm, 0)};
    std::map<FaultKind, int> count;
    for (const Fault& fault : faults_of(farm, conditions)) ++count[fault.kind];
    // counted by hand in the layout above
    CHECK(count[FaultKind::blocked_pipe] == 4);
    CHECK(count[FaultKind::blocked_drain] == 2);
    CHECK(count[FaultKind::blocked_standpipe] == 2);
    CHECK(count[FaultKind::blocked_hole] == 1);
    CHECK(count[FaultKind::blocked_screen] == 1);
    CHECK(count[FaultKind::blocked_nozzle] == 1);
    CHECK(count[FaultKind::valve_elsewhere] == 1);
    CHECK(count[FaultKind::worn_pump] == 1);
    CHECK(count[FaultKind::other_curve] == 4);
    CHECK(count[FaultKind::pump_running] == 0);  // it runs as it should
    CHECK(count[FaultKind::check_missing] == 0);
    CHECK(count[FaultKind::check_stuck] == 1);
    CHECK(count[FaultKind::wrong_insert] == 1);  // the short one
    CHECK(count[FaultKind::standpipe_out] == 2);
    CHECK(count[FaultKind::dirty_filter] == 1);
    CHECK(count[FaultKind::leak] == 4);  // a tee and three vessels
    CHECK(count[FaultKind::low_water] == 1);
    CHECK(count[FaultKind::trapped_air] == 2);  // the drains: nothing else falls
    CHECK(count[FaultKind::swapped_pumps] == 0);
    std::vector<double> chances(kFaultKinds, 0.0);
    chances[static_cast<std::size_t>(FaultKind::leak)] = 0.5;
    const std::vector<Fault> only = faults_of(farm, conditions, chances);
    CHECK(only.size() == 4);
    CHECK(only.front().chance == 0.5);
}

TEST_CASE("sizes run from one end to the other and back") {
    const layout::Layout farm = layout_of(kFarm);
    const std::vector<layout::Conditions> conditions = {layout::conditions_of(farm, 0)};
    for (const Fault& fault : faults_of(farm, conditions)) {
        if (!fault.sized()) continue;
        CAPTURE(data_of(fault.kind).name);
        CHECK(fault.size_at(0.0) == ebb::test::near(fault.least));
        CHECK(fault.size_at(1.0) == ebb::test::near(fault.most));
        for (const double u : {0.1, 0.5, 0.9}) CHECK(fault.u_of(fault.size_at(u)) == ebb::test::near(u));
    }
}

TEST_CASE("a fault does what the same thing drawn by hand does") {
    const layout::Layout farm = layout_of(kFarm);
    const layout::Conditions drawn = layout::conditions_of(farm, 0);
    const std::vector<layout::Conditions> visits = {drawn};
    const std::vector<Fault> faults = faults_of(farm, visits);
    const auto both = [&](FaultKind kind, double size, const std::string& by_hand, std::int32_t index = 0) {
        CAPTURE(data_of(kind).name);
        const Fault& fault = of(faults, kind, index);
        layout::Layout own = farm;
        layout::Conditions conditions = drawn;
        inject({fault, fault.sized() ? fault.u_of(size) : 1.0}, own, conditions);
        const layout::Layout other = layout_of(by_hand);
        const settle::Answer one = solve(own, conditions), two = solve(other, layout::conditions_of(other, 0));
        REQUIRE(settle::solved(one.state));
        REQUIRE(settle::solved(two.state));
        for (std::size_t p = 0; p < farm.pipes.size(); ++p) CHECK(one.pipes[p].flow_m3_s == ebb::test::near(two.pipes[p].flow_m3_s).epsilon(1e-6));
        for (std::size_t v = 0; v < farm.vessels.size(); ++v) CHECK(one.vessels[v].depth_m == ebb::test::near(two.vessels[v].depth_m).epsilon(1e-6));
        const settle::Answer sound = solve(farm, drawn);
        double moved = 0.0;
        for (std::size_t v = 0; v < farm.vessels.size(); ++v) moved = std::max(moved, std::abs(one.vessels[v].depth_m - sound.vessels[v].depth_m));
        CHECK(moved > 1e-4);  // and that is something
    };
    both(FaultKind::worn_pump, 0.3, changed(kFarm, "model=\"p\"", "model=\"p\" wear=\"30 %\""));
    both(FaultKind::valve_elsewhere, 0.15, changed(kFarm, "to=\"40 %\"", "to=\"15 %\""));
    both(FaultKind::wrong_insert, 1.0, changed(kFarm, "to=\"40 %\"/>", "to=\"40 %\"/><fit standpipe=\"OB\" insert=\"short\"/>"));
    both(FaultKind::loose_standpipe, 0.012,
         changed(kFarm, "diameter=\"6 mm\"/>", "diameter=\"6 mm\"/><drain-hole height=\"0 m\" diameter=\"12 mm\"/>"));
    both(FaultKind::blocked_pipe, 0.05,
         changed(kFarm, "<valve id=\"V\"", "<fitting loss=\"" + std::to_string(blockage_loss(0.05)) + "\"/><valve id=\"V\""), 2);
    both(FaultKind::blocked_nozzle, 0.25, changed(kFarm, "hole-diameter=\"3 mm\"", "hole-diameter=\"1.5 mm\""));
    both(FaultKind::low_water, 1.0 / 3.0, changed(kFarm, "start-depth=\"0.6 m\"", "start-depth=\"0.4 m\""));
    both(FaultKind::dirty_filter, 4.0,
         changed(changed(kFarm, "head=\"0.2 m\"", "head=\"0.8 m\""), "flow=\"2 m3/h\" head=\"1 m\"", "flow=\"2 m3/h\" head=\"4 m\""));
}

TEST_CASE("water that is lost is missed in the sump of the pump that feeds the place, by pipes and by nozzles") {
    const layout::Layout farm = layout_of(kFarm);
    CHECK(missed_in(farm, {layout::Kind::vessel, 1}) == 0);
    CHECK(missed_in(farm, {layout::Kind::vessel, 2}) == 0);
    CHECK(missed_in(farm, {layout::Kind::tee, 0}) == 0);
    CHECK(missed_in(farm, {layout::Kind::vessel, 0}) == 0);
}

TEST_CASE("a leak out of the sump of the pump shows by nothing but its fall, from the hole on that Torricelli's law gives") {
    const layout::Layout farm = layout_of(kFarm);
    const std::vector<Visit> visits = {{{}, 0}};
    const std::vector<Observable> what = observables_of(farm, 1, {});
    Predictor predictor(farm, visits, what);
    std::vector<Predicted> sound(what.size()), predicted(what.size());
    REQUIRE(predictor.predict({}, sound));
    predictor.run_in(predictor.depths());
    const std::vector<Fault> faults = faults_of(farm, predictor.conditions());
    const auto sump = std::find_if(faults.begin(), faults.end(), [](const Fault& fault) {
        return fault.kind == FaultKind::leak && fault.at == layout::Ref{layout::Kind::vessel, 0};
    });
    REQUIRE(sump != faults.end());
    const auto index_of = [&](Quantity quantity) {
        return static_cast<std::size_t>(std::find_if(what.begin(), what.end(),
                                                     [&](const Observable& one) {
                                                         return one.quantity == quantity && one.of == layout::Ref{layout::Kind::vessel, 0};
                                                     }) -
                                        what.begin());
    };
    const std::size_t moves = index_of(Quantity::moves);
    // 3 mm are seen, in ten minutes, of 1.5 m2 of water; 0.61 is the coefficient of a sharp-edged hole (King and Brater)
    const double depth_m = sound[index_of(Quantity::depth)].value;
    const double bore_m = std::sqrt(0.003 * 1.5 / 600.0 / (0.61 * M_PI / 4.0 * std::sqrt(2.0 * 9.80665 * depth_m)));
    for (const double times : {0.93, 1.07, 3.0}) {
        CAPTURE(times);
        const Injected leak{*sump, sump->u_of(times * bore_m)};
        REQUIRE(predictor.predict({&leak, 1}, predicted));
        CHECK(predicted[moves].value == (times < 1.0 ? 0.0 : -1.0));
        for (std::size_t o = 0; o < what.size(); ++o)
            if (what[o].quantity == Quantity::depth || what[o].quantity == Quantity::flow)
                CHECK(predicted[o].value == ebb::test::near(sound[o].value).epsilon(1e-6));
    }
    REQUIRE(predictor.predict({}, predicted));
    CHECK(predicted[moves].value == 0.0);
}

TEST_CASE("an emptying bed takes the time that Torricelli's law gives") {
    // a vessel of constant area with a short hole in its floor: t = (A/(Cd a)) sqrt(2/g) (sqrt(h1) - sqrt(h2)); E. Torricelli 1644, in every handbook
    const layout::Layout farm = layout_of(R"(<layout><site water-temperature="20 degC"/>
      <tank id="T" floor="1 m" rim="2 m" length="1 m" width="1 m" start-depth="0.9 m"/>
      <sump id="S" floor="-1 m" rim="1 m" length="3 m" width="2 m" start-depth="0.1 m"/>
      <pipe id="stub" from="T" to="N" length="1 mm" bore="200 mm" roughness="0 mm" entry-loss="0" exit-loss="0"/>
      <nozzle id="N" into="S" height="2 m" holes="1" hole-diameter="20 mm"/>
      <arrangement name="a" levels="start"/></layout>)");
    const std::vector<Visit> visits = {{{}, 0}};
    const std::vector<Observable> what = {{.quantity = Quantity::fall_time, .of = {layout::Kind::vessel, 0}, .from_m = 0.8, .to_m = 0.3},
                                          {.quantity = Quantity::fall_time, .of = {layout::Kind::vessel, 0}, .from_m = 0.8, .to_m = 0.06}};
    Predictor predictor(farm, visits, what);
    std::vector<Predicted> predicted(2);
    REQUIRE(predictor.predict({}, predicted));
    const double area = M_PI / 4.0 * 0.02 * 0.02 * 0.61;
    for (std::size_t o = 0; o < 2; ++o)
        CHECK(predicted[o].value ==
              ebb::test::near(1.0 / area * std::sqrt(2.0 / 9.80665) * (std::sqrt(0.8) - std::sqrt(what[o].to_m))).epsilon(5e-4));
}

TEST_CASE("the gauge on a pump shows the water that stands over the pump itself") {
    // next to no loss up to a pond 3 m over the datum; the pump stands 0.1 m over a floor at -1 m: hydrostatics
    const layout::Layout farm = layout_of(R"(<layout><site water-temperature="20 degC"/>
      <sump id="S" floor="-1 m" rim="1 m" length="3 m" width="2 m" start-depth="1 m"/><pond id="A" level="3 m"/>
      <pump-model name="p"><point flow="0 m3/h" head="8 m"/><point flow="3 m3/h" head="4 m"/><point flow="6 m3/h" head="1 m"/></pump-model>
      <pump id="P" in="S" intake-height="0.1 m" model="p" check-valve="no"/>
      <pipe id="up" from="P" to="A" length="1 mm" bore="200 mm" roughness="0 mm" entry-loss="0" exit-loss="0"/>
      <arrangement name="a" levels="start"/></layout>)");
    const std::vector<Observable> what = {{.quantity = Quantity::pressure, .of = {layout::Kind::pump, 0}}};
    const std::vector<Visit> visits = {{{}, 0}};
    Predictor predictor(farm, visits, what);
    std::vector<Predicted> predicted(1);
    REQUIRE(predictor.predict({}, predicted));
    CHECK(predicted[0].value == ebb::test::near(3.9).epsilon(1e-3));
}

TEST_CASE("the depth of a bed that a siphon empties again and again is anywhere between where it breaks and its crest") {
    const layout::Layout farm = layout_of(R"(<layout><site water-temperature="20 degC"/>
      <sump id="S" floor="-1 m" rim="1 m" length="3 m" width="2 m" start-depth="1 m"/>
      <bed id="B" floor="1 m" rim="1.5 m" length="2 m" width="1 m" start-depth="0.1 m"/>
      <pump-model name="p"><point flow="0 m3/h" head="8 m"/><point flow="2 m3/h" head="4 m"/><point flow="4 m3/h" head="1 m"/></pump-model>
      <pump id="P" in="S" intake-height="0.1 m" model="p" check-valve="yes"/>
      <pipe id="up" from="P" to="B" to-height="0.45 m" length="4 m" bore="25 mm"/>
      <siphon id="X" in="B" bore="50 mm" crest="0.3 m" breaks-at="0.06 m" starts-with="12 l/min"/>
      <drain id="home" from="X" to="S" to-height="1.9 m" length="2 m" bore="50 mm"/>
      <arrangement name="a"/></layout>)");
    const std::vector<Observable> what = {{.quantity = Quantity::depth, .of = {layout::Kind::vessel, 1}}};
    const std::vector<Visit> visits = {{{}, 0}};
    Predictor predictor(farm, visits, what);
    std::vector<Predicted> predicted(1);
    REQUIRE(predictor.predict({}, predicted));
    CHECK(predicted[0].value - predicted[0].spread == ebb::test::near(0.06).epsilon(1e-9));
    CHECK(predicted[0].value + predicted[0].spread == ebb::test::near(0.30).epsilon(1e-9));
}

TEST_CASE("what stands below a lip when the pump stops stays there") {
    const layout::Layout farm = layout_of(kFarm);
    const std::vector<Visit> visits = {{{}, 0}};
    const std::vector<Observable> what = observables_of(farm, 1, {});
    Predictor predictor(farm, visits, what);
    std::vector<Predicted> predicted(what.size());
    REQUIRE(predictor.predict({}, predicted));
    predictor.run_in(predictor.depths());
    const std::vector<layout::Conditions> conditions = predictor.conditions();
    const std::vector<Fault> faults = faults_of(farm, conditions);
    for (const FaultKind kind : {FaultKind::pump_stopped, FaultKind::check_stuck}) {
        const Injected fault{of(faults, kind), 1.0};
        REQUIRE(predictor.predict({&fault, 1}, predicted));
        for (std::size_t o = 0; o < what.size(); ++o)
            if (what[o].quantity == Quantity::depth && what[o].of.index == 2)
                CHECK(predicted[o].value == ebb::test::near(0.2).epsilon(0.01));  // bed C has no hole
    }
}

TEST_CASE("trapped air holds water back until the head exceeds it, and then costs that head") {
    // air in a falling leg takes its vertical height of head, whatever the flow (G. Corcos, Air in water pipes, 2003, from memory)
    const auto flow = [](double upper_m, double air_m) {
        const layout::Layout farm =
            layout_of("<layout><site water-temperature=\"20 degC\"/><pond id=\"A\" level=\"" + std::to_string(upper_m) +
                      " m\"/><pond id=\"B\" level=\"0 m\"/><pipe id=\"p\" from=\"A\" to=\"B\" length=\"50 m\" bore=\"40 mm\" trapped-air=\"" +
                      std::to_string(air_m) + " m\"/></layout>");
        return solve(farm, layout::conditions_of(farm, 0)).pipes[0].flow_m3_s;
    };
    CHECK(flow(3.0, 3.5) == 0.0);
    CHECK(flow(3.0, 3.0001) == 0.0);
    CHECK(flow(3.0, 2.0) == ebb::test::near(flow(1.0, 0.0)).epsilon(1e-6));
    CHECK(flow(3.0, 0.5) == ebb::test::near(flow(2.5, 0.0)).epsilon(1e-6));
    CHECK(flow(-3.0, 0.5) == 0.0);  // nothing flows back through it
    CHECK(flow(-3.0, 0.0) < 0.0);
}

TEST_CASE("what the mains feed for ever may spill for ever, and no pump is said to run dry of it") {
    netfiles::ReadResult read = netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/farm.xml");
    REQUIRE(read.good());
    layout::Layout farm = read.layout;
    for (layout::Pipe& pipe : farm.pipes)
        if (pipe.id == "home-fish-1") pipe.fittings.push_back({.kind = "", .count = 1, .loss = 1e5});
    const settle::Answer answer = solve(farm, layout::conditions_of(farm, 0));
    CHECK(answer.state == settle::State::settled);
    CHECK(answer.vessels[0].spill_m3_s > 1e-6);
    double spilled = 0.0;
    for (const settle::VesselAnswer& vessel : answer.vessels) spilled += vessel.spill_m3_s;
    CHECK(answer.float_valves[0].flow_m3_s == ebb::test::near(spilled).epsilon(1e-4));
}
