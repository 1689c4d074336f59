#pragma once
// Whether beds fill and drain in time when the layout's routines are followed. Internal to the choosing of pumps and pipes.

#include <cstdint>
#include <limits>
#include <stop_token>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::choose {

/// A time that a bed is to fill or drain in, in a routine.
struct BedInTime {
    std::int32_t routine = -1, vessel = -1;
    bool fills = true;                                                                                             ///< false: it is about draining
    double wanted_s = std::numeric_limits<double>::quiet_NaN(), got_s = std::numeric_limits<double>::quiet_NaN();  ///< got: NaN, it never does
    bool met = false;
};

bool has_time_to_keep(const layout::Vessel& vessel);

/// Routines that can tell of these vessels (1 for each looked at): one of them has a time to keep, and something in the routine waters it by turns.
std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout, const std::vector<std::uint8_t>& vessels);

/// Follows these routines; every time that these vessels have to keep and that the routine lets be judged. Empty after a stop.
std::vector<BedInTime> beds_in_time(const layout::Layout& layout, const std::vector<std::uint8_t>& vessels, const std::vector<std::int32_t>& routines,
                                    const std::stop_token& stop);

}  // namespace ebb::choose
