#pragma once

// Losses of dividing and combining tees on a header, as functions of how the flow divides.

#include "solver/physics/value_slope.h"

namespace ebb::physics {

/// Which way the water goes at a tee.
enum class TeeFlow {
    combining,  ///< branch joins the run: both flow into the combined leg
    dividing    ///< branch leaves the run: the combined leg feeds both
};

/// Shape of a tee whose run keeps its bore.
struct TeeShape {
    double branch_angle_deg = 90.0;  ///< 30 to 90, between the branch and the run
    double area_ratio = 1.0;         ///< branch area over run area, above 0, at most 1
};

/// Loss coefficient between the branch and the combined leg, and its slope with respect to the ratio.
/// branch_share = branch flow over combined flow, 0 to 1. In velocity heads of the combined leg. May be negative.
ValueSlope tee_branch_loss(TeeFlow direction, const TeeShape& shape, double branch_share);

/// Loss coefficient between the straight leg and the combined leg, on the same terms.
ValueSlope tee_run_loss(TeeFlow direction, const TeeShape& shape, double branch_share);

}  // namespace ebb::physics
