#pragma once
// One row of a block, from the answer of a single solve; and which wishes of a layout have columns.

#include "solver/survey/survey.h"

namespace ebb::survey {

inline constexpr double kSeenBelowLeast_m = 0.0005;  ///< a depth short of its least by less cannot be seen on a wall

inline constexpr double kSpill_m3_s = 1e-9, kSpilled_m3 = 1e-6;  ///< less is no spill, as the judge has it

/// So far below the pressure of the air no water hangs, m.
double most_hanging_m(const layout::Layout& layout);

/// The wishes of the layout in the order in which settle's judge answers them.
std::vector<TargetColumn> targets_of(const layout::Layout& layout);

/// Makes room for `rows` rows, all values NaN and all states "not run".
void resize(const layout::Layout& layout, std::size_t targets, std::size_t rows, Block& block);

/// Writes row `row` from an answer. What has no solution stays NaN.
void write_row(const layout::Layout& layout, const settle::Answer& answer, std::size_t row, Block& block);

/// Of a row that has the alarm: it is this vessel's.
bool stands_below_least(const layout::Layout& layout, const Block& block, std::size_t row, std::size_t vessel);
/// Of a row that has the alarm: it is this vessel's.
bool spills_over(const Block& block, std::size_t row, std::size_t vessel);

/// Notes what hangs at a tee, if it is worth it.
void note_hanging(std::size_t row, std::size_t tee, double pressure_m, double most_m, Block& block);

/// The rows from `begin` to `end` (exclusive) of a block.
Block part_of(const Block& block, std::size_t begin, std::size_t end);

}  // namespace ebb::survey
