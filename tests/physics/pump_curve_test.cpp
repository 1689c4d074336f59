#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/monotone_curve.h"
#include "solver/physics/pump_curve.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <math.h>  // NOLINT(modernize-deprecated-headers): Boost 1.74 calls isnan without std::

#include <boost/math/interpolators/pchip.hpp>

#include <algorithm>
#include <array>
#include <random>
#include <vector>

using namespace ebb::physics;
using namespace ebb::physics::test;

namespace {

/// H = shut_off - c Q^2 sampled at `count` points up to where it ends.
std::vector<PumpPoint> parabola(double shut_off_m, double c, double greatest_flow_m3_s, int count) {
    std::vector<PumpPoint> points;
    for (int i = 0; i < count; ++i) {
        const double flow = greatest_flow_m3_s * i / (count - 1);
        points.push_back({.flow_m3_s = flow, .head_m = shut_off_m - c * flow * flow});
    }
    return points;
}

/// A small pump of invented data.
std::vector<PumpPoint> small_pump() {
    return {{0.0, 6.4, 60.0, 0.8}, {1e-3, 5.9, 90.0, 1.0}, {2e-3, 4.7, 112.0, 1.5}, {3e-3, 2.6, 126.0, 2.2}, {3.4e-3, 1.4, 131.0, 2.6}};
}

/// Flow at which a pump meets a system static + c Q^2, by bisection.
double operating_flow(const PumpCurve& pump, const PumpDuty& duty, double static_m, double c, double series = 1.0) {
    double low = 0.0;
    double high = 10.0 * pump.greatest_flow_m3_s(duty);
    for (int i = 0; i < 200; ++i) {
        const double middle = 0.5 * (low + high);
        (series * pump.head(middle, duty).value > static_m + c * middle * middle ? low : high) = middle;
    }
    return low;
}

}  // namespace

TEST_CASE("the monotone curve is Boost.Math's pchip between its points") {
    std::mt19937 random(7);
    std::uniform_real_distribution<double> part(0.01, 1.0);
    for (int curve = 0; curve < 50; ++curve) {
        std::vector<double> x{0.0};
        std::vector<double> y{10.0};
        for (int i = 0; i < 4 + curve % 20; ++i) {
            x.push_back(x.back() + part(random));
            const double step = part(random);
            y.push_back(y.back() + (curve % 3 == 0 ? step - 0.5 : curve % 5 == 0 && i == 2 ? 0.0 : -step));  // some turn, some have plateaus
        }
        const MonotoneCurve mine(x, y);
        auto xs = x;
        auto ys = y;
        const boost::math::interpolators::pchip<std::vector<double>> theirs(std::move(xs), std::move(ys));
        for (int i = 1; i < 400; ++i) {
            const double at = x.back() * i / 400.0;
            REQUIRE(std::abs(mine.at(at).value - theirs(at)) < 1e-13 * 10.0);
            REQUIRE(std::abs(mine.at(at).slope - theirs.prime(at)) < 1e-10);
            REQUIRE(std::abs(monotone_at(x, y, at).value - mine.at(at).value) < 1e-14);
        }
        // Beyond the points: straight.
        CHECK(mine.at(x.back() + 2.0).value == ebb::test::near(y.back() + 2.0 * mine.at(x.back()).slope));
        CHECK(mine.at(-1.0).value == ebb::test::near(y.front() - mine.at(0.0).slope));
    }
}

TEST_CASE("a curve passes through its points, never rises where they fall, and has the slope it says") {
    const std::vector<PumpPoint> points = small_pump();
    const PumpCurve pump(points);
    for (const PumpPoint& point : points) {
        CHECK(pump.head(point.flow_m3_s, {}).value == ebb::test::near(point.head_m).epsilon(1e-14));
        CHECK(pump.power_w(point.flow_m3_s, {}) == ebb::test::near(point.power_w).epsilon(1e-14));
        CHECK(pump.npsh_required_m(point.flow_m3_s, {}) == ebb::test::near(point.npsh_required_m).epsilon(1e-14));
    }
    const PumpDuty duty{.speed = 0.8, .count = 2, .wear = 0.1};
    double last = 1e9;
    double worst = 0.0;
    for (int i = -50; i < 400; ++i) {
        const double flow = 2e-5 * i + 7e-6;  // clear of the points
        const ValueSlope head = pump.head(flow, duty);
        REQUIRE(head.value < last);
        last = head.value;
        const double h = 1e-7;
        const double difference = (pump.head(flow + h, duty).value - pump.head(flow - h, duty).value) / (2.0 * h);
        worst = std::max(worst, std::abs(difference / head.slope - 1.0));
    }
    CHECK(worst < 1e-6);
}

TEST_CASE("a pump of other flow and head is the pump through its scaled points") {
    constexpr double kFlow = 1.3, kHead = 0.7;
    std::vector<PumpPoint> points = small_pump();
    const PumpCurve scaled = PumpCurve(points).scaled(kFlow, kHead);
    for (PumpPoint& point : points) {
        point.flow_m3_s *= kFlow;
        point.head_m *= kHead;
    }
    const PumpCurve through(points);
    const PumpDuty duty{.speed = 0.8, .count = 2, .wear = 0.1};
    for (int i = -20; i < 120; ++i) {
        const double flow = 1e-4 * i + 7e-6;
        REQUIRE(scaled.head(flow, duty).value == ebb::test::near(through.head(flow, duty).value).epsilon(1e-12));
        REQUIRE(scaled.head(flow, duty).slope == ebb::test::near(through.head(flow, duty).slope).epsilon(1e-12));
        REQUIRE(scaled.power_w(flow, duty) == ebb::test::near(through.power_w(flow, duty)).epsilon(1e-12));
        REQUIRE(scaled.npsh_required_m(flow, duty) == ebb::test::near(through.npsh_required_m(flow, duty)).epsilon(1e-12));
        REQUIRE(scaled.efficiency(flow, duty, 998.0) == ebb::test::near(through.efficiency(flow, duty, 998.0)).epsilon(1e-12));
    }
    CHECK(scaled.zero_head_flow_m3_s(duty) == ebb::test::near(through.zero_head_flow_m3_s(duty)).epsilon(1e-12));
    CHECK(scaled.greatest_flow_m3_s(duty) == ebb::test::near(through.greatest_flow_m3_s(duty)).epsilon(1e-12));
    CHECK(scaled.best_efficiency_flow_m3_s(duty) == ebb::test::near(through.best_efficiency_flow_m3_s(duty)).epsilon(1e-6));
    CHECK(scaled.shut_off_head_m(duty) == ebb::test::near(through.shut_off_head_m(duty)).epsilon(1e-12));
    CHECK(scaled.power_knots_m3_s(duty).size() == points.size());
    for (std::size_t i = 0; i < points.size(); ++i)
        CHECK(scaled.power_knots_m3_s(duty)[i] == ebb::test::near(0.8 * 2 * points[i].flow_m3_s).epsilon(1e-12));

    const PumpLabel label{.greatest_flow_m3_s = 2e-3, .greatest_head_m = 3.0};
    const PumpCurve labelled = PumpCurve::from_label(label).scaled(kFlow, kHead);
    const PumpCurve other = PumpCurve::from_label({.greatest_flow_m3_s = kFlow * 2e-3, .greatest_head_m = kHead * 3.0});
    for (const double flow : {-1e-4, 0.0, 1e-3, 2.2e-3, 3e-3}) {
        CHECK(labelled.head(flow, duty).value == ebb::test::near(other.head(flow, duty).value).epsilon(1e-12));
        CHECK(labelled.head(flow, duty).slope == ebb::test::near(other.head(flow, duty).slope).epsilon(1e-12));
    }
    CHECK(labelled.zero_head_flow_m3_s(duty) == ebb::test::near(0.8 * 2 * kFlow * 2e-3).epsilon(1e-12));
    CHECK(labelled.greatest_flow_m3_s(duty) == ebb::test::near(0.8 * 2 * kFlow * 2e-3).epsilon(1e-12));
}

TEST_CASE("the flow at no head, and the flow of best efficiency, are where they say") {
    const PumpDuty duty{.speed = 0.8, .count = 2, .wear = 0.1};
    for (int more = 0; more < 8; ++more) {
        std::vector<PumpPoint> points = small_pump();
        for (PumpPoint& point : points) point.power_w += 3.0 * more;  // moves the best flow over the steps of its search
        const PumpCurve pump(points);
        const double zero = pump.zero_head_flow_m3_s(duty), best = pump.best_efficiency_flow_m3_s(duty);
        CHECK(zero > pump.greatest_flow_m3_s(duty));  // on the straight continuation: the points end above it
        CHECK(std::abs(pump.head(zero, duty).value) < 1e-9);
        const auto efficiency = [&](double flow) { return pump.efficiency(flow, duty, 998.0); };
        for (const double off : {1e-4, 1e-3, 1e-2}) {
            CHECK(efficiency(best) > efficiency(best * (1.0 - off)));
            CHECK(efficiency(best) > efficiency(best * (1.0 + off)));
        }
    }
}

TEST_CASE("two points are a straight line and one a level") {
    const PumpCurve line(std::array{PumpPoint{.flow_m3_s = 0.0, .head_m = 8.0}, PumpPoint{.flow_m3_s = 4e-3, .head_m = 0.0}});
    CHECK(line.head(1e-3, {}).value == ebb::test::near(6.0));
    CHECK(line.head(5e-3, {}).value == ebb::test::near(-2.0));
    CHECK(line.zero_head_flow_m3_s({}) == ebb::test::near(4e-3));
    CHECK(std::isnan(line.power_w(1e-3, {})));
    CHECK(std::isnan(line.npsh_required_m(1e-3, {})));
    CHECK(std::isnan(line.efficiency(1e-3, {}, 998.0)));
    CHECK(std::isnan(line.best_efficiency_flow_m3_s({})));
    const PumpCurve level(std::array{PumpPoint{.flow_m3_s = 1e-3, .head_m = 5.0}});
    CHECK(level.head(3e-3, {}).value == 5.0);
    CHECK(std::isinf(level.zero_head_flow_m3_s({})));
    CHECK(PumpCurve().empty());
    CHECK_FALSE(level.empty());
}

TEST_CASE("affinity laws: published examples") {
    // DOE-HDBK-1012/3-92, pump laws: 1800 to 3600 rpm, 400 gpm, 48 ft, 45 kW become 800 gpm, 192 ft, 360 kW.
    const PumpPoint slow{.flow_m3_s = 400.0 * kGpm_m3_s, .head_m = 48.0 * kFoot_m, .power_w = 45e3, .npsh_required_m = 2.0};
    const PumpCurve doubled(std::array{slow});
    const PumpDuty fast{.speed = 2.0};
    CHECK(doubled.head(800.0 * kGpm_m3_s, fast).value / kFoot_m == ebb::test::near(192.0).epsilon(1e-14));
    CHECK(doubled.power_w(800.0 * kGpm_m3_s, fast) == ebb::test::near(360e3).epsilon(1e-14));
    CHECK(doubled.npsh_required_m(800.0 * kGpm_m3_s, fast) == ebb::test::near(8.0).epsilon(1e-14));
    CHECK(doubled.greatest_flow_m3_s(fast) / kGpm_m3_s == ebb::test::near(800.0).epsilon(1e-14));
    // Crane TP-410 ex. 7-33 (by library fluids 1.3.1): 3500 to 1700 rpm, 400 gpm, 126 ft, 17.5 hp become 194 gpm, 29.7 ft, 2.0 hp.
    const PumpCurve slowed(std::array{PumpPoint{.flow_m3_s = 400.0 * kGpm_m3_s, .head_m = 126.0 * kFoot_m, .power_w = 17.5 * kHorsepower_w}});
    const PumpDuty duty{.speed = 1700.0 / 3500.0};
    CHECK(slowed.greatest_flow_m3_s(duty) / kGpm_m3_s == ebb::test::near(194.0).epsilon(0.002));
    CHECK(slowed.head(194.0 * kGpm_m3_s, duty).value / kFoot_m == ebb::test::near(29.7).epsilon(0.001));
    CHECK(slowed.power_w(194.0 * kGpm_m3_s, duty) / kHorsepower_w == ebb::test::near(2.0).epsilon(0.003));
}

TEST_CASE("operating points: published examples, alone, in parallel, in series") {
    // White, Fluid Mechanics, ex. 11.6 to 11.8 (from memory): H = 490 - 0.26 Q^2, system 120 + 1.335 Q^2 (ft, 1000 gpm):
    // 15,200 gpm at 430 ft; two in parallel 16,300 at 473; two in series 21,500 at 740. Sampled at 41 points here. 0.3 %.
    const PumpCurve white(parabola(490.0, 0.26, 30.0, 41));
    CHECK(operating_flow(white, {}, 120.0, 1.335) == ebb::test::near(15.2).epsilon(0.003));
    CHECK(operating_flow(white, {.count = 2}, 120.0, 1.335) == ebb::test::near(16.3).epsilon(0.003));
    CHECK(operating_flow(white, {}, 120.0, 1.335, 2.0) == ebb::test::near(21.5).epsilon(0.003));
    CHECK(white.head(operating_flow(white, {}, 120.0, 1.335), {}).value == ebb::test::near(430.0).epsilon(0.003));
    // A textbook problem (recomputed): h = 365 - 20 Q^2 (ft, ft3/s), 290 ft, suction 10 in x 90 ft f 0.022, discharge 8 in x 4900 ft f 0.028,
    // g 32.2: one 1.2720, two in parallel 1.5467, two in series 2.5752 ft3/s.
    const PumpCurve lift(parabola(365.0, 20.0, 4.0, 81));
    const auto k = [](double f, double length, double bore) { return f * length / bore / (2.0 * 32.2 * std::pow(bore_area_m2(bore), 2.0)); };
    const double system = k(0.022, 90.0, 10.0 / 12.0) + k(0.028, 4900.0, 8.0 / 12.0);
    CHECK(operating_flow(lift, {}, 290.0, system) == ebb::test::near(1.2720).epsilon(0.0005));
    CHECK(operating_flow(lift, {.count = 2}, 290.0, system) == ebb::test::near(1.5467).epsilon(0.0005));
    CHECK(operating_flow(lift, {}, 290.0, system, 2.0) == ebb::test::near(2.5752).epsilon(0.0005));
}

TEST_CASE("efficiency and best point") {
    // Crane TP-410 ex. 7-34 (by library fluids 1.3.1): 428 ft, 700 gpm at 62.364 lb/ft3 and 70.7 % take 107.06 brake horsepower.
    const PumpCurve crane(std::array{PumpPoint{.flow_m3_s = 700.0 * kGpm_m3_s, .head_m = 428.0 * kFoot_m, .power_w = 107.06 * kHorsepower_w}});
    CHECK(crane.efficiency(700.0 * kGpm_m3_s, {}, 62.364 * kPoundPerFoot3_kg_m3) == ebb::test::near(0.707).epsilon(0.0005));
    // With a level power P, H = H0 (1 - (Q/Qmax)^2) has its best efficiency where Q H is greatest: Q = Qmax/sqrt 3.
    std::vector<PumpPoint> points = parabola(6.0, 6.0 / (9e-6), 3e-3, 61);
    for (PumpPoint& point : points) {
        point.power_w = 100.0;
    }
    const PumpCurve pump(points);
    CHECK(pump.best_efficiency_flow_m3_s({}) == ebb::test::near(3e-3 / std::sqrt(3.0)).epsilon(0.002));
    const PumpDuty duty{.speed = 0.7, .count = 3};
    CHECK(pump.best_efficiency_flow_m3_s(duty) == ebb::test::near(2.1 * pump.best_efficiency_flow_m3_s({})).epsilon(1e-14));
    CHECK(pump.efficiency(2.1e-3, duty, 998.0) == ebb::test::near(pump.efficiency(1e-3, {}, 998.0)).epsilon(1e-12));
    CHECK(pump.efficiency(1e-3, {.wear = 0.2}, 998.0) == ebb::test::near(0.8 * pump.efficiency(1e-3, {}, 998.0)).epsilon(1e-12));
    CHECK(pump.efficiency(0.0, {}, 998.0) == 0.0);
    CHECK(pump.efficiency(4e-3, {}, 998.0) == 0.0);
    CHECK(pump.zero_head_flow_m3_s({}) == ebb::test::near(3e-3));
}

TEST_CASE("a pump known by its label") {
    const PumpLabel label{.greatest_flow_m3_s = 2e-3, .greatest_head_m = 4.0};
    const PumpCurve pump = PumpCurve::from_label(label);
    CHECK(pump.is_label());
    CHECK_FALSE(pump.knows_power());
    // At 50, 70, 80, 90 % of the greatest lift 71, 55, 45, 32 % of the flow remain (the quick curve, common practice).
    CHECK(pump.head(0.71 * 2e-3, {}).value / 4.0 == ebb::test::near(0.5).epsilon(0.02));
    CHECK(pump.head(0.55 * 2e-3, {}).value / 4.0 == ebb::test::near(0.7).epsilon(0.01));
    CHECK(pump.head(0.45 * 2e-3, {}).value / 4.0 == ebb::test::near(0.8).epsilon(0.01));
    CHECK(pump.head(0.32 * 2e-3, {}).value / 4.0 == ebb::test::near(0.9).epsilon(0.01));
    const PumpCurve low = PumpCurve::from_label(label, kLabelExponentLow);
    const PumpCurve high = PumpCurve::from_label(label, kLabelExponentHigh);
    for (const PumpCurve& curve : {pump, low, high}) {
        CHECK(curve.shut_off_head_m({}) == 4.0);
        CHECK(curve.head(2e-3, {}).value == doctest::Approx(0.0));
        CHECK(curve.zero_head_flow_m3_s({.speed = 0.5, .count = 2}) == ebb::test::near(2e-3));
        double last = 4.0 + 1e-12;
        for (int i = 1; i < 60; ++i) {
            const double flow = 4e-5 * i + 1e-6;
            const ValueSlope head = curve.head(flow, {.speed = 0.9});
            REQUIRE(head.value < last);
            last = head.value;
            const double h = 1e-8;
            const double difference = (curve.head(flow + h, {.speed = 0.9}).value - curve.head(flow - h, {.speed = 0.9}).value) / (2.0 * h);
            REQUIRE(difference == ebb::test::near(head.slope).epsilon(1e-6));
        }
    }
    for (int i = 1; i < 20; ++i) {  // the band holds the answer
        const double flow = 1e-4 * i;
        CHECK(low.head(flow, {}).value < pump.head(flow, {}).value);
        CHECK(pump.head(flow, {}).value < high.head(flow, {}).value);
    }
}
