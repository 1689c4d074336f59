// Calibration: against closed forms, against layouts whose true coefficients are drawn into them, and over many draws of the readings' errors.
#include "solver/diagnose/calibrate.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>
#include <vector>

#include "solver/settle/farm.h"
#include "tests/diagnose/layout_text.h"
#include "tests/near.h"

using namespace ebb;
using namespace ebb::diagnose;

namespace {

settle::Answer solve(const layout::Layout& layout, std::int32_t arrangement = 0) {
    settle::Options options;
    options.bands = options.ledgers = false;
    return settle::Farm(layout, options).solve(arrangement);
}

std::int32_t pipe(const layout::Layout& layout, const std::string& id) {
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].id == id) return static_cast<std::int32_t>(p);
    FAIL("no such pipe");
    return -1;
}

Reading flow(std::int32_t pipe, double value, double plus_minus, std::int32_t visit = 0) {
    Reading reading;
    reading.what = {.quantity = Quantity::flow, .of = {layout::Kind::pipe, pipe}, .visit = visit};
    reading.value = value;
    reading.sigma = 0.5 * plus_minus * std::abs(value);
    return reading;
}
Reading pressure(std::int32_t tee, double value_m, double plus_minus_m, std::int32_t visit = 0) {
    Reading reading;
    reading.what = {.quantity = Quantity::pressure, .of = {layout::Kind::tee, tee}, .visit = visit};
    reading.value = value_m;
    reading.sigma = 0.5 * plus_minus_m;
    return reading;
}

Calibration fit(const layout::Layout& layout, const std::vector<Reading>& readings, std::size_t visits = 1, std::vector<std::int32_t> only = {}) {
    std::vector<Visit> at;
    for (std::size_t v = 0; v < visits; ++v) at.push_back({{}, static_cast<std::int32_t>(v)});
    std::vector<Observable> observables;
    for (const Reading& reading : readings) observables.push_back(reading.what);
    Signatures signatures(layout, at, observables);
    CalibrationOptions options;
    options.only = std::move(only);
    return calibrate(signatures, readings, options);
}

const FittedCoefficient& of(const Calibration& calibration, Coefficient what, std::int32_t thing = -1) {
    for (const FittedCoefficient& one : calibration.coefficients)
        if (one.what == what && (thing < 0 || one.things.front() == thing)) return one;
    FAIL("no such coefficient");
    return calibration.coefficients.front();
}

/// Roughness at which a pipe of bore d loses `loss` over `length` at the mean velocity v: Colebrook and White's equation solved for it
/// (C. F. Colebrook, J. Inst. Civ. Eng. 11, 1939).
double roughness_of(double loss_m, double length_m, double bore_m, double velocity_m_s, double viscosity_m2_s) {
    const double friction = loss_m * bore_m * 2.0 * 9.80665 / (length_m * velocity_m_s * velocity_m_s);
    const double reynolds = velocity_m_s * bore_m / viscosity_m2_s;
    return 3.7 * bore_m * (std::pow(10.0, -0.5 / std::sqrt(friction)) - 2.51 / (reynolds * std::sqrt(friction)));
}

const std::string kTwoPonds = R"(<layout><site water-temperature="20 degC"/>
  <pond id="A" level="12 m"/><pond id="B" level="2 m"/>
  <pipe id="long" from="A" to="B" length="400 m" bore="100 mm" roughness="0.05 mm" entry-loss="0" exit-loss="0"/>
</layout>)";

// Pump, a throttled valve, an open end: flow alone cannot tell a worn pump from a valve turned down.
const std::string kOneLine = R"(<layout><site water-temperature="20 degC"/>
  <sump id="S" floor="0 m" rim="1 m" length="2 m" width="2 m" start-depth="0.8 m"/>
  <tank id="T" floor="1 m" rim="2 m" length="1 m" width="1 m" start-depth="0.8 m"/>
  <pump-model name="p"><point flow="0 m3/h" head="5 m"/><point flow="3 m3/h" head="4 m"/><point flow="6 m3/h" head="1 m"/></pump-model>
  <pump id="P" in="S" intake-height="0.1 m" model="p" check-valve="yes"/>
  <tee id="J" elevation="0.5 m"/>
  <pipe id="rise" from="P" to="J" length="2 m" bore="40 mm"/>
  <pipe id="feed" from="J" to="T" to-height="0.95 m" length="4 m" bore="32 mm"><valve id="V" kind="ball"/></pipe>
  <standpipe id="O" in="T" bore="60 mm"><insert name="only" lip="0.8 m"/></standpipe>
  <drain id="home" from="O" to="S" to-height="0.95 m" length="2 m" bore="70 mm"/>
  <pipe id="idle" from="S" to="T" to-height="0.9 m" length="3 m" bore="20 mm" roughness="0.1 mm"><valve id="W" kind="ball"/></pipe>
  <arrangement name="a"><throttle valve="V" to="50 %"/><close valve="W"/></arrangement>
</layout>)";

}  // namespace

TEST_CASE("the roughness of one pipe between two ponds is Colebrook and White's") {
    const layout::Layout layout = layout_of(kTwoPonds);
    for (const double share : {0.93, 0.97, 1.01}) {
        const double drawn = solve(layout).pipes[0].flow_m3_s, flow_m3_s = share * drawn;
        const double velocity = flow_m3_s / (M_PI / 4.0 * 0.01);
        const Calibration fitted = fit(layout, {flow(0, flow_m3_s, 0.002)});
        REQUIRE(fitted.outcome == Calibration::Outcome::fitted);
        const FittedCoefficient& one = of(fitted, Coefficient::roughness);
        REQUIRE(one.told == Told::yes);
        // kinematic viscosity of water at 20 degC: 1.0034e-6 m2/s (IAPWS 2008, from memory)
        CHECK(one.fitted == ebb::test::near(roughness_of(10.0, 400.0, 0.1, velocity, 1.0034e-6)).epsilon(0.003));
        CHECK(one.low < one.fitted);
        CHECK(one.high > one.fitted);
        CHECK(one.low * one.high == ebb::test::near(one.fitted * one.fitted).epsilon(1e-9));  // a factor: as far up as down
        // its ends are what Colebrook and White make of the ends of the flow's own 90 %
        const double ninety = 1.6449 * 0.001;
        CHECK(one.high == ebb::test::near(roughness_of(10.0, 400.0, 0.1, (1.0 - ninety) * velocity, 1.0034e-6)).epsilon(0.02));
        CHECK(fitted.chi_squared_after < 1e-6);
    }
}

TEST_CASE("a flow alone does not tell a worn pump from a valve turned down, and says so; a gauge does") {
    // wide open, where a tenth of its travel is worth about as much as a tenth of the pump's head
    const std::string wide = changed(kOneLine, "to=\"50 %\"", "to=\"80 %\"");
    const layout::Layout drawn = layout_of(wide);
    std::string text = changed(wide, "model=\"p\" check-valve=\"yes\"", "model=\"p\" check-valve=\"yes\" wear=\"20 %\"");
    const settle::Answer truth = solve(layout_of(changed(text, "to=\"80 %\"", "to=\"68 %\"")));
    const std::int32_t feed = pipe(drawn, "feed"), tee = 0;
    const Calibration blind = fit(drawn, {flow(feed, truth.pipes[static_cast<std::size_t>(feed)].flow_m3_s, 0.02)});
    CHECK(blind.outcome == Calibration::Outcome::nothing_told);
    CHECK_FALSE(blind.fits);
    const FittedCoefficient &wear = of(blind, Coefficient::wear), &opening = of(blind, Coefficient::opening);
    CHECK(wear.told == Told::not_apart);
    CHECK(opening.told == Told::not_apart);
    CHECK(wear.fitted == 0.0);
    CHECK(opening.fitted == 0.8);
    REQUIRE(wear.partner >= 0);
    CHECK(blind.coefficients[static_cast<std::size_t>(wear.partner)].what == Coefficient::opening);
    CHECK(wear.alone > 0.2);  // each alone would have to be worse than both are
    CHECK(opening.alone < 0.68);
    const Calibration seeing =
        fit(drawn, {flow(feed, truth.pipes[static_cast<std::size_t>(feed)].flow_m3_s, 0.02), pressure(tee, truth.tees[0].pressure_m, 0.05)});
    REQUIRE(seeing.outcome == Calibration::Outcome::fitted);
    CHECK(of(seeing, Coefficient::wear).told == Told::yes);
    CHECK(of(seeing, Coefficient::wear).fitted == ebb::test::near(0.20).epsilon(1e-3));
    CHECK(of(seeing, Coefficient::opening).fitted == ebb::test::near(0.68).epsilon(1e-3));
    CHECK(seeing.fits);
}

TEST_CASE("the roughness of a pipe that carries nothing, and looks, tell nothing") {
    const layout::Layout drawn = layout_of(kOneLine);
    const settle::Answer truth = solve(drawn);
    const std::int32_t feed = pipe(drawn, "feed");
    const Calibration fitted =
        fit(drawn, {flow(feed, truth.pipes[static_cast<std::size_t>(feed)].flow_m3_s, 0.02), pressure(0, truth.tees[0].pressure_m, 0.05)});
    CHECK(of(fitted, Coefficient::roughness, pipe(drawn, "idle")).told == Told::moves_nothing);
    Reading look;
    look.what = {.quantity = Quantity::overflows, .of = {layout::Kind::standpipe, 0}};
    look.value = 1.0;
    const Calibration blind = fit(drawn, {look});
    CHECK(blind.outcome == Calibration::Outcome::nothing_told);
    CHECK(blind.used == 0);
}

TEST_CASE("a valve that is set differently in two arrangements has two openings, a pump one wear") {
    std::string two =
        changed(kOneLine, "</layout>", "<arrangement name=\"b\"><throttle valve=\"V\" to=\"80 %\"/><close valve=\"W\"/></arrangement></layout>");
    const layout::Layout drawn = layout_of(two);
    std::string true_text = changed(two, "model=\"p\" check-valve=\"yes\"", "model=\"p\" check-valve=\"yes\" wear=\"15 %\"");
    true_text = changed(changed(true_text, "to=\"50 %\"", "to=\"55 %\""), "to=\"80 %\"", "to=\"72 %\"");
    const layout::Layout truth = layout_of(true_text);
    const auto feed = static_cast<std::size_t>(pipe(drawn, "feed"));
    std::vector<Reading> readings;
    for (const std::int32_t visit : {0, 1}) {
        const settle::Answer answer = solve(truth, visit);
        readings.push_back(flow(static_cast<std::int32_t>(feed), answer.pipes[feed].flow_m3_s, 0.02, visit));
        readings.push_back(pressure(0, answer.tees[0].pressure_m, 0.05, visit));
    }
    const Calibration fitted = fit(drawn, readings, 2);
    REQUIRE(fitted.outcome == Calibration::Outcome::fitted);
    std::vector<double> openings;
    for (const FittedCoefficient& one : fitted.coefficients)
        if (one.what == Coefficient::opening) openings.push_back(one.fitted);
    REQUIRE(openings.size() == 2);
    CHECK(openings[0] == ebb::test::near(0.55).epsilon(2e-3));
    CHECK(openings[1] == ebb::test::near(0.72).epsilon(5e-3));
    CHECK(of(fitted, Coefficient::wear).fitted == ebb::test::near(0.15).epsilon(2e-3));
}

TEST_CASE("what no coefficient explains is said not to fit") {
    const layout::Layout drawn = layout_of(kOneLine);
    const settle::Answer answer = solve(drawn);
    const auto feed = static_cast<std::size_t>(pipe(drawn, "feed"));
    // more water than the pump gives at any wear, at more pressure
    const Calibration fitted = fit(
        drawn, {flow(static_cast<std::int32_t>(feed), 1.6 * answer.pipes[feed].flow_m3_s, 0.02), pressure(0, answer.tees[0].pressure_m + 2.0, 0.05)});
    CHECK_FALSE(fitted.fits);
}

TEST_CASE("intervals hold the truth nine times of ten") {
    const layout::Layout drawn = layout_of(kOneLine);
    std::string text = changed(kOneLine, "model=\"p\" check-valve=\"yes\"", "model=\"p\" check-valve=\"yes\" wear=\"20 %\"");
    const settle::Answer truth = solve(layout_of(changed(text, "to=\"50 %\"", "to=\"42 %\"")));
    const auto feed = static_cast<std::size_t>(pipe(drawn, "feed"));
    std::mt19937 random(20261126);
    std::normal_distribution<double> normal;
    int wear = 0, opening = 0, trials = 200;
    for (int trial = 0; trial < trials; ++trial) {
        std::vector<Reading> readings = {flow(static_cast<std::int32_t>(feed), truth.pipes[feed].flow_m3_s, 0.05),
                                         pressure(0, truth.tees[0].pressure_m, 0.1)};
        for (Reading& reading : readings) reading.value += reading.sigma * normal(random);
        const Calibration fitted = fit(drawn, readings);
        const FittedCoefficient &w = of(fitted, Coefficient::wear), &o = of(fitted, Coefficient::opening);
        wear += w.low <= 0.20 && w.high >= 0.20;
        opening += o.low <= 0.42 && o.high >= 0.42;
    }
    // 180 expected; three standard deviations of a count of 200 at 0.9 are 12.7
    CHECK(std::abs(wear - 180) <= 13);
    CHECK(std::abs(opening - 180) <= 13);
}
