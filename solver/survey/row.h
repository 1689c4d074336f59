#pragma once
// One row of a block, from the answer of a single solve; and which wishes of a layout have columns.

#include "solver/survey/survey.h"

namespace ebb::survey {

/// The wishes of the layout in the order in which settle's judge answers them.
std::vector<TargetColumn> targets_of(const layout::Layout& layout);

/// Makes room for `rows` rows, all values NaN and all states "not run".
void resize(const layout::Layout& layout, std::size_t targets, std::size_t rows, Block& block);

/// Writes row `row` from an answer. What has no solution stays NaN.
void write_row(const layout::Layout& layout, const settle::Answer& answer, std::size_t row, Block& block);

/// The rows from `begin` to `end` (exclusive) of a block.
Block part_of(const Block& block, std::size_t begin, std::size_t end);

}  // namespace ebb::survey
