// `flows`: every arrangement solved, one after the other, each handed to the view as soon as it is there.

#include <fmt/format.h>

#include <memory>

#include "cli/commands.h"
#include "cli/findings.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/view.h"
#include "cli/words.h"
#include "solver/settle/farm.h"

namespace ebb::cli {
namespace {

std::unique_ptr<FlowsView> make_view(Format format, const Subject& subject, Output& output) {
    switch (format) {
        case Format::json: return make_flows_json(subject, output);
        case Format::csv: return make_flows_csv(subject, output);
        case Format::text: break;
    }
    return make_flows_text(subject, output);
}

}  // namespace

ExitStatus run_flows(const Request& request, Output& output) {
    netfiles::ReadResult read = netfiles::read_layout(request.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    const auto chosen = chosen_arrangements(read.layout, request);
    if (!chosen || !output_is_safe(output, read)) {
        return ExitStatus::command_line;
    }
    const Subject subject{read.layout, file_names(read), Speech(units_of(request, read.layout)), request.colour, chosen->size(), request.everything};
    read.files.clear();  // the text of a large layout is no longer needed
    const std::unique_ptr<FlowsView> view = make_view(request.format, subject, output);

    settle::Farm farm(read.layout);
    bool unsolved = false;
    bool missed = false;
    view->begin();
    std::size_t done = 0;
    Patience patience(chosen->size());
    for (const std::int32_t arrangement : *chosen) {
        if (patience.wants_end(done)) {
            break;
        }
        ++done;
        const settle::Answer answer = farm.solve(arrangement);
        unsolved = unsolved || answer.state == settle::State::no_solution || answer.state == settle::State::not_run;
        missed = missed || targets_missed(answer) > 0;
        view->show(answer, findings(read.layout, answer, subject.speech));
    }
    view->end();
    if (done < chosen->size()) {
        tell(fmt::format("interrupted: {} of {} arrangements are shown", done, chosen->size()));
        return ExitStatus::interrupted;
    }
    if (unsolved) {
        return ExitStatus::no_solution;
    }
    return missed && request.strict ? ExitStatus::target_missed : ExitStatus::fine;
}

}  // namespace ebb::cli
