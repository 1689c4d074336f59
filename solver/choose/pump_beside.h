#pragma once
// What the pumps chosen change where they were not chosen for. Internal to the choosing of pumps.

#include "solver/choose/pump_choice.h"
#include "solver/layout/layout.h"

namespace ebb::choose {

/// Fills `beside` and `routines_not_followed` of an answer: each arrangement that does not count and in which a pump with a winner runs, solved
/// as the layout is and with the winners in. After a stop it is left empty.
void look_beside(PumpsAnswer& answer, const layout::Layout& layout, const Watch& watch);

}  // namespace ebb::choose
