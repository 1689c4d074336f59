// `cycle --power-cut`: the pumps stop, the water comes home, the power returns.

#include <algorithm>

#include "cli/ask_each.h"
#include "cli/cycle_questions.h"
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
    const auto judge = [](const time::PowerCutAnswer& answer) {
        const ExitStatus cut = status_of_course(answer.cut), restart = status_of_course(answer.restart);
        return Told{cut == ExitStatus::interrupted || restart == ExitStatus::fine ? cut : restart, cut_does_harm(answer)};
    };
    return ask_each(session, wanted(session), &time::power_cut, judge, [&](const auto& answers) { write_cuts(page, answers); });
}

}  // namespace ebb::cli
