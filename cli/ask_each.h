#pragma once
// A question asked of several arrangements or routines, one after the other: what it comes to for the exit status, and what is kept when
// Ctrl-C ends it in the middle.

#include <utility>
#include <vector>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "solver/time/simulation.h"

namespace ebb::cli {

/// How one answer ended, and whether it tells of harm that --strict counts.
struct Told {
    ExitStatus ended = ExitStatus::fine;
    bool harm = false;
};

/// `ask`: (Simulation&, wanted) -> answer. `judge`: (answer) -> Told. `write`: (answers), those that were finished.
template <typename Wanted, typename Ask, typename Judge, typename Write>
ExitStatus ask_each(const CycleSession& session, const std::vector<Wanted>& wanted, Ask ask, Judge judge, Write write) {
    time::Simulation simulation(session.layout, session.options);
    std::vector<decltype(ask(simulation, wanted.front()))> answers;
    ExitStatus status = ExitStatus::fine;
    bool harm = false;
    for (const Wanted& one : wanted) {
        answers.push_back(ask(simulation, one));
        const Told told = judge(answers.back());
        if (told.ended == ExitStatus::interrupted) {
            answers.pop_back();
            tell("interrupted: what is shown ends where it was stopped");
            status = told.ended;
            break;
        }
        harm = harm || told.harm;
        status = told.ended == ExitStatus::fine ? status : told.ended;
    }
    write(answers);
    return status == ExitStatus::fine && harm && session.request.common.strict ? ExitStatus::target_missed : status;
}

}  // namespace ebb::cli
