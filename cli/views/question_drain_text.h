#pragma once
// `--drain VESSEL` for a person.

#include <string>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/view.h"
#include "solver/time/drain_down.h"

namespace ebb::cli {

/// Every answer in sentences and a table; arrangements in which it drains alike are told together, of many a line for each and the worst.
std::string drains_text(const Subject& subject, const Paint& paint, const std::vector<time::DrainAnswer>& answers);

}  // namespace ebb::cli
