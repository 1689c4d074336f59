#pragma once

// Losses that go with the square of the flow: fittings, ports, orifices, nozzles, filters.

#include "solver/physics/value_slope.h"

namespace ebb::physics {

/// Loss coefficients that a pipe end at a vessel has without being asked for, in velocity heads of the pipe.
inline constexpr double kEntryLoss = 0.5;  ///< flush, sharp: Crane TP-410 page A-29
inline constexpr double kExitLoss = 1.0;   ///< any shape, in water or air: the jet keeps its velocity head

/// Discharge coefficient of a sharp-edged round orifice (King and Brater, Handbook of Hydraulics; range 0.59 to 0.62).
inline constexpr double kOrificeCoefficient = 0.61;

/// Area of a round bore, m2.
double bore_area_m2(double bore_m);

/// Velocity head per flow squared, 1/(2 g A^2): h = K * this * Q^2.
double velocity_head_coefficient(double area_m2);

/// h = c Q |Q| for a coefficient c = K/(2 g A^2) >= 0, m per (m3/s)^2. Slope is 0 at rest: combine with a friction law.
ValueSlope local_loss(double coefficient_m_per_m6_s2, double flow_m3_s);

/// The square law with a linear core: h = k Q sqrt(Q^2 + q0^2), k q0^2 = 1e-8 m. k > 0. Slope > 0 everywhere.
ValueSlope square_law_loss(double coefficient_m_per_m6_s2, double flow_m3_s);

/// The exact inverse of square_law_loss: flow and its slope (m3/s per m) at a signed head.
ValueSlope square_law_flow(double coefficient_m_per_m6_s2, double head_m);

/// k of an orifice, h = k Q^2 with Q = C A sqrt(2 g h): 1/(2 g (C A)^2).
double orifice_coefficient_m_per_m6_s2(double area_m2, double discharge_coefficient = kOrificeCoefficient);

/// k of something rated by one flow at one head (nozzle, filter, float valve): head/flow^2.
double rated_coefficient_m_per_m6_s2(double rated_flow_m3_s, double rated_head_m);

/// Loss coefficient in velocity heads of the smaller pipe, for a sudden change of bore. bore_ratio = small/large, 0 to 1.
double sudden_expansion_loss(double bore_ratio);    ///< (1 - b^2)^2, Borda-Carnot, exact
double sudden_contraction_loss(double bore_ratio);  ///< 0.5 (1 - b^2), Crane TP-410 page A-26

}  // namespace ebb::physics
