#pragma once
// From the words of --switch to the things of the layout.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/survey.h"
#include "solver/layout/layout.h"
#include "solver/survey/question.h"

namespace ebb::cli {

struct SwitchText {
    std::vector<SwitchSaid> said;
    std::string wrong;  ///< a sentence, when it does not read
};

/// What one text of --switch says: words set apart by spaces or commas, each a name or NAME=INSERT. Either may stand in quotes, single or double, and
/// then hold anything; the quote itself is written twice in them.
SwitchText read_switches(std::string_view text);

/// The word that reads as this.
std::string switch_word(const std::string& name, const std::string& insert = {});

/// The switches named, in their order; nothing when one is unknown, cannot be switched or is named twice: all of that has then been told.
std::optional<std::vector<survey::Switch>> named_switches(const layout::Layout& layout, const layout::Conditions& arrangement,
                                                          const SurveyRequest& request);

}  // namespace ebb::cli
