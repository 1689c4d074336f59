#pragma once
// Farms from bytes: valid by construction, of every kind of element, joined anyhow, with figures from an everyday size to the edges of what the
// language can say. How far out the figures lie is the first choice of the bytes.

#include "solver/layout/layout.h"
#include "tests/fuzz/parts/bytes.h"

namespace ebb::fuzz {

/// Validated. At most about 30 things and four arrangements, the first of them "as drawn".
layout::Layout extreme_farm(Bytes& bytes);

/// A routine of the first arrangement, over some minutes to hours: pumps and valves that switch, a power cut, a failure, a draw. The layout is
/// validated again.
void add_routine(layout::Layout& layout, Bytes& bytes);

}  // namespace ebb::fuzz
