// `flows`: every arrangement solved, over the cores, and handed to the view in order as soon as it is there.

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <optional>
#include <thread>

#include "cli/commands.h"
#include "cli/findings.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/view.h"
#include "cli/words.h"
#include "solver/settle/many.h"
#include "solver/survey/uncertain.h"

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

/// Arrangements go over the cores; a network so large that every core's copy would weigh takes one at a time.
unsigned threads_for(const layout::Layout& layout) {
    constexpr std::size_t kLarge = 20'000;
    return layout.pipes.size() > kLarge ? 1U : std::max(1U, std::thread::hardware_concurrency());
}

constexpr std::size_t kSamples = 1024;

/// How sure the figures of one arrangement are; nothing where there are none.
std::optional<survey::UncertainAnswer> how_sure(const layout::Layout& layout, const settle::Answer& answer, const Request& request,
                                                Patience& patience) {
    if (!request.uncertain || !settle::solved(answer.state)) {
        return std::nullopt;
    }
    survey::UncertainOptions options;
    options.samples = request.samples == 0 ? kSamples : request.samples;
    options.threads = threads_for(layout);
    const layout::Arrangement& arrangement = layout.arrangements[static_cast<std::size_t>(answer.arrangement)];
    return survey::solve_uncertain(
        layout, layout::conditions_of(layout, answer.arrangement), arrangement.at_start_levels, options,
        [&](double share) { patience.tell_share(share); }, patience.stop());
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
    Subject subject = subject_of(request, read, chosen->size());
    subject.uncertain = request.uncertain;
    read.files.clear();  // the text of a large layout is no longer needed
    const std::unique_ptr<FlowsView> view = make_view(request.format, subject, output);

    settle::Many many(read.layout, {}, *chosen, threads_for(read.layout));
    bool unsolved = false;
    bool missed = false;
    view->begin();
    std::size_t done = 0;
    Patience patience(chosen->size());
    while (done < chosen->size() && !patience.wants_end(done)) {
        const settle::Answer answer = many.take(done);
        patience.begin_part(done);
        const std::optional<survey::UncertainAnswer> unsure = how_sure(read.layout, answer, request, patience);
        if (unsure && !unsure->whole) {
            break;
        }
        ++done;
        if (unsure) {
            patience.clear_line();
        }
        unsolved = unsolved || answer.state == settle::State::no_solution || answer.state == settle::State::not_run;
        missed = missed || targets_missed(answer) > 0;
        view->show(answer, findings(read.layout, answer, subject.speech), unsure ? &*unsure : nullptr);
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
