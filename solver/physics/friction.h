#pragma once

// Friction of a full round pipe: Darcy-Weisbach with the exact Colebrook-White factor, and Hazen-Williams.
// Flow is signed; a loss has the sign of its flow and a positive slope (odd in the flow).

#include "solver/physics/value_slope.h"

namespace ebb::physics {

/// Reynolds number up to which flow is laminar, and from which it is turbulent (the model of docs/theory.md).
inline constexpr double kLaminarReynolds = 2000.0;
inline constexpr double kTurbulentReynolds = 4000.0;

/// What make_darcy_pipe wants to know of a pipe. All > 0 but the roughness, which may be 0.
struct DarcyPipeFacts {
    double length_m = 0.0;
    double bore_m = 0.0;
    double roughness_m = 0.0;
    double kinematic_viscosity_m2_s = 0.0;
};

/// Everything of a full round pipe that does not change with its flow; made once per pipe and water.
struct DarcyPipe {
    double area_m2 = 0.0;
    double reynolds_per_flow = 0.0;      ///< |Q| in m3/s times this is the Reynolds number
    double laminar_m_per_m3_s = 0.0;     ///< h = laminar * Q up to Re 2000
    double turbulent_m_per_m6_s2 = 0.0;  ///< h = f * turbulent * Q |Q|; L/(D 2 g A^2)
    double relative_roughness = 0.0;     ///< k/D
    /// Between the two laws h = ((c3 t + c2) t + c1) t + c0 with t = (Re - 2000)/2000: Hermite cubic of f Re^2, scaled to m.
    double hermite_c0_m = 0.0, hermite_c1_m = 0.0, hermite_c2_m = 0.0, hermite_c3_m = 0.0;
};

/// Prepares the loss of a pipe by Darcy-Weisbach; the figures must be above 0 (length and roughness may be 0), as validate() sees to.
DarcyPipe make_darcy_pipe(const DarcyPipeFacts& facts);

/// Darcy friction factor by Colebrook-White with the constants 3.7 and 2.51, solved to rounding error.
/// Valid for any reynolds > 0 as a formula; physically from Re 4000. relative_roughness >= 0.
double colebrook_friction_factor(double reynolds, double relative_roughness);

/// Darcy friction factor of the whole range, with the laminar law and the joining cubic (for reports).
double darcy_friction_factor(const DarcyPipe& pipe, double flow_m3_s);

/// Friction loss along the pipe, m, and its slope, m per m3/s. Slope > 0 for every flow when the length is > 0.
ValueSlope darcy_loss(const DarcyPipe& pipe, double flow_m3_s);

/// The same, started from the 1/sqrt(f) this pipe had at its last turbulent flow (0: none), which it renews.
/// Gives what the other form gives, to 1e-14 relative, with one logarithm instead of two when the flow has moved little.
ValueSlope darcy_loss(const DarcyPipe& pipe, double flow_m3_s, double& inverse_sqrt_f_cache);

/// The law h = factor L Q^flow_power / (C^flow_power D^bore_power), SI. Its authors printed 4.727 for feet; the literature turns that into SI
/// in several ways, which differ by up to 4 % of head.
struct HazenConstants {
    double factor = 10.67;
    double flow_power = 1.852;
    double bore_power = 4.8704;
};

/// What make_hazen_pipe wants to know of a pipe. All > 0.
struct HazenPipeFacts {
    double length_m = 0.0;
    double bore_m = 0.0;
    double coefficient = 150.0;  ///< C
    HazenConstants law = {};
};

/// Everything of a Hazen-Williams pipe that does not change with its flow.
struct HazenPipe {
    double area_m2 = 0.0;
    double resistance = 0.0;  ///< h = resistance * |Q|^(flow_power - 1) Q, SI
    double flow_power = 1.852;
    double slow_flow_m3_s = 0.0;  ///< flow at 1 mm/s: below it h = Q (alpha + beta |Q|)
    double slow_alpha_m_per_m3_s = 0.0;
    double slow_beta_m_per_m6_s2 = 0.0;
};

/// The same by Hazen-Williams.
HazenPipe make_hazen_pipe(const HazenPipeFacts& facts);

/// Friction loss by Hazen-Williams, h = 10.67 L Q^1.852/(C^1.852 D^4.8704) or with the constants it was made with, m; slope > 0 for every flow.
ValueSlope hazen_williams_loss(const HazenPipe& pipe, double flow_m3_s);

}  // namespace ebb::physics
