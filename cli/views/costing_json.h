#pragma once
// What energy and years cost, as the answers of `pumps` and `pipes` say it in JSON.

#include "cli/views/json_writer.h"
#include "solver/choose/economy.h"

namespace ebb::cli {

/// Writes the member "costing", the hours a year of each of these arrangements in it.
void write_costing(const layout::Layout& layout, const choose::Costing& costing, std::span<const std::int32_t> arrangements, JsonWriter& json);

}  // namespace ebb::cli
