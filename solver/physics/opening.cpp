// What a round opening lets in at a depth h over its invert; bore D.
//
// In the last bore above the invert the opening is the control. A calm vessel has no velocity head, so the water passes the mouth at the
// critical depth y whose specific energy y + A/(2 T) is h, and Q = sqrt(g A^3/T): the greatest flow that energy h can drive (A wetted
// area, T surface width of the circle; V. T. Chow, Open-Channel Hydraulics, 1959, chapter 4). Above h = 1.0868 D an orifice under the
// head to its centre, Q = 0.61 (pi D^2/4) sqrt(2 g (h - D/2)), is the lesser. Real mouths lose a little more.
//
// With e = h/D and Z = Q/(sqrt(g) D^2.5) critical flow is one curve of e for every bore. Z/e^2 has no singularity before the crown, so a
// polynomial of degree 12 in t = 2 e/1.1 - 1, through Chebyshev nodes of the exact curve (solved to 1e-15), holds it to 6e-11 of itself;
// no iteration is left in the call, and its slope is the polynomial's own.
//
// An open orifice would go on to cap a pipe that runs full and sucks, which a drowned mouth does not: air stops reaching it at a
// submergence of one or two bores (common practice). So between the crossing and 2 D the cap is raised by a smooth factor from 1 to 10,
// after which the pipe's own losses always govern. That factor is our choice, not a measurement; the model of docs/theory.md speaks of the last
// bore only.
//
// Range: any h; zero at h <= 0. Continuous and rising; slope jumps down at the crossing (to 0.6 of itself). Cost: 15 ns. Failure: none.

#include "solver/physics/opening.h"

#include "solver/physics/constants.h"

#include <array>
#include <cmath>

namespace ebb::physics {
namespace {

constexpr double kFitEnd = 1.1;                    ///< e at the end of the polynomial's range
constexpr double kCrossing = 1.086845609875289;    ///< e at which the orifice of 0.61 becomes the lesser
constexpr double kCrossingFlow = 0.5190349996412;  ///< Z there, by the polynomial; 0.61 pi/4 sqrt(2 (e - 1/2)) to 1e-11
constexpr double kLift = 10.0;

/// Z/e^2 of critical flow in a circle, in powers of t = 2 e/1.1 - 1.
constexpr std::array<double, 13> kCritical{
    0.5311912916118542,     -0.0872189421610577,    -0.006686016684339147,  -0.0006105211939043863, 0.0001154419460250226,
    0.0001196161852309509,  5.790211520625647e-05,  2.037466038146621e-05,  4.779239158038941e-06,  -9.433109542015156e-08,
    -1.090581824326299e-06, -7.728167768961366e-07, -2.116128911707279e-07,
};

/// Z and dZ/de of the critical section.
ValueSlope critical(double e) {
    const double t = 2.0 / kFitEnd * e - 1.0;
    double value = kCritical.back();
    double slope = 0.0;
    for (std::size_t i = kCritical.size() - 1; i-- > 0;) {
        slope = slope * t + value;
        value = value * t + kCritical[i];
    }
    return {value * e * e, (2.0 * value + slope * (2.0 / kFitEnd) * e) * e};
}

/// Z and dZ/de of the orifice, lifted towards the sealed depth.
ValueSlope orifice(double e) {
    const double root = std::sqrt((e - 0.5) / (kCrossing - 0.5));
    const double open = kCrossingFlow * root;
    const double open_slope = 0.5 * open / (e - 0.5);
    if (e >= kOpeningSealedRatio) {
        return {kLift * open, kLift * open_slope};
    }
    constexpr double kSpan = kOpeningSealedRatio - kCrossing;
    const double t = (e - kCrossing) / kSpan;
    const double lift = 1.0 + (kLift - 1.0) * t * t * (3.0 - 2.0 * t);
    const double lift_slope = (kLift - 1.0) * 6.0 * t * (1.0 - t) / kSpan;
    return {lift * open, lift * open_slope + lift_slope * open};
}

}  // namespace

ValueSlope opening_flow(double bore_m, double depth_over_invert_m) {
    if (depth_over_invert_m <= 0.0) {
        return {0.0, 0.0};
    }
    const double e = depth_over_invert_m / bore_m;
    const ValueSlope z = e < kCrossing ? critical(e) : orifice(e);
    const double slope_scale = bore_m * std::sqrt(kGravity_m_s2 * bore_m);  // sqrt(g) D^2.5 over D
    return {z.value * slope_scale * bore_m, z.slope * slope_scale};
}

}  // namespace ebb::physics
