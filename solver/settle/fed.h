#pragma once
// Which vessels an arrangement means to feed: where water can come from a source by open ways.

#include <cstdint>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::settle {

/// Per vessel of a validated layout: 1 when water of a running pump, a pond or a supply can come to it through pipes without a shut valve,
/// through vessels and their overflows too; else 0. A question of valves and switches alone: no level, no head, no flow is looked at.
std::vector<std::uint8_t> fed_vessels(const layout::Layout& layout, const layout::Conditions& conditions);

/// The same with every valve open and every pump running: 0 where the layout as drawn has no way at all.
std::vector<std::uint8_t> feedable_vessels(const layout::Layout& layout);

}  // namespace ebb::settle
