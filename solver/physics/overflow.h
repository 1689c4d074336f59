#pragma once

// Water over the lip of an upright pipe, over the crest of an unprimed siphon, and through drain-holes.

#include "solver/physics/fittings.h"
#include "solver/physics/value_slope.h"

namespace ebb::physics {

/// Coefficient of the weir round a lip and of the orifice it becomes (the model of docs/theory.md; Q = 2/3 C sqrt(2g) pi D h^1.5 and C A sqrt(2 g
/// h)).
inline constexpr double kLipCoefficient = 0.62;

/// Depth over the lip, in bores, at which the weir hands over to the orifice: exactly 3/8 with equal coefficients.
inline constexpr double kLipCrossing = 0.375;

/// What governs the flow over a lip. `drowned` (the pipe behind governs) is the network's to say.
enum class OverflowRegime { dry, weir, orifice, drowned };

/// Flow over the lip of an upright open pipe, m3/s, and slope; the least of weir and orifice. 0 at and below the lip.
ValueSlope overflow_flow(double bore_m, double depth_over_lip_m);

/// Which of the two is the least, or dry.
OverflowRegime overflow_regime(double bore_m, double depth_over_lip_m);

/// Depth over the lip that carries a flow >= 0, m: the inverse of overflow_flow.
double overflow_depth_m(double bore_m, double flow_m3_s);

/// Flow over the crest of an unprimed siphon: the weir of its bore, with no orifice above it.
ValueSlope crest_weir_flow(double bore_m, double depth_over_crest_m);

/// Flow through drain-holes of total area under a head over them; 0 at no head, never back.
ValueSlope drain_hole_flow(double area_m2, double head_m, double discharge_coefficient = kOrificeCoefficient);

/// Most that a downpipe carries while air can still pass up beside the water: 0.3 A sqrt(g D), m3/s (common practice; Hills 1983).
double self_venting_limit_m3_s(double bore_m);

}  // namespace ebb::physics
