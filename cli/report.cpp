// `report`: one page for everybody who has to do with the farm, with what the other commands find out.

#include "cli/report.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <thread>

#include "cli/commands.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/report_matter.h"
#include "cli/session.h"
#include "cli/survey_switches.h"
#include "cli/views/report/report_page.h"
#include "cli/words.h"
#include "netfiles/readings.h"

namespace ebb::cli {
namespace {

/// The switches of the page; nothing when one named is unknown, which has then been told.
std::optional<std::vector<survey::Switch>> switches_of(const layout::Layout& layout, std::int32_t first, const ReportRequest& request) {
    if (request.switches.empty()) return std::vector<survey::Switch>{};
    SurveyRequest survey;
    survey.common = request.common;
    survey.switches = request.switches;
    return named_switches(layout, layout::conditions_of(layout, first), survey);
}

ReportMatter matter_of(const layout::Layout& layout, const Speech& speech, const MatterWanted& wanted) {
    Patience patience(1, "report");
    Teller teller(patience);
    const choose::Watch watch{.stop = patience.stop(), .progress = [&teller](double share) { teller.ready(share); }, .threads = wanted.threads};
    return make_matter(layout, speech, wanted, watch);
}

bool readings_are_kept(const ReportRequest& request, const Output& output) {
    if (request.readings_file.empty() || !output.overwrites(request.readings_file)) return true;
    tell(fmt::format("--output would replace '{}', which was read; name another file", request.readings_file));
    return false;
}

ExitStatus status_of(const ReportMatter& matter, bool strict) {
    bool unsolved = false, missed = false;
    for (const StateMade& state : matter.arrangements) {
        unsolved = unsolved || state.answer.state == settle::State::no_solution || state.answer.state == settle::State::not_run;
        missed = missed || targets_missed(state.answer) > 0;
    }
    return unsolved ? ExitStatus::no_solution : missed && strict ? ExitStatus::target_missed : ExitStatus::fine;
}

}  // namespace

ExitStatus run_report(const ReportRequest& request, Output& output) {
    if (request.common.format != Format::text) {
        tell("a report is a page to look at; the other commands write json and csv");
        return ExitStatus::command_line;
    }
    if (request.common.output_file.empty() && ::isatty(STDOUT_FILENO) == 1) {
        tell("a report is a page for a browser: name its file, as in -o farm.html");
        return ExitStatus::command_line;
    }
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    const auto chosen = chosen_arrangements(read.layout, request.common);
    if (!chosen || !output_is_safe(output, read) || !readings_are_kept(request, output)) return ExitStatus::command_line;
    const auto switches = switches_of(read.layout, chosen->front(), request);
    if (!switches) return ExitStatus::command_line;
    netfiles::ReadingsResult taken;
    if (!request.readings_file.empty()) {
        taken = netfiles::read_readings(request.readings_file, read.layout);
        if (!taken.good()) {
            tell_problems(taken.problems, taken.files);
            return ExitStatus::file;
        }
    }
    Request common = request.common;
    common.colour = false;
    common.width = 100;
    const Subject subject = subject_of(common, read, chosen->size());
    const ReportMatter matter = matter_of(read.layout, subject.speech,
                                          {.arrangements = *chosen,
                                           .switches = *switches,
                                           .readings = request.readings_file.empty() ? nullptr : &taken.readings,
                                           .whole = request.whole,
                                           .threads = std::max(1U, std::thread::hardware_concurrency())});
    if (matter.stopped) {
        tell("interrupted: no report is written");
        return ExitStatus::interrupted;
    }
    Painter painter;
    const Paint plain(false);
    const std::string file = std::filesystem::path(request.common.layout_file).filename().string();
    write_report({.subject = subject,
                  .matter = matter,
                  .painter = painter,
                  .plain = plain,
                  .asked = file,
                  .readings = request.readings_file.empty() ? nullptr : &taken},
                 output);
    return status_of(matter, request.common.strict);
}

}  // namespace ebb::cli
