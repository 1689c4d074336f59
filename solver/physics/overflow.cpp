// Water over a lip, over a crest, and through drain-holes.
//
// Weir round the whole lip: Q = 2/3 C sqrt(2g) pi D h^1.5; the pipe's mouth as an orifice: Q = C (pi D^2/4) sqrt(2 g h), C = 0.62. The
// least of the two governs; equal coefficients cross at h = 3/8 D whatever D and C. The model of docs/theory.md; the coefficient's neighbours:
// King County Surface Water Design Manual ch. 5 has 9.739 D h^1.5 and 3.782 D^2 h^0.5 (ft), that is 0.580 for the weir and 0.600 for the
// orifice, 7 % and 3 % lower; Francis' sharp straight crest has 0.62. Free weir up to h/D 0.23, wholly orifice above about 0.5 (USBR,
// Design of Small Dams, drop inlets): between, real pipes surge.
//
// Flow and slope are zero at and below the lip; value is continuous at the crossing, the slope falls there by a factor of three.
// Drain-holes: orifice of 0.61 under the head over their height, with the square law's linear core, nothing back.
// Self-venting: a falling pipe keeps an air core up to Q = 0.3 A sqrt(g D) (P. D. Hills, Chem. Eng., 5 Sept 1983, page 111).
//
// Cost: one square root. Failure: none.

#include "solver/physics/overflow.h"

#include "solver/physics/constants.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace ebb::physics {
namespace {

/// 2/3 C sqrt(2g) pi D.
double weir_factor(double bore_m) { return 2.0 / 3.0 * kLipCoefficient * std::sqrt(2.0 * kGravity_m_s2) * std::numbers::pi * bore_m; }

/// C A sqrt(2g).
double mouth_factor(double bore_m) { return kLipCoefficient * bore_area_m2(bore_m) * std::sqrt(2.0 * kGravity_m_s2); }

}  // namespace

ValueSlope overflow_flow(double bore_m, double depth_over_lip_m) {
    if (depth_over_lip_m > kLipCrossing * bore_m) {
        const double flow = mouth_factor(bore_m) * std::sqrt(depth_over_lip_m);
        return {flow, 0.5 * flow / depth_over_lip_m};
    }
    return crest_weir_flow(bore_m, depth_over_lip_m);
}

OverflowRegime overflow_regime(double bore_m, double depth_over_lip_m) {
    if (depth_over_lip_m <= 0.0) {
        return OverflowRegime::dry;
    }
    return depth_over_lip_m > kLipCrossing * bore_m ? OverflowRegime::orifice : OverflowRegime::weir;
}

double overflow_depth_m(double bore_m, double flow_m3_s) {
    assert(flow_m3_s >= 0.0);
    const double weir_depth = std::pow(flow_m3_s / weir_factor(bore_m), 2.0 / 3.0);
    if (weir_depth <= kLipCrossing * bore_m) {
        return weir_depth;
    }
    const double root = flow_m3_s / mouth_factor(bore_m);
    return root * root;
}

ValueSlope crest_weir_flow(double bore_m, double depth_over_crest_m) {
    if (depth_over_crest_m <= 0.0) {
        return {0.0, 0.0};
    }
    const double slope_part = weir_factor(bore_m) * std::sqrt(depth_over_crest_m);
    return {slope_part * depth_over_crest_m, 1.5 * slope_part};
}

ValueSlope drain_hole_flow(double area_m2, double head_m, double discharge_coefficient) {
    if (head_m <= 0.0) {
        return {0.0, 0.0};
    }
    return square_law_flow(orifice_coefficient_m_per_m6_s2(area_m2, discharge_coefficient), head_m);
}

double self_venting_limit_m3_s(double bore_m) { return 0.3 * bore_area_m2(bore_m) * std::sqrt(kGravity_m_s2 * bore_m); }

}  // namespace ebb::physics
