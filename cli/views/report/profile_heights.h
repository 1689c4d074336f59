#pragma once
// Elevations of everything that is drawn, and the vertical scale that shows them all.

#include "cli/views/report/profile_axis.h"
#include "solver/layout/layout.h"

namespace ebb::cli::profile {

/// The vessel or pond a thing belongs to; itself when it stands free.
layout::Ref home_of(const layout::Layout& layout, const layout::Ref& ref);

/// Of a vessel, or the level of a pond: what heights are counted from.
double floor_of(const layout::Layout& layout, const layout::Ref& home);

double elevation_of(const layout::Layout& layout, const layout::Ref& ref);

/// `highest_head_m`: a head that should still be on the drawing, if it is not far off.
Axis axis_of(const layout::Layout& layout, double highest_head_m);

}  // namespace ebb::cli::profile
