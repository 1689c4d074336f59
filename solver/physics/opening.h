#pragma once

// What a round opening in the wall of a vessel can let in, at a depth over its invert.

#include "solver/physics/value_slope.h"

namespace ebb::physics {

/// From this depth on, in bores, the opening runs full and sealed, and no longer governs.
inline constexpr double kOpeningSealedRatio = 2.0;

/// Most that the opening lets in, m3/s, and slope. 0 at and below the invert; continuous and rising above.
/// Up to about 1.1 bores the critical section of a circle, then an orifice of 0.61, lifted to ten times itself between there and
/// two bores, where the mouth is drowned and the pipe behind it governs alone. Finite for every depth.
ValueSlope opening_flow(double bore_m, double depth_over_invert_m);

}  // namespace ebb::physics
