// Likelihoods, quantiles, evidence and the next reading, against explicit matrices, tables and integration by brute force.
#include "solver/diagnose/scales.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <vector>

#include "solver/diagnose/diagnosis.h"
#include "solver/diagnose/weigh.h"
#include "tests/diagnose/layout_text.h"
#include "tests/near.h"

using namespace ebb;
using namespace ebb::diagnose;

namespace {

const std::vector<std::vector<double>> kExact;

Reading measured(double value, double sigma) {
    Reading reading;
    reading.what = {.quantity = Quantity::depth, .of = {layout::Kind::vessel, 0}};
    reading.value = value;
    reading.sigma = sigma;
    return reading;
}

/// Determinant and inverse of a matrix of two or three rows, by cofactors.
double determinant(const std::vector<std::vector<double>>& m) {
    if (m.size() == 2) return m[0][0] * m[1][1] - m[0][1] * m[1][0];
    return m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
           m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
}
double quadratic(const std::vector<std::vector<double>>& m, const std::vector<double>& e) {
    // e^T M^-1 e by Cramer's rule
    double sum = 0.0;
    for (std::size_t i = 0; i < e.size(); ++i) {
        std::vector<std::vector<double>> replaced = m;
        for (std::size_t r = 0; r < e.size(); ++r) replaced[r][i] = e[r];
        sum += e[i] * determinant(replaced) / determinant(m);
    }
    return sum;
}

layout::Layout one_line() {
    return layout_of(R"(<layout><site water-temperature="20 degC"/>
      <pond id="A" level="3 m"/><sump id="S" floor="0 m" rim="1 m" length="1 m" width="1 m" start-depth="0.5 m"/>
      <pipe id="feed" from="A" to="S" to-height="0.9 m" length="20 m" bore="25 mm"><valve id="V" kind="gate"/></pipe>
      <pond id="B" level="-2 m"/><standpipe id="O" in="S" bore="60 mm"><insert name="i" lip="0.5 m"/></standpipe>
      <drain id="out" from="O" to="B" length="2 m" bore="60 mm"/>
      <arrangement name="a"><throttle valve="V" to="50 %"/></arrangement></layout>)");
}

}  // namespace

TEST_CASE("quantiles of chi-squared are those of the tables") {
    // M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 26.8 (from memory)
    struct Row {
        std::size_t degrees;
        double exceeded, value;
    };
    for (const Row& row :
         {Row{1, 0.01, 6.635}, Row{2, 0.05, 5.991}, Row{3, 0.01, 11.345}, Row{5, 0.001, 20.515}, Row{10, 0.05, 18.307}, Row{20, 0.5, 19.337}}) {
        CAPTURE(row.degrees);
        CHECK(chi_squared_quantile(row.degrees, row.exceeded) ==
              ebb::test::near(row.value).epsilon(0.012));  // Wilson and Hilferty: within about a per cent
    }
}

TEST_CASE("a judgement is the mixture written out with whole matrices") {
    const std::vector<Reading> readings = {measured(1.0, 0.1), measured(2.0, 0.2), measured(3.0, 0.3)};
    const std::vector<std::vector<double>> doubt = {{0.05, 0.1, -0.2}, {0.0, 0.3, 0.1}};
    const Scales scales(readings, doubt);
    const std::vector<Predicted> predicted = {{1.25, 0.0}, {1.8, 0.0}, {3.1, 0.0}};
    std::vector<std::vector<double>> covariance(3, std::vector<double>(3, 0.0));
    for (std::size_t i = 0; i < 3; ++i) {
        covariance[i][i] += readings[i].sigma * readings[i].sigma;
        for (std::size_t j = 0; j < 3; ++j)
            for (const auto& one : doubt) covariance[i][j] += one[i] * one[j];
    }
    const std::vector<double> e = {-0.25, 0.2, -0.1};
    double sum = (1.0 - 0.03) * std::exp(-0.5 * quadratic(covariance, e));
    for (std::size_t i = 0; i < 3; ++i) {
        std::vector<std::vector<double>> wider = covariance;
        wider[i][i] += 99.0 * readings[i].sigma * readings[i].sigma;
        sum += 0.01 * std::exp(-0.5 * quadratic(wider, e)) * std::sqrt(determinant(covariance) / determinant(wider));
    }
    const Judgement judgement = scales.judge(predicted);
    CHECK(judgement.log_likelihood == ebb::test::near(std::log(sum)).epsilon(1e-10));
    CHECK(judgement.chi_squared == ebb::test::near(quadratic(covariance, e)).epsilon(1e-10));
    CHECK(judgement.misread == -1);
    CHECK(scales.log_thinner() == ebb::test::near(0.5 * std::log(determinant(covariance)) - std::log(0.1 * 0.2 * 0.3)).epsilon(1e-10));
}

TEST_CASE("one wild reading is taken for a slip, and the others count as if it were not there") {
    const std::vector<Reading> readings = {measured(1.0, 0.1), measured(5.0, 0.2)};
    const Scales scales(readings, kExact);
    const Judgement judgement = scales.judge(std::vector<Predicted>{{1.05, 0.0}, {2.0, 0.0}});
    CHECK(judgement.misread == 1);
    CHECK(judgement.chi_squared_but_it == ebb::test::near(0.25));
    CHECK(judgement.log_likelihood == ebb::test::near(std::log(0.01 * 0.1) - 0.5 * 2.25 - 0.125).epsilon(0.01));  // not -112
    const Judgement both = scales.judge(std::vector<Predicted>{{2.0, 0.0}, {2.0, 0.0}});
    CHECK(both.log_likelihood < -40.0);  // two slips are none
}

TEST_CASE("what swings is anywhere between its marks, and what comes and goes does not stay") {
    const std::vector<Reading> readings = {measured(0.20, 0.01)};
    const Scales scales(readings, kExact);
    CHECK(scales.pull(0, {0.15, 0.10}) == 0.0);
    CHECK(scales.pull(0, {0.05, 0.10}) == ebb::test::near(5.0));
    Reading look = measured(0.0, 0.0);
    look.what.quantity = Quantity::moves;
    const Scales looks(std::vector<Reading>{look}, kExact);
    CHECK(std::isinf(looks.pull(0, {0.0, 1.0})));
    CHECK(looks.pull(0, {0.0, 0.0}) == 0.0);
    CHECK(looks.judge(std::vector<Predicted>{{0.0, 0.0}}).log_likelihood > looks.judge(std::vector<Predicted>{{0.0, 1.0}}).log_likelihood + 3.0);
}

TEST_CASE("evidence and interval of a fault are those of integration by brute force") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Signatures signatures(farm, {{{}, 0}}, observables);
    std::size_t fault = 0, flow = 0;
    while (signatures.faults()[fault].kind != FaultKind::blocked_pipe) ++fault;
    while (observables[flow].quantity != Quantity::flow) ++flow;
    const double drawn = signatures.sound()[flow].value;
    Reading reading;
    reading.what = observables[flow];
    reading.value = 0.7 * drawn;
    reading.sigma = 0.03 * drawn;
    const std::vector<std::size_t> columns = {flow};
    const Scales scales(std::vector<Reading>{reading}, kExact);
    std::vector<Signatures::Want> wants;
    constexpr int kSteps = 200;
    for (int k = 0; k <= kSteps; ++k) wants.push_back({fault, static_cast<double>(k) / kSteps});
    signatures.ensure(wants);
    const Weight weight = weigh(signatures, fault, scales, columns, 0.9);
    // each point solved, the likelihood's formula of a single reading written out, trapezoids
    std::vector<double> density;
    double sum = 0.0;
    for (const auto& node : signatures.nodes(fault)) {
        const double pull = (reading.value - node.predicted[flow].value) / reading.sigma;
        density.push_back(0.99 * std::exp(-0.5 * pull * pull) + 0.01 * 0.1 * std::exp(-0.005 * pull * pull));
    }
    for (int k = 0; k < kSteps; ++k) sum += 0.5 * (density[static_cast<std::size_t>(k)] + density[static_cast<std::size_t>(k) + 1]) / kSteps;
    CHECK(weight.log_evidence == ebb::test::near(std::log(sum)).epsilon(0.01));
    double before = 0.0, low = -1.0, high = -1.0;
    for (int k = 0; k < kSteps; ++k) {
        const double part = 0.5 * (density[static_cast<std::size_t>(k)] + density[static_cast<std::size_t>(k) + 1]) / kSteps / sum;
        if (low < 0.0 && before + part > 0.05) low = (k + (0.05 - before) / part) / kSteps;
        if (high < 0.0 && before + part > 0.95) high = (k + (0.95 - before) / part) / kSteps;
        before += part;
    }
    CHECK(weight.low_u == ebb::test::near(low).epsilon(0.01));
    CHECK(weight.high_u == ebb::test::near(high).epsilon(0.01));
}

TEST_CASE("where a reading says next to nothing, the stretches between solved sizes weigh as they are long") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Signatures signatures(farm, {{{}, 0}}, observables);
    std::size_t fault = 0, flow = 0;
    while (signatures.faults()[fault].kind != FaultKind::blocked_pipe) ++fault;
    while (observables[flow].quantity != Quantity::flow) ++flow;
    Reading reading;
    reading.what = observables[flow];
    reading.value = signatures.sound()[flow].value;
    reading.sigma = 1e3 * reading.value;
    signatures.ensure(std::vector<Signatures::Want>{{fault, 0.0}, {fault, 0.125}, {fault, 0.5}, {fault, 1.0}});
    const std::vector<Segment> segments =
        segments_of(signatures, fault, Scales(std::vector<Reading>{reading}, kExact), std::vector<std::size_t>{flow});
    REQUIRE(segments.size() >= 2);
    for (const Segment& one : segments)
        CHECK(std::abs(one.log_mass - segments[0].log_mass - std::log((one.high_u - one.low_u) / (segments[0].high_u - segments[0].low_u))) < 1e-4);
    CHECK(segments.back().high_u - segments.back().low_u > 1.1 * (segments[0].high_u - segments[0].low_u));
}

TEST_CASE("a size is on the line between its neighbours when it lies within 0.15 standard deviations of the chord, however unevenly they stand") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    std::size_t flow = 0;
    while (observables[flow].quantity != Quantity::flow) ++flow;
    for (const double middle_u : {0.42, 0.44, 0.45, 0.47}) {
        CAPTURE(middle_u);
        Signatures signatures(farm, {{{}, 0}}, observables);
        std::size_t fault = 0;
        while (signatures.faults()[fault].kind != FaultKind::blocked_pipe) ++fault;
        signatures.ensure(std::vector<Signatures::Want>{{fault, 0.4}, {fault, middle_u}, {fault, 0.5}});
        const std::vector<Signatures::Node>& nodes = signatures.nodes(fault);
        REQUIRE(nodes.size() == 3);
        const Predicted &x = nodes[0].predicted[flow], &y = nodes[1].predicted[flow], &z = nodes[2].predicted[flow];
        const auto chord = [&](double from, double to) { return ((0.5 - middle_u) * from + (middle_u - 0.4) * to) / 0.1; };
        const double off = std::abs(chord(x.value, z.value) - y.value) + std::abs(chord(x.spread, z.spread) - y.spread);
        Reading reading;
        reading.what = observables[flow];
        reading.value = y.value;
        for (const double times : {0.99, 1.01}) {
            reading.sigma = times * off / 0.15;
            REQUIRE(std::min(std::abs(x.value - y.value), std::abs(y.value - z.value)) >
                    0.31 * reading.sigma);  // else too little changes for a doubt
            for (const Segment& one : segments_of(signatures, fault, Scales(std::vector<Reading>{reading}, kExact), std::vector<std::size_t>{flow}))
                CHECK(one.straight == (times > 1.0));
        }
    }
}

TEST_CASE("half of the valves that are elsewhere are shut or open") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Signatures signatures(farm, {{{}, 0}}, observables);
    std::size_t fault = 0, flow = 0;
    while (signatures.faults()[fault].kind != FaultKind::valve_elsewhere) ++fault;
    while (observables[flow].quantity != Quantity::flow) ++flow;
    CHECK(signatures.faults()[fault].at_least == 0.25);
    CHECK(signatures.faults()[fault].at_most == 0.25);
    Reading nothing;
    nothing.what = observables[flow];
    nothing.value = 0.0;
    nothing.sigma = usual_sigma(Quantity::flow, 0.0);
    signatures.ensure(std::vector<Signatures::Want>{{fault, 0.0}, {fault, 0.25}, {fault, 0.5}, {fault, 0.75}, {fault, 1.0}});
    const Weight weight = weigh(signatures, fault, Scales(std::vector<Reading>{nothing}, kExact), std::vector<std::size_t>{flow}, 0.9);
    CHECK(std::exp(weight.log_evidence) == ebb::test::near(0.25).epsilon(0.03));
    CHECK(weight.low_u == 0.0);
    CHECK(weight.high_u < 0.01);
}

TEST_CASE("threads change no digit, and what was solved is kept") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Reading reading;
    for (const Observable& what : observables)
        if (what.quantity == Quantity::flow) reading.what = what;
    reading.value = 1.0e-4;
    reading.sigma = 2.0e-6;
    std::vector<Diagnosis> diagnoses;
    for (const unsigned threads : {1U, 3U}) {
        Signatures signatures(farm, {{{}, 0}}, observables, {}, threads);
        DiagnosisOptions singly;
        singly.pairs = false;
        diagnoses.push_back(diagnose::diagnose(signatures, std::vector<Reading>{reading}, {}, singly));
        CHECK(diagnoses.back().solves > 0);
        CHECK(diagnose::diagnose(signatures, std::vector<Reading>{reading}, {}, singly).solves <
              diagnoses.back().solves / 20);  // a segment or two more
    }
    REQUIRE(diagnoses[0].explanations.size() == diagnoses[1].explanations.size());
    for (std::size_t e = 0; e < diagnoses[0].explanations.size(); ++e) {
        CHECK(diagnoses[0].explanations[e].faults == diagnoses[1].explanations[e].faults);
        CHECK(diagnoses[0].explanations[e].probability == diagnoses[1].explanations[e].probability);
    }
    CHECK(diagnoses[0].next.size() == diagnoses[1].next.size());
    double sum = 0.0;
    for (const Explanation& one : diagnoses[0].explanations) sum += one.probability;
    CHECK(sum == ebb::test::near(1.0).epsilon(1e-3));
}

TEST_CASE("asked to stop, a diagnosis ends with what it has") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Signatures signatures(farm, {{{}, 0}}, observables);
    std::stop_source stop;
    stop.request_stop();
    DiagnosisOptions options;
    options.stop = stop.get_token();
    Reading reading = measured(0.3, 0.005);
    reading.what = observables[0];
    CHECK(diagnose::diagnose(signatures, std::vector<Reading>{reading}, {}, options).interrupted);
}

TEST_CASE("a reading that nothing comes near is said to be impossible, from above or below, and no other is") {
    const layout::Layout farm = one_line();
    const std::vector<Observable> observables = observables_of(farm, 1, {});
    Signatures signatures(farm, {{{}, 0}}, observables);
    DiagnosisOptions singly;
    singly.pairs = false;
    for (const double off_m : {-3.0, 3.0}) {
        std::vector<Reading> readings;
        std::size_t wrong = observables.size();
        for (std::size_t o = 0; o < observables.size(); ++o) {
            const Quantity quantity = observables[o].quantity;
            if ((quantity != Quantity::flow && quantity != Quantity::depth) || std::isnan(signatures.sound()[o].value)) continue;
            Reading reading;
            reading.what = observables[o];
            reading.value = signatures.sound()[o].value;
            reading.sigma = usual_sigma(quantity, reading.value);
            if (quantity == Quantity::depth && wrong == observables.size()) {
                wrong = readings.size();
                reading.value += off_m;
            }
            readings.push_back(reading);
        }
        REQUIRE(wrong < readings.size());
        REQUIRE(readings.size() > 1);
        const Diagnosis diagnosis = diagnose::diagnose(signatures, readings, {}, singly);
        CAPTURE(off_m);
        CHECK(diagnosis.impossible == std::vector<std::size_t>{wrong});
    }
}
