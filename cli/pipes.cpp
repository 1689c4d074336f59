// `pipes`: the cheapest sizes for the pipes that are marked, from the series that are sold.

#include "cli/pipes.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <thread>

#include "cli/commands.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/pipes_view.h"
#include "cli/words.h"
#include "cli/write_layout.h"
#include "solver/choose/sizing_answer.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Effort and bound by the word of the command line.
void set_effort(const PipesRequest& request, choose::SizingQuestion& question) {
    constexpr double kLow = 0.125, kHigh = 8.0;
    constexpr std::int64_t kNodes = 200, kNodesToProve = 20'000;
    question.effort = request.effort == Effort::low ? kLow : request.effort == Effort::high ? kHigh : 1.0;
    question.bound_nodes = request.prove ? kNodesToProve : request.effort == Effort::low ? 1 : kNodes;
    question.until_stopped = request.seconds.has_value();
}

/// The answer, with progress on a terminal; `interrupted`: by the user, not by --seconds.
choose::SizingAnswer answer_to(const layout::Layout& layout, choose::SizingQuestion question, const PipesRequest& request, bool& interrupted) {
    Patience patience(1, "choosing");
    std::stop_source stop;
    const auto begin = std::chrono::steady_clock::now();
    question.stop = stop.get_token();
    question.progress = [&](double share) {
        const std::chrono::duration<double> spent = std::chrono::steady_clock::now() - begin;
        patience.tell_share(request.seconds ? spent.count() / *request.seconds : share);
        if (patience.stop().stop_requested() || (request.seconds && spent.count() > *request.seconds)) stop.request_stop();
    };
    choose::SizingAnswer answer = choose::size_pipes(layout, question);
    interrupted = patience.stop().stop_requested();
    return answer;
}

bool write_sizes(const netfiles::ReadResult& read, const choose::SizingAnswer& answer, const std::string& file) {
    if (!answer.result.found) {
        tell(fmt::format("'{}' is not written: no sizes were chosen", file));
        return true;
    }
    netfiles::Rewrite rewrite(read);
    for (const choose::ChosenSize& size : answer.sizes) {
        const choose::Choice& choice = answer.problem.choices[size.choice];
        for (const std::int32_t pipe : choice.pipes) rewrite.set_pipe_size(pipe, read.layout.sold_series[at(choice.series)].sizes[size.option].name);
    }
    return write_layout(rewrite, file);
}

void write_answer(const PipesScene& scene, Format format, Output& output) {
    switch (format) {
        case Format::json: write_pipes_json(scene, output); return;
        case Format::csv: write_pipes_csv(scene, output); return;
        case Format::text: break;
    }
    output.write(pipes_text(scene));
}

/// Sizes of the series to choose from that have no price and so are not sold, in a sentence for each series.
std::vector<std::string> not_sold(const netfiles::ReadResult& read) {
    constexpr std::size_t kNamed = 8;
    std::vector<std::string> notes;
    for (const layout::SoldSeries& sold : read.layout.sold_series)
        for (const netfiles::PipeSeries& series : read.catalogue.series) {
            if (series.name != sold.name) continue;
            std::vector<std::string> names;
            for (const netfiles::PipeSize& size : series.sizes)
                if (!layout::said(size.price_per_metre)) names.push_back(size.name);
            if (!names.empty())
                notes.push_back(fmt::format("Not considered, as {} no price-per-metre: {} of {}", names.size() == 1 ? "it has" : "they have",
                                            listed(names, kNamed), sold.name));
        }
    return notes;
}

bool anything_to_choose(const layout::Layout& layout) {
    return std::any_of(layout.pipes.begin(), layout.pipes.end(), [](const layout::Pipe& pipe) { return pipe.choose; });
}

}  // namespace

ExitStatus run_pipes(const PipesRequest& request, Output& output) {
    const Request& common = request.common;
    if (!request.write_file.empty() && request.write_file == common.output_file) {
        tell("--write and --output name the same file");
        return ExitStatus::command_line;
    }
    const netfiles::ReadResult read = netfiles::read_layout(common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    if (!anything_to_choose(read.layout)) {
        tell(fmt::format(
            "{} marks no pipe whose size is to be chosen: write choose=\"yes\" on it (or choose=\"NAME\" on several that get one size), and "
            "give its series sizes with a price-per-metre",
            common.layout_file));
        return ExitStatus::file;
    }
    choose::SizingQuestion question;
    if (!common.arrangements.empty()) {
        const auto arrangements = chosen_arrangements(read.layout, common);
        if (!arrangements) return ExitStatus::command_line;
        question.arrangements = *arrangements;
    }
    if (!output_is_safe(output, read) || !layout_can_be_written(request.write_file, read)) return ExitStatus::command_line;
    question.said = {.price_per_kwh = request.price_per_kwh.value_or(layout::kNotSaid),
                     .years = request.years.value_or(layout::kNotSaid),
                     .interest = request.interest.value_or(layout::kNotSaid)};
    question.trade_off = request.trade_off;
    question.routines = !request.no_routines;
    question.threads = std::max(1U, std::thread::hardware_concurrency());
    set_effort(request, question);

    const Subject subject = subject_of(common, read, 0);
    bool interrupted = false;
    const choose::SizingAnswer answer = answer_to(read.layout, question, request, interrupted);
    write_answer({subject, answer, request.prove, not_sold(read)}, common.format, output);
    if (interrupted) tell("interrupted: what is shown is the best that was found until then");
    if (!request.write_file.empty() && !write_sizes(read, answer, request.write_file)) return ExitStatus::no_solution;
    if (interrupted) return ExitStatus::interrupted;
    if (!answer.result.found) return ExitStatus::no_solution;
    const auto& times = answer.times.chosen;
    const bool late = std::any_of(times.begin(), times.end(), [](const choose::BedInTime& bed) { return !bed.met; });
    return late && common.strict ? ExitStatus::target_missed : ExitStatus::fine;
}

}  // namespace ebb::cli
