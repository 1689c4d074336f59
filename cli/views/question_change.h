#pragma once
// `--change FROM TO` for a person and for a program.

#include "cli/views/question_page.h"
#include "solver/time/change_over.h"

namespace ebb::cli {

void show_change(const time::ChangeOverWanted& wanted, const time::ChangeOver& answer, QuestionPage& page);

}  // namespace ebb::cli
