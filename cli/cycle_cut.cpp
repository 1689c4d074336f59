// `cycle --power-cut`: the pumps stop, the water comes home, the power returns.

#include <algorithm>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_cut.h"
#include "cli/views/question_words.h"
#include "solver/time/power_cut.h"

namespace ebb::cli {
namespace {

/// What is asked: every chosen arrangement, or every routine named.
std::vector<time::PowerCutWanted> wanted(const CycleSession& session) {
    std::vector<time::PowerCutWanted> all;
    const auto& routines = session.layout.routines;
    for (std::size_t r = 0; r < routines.size(); ++r) {
        const auto& asked = session.request.routines;
        if (std::find(asked.begin(), asked.end(), routines[r].name) != asked.end()) {
            all.push_back({.arrangement = routines[r].arrangement, .routine = static_cast<std::int32_t>(r)});
        }
    }
    if (session.request.routines.empty()) {
        for (const std::int32_t arrangement : session.arrangements) {
            all.push_back({.arrangement = arrangement});
        }
    }
    for (time::PowerCutWanted& one : all) {
        one.lasts_s = session.request.lasts_s.value_or(time::kUnknown);
    }
    return all;
}

}  // namespace

ExitStatus answer_power_cut(const CycleSession& session, QuestionPage& page) {
    time::Simulation simulation(session.layout, session.options);
    std::vector<time::PowerCutAnswer> answers;
    ExitStatus status = ExitStatus::fine;
    bool harm = false;
    for (const time::PowerCutWanted& one : wanted(session)) {
        answers.push_back(time::power_cut(simulation, one));
        const time::PowerCutAnswer& answer = answers.back();
        harm = harm || cut_does_harm(answer);
        for (const time::Course* course : {&answer.cut, &answer.restart}) {
            if (const ExitStatus ended = status_of_course(*course); ended != ExitStatus::fine && status != ExitStatus::interrupted) {
                status = ended;
            }
        }
        if (status == ExitStatus::interrupted) {
            answers.pop_back();
            tell("interrupted: what is shown ends where it was stopped");
            break;
        }
    }
    write_cuts(page, answers);
    return status == ExitStatus::fine && harm && session.request.common.strict ? ExitStatus::target_missed : status;
}

}  // namespace ebb::cli
