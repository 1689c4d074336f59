#pragma once
// Which vessels are filled through which.

#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/first_fill.h"

namespace ebb::time {

/// The loops of an arrangement, with vessel, members, wanted_m3 and up_to_depth_m. A vessel that starts empty and nothing reaches is in none.
std::vector<FilledLoop> fill_loops(const layout::Layout& layout, const layout::Conditions& conditions, const std::vector<double>& running_depth_m);

}  // namespace ebb::time
