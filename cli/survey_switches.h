#pragma once
// From the words of --switch to the things of the layout.

#include <optional>
#include <string>
#include <vector>

#include "cli/survey.h"
#include "solver/layout/layout.h"
#include "solver/survey/question.h"

namespace ebb::cli {

/// The switches named, in their order; nothing when one is unknown, cannot be switched or is named twice: all of that has then been told.
std::optional<std::vector<survey::Switch>> named_switches(const layout::Layout& layout, const layout::Conditions& arrangement,
                                                          const SurveyRequest& request);

}  // namespace ebb::cli
