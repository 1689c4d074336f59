#pragma once
// Whether beds fill and drain in time with a pump put in. Internal to the choosing of pumps.

#include <cstdint>
#include <stop_token>
#include <vector>

#include "solver/choose/pump_choice.h"
#include "solver/layout/layout.h"

namespace ebb::choose {

/// Routines in which a bed with a time to keep gets water that this pump lifts.
std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout, std::int32_t pump);

/// Follows these routines of a layout with the pump in its place; every time that a bed fed by it is to keep. Empty after a stop.
std::vector<BedInTime> beds_in_time(const layout::Layout& layout, std::int32_t pump, const std::vector<std::int32_t>& routines,
                                    const std::stop_token& stop);

/// The layout with the candidate put in: model and number, and a `run` line in every arrangement whose speed it changes.
layout::Layout with_candidate(const layout::Layout& layout, std::int32_t pump, const Candidate& candidate);

}  // namespace ebb::choose
