#pragma once
// What a pump that stops leaves unmet. Internal to the choosing of pumps.

#include <cstdint>
#include <vector>

#include "solver/choose/pump_choice.h"
#include "solver/layout/layout.h"

namespace ebb::choose {

/// Every pump of the layout in turn, one of its number stopped, in each of the arrangements.
Standby standby_of(const layout::Layout& layout, const std::vector<std::int32_t>& arrangements, const Watch& watch, double from, double to);

}  // namespace ebb::choose
