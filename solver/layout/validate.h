#pragma once
// Makes a layout valid: resolves names, fills what follows from other entries, and says everything that is wrong at once.

#include <vector>

#include "solver/layout/problems.h"

namespace ebb::layout {

/// Resolves every id of `layout` to an index, adds the arrangement "as drawn" when there is none, and returns all errors found
/// (severity error only; empty = the layout is valid and may be solved). Never throws; a layout with errors must not be solved.
std::vector<Problem> validate(Layout& layout);

/// What looks doubtful in a valid layout without solving it: inlet height not said, a drain above the lip, adverse falls, a pump against a
/// shut valve in some arrangement, values off by a ratio of units (US/imperial gallon, foot/metre, psi/metre, 50/60 Hz) and so on.
std::vector<Problem> doubts(const Layout& layout);

}  // namespace ebb::layout
