// `cycle --drain VESSEL`: what feeds it is shut, and it is left to drain.

#include <fmt/format.h>

#include <algorithm>

#include "cli/ask_each.h"
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
    std::vector<time::DrainWanted> wanted;
    for (const std::int32_t arrangement : session.arrangements) {
        wanted.push_back({.arrangement = arrangement, .vessel = vessel});
    }
    const auto judge = [](const time::DrainAnswer& answer) {
        constexpr double kSpillM3 = 1e-6;
        const auto& vessels = answer.course.vessels;
        const bool spills = std::any_of(vessels.begin(), vessels.end(), [](const time::VesselCourse& one) { return one.spilled_m3 > kSpillM3; });
        return Told{status_of_course(answer.course), spills || !answer.in_time};
    };
    return ask_each(session, wanted, &time::drain_down, judge, [&](const auto& answers) { write_drains(page, answers); });
}

}  // namespace ebb::cli
