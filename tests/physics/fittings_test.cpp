#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>
#include <array>
#include <numbers>

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("a fitting loses K velocity heads") {
    const double area = bore_area_m2(0.05);
    CHECK(area == ebb::test::near(std::numbers::pi * 0.000625));
    for (const double flow : {-2e-3, 1e-6, 3e-3}) {
        const double v = flow / area;
        const ValueSlope loss = local_loss(0.9 * velocity_head_coefficient(area), flow);
        CHECK(relative(loss.value, 0.9 * v * std::abs(v) / (2.0 * kGravity_m_s2)) < 1e-14);
        CHECK(slope_error([&](double q) { return local_loss(0.9 * velocity_head_coefficient(area), q); }, flow) < 1e-11);
    }
}

TEST_CASE("sudden changes of section and ports") {
    // tests/reference/fittings.csv block G: Borda-Carnot (exact), Crane TP-410 page A-26; block B: entrance and exit.
    for (const Row& row : table("fittings.csv", "beta_d_over_D")) {
        CHECK(std::abs(sudden_expansion_loss(number(row[0])) - number(row[1])) < 1e-6);
        CHECK(std::abs(sudden_contraction_loss(number(row[0])) - number(row[2])) < 1e-6);
    }
    for (const Row& row : table("fittings.csv", "item,multiplier_of_fT")) {
        if (row[0] == "entrance flush r/d=0 (sharp)") {
            CHECK(number(row[2]) == kEntryLoss);
        }
        if (row[0] == "exit (projecting; sharp; rounded)") {
            CHECK(number(row[2]) == kExitLoss);
        }
    }
}

TEST_CASE("the square law: core, slope and exact inverse") {
    double worst_slope = 0.0;
    double worst_inverse = 0.0;
    for (const double k : {1e2, 1e6, 1e11}) {
        CHECK(square_law_loss(k, 0.0).slope > 0.0);
        CHECK(square_law_loss(k, 0.0).slope == ebb::test::near(std::sqrt(k * kLinearCore_m)));
        CHECK(square_law_flow(k, 0.0).value == 0.0);
        CHECK(square_law_flow(k, 0.0).slope == ebb::test::near(1.0 / std::sqrt(k * kLinearCore_m)));
        double last = 0.0;
        for (const double head : spread(1e-14, 1e3, 800)) {
            const ValueSlope flow = square_law_flow(k, head);
            REQUIRE(flow.value > last);
            last = flow.value;
            REQUIRE(square_law_flow(k, -head).value == -flow.value);
            const ValueSlope loss = square_law_loss(k, flow.value);
            worst_inverse = std::max({worst_inverse, relative(loss.value, head), std::abs(loss.slope * flow.slope - 1.0)});
            worst_slope = std::max({worst_slope, slope_error([&](double h) { return square_law_flow(k, h); }, head),
                                    slope_error([&](double q) { return square_law_loss(k, q); }, flow.value)});
            // The head is never more than half the core above the plain square law.
            REQUIRE(head - k * flow.value * flow.value <= 0.5 * kLinearCore_m + 1e-15 * head);
        }
    }
    CHECK(worst_inverse < 1e-14);
    CHECK(worst_slope < 1e-9);
}

TEST_CASE("orifices") {
    // tests/reference/weirs_orifices.csv block A: sharp-edged circular orifice 0.59 to 0.62 (King and Brater); theory pi/(pi + 2) in the plane.
    for (const Row& row : table("weirs_orifices.csv", "item,Cd_low")) {
        if (row[0] == "sharp-edged circular orifice; free") {
            CHECK(kOrificeCoefficient >= number(row[1]));
            CHECK(kOrificeCoefficient == number(row[2]));
            CHECK(kOrificeCoefficient <= number(row[3]));
        }
    }
    CHECK(kOrificeCoefficient == ebb::test::near(std::numbers::pi / (std::numbers::pi + 2.0)).epsilon(0.002));
    // A public problem set: 16 mm under 1.5 m passes 0.65 l/s at a coefficient of 0.596.
    const ValueSlope flow = square_law_flow(orifice_coefficient_m_per_m6_s2(bore_area_m2(0.016), 0.596), 1.5);
    CHECK(flow.value == ebb::test::near(0.65e-3).epsilon(0.001));
    // Crane TP-410 ex. 7-2 (by library fluids 1.3.1): a globe valve passing 500 m3/h at 1 bar, bore 154 mm, has K = 3.6.
    const double k = rated_coefficient_m_per_m6_s2(500.0 / 3600.0, 1e5 / (1000.0 * kGravity_m_s2));
    CHECK(k / velocity_head_coefficient(bore_area_m2(0.154)) == ebb::test::near(3.6).epsilon(0.003));
}

TEST_CASE("emptying a tank through a jet takes the published time") {
    // Cengel and Cimbala ex. 5-2: 3 ft across, 0.5 in jet, V = sqrt(2 g h), g 32.2 ft/s2: from 4 ft to 2 ft in 757 s.
    // Public examination problem: 4 ft across, 5 in2 nozzle, no losses, 6 ft to 2 ft: 94 s (93.38 s exact).
    struct Case {
        double tank_ft, jet_area_in2, from_ft, to_ft, seconds, tolerance;
    };
    const std::array<Case, 2> cases{{{3.0, 0.25 * std::numbers::pi * 0.25, 4.0, 2.0, 757.0, 0.001}, {4.0, 5.0, 6.0, 2.0, 93.38, 0.001}}};
    for (const Case& one : cases) {
        const double k = orifice_coefficient_m_per_m6_s2(one.jet_area_in2 * kInch_m * kInch_m, 1.0);
        const double area = bore_area_m2(one.tank_ft * kFoot_m);
        constexpr int kSteps = 2000;
        const double dh = (one.from_ft - one.to_ft) * kFoot_m / kSteps;
        double seconds = 0.0;
        for (int i = 0; i < kSteps; ++i) {  // midpoint rule over the level
            seconds += area * dh / square_law_flow(k, one.to_ft * kFoot_m + (i + 0.5) * dh).value;
        }
        CHECK(seconds == ebb::test::near(one.seconds).epsilon(one.tolerance));
    }
}
