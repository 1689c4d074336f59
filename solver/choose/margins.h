#pragma once
// How far a target of the layout is met or missed, on one scale.

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "solver/settle/answer.h"

namespace ebb::choose {

/// Margin of a target: 0 when just met, positive when there is something to spare, negative when it is missed. Of an inflow got/wanted - 1;
/// of a turnover wanted/got - 1 (so that 0.1 is a tenth more flow, as for an inflow), -1 without flow; of a pressure (got - wanted) over
/// max(wanted, 1 m).
double margin_of(const settle::Target& target);

/// The target with the least margin of an answer, among those asked for (`Target::asked`); -1 when there is none.
std::int32_t worst_target(const settle::Answer& answer);

/// Least margin of an answer; +infinity without targets; -infinity when it is not solved.
double worst_margin(const settle::Answer& answer);

}  // namespace ebb::choose
