#pragma once
// Which submerged inlets drew their vessel down after a cut, how far, and what ended it.

#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/power_cut.h"

namespace ebb::time {

/// Pipes through which water left the vessel they end in, largest first. `vessels`: accounted for already.
std::vector<Backflow> backflows_of(const layout::Layout& layout, const Memory& before, const Course& cut, const std::vector<CutVessel>& vessels);

}  // namespace ebb::time
