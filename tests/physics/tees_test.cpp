#include "solver/physics/tees.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <cmath>
#include <numbers>

using namespace ebb::physics;
using namespace ebb::physics::test;

namespace {

constexpr TeeShape kSquare{.branch_angle_deg = 90.0, .area_ratio = 1.0};
constexpr TeeShape kWye{.branch_angle_deg = 45.0, .area_ratio = 1.0};

}  // namespace

TEST_CASE("tees of equal bores over the published samples") {
    // tests/reference/fittings.csv block F: Crane TP-410 (2009) formulas as coded in library fluids 1.3.1, six decimals.
    for (const Row& row : table("fittings.csv", "Qbranch_over_Qcomb")) {
        const double q = number(row[0]);
        CAPTURE(q);
        CHECK(std::abs(tee_branch_loss(TeeFlow::combining, kSquare, q).value - number(row[1])) < 1e-6);
        CHECK(std::abs(tee_run_loss(TeeFlow::combining, kSquare, q).value - number(row[2])) < 1e-6);
        CHECK(std::abs(tee_branch_loss(TeeFlow::dividing, kSquare, q).value - number(row[3])) < 1e-6);
        CHECK(std::abs(tee_run_loss(TeeFlow::dividing, kSquare, q).value - number(row[4])) < 1e-6);
        CHECK(std::abs(tee_branch_loss(TeeFlow::combining, kWye, q).value - number(row[5])) < 1e-6);
        CHECK(std::abs(tee_run_loss(TeeFlow::combining, kWye, q).value - number(row[6])) < 1e-6);
        CHECK(std::abs(tee_branch_loss(TeeFlow::dividing, kWye, q).value - number(row[7])) < 1e-6);
    }
}

TEST_CASE("the handbook's two worked tees") {
    // Crane TP-410 ex. 7-35: 300 gpm through the run and 100 gpm from a branch at 90 degrees: K -0.040 and 0.326 (chart figures; 0.003).
    CHECK(std::abs(tee_branch_loss(TeeFlow::combining, kSquare, 0.25).value - -0.040) < 0.003);
    CHECK(std::abs(tee_run_loss(TeeFlow::combining, kSquare, 0.25).value - 0.326) < 0.003);
    // ex. 7-36: 400 gpm along the run and 250 gpm into a branch at 45 degrees: 0.4640 and -0.0681 (0.001).
    CHECK(std::abs(tee_branch_loss(TeeFlow::dividing, kWye, 250.0 / 650.0).value - 0.4640) < 0.001);
    CHECK(std::abs(tee_run_loss(TeeFlow::dividing, kWye, 250.0 / 650.0).value - -0.0681) < 0.001);
}

TEST_CASE("tee losses are continuous in the flow ratio and have the slope they say") {
    for (const TeeFlow direction : {TeeFlow::combining, TeeFlow::dividing}) {
        for (const double angle : {30.0, 45.0, 52.0, 60.0, 90.0}) {
            for (const double area : {0.2, 0.35, 0.5, 1.0}) {
                const TeeShape shape{angle, area};
                for (int i = 0; i < 2000; ++i) {
                    const double q = i / 2000.0;
                    const ValueSlope branch = tee_branch_loss(direction, shape, q);
                    const ValueSlope run = tee_run_loss(direction, shape, q);
                    // No step: a change in q of 1e-9 changes K by less than 1e-6.
                    REQUIRE(std::abs(tee_branch_loss(direction, shape, q + 1e-9).value - branch.value) < 1e-6);
                    REQUIRE(std::abs(tee_run_loss(direction, shape, q + 1e-9).value - run.value) < 1e-6);
                    const double h = 1e-5;
                    const double middle = q + 0.25 / 1000.0;  // off the joints, which are multiples of 0.05
                    const auto difference = [&](auto law) {
                        return (law(direction, shape, middle + h).value - law(direction, shape, middle - h).value) / (2.0 * h) -
                               law(direction, shape, middle).slope;
                    };
                    REQUIRE(std::abs(difference(tee_branch_loss)) < 1e-6);
                    REQUIRE(std::abs(difference(tee_run_loss)) < 1e-6);
                }
            }
        }
    }
}

TEST_CASE("slanted branches bring their momentum along") {
    // Momentum along the run of a combining tee of equal bores: K = 1 - (1 - q)^2 - 2 cos(angle) q^2 (Borda-Carnot with the branch's share of
    // the momentum); the handbook rounds 2 cos(angle) to 1.74, 1.41, 1.
    for (const double angle : {30.0, 45.0, 60.0}) {
        const double q = 0.5;
        const double F = (1.0 - (1.0 - q) * (1.0 - q) - tee_run_loss(TeeFlow::combining, {angle, 1.0}, q).value) / (q * q);
        CHECK(F == ebb::test::near(2.0 * std::cos(angle * std::numbers::pi / 180.0)).epsilon(0.005));
    }
}

TEST_CASE("limits of a tee") {
    // Nothing in the branch: the run of a combining tee is a straight pipe (0). All of it in the branch of a dividing tee: the run's K is
    // M (2 - 1) = 0.3, the handbook's figure for the dead leg.
    CHECK(tee_run_loss(TeeFlow::combining, kSquare, 0.0).value == 0.0);
    CHECK(tee_run_loss(TeeFlow::dividing, kSquare, 0.0).value == 0.0);
    CHECK(tee_run_loss(TeeFlow::dividing, kSquare, 1.0).value == ebb::test::near(0.3));
    // A dividing wye's run is at its lowest, -0.0741, at one third (block F's note).
    CHECK(tee_run_loss(TeeFlow::dividing, kWye, 1.0 / 3.0).value == ebb::test::near(-0.0741).epsilon(0.001));
    CHECK(std::abs(tee_run_loss(TeeFlow::dividing, kWye, 1.0 / 3.0).slope) < 1e-12);
}

TEST_CASE("tees of unequal bores by the handbook's formulas, off its steps") {
    // Crane TP-410 (2009) chapter 2. b = branch area over run area; C, G and M of its tables, momentum factor 1.41 at 45 degrees.
    for (const double q : {0.1, 0.3, 0.39, 0.5, 0.55, 0.7, 0.9}) {
        CAPTURE(q);
        const double rest = 1.0 - q;
        const auto near = [](const ValueSlope& loss, double K) { CHECK(std::abs(loss.value - K) < 1e-12); };
        for (const double b : {0.2, 0.34, 0.36, 0.39, 0.41, 0.5, 0.9}) {
            CAPTURE(b);
            const double C = b <= 0.35 ? 1.0 : q <= 0.4 ? 0.9 * rest : 0.55;
            near(tee_branch_loss(TeeFlow::combining, {90.0, b}, q), C * (1.0 + q * q / (b * b) - 2.0 * rest * rest));
            near(tee_branch_loss(TeeFlow::combining, {45.0, b}, q), C * (1.0 + q * q / (b * b) - 2.0 * rest * rest - 1.41 * q * q / b));
            near(tee_run_loss(TeeFlow::combining, {90.0, b}, q), 1.55 * q - q * q);
            near(tee_run_loss(TeeFlow::combining, {45.0, b}, q), 1.0 - rest * rest - 1.41 * q * q / b);
            near(tee_run_loss(TeeFlow::dividing, {90.0, b}, q), b <= 0.4 ? 0.4 * q * q : (q <= 0.5 ? 2.0 : 0.3) * (2.0 * q - 1.0) * q * q);
            const bool small = std::sqrt(b) <= 2.0 / 3.0;
            near(tee_branch_loss(TeeFlow::dividing, {90.0, b}, q),
                 small ? 1.0 + q * q / (b * b) : (1.0 + 0.3 * q * q) * (1.0 + 0.3 * q * q / (b * b)));
            if (b > 0.35 && q > 0.6 && q < 0.65) continue;  // the ramp
            const double G = b <= 0.35 ? (q <= 0.4 ? 1.1 - 0.7 * q : 0.85) : (q <= 0.6 ? 1.0 - 0.6 * q : 0.6);
            near(tee_branch_loss(TeeFlow::dividing, {45.0, b}, q), G * (1.0 + q * q / (b * b) - 2.0 * q / b * std::sqrt(0.5)));
        }
    }
}
