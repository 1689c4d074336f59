#pragma once
// The answer to `--power-cut`, written to its page.

#include <vector>

#include "cli/views/question_page.h"
#include "solver/time/power_cut.h"

namespace ebb::cli {

/// True when water goes over a rim, or a pump runs dry when the power is back: what --strict counts as a target missed.
bool cut_does_harm(const time::PowerCutAnswer& answer);

/// All answers of one question: of every arrangement or routine asked for.
void write_cuts(QuestionPage& page, const std::vector<time::PowerCutAnswer>& answers);

}  // namespace ebb::cli
