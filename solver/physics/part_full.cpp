// A round gravity drain that runs part full.
//
// Circle of bore D wetted to depth y: with the arc's angle at the centre theta = 2 acos(1 - 2 y/D) = 4 asin sqrt(y/D),
//     A = D^2 (theta - sin theta)/8,  P = D theta/2,  T = D sin(theta/2),  R = A/P.
// Uniform flow (R. Manning 1891; V. T. Chow, Open-Channel Hydraulics, 1959, chapter 6): Q = A R^(2/3) S^(1/2)/n, n constant over depth.
// Over the full pipe Q/Qfull = (theta - sin theta)^(5/3)/(2 pi theta^(2/3)): rising to 1.0757 at y/D = 0.9382, then back to 1. The lower
// depth is the answer, as the upper branch is unstable; a greater flow fills the pipe.
// Critical depth (Chow, section 4-4): Q^2 T = g A^3; its specific energy y + A/(2 T) is what a calm vessel must stand over the invert.
//
// Both depths are found in theta by Newton inside a bracket that is halved when Newton leaves it: theta to 1e-14, under 12 rounds.
// theta - sin theta loses digits for a trickle, so below theta = 0.5 its series is summed: fill ratios are good to 1e-12 down to 1e-6.
//
// Range: Manning is for rough turbulent flow; in drains under 50 mm with thin films it overstates the flow (the ranges of n say so).
// Failure: none; a drain without fall is reported full.

#include "solver/physics/part_full.h"

#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/value_slope.h"

#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>

namespace ebb::physics {
namespace {

constexpr double kPi = std::numbers::pi;

/// theta - sin theta without cancellation.
double segment(double theta) {
    if (theta > 0.5) {
        return theta - std::sin(theta);
    }
    const double theta2 = theta * theta;
    double term = theta * theta2 / 6.0;
    double sum = 0.0;
    for (double k = 4.0; std::abs(term) > 1e-18 * sum; k += 2.0) {
        sum += term;
        term *= -theta2 / (k * (k + 1.0));
    }
    return sum;
}

double fill_of_angle(double theta) {
    const double s = std::sin(0.25 * theta);
    return s * s;
}

/// The angle at which a rising function of it reaches nothing, within a bracket. f returns value and slope.
template <typename Function>
double solve_angle(Function f, double low, double high) {
    double theta = 0.5 * (low + high);
    for (int i = 0; i < 100; ++i) {
        const ValueSlope at = f(theta);
        (at.value > 0.0 ? high : low) = theta;
        double next = theta - at.value / at.slope;
        if (!(next > low && next < high)) {
            next = 0.5 * (low + high);
        }
        const double moved = std::abs(next - theta);
        theta = next;
        if (moved <= 1e-15 * theta) {
            break;
        }
    }
    return theta;
}

/// The angle of critical flow for Z = Q/(sqrt(g) D^2.5): 3 ln A - ln T = 2 ln Z in the units of D.
double critical_angle(double Z) {
    const double wanted = 2.0 * std::log(Z);
    const auto f = [wanted](double theta) -> ValueSlope {
        const double part = segment(theta);
        const double half = 0.5 * theta;
        return {3.0 * std::log(part / 8.0) - std::log(std::sin(half)) - wanted,
                3.0 * (1.0 - std::cos(theta)) / part - 0.5 * std::cos(half) / std::sin(half)};
    };
    return solve_angle(f, 0.0, 2.0 * kPi);
}

double critical_number(double bore_m, double flow_m3_s) { return std::abs(flow_m3_s) / (bore_m * bore_m * std::sqrt(kGravity_m_s2 * bore_m)); }

}  // namespace

CircleSection circle_section(double fill_ratio) {
    assert(fill_ratio >= 0.0 && fill_ratio <= 1.0);
    CircleSection section;
    section.angle_rad = 4.0 * std::asin(std::sqrt(fill_ratio));
    section.area = segment(section.angle_rad) / 8.0;
    section.wetted_perimeter = 0.5 * section.angle_rad;
    section.surface_width = 2.0 * std::sqrt(fill_ratio * (1.0 - fill_ratio));
    section.hydraulic_radius = fill_ratio > 0.0 ? section.area / section.wetted_perimeter : 0.0;
    return section;
}

double full_bore_flow_m3_s(const DrainFacts& drain) {
    assert(drain.bore_m > 0.0 && drain.slope > 0.0 && drain.manning_n > 0.0);
    return bore_area_m2(drain.bore_m) * std::pow(0.25 * drain.bore_m, 2.0 / 3.0) * std::sqrt(drain.slope) / drain.manning_n;
}

double uniform_flow_ratio(double fill_ratio) {
    if (fill_ratio <= 0.0) {
        return 0.0;
    }
    const double theta = 4.0 * std::asin(std::sqrt(fill_ratio));
    return std::pow(segment(theta), 5.0 / 3.0) / (2.0 * kPi * std::pow(theta, 2.0 / 3.0));
}

double uniform_fill_ratio(double flow_ratio) {
    if (flow_ratio <= 0.0) {
        return 0.0;
    }
    if (flow_ratio >= kGreatestFlowRatio) {
        return 1.0;
    }
    const double wanted = 3.0 * std::log(2.0 * kPi * flow_ratio);
    const auto f = [wanted](double theta) -> ValueSlope {
        const double part = segment(theta);
        return {5.0 * std::log(part) - 2.0 * std::log(theta) - wanted, 5.0 * (1.0 - std::cos(theta)) / part - 2.0 / theta};
    };
    return fill_of_angle(solve_angle(f, 0.0, 4.0 * std::asin(std::sqrt(kGreatestFlowFill))));
}

double critical_fill_ratio(double bore_m, double flow_m3_s) {
    const double Z = critical_number(bore_m, flow_m3_s);
    return Z > 0.0 ? fill_of_angle(critical_angle(Z)) : 0.0;
}

double critical_energy_m(double bore_m, double flow_m3_s) {
    const double Z = critical_number(bore_m, flow_m3_s);
    if (Z <= 0.0) {
        return 0.0;
    }
    const double theta = critical_angle(Z);
    return bore_m * (fill_of_angle(theta) + segment(theta) / (16.0 * std::sin(0.5 * theta)));
}

DrainFlow drain_flow(const DrainFacts& drain, double flow_m3_s) {
    DrainFlow result;
    const double full_velocity = flow_m3_s / bore_area_m2(drain.bore_m);
    result.fill_ratio = 1.0;
    result.velocity_m_s = full_velocity;
    result.depth_m = drain.bore_m;
    result.capacity_used = std::numeric_limits<double>::infinity();
    if (drain.slope <= 0.0) {
        return result;
    }
    result.capacity_used = std::abs(flow_m3_s) / full_bore_flow_m3_s(drain);
    result.fill_ratio = uniform_fill_ratio(result.capacity_used);
    result.part_full = result.fill_ratio < 1.0;
    result.depth_m = result.fill_ratio * drain.bore_m;
    if (result.part_full) {
        const double share = 4.0 / kPi * circle_section(result.fill_ratio).area;
        result.velocity_m_s = share > 0.0 ? full_velocity / share : 0.0;
    }
    return result;
}

}  // namespace ebb::physics
