#include "cli/cycle_questions.h"

#include <CLI/CLI.hpp>

namespace ebb::cli {

std::span<const Question> questions() { return {}; }

void add_question_options(CLI::App& /*command*/, CycleRequest& /*request*/) {}

}  // namespace ebb::cli
