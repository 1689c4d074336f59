#pragma once
// The answer to `--drain VESSEL`, written to its page.

#include <vector>

#include "cli/views/question_page.h"
#include "solver/time/drain_down.h"

namespace ebb::cli {

void write_drains(QuestionPage& page, const std::vector<time::DrainAnswer>& answers);

}  // namespace ebb::cli
