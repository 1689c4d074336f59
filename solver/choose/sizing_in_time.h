#pragma once
// What the steady search for sizes cannot see: beds that fill too late in a routine, and drains that are narrower than what feeds them.
// Internal to the choosing of pipe sizes.

#include <stop_token>
#include <vector>

#include "solver/choose/sizing_answer.h"

namespace ebb::choose {

/// Routines that let the time of any bed be judged.
std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout);

/// Beds with a time to keep about which `kept` says nothing.
std::vector<std::int32_t> beds_not_seen(const layout::Layout& layout, const std::vector<BedInTime>& kept);

/// Every time that beds have to keep, in these routines. Empty after a stop.
std::vector<BedInTime> beds_in_time(const layout::Layout& layout, const std::vector<std::int32_t>& routines, const std::stop_token& stop);

/// Asks more water for every bed that filled too late: in the arrangement of the routine, or, where that does not count or does not feed the bed
/// (beds watered in turn), in all that do. `solved`: the design that was too late, one answer for each arrangement of the problem.
/// False when nothing more could be asked.
bool ask_more(const SizingProblem& problem, const std::vector<settle::Answer>& solved, const std::vector<BedInTime>& kept,
              std::vector<FeedAsked>& feeds);

/// Chosen drains of the design that are narrower than the standpipe, siphon or drain that gives them water.
std::vector<NarrowDrain> narrow_drains(const SizingProblem& problem, const layout::Layout& sized);

}  // namespace ebb::choose
