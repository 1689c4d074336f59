// `cycle --fill`: the first fill of a dry farm.

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_fill.h"
#include "cli/views/question_words.h"
#include "solver/time/first_fill.h"

namespace ebb::cli {

ExitStatus answer_fill(const CycleSession& session, QuestionPage& page) {
    time::Simulation simulation(session.layout, session.options);
    std::vector<time::FillAnswer> answers;
    ExitStatus status = ExitStatus::fine;
    bool harm = false;
    constexpr double kSpillM3 = 1e-6;
    for (const std::int32_t arrangement : session.arrangements) {
        time::FillWanted wanted{.arrangement = arrangement};
        wanted.hose_m3_s = session.request.hose_m3_s.value_or(wanted.hose_m3_s);
        answers.push_back(time::first_fill(simulation, wanted));
        const time::FillWay& way = way_to_follow(answers.back());
        harm = harm || way.spilled_m3 > kSpillM3;
        const ExitStatus ended = status_of_course(way.course);
        if (ended == ExitStatus::interrupted) {
            answers.pop_back();
            tell("interrupted: what is shown ends where it was stopped");
            status = ended;
            break;
        }
        status = ended == ExitStatus::fine ? status : ended;
    }
    write_fills(page, answers);
    return status == ExitStatus::fine && harm && session.request.common.strict ? ExitStatus::target_missed : status;
}

}  // namespace ebb::cli
