#pragma once
// The questions of `cycle` that are asked in one word, without a routine: `--power-cut`, `--fill` and the like.
//
// To add one: declare its answer here, write it in a file of its own, and give it its line in add_question_options() and in
// questions(). Each writes itself to the page: JSON as one object that begins with "asks", CSV as rows, text as it likes.

#include <span>

#include "cli/cycle.h"
#include "cli/views/question_page.h"

namespace ebb::cli {

/// One question: whether it was asked, and what answers it. The answer returns fine, no_solution, target_missed (only with
/// --strict) or interrupted; command_line when a name it was given is unknown (told on standard error, nothing written).
struct Question {
    bool (*asked)(const CycleRequest& request);
    ExitStatus (*answer)(const CycleSession& session, QuestionPage& page);
};

ExitStatus answer_power_cut(const CycleSession& session, QuestionPage& page);
ExitStatus answer_fill(const CycleSession& session, QuestionPage& page);
ExitStatus answer_drain(const CycleSession& session, QuestionPage& page);
ExitStatus answer_if(const CycleSession& session, QuestionPage& page);
ExitStatus answer_change(const CycleSession& session, QuestionPage& page);
ExitStatus answer_siphon_window(const CycleSession& session, QuestionPage& page);

/// Every question there is, in the order in which they are answered.
std::span<const Question> questions();

/// Their options.
void add_question_options(CLI::App& command, CycleRequest& request);

}  // namespace ebb::cli
