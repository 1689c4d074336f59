// Friction of a full round pipe.
//
// Darcy-Weisbach: h = f L/D v^2/2g, written h = f T Q|Q| with T = L/(D 2 g A^2).
//   up to Re 2000       f = 64/Re: h is linear in Q (Hagen 1839, Poiseuille 1841)
//   from Re 4000        1/sqrt(f) = -2 log10(k/(3.7 D) + 2.51/(Re sqrt(f))) (C. F. Colebrook, J. Inst. Civil Engineers 11 (1939) 133)
//   between             the cubic in Re that takes value and slope of f Re^2 from both laws. Its slope is a quarter of the chord or
//                       less at the lower end and about 1.1 chords at the upper: below three chords such a cubic cannot turn (F. N.
//                       Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238), so h rises
//
// With X = 1/sqrt(f), a = k/(3.7 D), b = 2.51/Re, y = a + b X and c = 2/ln 10, Colebrook's equation is g(X) = X + c ln y = 0. g rises
// and is concave. Moving X by d moves y by its share w = b d/y, and with r = c b/y, q = r/(1 + r) the move that solves the equation
// exactly obeys w = s + q (w^2/2 - w^3/3 + w^4/4 ...), s = -g b/(y (1 + r)): Newton's own step and the bend of the logarithm. Inverted,
//     w = s (1 + q/2 s + (q^2/2 - q/3) s^2 + (5/8 q^3 - 5/6 q^2 + q/4) s^3 + (7/8 q^4 - 7/4 q^3 + 13/12 q^2 - q/5) s^4 + ...)
// which is cut there; what is left is below q/6 s^6, with q < 0.17. A step of |s| < 0.004 therefore ends at rounding error, and the loop
// stops after it. The start comes from the bits of the number, mostly within that reach: one logarithm per call, and the pipe's
// last X is within it while the flow has moved by less than about 3 %. Slope: d ln f/d ln Re = -2 q, so dh/dQ = 2 (h/Q)/(1 + r).
//
// Range: k/D from 0 to 0.05 as Moody's chart has it; the formula itself holds on. Signs: h has the sign of Q. Failure: none.
//
// Hazen-Williams: h = 10.67 L Q^1.852/(C^1.852 D^4.8704), SI (the constants of docs/theory.md). Its slope vanishes at rest, so that below 1 mm/s
// h = Q (alpha + beta |Q|), joined in value and slope: alpha = 0.148 R q^0.852, beta = 0.852 R q^-0.148 at the joining flow q.
//
// Cost (tests/bench/friction_bench.cpp, one core of 2.4 GHz): 35 ns for the factor, 34 ns from a cached start, 17 ns for Hazen-Williams.

#include "solver/physics/friction.h"

#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace ebb::physics {
namespace {

constexpr double kTwoOverLn10 = 2.0 / std::numbers::ln10;

/// Colebrook's equation at one pipe and flow: y = rough + smooth * X.
struct Colebrook {
    double rough = 0.0;   ///< k/(3.7 D)
    double smooth = 0.0;  ///< 2.51/Re
};

/// ln x for positive normal x, to 6e-4: exponent from the bits, mantissa by a cubic through ln at the Chebyshev nodes of 1 to 2.
double rough_ln(double x) {
    constexpr std::uint64_t kMantissa = 0x000f'ffff'ffff'ffffULL;
    constexpr std::uint64_t kExponentOfOne = 0x3ff0'0000'0000'0000ULL;
    const auto bits = std::bit_cast<std::uint64_t>(x);
    const auto exponent = static_cast<double>(static_cast<std::int64_t>(bits >> 52U) - 1023);
    const auto mantissa = std::bit_cast<double>((bits & kMantissa) | kExponentOfOne);
    return std::numbers::ln2 * exponent + ((0.10584377 * mantissa - 0.71172693) * mantissa + 2.08717855) * mantissa - 1.48072324;
}

/// 1/sqrt(f) to a few thousandths for smooth and for rough pipes, to a few hundredths between: one substitution into Colebrook's equation from the
/// smooth law 1.8 log10(Re/6.9).
double colebrook_start(const Colebrook& pipe, double reynolds) {
    const double guess = std::max(0.9 * kTwoOverLn10 * rough_ln(reynolds * (1.0 / 6.9)), 1.0);
    return -kTwoOverLn10 * rough_ln(pipe.rough + pipe.smooth * guess);
}

/// A solved X = 1/sqrt(f) with what the slope wants of it.
struct ColebrookRoot {
    double X = 0.0;
    double y = 0.0;  ///< rough + smooth * X
};

/// Solves from a start of any quality > 0; one that proves far off is replaced by our own.
ColebrookRoot colebrook_solve(const Colebrook& pipe, double reynolds, double start) {
    constexpr double kLastStep = 4e-3;  // the share of y by which the last step may move it
    constexpr double kFarOff = 0.3;     // where the series is no longer to be trusted
    constexpr int kMostSteps = 20;      // four are the most ever seen; the rest bounds the loop
    const double pull = kTwoOverLn10 * pipe.smooth;
    ColebrookRoot root{start, pipe.rough + pipe.smooth * start};
    for (int i = 0; i < kMostSteps; ++i) {
        // Everything but s can be had while the logarithm is still on its way.
        const double inverse = 1.0 / (root.y * (root.y + pull));
        const double q = pull * root.y * inverse;
        const double a3 = q * (0.5 * q - 1.0 / 3.0);
        const double a4 = q * ((0.625 * q - 5.0 / 6.0) * q + 0.25);
        const double a5 = q * (((0.875 * q - 1.75) * q + 13.0 / 12.0) * q - 0.2);
        const double residual = root.X + kTwoOverLn10 * std::log(root.y);
        const double s = -residual * pipe.smooth * root.y * inverse;
        if (i == 0 && !(std::abs(s) < kFarOff)) {
            root.X = colebrook_start(pipe, reynolds);
            root.y = pipe.rough + pipe.smooth * root.X;
            continue;
        }
        const double newton = -residual * root.y * root.y * inverse;
        root.X += newton * (1.0 + s * (0.5 * q + s * (a3 + s * (a4 + s * a5))));
        root.y = pipe.rough + pipe.smooth * root.X;
        if (std::abs(s) < kLastStep) {
            break;
        }
    }
    return root;
}

/// Friction factor and 1/(1 + r) at a solved X.
struct TurbulentFactor {
    double friction_factor = 0.0;
    double slope_share = 0.0;  ///< dh/dQ = 2 h/Q times this
};

TurbulentFactor turbulent_factor(const Colebrook& pipe, const ColebrookRoot& root) {
    const double denominator = root.y + kTwoOverLn10 * pipe.smooth;
    const double square = root.X * root.X;
    const double inverse = 1.0 / (square * denominator);
    return {denominator * inverse, square * root.y * inverse};
}

Colebrook colebrook_at(double reynolds, double relative_roughness) { return {relative_roughness * (1.0 / 3.7), 2.51 / reynolds}; }

/// The two laws that need no logarithm: laminar and joining. Re below kTurbulentReynolds.
ValueSlope slow_loss(const DarcyPipe& pipe, double flow_m3_s, double reynolds) {
    if (reynolds <= kLaminarReynolds) {
        return {pipe.laminar_m_per_m3_s * flow_m3_s, pipe.laminar_m_per_m3_s};
    }
    constexpr double kSpan = kTurbulentReynolds - kLaminarReynolds;
    const double t = (reynolds - kLaminarReynolds) / kSpan;
    const double loss = ((pipe.hermite_c3_m * t + pipe.hermite_c2_m) * t + pipe.hermite_c1_m) * t + pipe.hermite_c0_m;
    const double slope_t = (3.0 * pipe.hermite_c3_m * t + 2.0 * pipe.hermite_c2_m) * t + pipe.hermite_c1_m;
    return {std::copysign(loss, flow_m3_s), slope_t * pipe.reynolds_per_flow / kSpan};
}

ValueSlope turbulent_loss(const DarcyPipe& pipe, double flow_m3_s, const TurbulentFactor& factor) {
    const double per_flow = factor.friction_factor * pipe.turbulent_m_per_m6_s2 * std::abs(flow_m3_s);
    return {per_flow * flow_m3_s, 2.0 * per_flow * factor.slope_share};
}

}  // namespace

DarcyPipe make_darcy_pipe(const DarcyPipeFacts& facts) {
    assert(facts.length_m >= 0.0 && facts.bore_m > 0.0 && facts.roughness_m >= 0.0 && facts.kinematic_viscosity_m2_s > 0.0);
    DarcyPipe pipe;
    pipe.area_m2 = bore_area_m2(facts.bore_m);
    pipe.reynolds_per_flow = facts.bore_m / (pipe.area_m2 * facts.kinematic_viscosity_m2_s);
    pipe.turbulent_m_per_m6_s2 = facts.length_m / facts.bore_m * velocity_head_coefficient(pipe.area_m2);
    pipe.laminar_m_per_m3_s = 64.0 * pipe.turbulent_m_per_m6_s2 / pipe.reynolds_per_flow;
    pipe.relative_roughness = facts.roughness_m / facts.bore_m;

    // f Re^2 and its slope in Re at either end, then times T/(Re per Q)^2 for metres of head.
    constexpr double kSpan = kTurbulentReynolds - kLaminarReynolds;
    const double scale = pipe.turbulent_m_per_m6_s2 / (pipe.reynolds_per_flow * pipe.reynolds_per_flow);
    const Colebrook colebrook = colebrook_at(kTurbulentReynolds, pipe.relative_roughness);
    const TurbulentFactor factor =
        turbulent_factor(colebrook, colebrook_solve(colebrook, kTurbulentReynolds, colebrook_start(colebrook, kTurbulentReynolds)));
    const double low = 64.0 * kLaminarReynolds * scale;
    const double low_slope = 64.0 * kSpan * scale;
    const double high = factor.friction_factor * kTurbulentReynolds * kTurbulentReynolds * scale;
    const double high_slope = 2.0 * factor.friction_factor * kTurbulentReynolds * factor.slope_share * kSpan * scale;
    pipe.hermite_c0_m = low;
    pipe.hermite_c1_m = low_slope;
    pipe.hermite_c2_m = 3.0 * (high - low) - 2.0 * low_slope - high_slope;
    pipe.hermite_c3_m = 2.0 * (low - high) + low_slope + high_slope;
    return pipe;
}

double colebrook_friction_factor(double reynolds, double relative_roughness) {
    assert(reynolds > 0.0 && relative_roughness >= 0.0);
    const Colebrook pipe = colebrook_at(reynolds, relative_roughness);
    const double X = colebrook_solve(pipe, reynolds, colebrook_start(pipe, reynolds)).X;
    return 1.0 / (X * X);
}

double darcy_friction_factor(const DarcyPipe& pipe, double flow_m3_s) {
    const double reynolds = pipe.reynolds_per_flow * std::abs(flow_m3_s);
    if (reynolds >= kTurbulentReynolds) {
        return colebrook_friction_factor(reynolds, pipe.relative_roughness);
    }
    if (reynolds <= kLaminarReynolds) {
        return 64.0 / reynolds;
    }
    return slow_loss(pipe, flow_m3_s, reynolds).value / (pipe.turbulent_m_per_m6_s2 * flow_m3_s * std::abs(flow_m3_s));
}

ValueSlope darcy_loss(const DarcyPipe& pipe, double flow_m3_s) {
    double no_cache = 0.0;
    return darcy_loss(pipe, flow_m3_s, no_cache);
}

ValueSlope darcy_loss(const DarcyPipe& pipe, double flow_m3_s, double& inverse_sqrt_f_cache) {
    const double reynolds = pipe.reynolds_per_flow * std::abs(flow_m3_s);
    if (reynolds < kTurbulentReynolds) {
        return slow_loss(pipe, flow_m3_s, reynolds);
    }
    const Colebrook colebrook = colebrook_at(reynolds, pipe.relative_roughness);
    const double start = inverse_sqrt_f_cache > 0.0 ? inverse_sqrt_f_cache : colebrook_start(colebrook, reynolds);
    const ColebrookRoot root = colebrook_solve(colebrook, reynolds, start);
    inverse_sqrt_f_cache = root.X;
    return turbulent_loss(pipe, flow_m3_s, turbulent_factor(colebrook, root));
}

HazenPipe make_hazen_pipe(const HazenPipeFacts& facts) {
    assert(facts.length_m >= 0.0 && facts.bore_m > 0.0 && facts.coefficient > 0.0);
    constexpr double kSlow_m_s = 1e-3;
    HazenPipe pipe;
    pipe.area_m2 = bore_area_m2(facts.bore_m);
    pipe.flow_power = facts.law.flow_power;
    pipe.resistance =
        facts.law.factor * facts.length_m / (std::pow(facts.coefficient, pipe.flow_power) * std::pow(facts.bore_m, facts.law.bore_power));
    pipe.slow_flow_m3_s = kSlow_m_s * pipe.area_m2;
    const double secant = pipe.resistance * std::pow(pipe.slow_flow_m3_s, pipe.flow_power - 1.0);
    pipe.slow_alpha_m_per_m3_s = (2.0 - pipe.flow_power) * secant;
    pipe.slow_beta_m_per_m6_s2 = (pipe.flow_power - 1.0) * secant / pipe.slow_flow_m3_s;
    return pipe;
}

ValueSlope hazen_williams_loss(const HazenPipe& pipe, double flow_m3_s) {
    const double size = std::abs(flow_m3_s);
    if (size <= pipe.slow_flow_m3_s) {
        return {flow_m3_s * (pipe.slow_alpha_m_per_m3_s + pipe.slow_beta_m_per_m6_s2 * size),
                pipe.slow_alpha_m_per_m3_s + 2.0 * pipe.slow_beta_m_per_m6_s2 * size};
    }
    const double secant = pipe.resistance * std::pow(size, pipe.flow_power - 1.0);
    return {secant * flow_m3_s, pipe.flow_power * secant};
}

}  // namespace ebb::physics
