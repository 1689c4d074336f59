#pragma once
// What a survey is asked, found out once for the whole, for a part and for parts put together; and what becomes of the answer.

#include <cstdint>
#include <optional>
#include <string>

#include "cli/output.h"
#include "cli/survey.h"
#include "cli/survey_parts.h"
#include "netfiles/reader.h"
#include "solver/survey/counter.h"
#include "solver/survey/survey.h"

namespace ebb::cli {

/// A question and what belongs to it. Stands still: its members know one another.
struct SurveyAsked {
    const netfiles::ReadResult& read;
    std::string arrangement;
    bool first_taken = false;
    survey::Survey survey;
    survey::Question question;
    survey::Counter counter;
};

/// Nothing when something asked for cannot be: that has then been told.
std::optional<SurveyAsked> survey_asked(const netfiles::ReadResult& read, const SurveyRequest& request);

/// The words --switch would take for the same switches.
std::vector<std::string> switch_words(const layout::Layout& layout, const survey::Question& question);

/// Solves the named combinations again and shows what there is of the answer.
ExitStatus show_survey(const SurveyAsked& asked, const survey::Statistics& statistics, const SurveyRequest& request, Output& output);

/// Why two parts are not of one survey; `of_one`, `of_other`: what stands before each of the two things.
std::string what_differs(const Part& one, const Part& other, const char* of_one, const char* of_other);

/// False, with a message, when the rows would be written to where the other results go.
bool rows_are_apart(const Output& rows, const SurveyRequest& request, const Output& output);

/// False, with a message, when rows are asked for in two places.
bool rows_once(const SurveyRequest& request);

/// `--merge`.
ExitStatus merge_survey(const SurveyRequest& request, Output& output);

}  // namespace ebb::cli
