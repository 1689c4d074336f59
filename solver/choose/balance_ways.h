#pragma once
// The way water takes to a vessel, looked at against the flow.

#include <cstdint>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::choose {

struct Way {
    std::vector<std::int32_t> pipes;  ///< nearest the vessel first
    std::vector<std::int32_t> pumps;  ///< that feed it
};

/// Pipes that carry water to `vessel`, as the water of `answer` runs; pipes at rest as they are drawn; none with a shut valve, no drains.
Way way_to(const layout::Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer, std::int32_t vessel);

}  // namespace ebb::choose
