// `cycle --drain VESSEL`: what feeds it is shut, and it is left to drain.

#include <fmt/format.h>

#include <algorithm>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_drain.h"
#include "cli/views/question_words.h"
#include "cli/words.h"
#include "solver/time/drain_down.h"

namespace ebb::cli {
namespace {

/// Index of the vessel asked for; -1 when there is none of that name, and that has been said.
std::int32_t vessel_asked(const CycleSession& session) {
    const auto& vessels = session.layout.vessels;
    const std::string& wanted = session.request.drain;
    const auto found = std::find_if(vessels.begin(), vessels.end(), [&](const layout::Vessel& vessel) { return vessel.id == wanted; });
    if (found != vessels.end()) {
        return static_cast<std::int32_t>(found - vessels.begin());
    }
    std::vector<std::string> names;
    for (const layout::Vessel& vessel : vessels) {
        names.push_back(vessel.id);
    }
    const std::string near = nearest_name(wanted, names);
    constexpr std::size_t kNamed = 8;
    tell(fmt::format("{} has no vessel '{}'; {}", session.request.common.layout_file, wanted,
                     near.empty() ? "it has " + in_few_words(names, kNamed) : fmt::format("did you mean '{}'?", near)));
    return -1;
}

}  // namespace

ExitStatus answer_drain(const CycleSession& session, QuestionPage& page) {
    const std::int32_t vessel = vessel_asked(session);
    if (vessel < 0) {
        return ExitStatus::command_line;
    }
    time::Simulation simulation(session.layout, session.options);
    std::vector<time::DrainAnswer> answers;
    ExitStatus status = ExitStatus::fine;
    bool late = false;
    for (const std::int32_t arrangement : session.arrangements) {
        answers.push_back(time::drain_down(simulation, {.arrangement = arrangement, .vessel = vessel}));
        const auto& vessels = answers.back().course.vessels;
        const bool spills = std::any_of(vessels.begin(), vessels.end(), [](const time::VesselCourse& one) { return one.spilled_m3 > 1e-6; });
        late = late || spills || !answers.back().in_time;
        const ExitStatus ended = status_of_course(answers.back().course);
        if (ended == ExitStatus::interrupted) {
            answers.pop_back();
            tell("interrupted: what is shown ends where it was stopped");
            status = ended;
            break;
        }
        status = ended == ExitStatus::fine ? status : ended;
    }
    write_drains(page, answers);
    return status == ExitStatus::fine && late && session.request.common.strict ? ExitStatus::target_missed : status;
}

}  // namespace ebb::cli
