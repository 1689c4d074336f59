#pragma once
// The answer to `--fill`, written to its page.

#include <vector>

#include "cli/views/question_page.h"
#include "solver/time/first_fill.h"

namespace ebb::cli {

/// The way that is told as the one to follow: by hand where a pump left on would gulp, else with the pumps left on.
const time::FillWay& way_to_follow(const time::FillAnswer& answer);

void write_fills(QuestionPage& page, const std::vector<time::FillAnswer>& answers);

}  // namespace ebb::cli
