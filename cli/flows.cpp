// `flows`: every arrangement solved, over the cores, and handed to the view in order as soon as it is there.

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <thread>

#include "cli/commands.h"
#include "cli/findings.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/survey_view.h"
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

/// Says once how long it will take, when some seconds have shown that it is long.
class Forecast {
public:
    Forecast(std::size_t samples, std::size_t arrangements, Patience& patience)
        : samples_(samples), arrangements_(arrangements), patience_(patience) {}

    /// Of arrangement `done` (from 0) a share is done.
    void see(std::size_t done, double share) {
        constexpr std::chrono::seconds kEnough{3};
        constexpr double kWorthATime_s = 20.0;
        const auto now = std::chrono::steady_clock::now();
        const double whole = static_cast<double>(done) + share;
        if (first_ <= 0.0) {  // what comes before the first samples says nothing of the others
            first_ = whole, begin_ = now;
        }
        if (told_ || now - begin_ < kEnough || whole <= first_) {
            return;
        }
        const double seconds = std::chrono::duration<double>(now - begin_).count() / (whole - first_) * (static_cast<double>(arrangements_) - whole);
        if (seconds < kWorthATime_s) {
            return;
        }
        told_ = true;
        patience_.clear_line();
        tell(fmt::format("{} samples{} will take about {} more here; --samples NUMBER takes fewer", grouped(samples_),
                         arrangements_ > 1 ? fmt::format(" of each of {} arrangements", arrangements_) : std::string(), Speech::duration(seconds)));
    }

private:
    std::size_t samples_, arrangements_;
    Patience& patience_;
    std::chrono::steady_clock::time_point begin_;
    double first_ = 0.0;  ///< what was done when it began to look
    bool told_ = false;
};

std::size_t samples_of(const Request& request) { return request.samples == 0 ? kSamples : request.samples; }

/// How sure the figures of one arrangement are; nothing where there are none.
std::optional<survey::UncertainAnswer> how_sure(const layout::Layout& layout, const settle::Answer& answer, const Request& request,
                                                const std::function<void(double)>& progress, const std::stop_token& stop) {
    if (!request.uncertain || !settle::solved(answer.state)) {
        return std::nullopt;
    }
    survey::UncertainOptions options;
    options.samples = samples_of(request);
    options.threads = threads_for(layout);
    const layout::Arrangement& arrangement = layout.arrangements[static_cast<std::size_t>(answer.arrangement)];
    return survey::solve_uncertain(layout, layout::conditions_of(layout, answer.arrangement), arrangement.at_start_levels, options, progress, stop);
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
    Forecast forecast(samples_of(request), chosen->size(), patience);
    while (done < chosen->size() && !patience.wants_end(done)) {
        const settle::Answer answer = many.take(done);
        patience.begin_part(done);
        const std::optional<survey::UncertainAnswer> unsure = how_sure(
            read.layout, answer, request,
            [&](double share) {
                patience.tell_share(share);
                forecast.see(done, share);
            },
            patience.stop());
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
