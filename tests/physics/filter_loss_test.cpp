#include "solver/physics/filter_loss.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>
#include <array>

using namespace ebb::physics;
using namespace ebb::physics::test;

namespace {

/// A bed of media by S. Ergun, Chem. Eng. Progress 48 (1952) 89: a linear and a square term. 0.6 m deep, 0.5 m2, 3 mm grains, voids 0.4.
double ergun_m(double flow_m3_s) {
    constexpr double kVoid = 0.4;
    constexpr double kGrain_m = 3e-3;
    constexpr double kDepth_m = 0.6;
    constexpr double kGravity = 9.80665;
    const double v = flow_m3_s / 0.5;
    const double linear = 150.0 * 1.003e-6 * (1 - kVoid) * (1 - kVoid) / (kVoid * kVoid * kVoid * kGrain_m * kGrain_m) * v;
    const double square = 1.75 * (1 - kVoid) / (kVoid * kVoid * kVoid * kGrain_m) * v * v;
    return kDepth_m * (linear + square) / kGravity;
}

}  // namespace

TEST_CASE("one reading is the square law through it") {
    const FilterLoss filter(std::array{FilterPoint{6.0 / 3600.0, 0.55}}, {});
    CHECK(filter.loss(6.0 / 3600.0, 0.0).value == ebb::test::near(0.55).epsilon(2e-8));
    CHECK(filter.loss(3.0 / 3600.0, 0.0).value == ebb::test::near(0.1375).epsilon(1e-7));
    CHECK(filter.loss(-6.0 / 3600.0, 0.5).value == ebb::test::near(-0.55).epsilon(2e-8));  // no dirty state: load changes nothing
    CHECK(filter.loss(0.0, 0.0).slope > 0.0);
    CHECK(FilterLoss().empty());
}

TEST_CASE("load is linear in head at equal flow") {
    const std::array clean{FilterPoint{6.0 / 3600.0, 0.55}};
    const std::array dirty{FilterPoint{6.0 / 3600.0, 2.60}};
    const FilterLoss filter(clean, dirty);
    const double flow = 5.0 / 3600.0;
    const double low = filter.loss(flow, 0.0).value;
    const double high = filter.loss(flow, 1.0).value;
    CHECK(high / low == ebb::test::near(2.60 / 0.55).epsilon(1e-7));
    CHECK(filter.loss(flow, 0.3).value == ebb::test::near(0.7 * low + 0.3 * high).epsilon(1e-14));
    CHECK(slope_error([&](double q) { return filter.loss(q, 0.3); }, flow) < 1e-9);
    CHECK(FilterLoss({}, dirty).loss(flow, 0.0).value == high);
}

TEST_CASE("several readings follow a media bed, and go on beyond them") {
    std::vector<FilterPoint> readings;
    for (const double m3_h : {1.0, 2.0, 4.0, 6.0, 8.0}) {
        readings.push_back({m3_h / 3600.0, ergun_m(m3_h / 3600.0)});
    }
    const FilterLoss filter(readings, {});
    for (const FilterPoint& reading : readings) {
        CHECK(filter.loss(reading.flow_m3_s, 0.0).value == ebb::test::near(reading.head_m).epsilon(1e-14));
    }
    // Ergun's law is a neighbour, not the curve: 3 % between readings, 11 % half as far again beyond them (measured: 10.5 %).
    for (const double m3_h : {1.5, 3.0, 5.0, 7.0}) {
        CHECK(filter.loss(m3_h / 3600.0, 0.0).value == ebb::test::near(ergun_m(m3_h / 3600.0)).epsilon(0.03));
    }
    CHECK(filter.loss(12.0 / 3600.0, 0.0).value == ebb::test::near(ergun_m(12.0 / 3600.0)).epsilon(0.11));
    double last = -1e9;
    double worst = 0.0;
    for (int i = -400; i <= 400; ++i) {
        const double flow = 1e-5 * i + 3e-6;
        const ValueSlope loss = filter.loss(flow, 0.0);
        REQUIRE(loss.value > last);
        REQUIRE(loss.slope > 0.0);
        REQUIRE(filter.loss(-flow, 0.0).value == -loss.value);
        last = loss.value;
        const double h = 1e-8;
        const double difference = (filter.loss(flow + h, 0.0).value - filter.loss(flow - h, 0.0).value) / (2.0 * h);
        worst = std::max(worst, std::abs(difference / loss.slope - 1.0));
    }
    CHECK(worst < 1e-6);
    // Value and slope are continuous at the last reading.
    const double end = 8.0 / 3600.0;
    CHECK(relative(filter.loss(end * (1 + 1e-12), 0.0).value, filter.loss(end * (1 - 1e-12), 0.0).value) < 1e-11);
    CHECK(relative(filter.loss(end * (1 + 1e-12), 0.0).slope, filter.loss(end * (1 - 1e-12), 0.0).slope) < 1e-10);
    // Beyond it the parabola with the square law's curvature through that reading: h = hn + s d + hn/Qn^2 d^2.
    const double head = ergun_m(end), slope = filter.loss(end, 0.0).slope;
    for (const double beyond : {0.2 * end, 0.5 * end, 2.0 * end})
        CHECK(relative(filter.loss(end + beyond, 0.0).value, head + slope * beyond + head / (end * end) * beyond * beyond) < 1e-13);
}
