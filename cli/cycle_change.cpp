// `--change FROM TO`: in which order to move valves and pumps so that nothing spills and no intake goes bare.

#include <fmt/format.h>

#include <algorithm>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_change.h"
#include "cli/words.h"
#include "solver/time/change_over.h"

namespace ebb::cli {
namespace {

/// The arrangement of this name; -1 when there is none (told on standard error).
std::int32_t arrangement_named(const layout::Layout& layout, const std::string& name) {
    std::vector<std::string> names;
    for (const layout::Arrangement& arrangement : layout.arrangements) {
        names.push_back(arrangement.name);
    }
    const auto found = std::find(names.begin(), names.end(), name);
    if (found != names.end()) {
        return static_cast<std::int32_t>(found - names.begin());
    }
    constexpr std::size_t kNamed = 8;
    const std::string near = nearest_name(name, names);
    tell(fmt::format("--change: there is no arrangement '{}'; {}", name,
                     near.empty() ? "there are " + quoted_list(names, kNamed) : fmt::format("did you mean '{}'?", near)));
    return -1;
}

}  // namespace

ExitStatus answer_change(const CycleSession& session, QuestionPage& page) {
    time::ChangeOverWanted wanted;
    wanted.from = arrangement_named(session.layout, session.request.change->from);
    wanted.to = arrangement_named(session.layout, session.request.change->to);
    if (wanted.from < 0 || wanted.to < 0) {
        return ExitStatus::command_line;
    }
    time::Simulation simulation(session.layout, session.options);
    const time::ChangeOver answer = time::change_over(simulation, wanted);
    show_change(wanted, answer, page);
    switch (answer.end) {
        case time::ChangeEnd::found:
        case time::ChangeEnd::nothing_to_do: return ExitStatus::fine;
        case time::ChangeEnd::cancelled: return ExitStatus::interrupted;
        default: return ExitStatus::no_solution;
    }
}

}  // namespace ebb::cli
