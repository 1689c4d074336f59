#pragma once
// `--fill` for a person.

#include <string>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/time/first_fill.h"

namespace ebb::cli {

/// Every answer in sentences and a table; of more than two, a line for each and the whole of the longest.
std::string fills_text(const Subject& subject, const Paint& paint, const std::vector<time::FillAnswer>& answers);

}  // namespace ebb::cli
