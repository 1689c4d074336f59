#pragma once
// `--siphon-window` for a person and for a program.

#include "cli/views/question_page.h"
#include "solver/time/siphon_window.h"

namespace ebb::cli {

void show_window(const time::SiphonWindow& window, QuestionPage& page);

}  // namespace ebb::cli
