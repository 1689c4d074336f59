// Dividing and combining tees.
//
// Crane Co., Technical Paper No. 410 (2009), chapter 2, tees and wyes, all legs flanged or threaded alike. q = branch flow/combined flow,
// b = branch area/run area, K in velocity heads of the combined leg:
//   combining, branch:  C (1 + D (q/b)^2 - E (1 - q)^2 - F q^2/b)       D = 1, E = 2
//   combining, run:     1 - (1 - q)^2 - F q^2/b, and for 90 degrees 1.55 q - q^2
//   dividing, branch:   G (1 + H (q/b)^2 - J (q/b) cos angle)
//   dividing, run:      M q^2
// F is 1.74, 1.41, 1, 0 at 30, 45, 60, 90 degrees: straight between. H, J are 1, 2 up to 60 degrees and for branches up to 2/3 of the run's bore,
// else 0.3, 0; the handbook has no dividing rows between 60 and 90 degrees: the nearer one is taken. The handbook's C, G and M are pieces of q and b;
// M is continuous, C and G have small steps in q (C 0.54 to 0.55 at q = 0.4, G 0.64 to 0.60 at 0.6 and 0.82 to 0.85 at 0.4) which a solver cannot
// stand, so each step is a ramp over the 0.05 of q beyond it; elsewhere the handbook's own number.
//
// K may be negative: one stream speeds the other up. Range: q 0 to 1, run of constant bore, angle 30 to 90. Slope: dK/dq.
// Scatter between handbooks is some 20 % of a velocity head. Cost: a few operations. Failure: none.

#include "solver/physics/tees.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace ebb::physics {
namespace {

constexpr double kRamp = 0.05;  ///< width in q over which a step of the handbook is spread

/// Angle that parts the handbook's slanted wyes (to 60 degrees) from its square tees (90).
constexpr double kSlanted_deg = 75.0;

/// Bore of the branch over bore of the run up to which a square tee counts as having a small branch.
constexpr double kSmallBranch = 2.0 / 3.0;

/// `before` up to q0, the constant `after` from q0 + kRamp, straight between.
ValueSlope stepped(const ValueSlope& before, double value_at_step, double after, double q_from_step) {
    if (q_from_step <= 0.0) {
        return before;
    }
    if (q_from_step >= kRamp) {
        return {after, 0.0};
    }
    const double slope = (after - value_at_step) / kRamp;
    return {value_at_step + slope * q_from_step, slope};
}

ValueSlope product(const ValueSlope& a, const ValueSlope& b) { return {a.value * b.value, a.slope * b.value + a.value * b.slope}; }

/// F, the gain from the branch's momentum along the run.
double momentum_factor(double angle_deg) {
    constexpr std::array<double, 4> kAngle{30.0, 45.0, 60.0, 90.0};
    constexpr std::array<double, 4> kF{1.74, 1.41, 1.0, 0.0};
    for (std::size_t i = 1; i < kAngle.size(); ++i) {
        if (angle_deg <= kAngle[i]) {
            const double t = std::max(0.0, (angle_deg - kAngle[i - 1]) / (kAngle[i] - kAngle[i - 1]));
            return kF[i - 1] + t * (kF[i] - kF[i - 1]);
        }
    }
    return 0.0;
}

/// C of the combining branch.
ValueSlope combining_scale(double area_ratio, double q) {
    if (area_ratio <= 0.35) {
        return {1.0, 0.0};
    }
    return stepped({0.9 * (1.0 - q), -0.9}, 0.54, 0.55, q - 0.4);
}

/// G of the dividing branch.
ValueSlope dividing_scale(const TeeShape& shape, double q) {
    if (shape.branch_angle_deg < kSlanted_deg) {
        if (shape.area_ratio <= 0.35) {
            return stepped({1.1 - 0.7 * q, -0.7}, 0.82, 0.85, q - 0.4);
        }
        return stepped({1.0 - 0.6 * q, -0.6}, 0.64, 0.6, q - 0.6);
    }
    if (std::sqrt(shape.area_ratio) <= kSmallBranch) {
        return {1.0, 0.0};
    }
    return {1.0 + 0.3 * q * q, 0.6 * q};
}

ValueSlope combining_branch(const TeeShape& shape, double q) {
    const double b = shape.area_ratio;
    const double F = momentum_factor(shape.branch_angle_deg);
    const double rest = 1.0 - q;
    const ValueSlope bracket{1.0 + q * q / (b * b) - 2.0 * rest * rest - F * q * q / b, 2.0 * q / (b * b) + 4.0 * rest - 2.0 * F * q / b};
    return product(combining_scale(b, q), bracket);
}

ValueSlope dividing_branch(const TeeShape& shape, double q) {
    const double b = shape.area_ratio;
    const bool slanted = shape.branch_angle_deg < kSlanted_deg || std::sqrt(b) <= kSmallBranch;
    const double H = slanted ? 1.0 : 0.3;
    const double J = slanted ? 2.0 * std::cos(shape.branch_angle_deg * std::numbers::pi / 180.0) : 0.0;
    const ValueSlope bracket{1.0 + H * q * q / (b * b) - J * q / b, 2.0 * H * q / (b * b) - J / b};
    return product(dividing_scale(shape, q), bracket);
}

}  // namespace

ValueSlope tee_branch_loss(TeeFlow direction, const TeeShape& shape, double branch_share) {
    assert(branch_share >= -1e-9 && branch_share <= 1.0 + 1e-9 && shape.area_ratio > 0.0);
    return direction == TeeFlow::combining ? combining_branch(shape, branch_share) : dividing_branch(shape, branch_share);
}

ValueSlope tee_run_loss(TeeFlow direction, const TeeShape& shape, double branch_share) {
    assert(branch_share >= -1e-9 && branch_share <= 1.0 + 1e-9 && shape.area_ratio > 0.0);
    const double q = branch_share;
    if (direction == TeeFlow::combining) {
        if (shape.branch_angle_deg >= 90.0) {
            return {1.55 * q - q * q, 1.55 - 2.0 * q};
        }
        const double F = momentum_factor(shape.branch_angle_deg) / shape.area_ratio;
        return {1.0 - (1.0 - q) * (1.0 - q) - F * q * q, 2.0 * (1.0 - q) - 2.0 * F * q};
    }
    if (shape.area_ratio <= 0.4) {
        return {0.4 * q * q, 0.8 * q};
    }
    const double M = q <= 0.5 ? 2.0 : 0.3;
    return {M * (2.0 * q - 1.0) * q * q, M * (6.0 * q * q - 2.0 * q)};
}

}  // namespace ebb::physics
