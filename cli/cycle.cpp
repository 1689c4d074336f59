// `cycle`: routines followed in time, one after the other; or questions in one word, each answered by the runs it needs.

#include "cli/cycle.h"

#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <stop_token>

#include "cli/commands.h"
#include "cli/cycle_findings.h"
#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/cycle_view.h"
#include "cli/views/series_file.h"
#include "cli/words.h"
#include "solver/time/simulation.h"

namespace ebb::cli {
namespace {

std::unique_ptr<CycleView> make_view(Format format, const Subject& subject, Output& output) {
    switch (format) {
        case Format::json: return make_cycle_json(subject, output);
        case Format::csv: return make_cycle_csv(subject, output);
        case Format::text: break;
    }
    return make_cycle_text(subject, output);
}

/// The routines asked for; those of the chosen arrangements when an arrangement was named. Nothing when a name is unknown.
std::optional<std::vector<std::int32_t>> chosen_routines(const layout::Layout& layout, const CycleRequest& request) {
    Names names{"routine", {}};
    for (const layout::Routine& routine : layout.routines) {
        names.known.push_back(routine.name);
    }
    bool all_known = true;
    for (const std::string& wanted : request.routines) {
        all_known = index_of(wanted, names, request.common.layout_file) >= 0 && all_known;
    }
    if (!all_known) {
        return std::nullopt;
    }
    const auto asked = [](const std::vector<std::string>& wanted, const std::string& name) {
        return wanted.empty() || std::find(wanted.begin(), wanted.end(), name) != wanted.end();
    };
    std::vector<std::int32_t> chosen;
    for (std::size_t i = 0; i < names.known.size(); ++i) {
        if (asked(request.routines, names.known[i]) && asked(request.common.arrangements, layout.routines[i].arrangement_name)) {
            chosen.push_back(static_cast<std::int32_t>(i));
        }
    }
    return chosen;
}

/// An arrangement left alone for a day, from its start depths.
time::Plan untouched(const layout::Layout& layout, std::int32_t arrangement, bool only_one) {
    constexpr double kDayS = 86400.0;
    time::Plan plan;
    const std::string& name = layout.arrangements[static_cast<std::size_t>(arrangement)].name;
    plan.name = only_one ? "as drawn" : name;
    plan.arrangement = arrangement;
    plan.conditions = layout::conditions_of(layout, arrangement);
    plan.routine.name = plan.name;
    plan.routine.arrangement = arrangement;
    plan.routine.arrangement_name = name;
    plan.start = time::start_memory(layout);
    plan.lasts_s = kDayS;
    return plan;
}

time::Plan plan_of(const layout::Layout& layout, std::int32_t index, std::string& not_settled) {
    const layout::Routine& routine = layout.routines[static_cast<std::size_t>(index)];
    time::Plan plan;
    plan.name = routine.name;
    plan.arrangement = routine.arrangement;
    plan.conditions = layout::conditions_of(layout, routine.arrangement);
    plan.routine = routine;
    plan.lasts_s = routine.lasts_s;
    plan.start = time::start_memory(layout);
    if (routine.from_settled) {
        const time::SettledStart settled = time::settled_memory(layout, plan.conditions);
        plan.routine.from_settled = settled.found || settled.cycles;
        not_settled = plan.routine.from_settled ? std::string() : settled.why;
        if (plan.routine.from_settled) plan.start = settled.memory;
    }
    return plan;
}

/// What is to be followed: the routines asked for, or, in a layout without any, its arrangements.
class Plans {
public:
    Plans(const layout::Layout& layout, const CycleRequest& request, std::vector<std::int32_t> routines, std::vector<std::int32_t> arrangements)
        : layout_(layout), request_(request), routines_(std::move(routines)), arrangements_(std::move(arrangements)) {}

    std::size_t size() const { return routines_.empty() ? arrangements_.size() : routines_.size(); }
    bool none_asked() const { return routines_.empty() && !layout_.routines.empty(); }

    /// The `i`-th of them. `not_settled`: why it cannot begin from settled levels, though it should; it begins from those drawn then.
    time::Plan plan(std::size_t i, std::string& not_settled) const {
        time::Plan plan =
            routines_.empty() ? untouched(layout_, arrangements_[i], arrangements_.size() == 1) : plan_of(layout_, routines_[i], not_settled);
        plan.lasts_s = request_.lasts_s.value_or(plan.lasts_s);
        plan.until_repeats = request_.until_repeats;
        return plan;
    }

    /// How long the `i`-th is followed.
    double lasts_s(std::size_t i) const {
        const double own =
            routines_.empty() ? untouched(layout_, arrangements_[i], true).lasts_s : layout_.routines[static_cast<std::size_t>(routines_[i])].lasts_s;
        return request_.lasts_s.value_or(own);
    }

private:
    const layout::Layout& layout_;
    const CycleRequest& request_;
    std::vector<std::int32_t> routines_, arrangements_;
};

time::Options options_of(const CycleRequest& request, Patience& patience) {
    time::Options options;
    if (request.level_tolerance_m) {
        options.relative_tolerance *= *request.level_tolerance_m / options.level_tolerance_m;  // the two belong together
        options.level_tolerance_m = *request.level_tolerance_m;
    }
    options.keep_series = !request.series_file.empty() || request.common.format == Format::text;
    options.stop = patience.stop();
    options.progress = [&patience](double share) { patience.tell_share(share); };
    return options;
}

ExitStatus status_of(const time::Course& course) {
    switch (course.ending) {
        case time::Ending::chatters:
        case time::Ending::no_solution:
        case time::Ending::not_run: return ExitStatus::no_solution;
        case time::Ending::cancelled: return ExitStatus::interrupted;
        case time::Ending::time_over:
        case time::Ending::repeats:
        case time::Ending::still: break;
    }
    return ExitStatus::fine;
}

/// Of two ways to end, the one that matters more to a script.
ExitStatus worse(ExitStatus one, ExitStatus other) {
    const auto rank = [](ExitStatus status) {
        switch (status) {
            case ExitStatus::interrupted: return 4;
            case ExitStatus::command_line:
            case ExitStatus::file: return 3;
            case ExitStatus::no_solution: return 2;
            case ExitStatus::target_missed: return 1;
            case ExitStatus::fine: break;
        }
        return 0;
    };
    return rank(one) >= rank(other) ? one : other;
}

/// How often the strips of the text want the levels: often on a day, not too often in a year.
double often_enough(double lasts_s) {
    constexpr double kRows = 2000.0;
    constexpr double kMostRows = 100'000.0;
    constexpr double kQuickS = 30.0;
    return std::min(lasts_s / kRows, std::max(kQuickS, lasts_s / kMostRows));
}

ExitStatus run_routines(const CycleSession& session, const Plans& plans, Patience& patience, Output& output) {
    const CycleRequest& request = session.request;
    constexpr double kMostLines = 5e6;
    for (std::size_t i = 0; request.every_s && i < plans.size(); ++i) {
        if (plans.lasts_s(i) / *request.every_s > kMostLines) {
            tell(fmt::format("--every would make a series of {:.2g} lines; more than {:.0f} million are not written: ask for fewer, or for a shorter "
                             "time with --lasts",
                             plans.lasts_s(i) / *request.every_s, kMostLines / 1e6));
            return ExitStatus::command_line;
        }
    }
    std::optional<SeriesFile> series;
    if (!request.series_file.empty()) {
        series.emplace(request.series_file, session.layout, plans.size());
    }
    const std::unique_ptr<CycleView> view = make_view(request.common.format, session.subject, output);
    time::Simulation simulation(session.layout, session.options);
    ExitStatus status = ExitStatus::fine;
    view->begin();
    for (std::size_t i = 0; i < plans.size() && status != ExitStatus::interrupted; ++i) {
        patience.begin_part(i);
        std::string not_settled;
        const time::Plan plan = plans.plan(i, not_settled);
        simulation.options().series_every_s = series ? request.every_s.value_or(time::kUnknown) : often_enough(plan.lasts_s);
        const time::Course course = simulation.run(plan);
        std::vector<Finding> found = cycle_findings(session.layout, plan, course, session.subject.speech);
        if (!not_settled.empty()) {
            found.push_back({Weight::doubt, "not-settled", "", fmt::format("It begins at the levels drawn: {}", not_settled), plan.routine.place});
        }
        const std::vector<TimeTarget> targets = time_targets(session.layout, course);
        patience.clear_line();
        view->show({plan, course, found, targets, request.all_events});
        if (series) {
            series->add(course);
        }
        const bool missed = count_missed(targets) > 0 || breaks_a_rule(found);
        status = worse(status, worse(status_of(course), missed && request.common.strict ? ExitStatus::target_missed : ExitStatus::fine));
    }
    view->end();
    if (series) {
        series->finish();
    }
    if (status == ExitStatus::interrupted) {
        tell("interrupted: what is shown ends where it was stopped");
    }
    return status;
}

bool any_question(const CycleRequest& request) {
    const auto all = questions();
    return std::any_of(all.begin(), all.end(), [&](const Question& question) { return question.asked(request); });
}

ExitStatus answer_questions(const CycleSession& session, Output& output) {
    QuestionPage page(session.request.common.format, session.subject, output);
    ExitStatus status = ExitStatus::fine;
    page.begin();
    for (const Question& question : questions()) {
        if (question.asked(session.request) && status != ExitStatus::interrupted && status != ExitStatus::command_line) {
            status = worse(status, question.answer(session, page));
        }
    }
    page.end();
    return status;
}

/// What contradicts itself on the command line, in a sentence; empty when nothing does.
std::string contradiction(const CycleRequest& request) {
    if (request.every_s && request.series_file.empty()) {
        return "--every says how often a line of --series is written; name its file with --series FILE";
    }
    const bool without_routine = request.fill || !request.drain.empty() || request.change || !request.siphon_window.empty();
    const bool of_routine = !request.routines.empty() || request.lasts_s;
    if (any_question(request) && ((of_routine && without_routine) || !request.series_file.empty() || request.until_repeats)) {
        return "a question in one word needs no routine: leave out --routine, --lasts, --until-repeats and --series, or ask without the question "
               "(only --power-cut and --if may be asked of a --routine, and be given a length with --lasts)";
    }
    if (request.hose_m3_s && !request.fill) {
        return "--hose says how much water the hose of --fill gives; ask for --fill with it";
    }
    if (!request.series_file.empty() && request.series_file == request.common.output_file) {
        return "--series and --output name the same file";
    }
    return {};
}

}  // namespace

ExitStatus run_cycle(const CycleRequest& request, Output& output) {
    if (const std::string wrong = contradiction(request); !wrong.empty()) {
        tell(wrong);
        return ExitStatus::command_line;
    }
    netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    const auto arrangements = chosen_arrangements(read.layout, request.common);
    if (!arrangements || !output_is_safe(output, read) || !file_is_safe("--series", request.series_file, read)) {
        return ExitStatus::command_line;
    }
    const auto routines = chosen_routines(read.layout, request);
    if (!routines) {
        return ExitStatus::command_line;
    }
    const Plans plans(read.layout, request, *routines, *arrangements);
    const Subject subject = subject_of(request.common, read, plans.size());
    const bool asks = any_question(request);
    if (!asks && plans.none_asked()) {
        tell(fmt::format("no routine of {} is both of that name and of that arrangement", request.common.layout_file));
        return ExitStatus::command_line;
    }
    Patience patience(plans.size(), asks ? "question" : "routine");
    const time::Options options = options_of(request, patience);
    const CycleSession session{request, read.layout, subject, *arrangements, options};
    return asks ? answer_questions(session, output) : run_routines(session, plans, patience, output);
}

}  // namespace ebb::cli
