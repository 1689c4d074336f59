// `pumps`: the duty a farm needs of each pump, and the pumps that would do, the cheapest over the years first.

#include "cli/pumps.h"

#include <fmt/format.h>

#include <algorithm>
#include <thread>

#include "cli/commands.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/pumps_view.h"
#include "cli/views/pumps_words.h"
#include "cli/words.h"
#include "cli/write_layout.h"
#include "solver/choose/pump_choice.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// The indices of the names wanted, each once, in the order of `names`; nothing when one is unknown, which has then been told.
std::optional<std::vector<std::int32_t>> chosen(const std::vector<std::string>& wanted, const Names& names, const std::string& file) {
    std::vector<std::int32_t> indices;
    for (const std::string& name : wanted) indices.push_back(index_of(name, names, file));
    std::sort(indices.begin(), indices.end());
    indices.erase(std::unique(indices.begin(), indices.end()), indices.end());
    if (!indices.empty() && indices.front() < 0) return std::nullopt;
    return indices;
}

/// The question as the command line and the layout put it; nothing when a name is unknown.
std::optional<choose::PumpQuestion> question_of(const layout::Layout& layout, const PumpsRequest& request) {
    choose::PumpQuestion question;
    Names models{"pump model", {}};
    for (const layout::PumpModel& model : layout.pump_models) models.known.push_back(model.name);
    const std::string& file = request.common.layout_file;
    const auto chosen_pumps = chosen(request.pumps, names_of("pump", layout.pumps), file);
    const auto chosen_models = chosen(request.candidates, models, file);
    if (!chosen_pumps || !chosen_models) return std::nullopt;
    question.pumps = *chosen_pumps;
    question.models = *chosen_models;
    if (!request.common.arrangements.empty()) {
        const auto arrangements = chosen_arrangements(layout, request.common);
        if (!arrangements) return std::nullopt;
        question.arrangements = *arrangements;
    }
    question.most = request.most;
    question.said = {.price_per_kwh = request.price_per_kwh.value_or(layout::kNotSaid),
                     .years = request.years.value_or(layout::kNotSaid),
                     .interest = request.interest.value_or(layout::kNotSaid)};
    constexpr int kCurvePoints = 41;
    question.curve_points = request.curves_file.empty() ? 0 : kCurvePoints;
    question.routines = !request.no_routines;
    question.standby = request.standby;
    question.beside = !request.write_file.empty();
    return question;
}

/// What contradicts itself on the command line, in a sentence; empty when nothing does.
std::string contradiction(const PumpsRequest& request) {
    const auto same = [](const std::string& one, const std::string& other) { return !one.empty() && one == other; };
    if (same(request.curves_file, request.common.output_file)) return "--curves and --output name the same file";
    if (same(request.write_file, request.common.output_file)) return "--write and --output name the same file";
    if (same(request.write_file, request.curves_file)) return "--write and --curves name the same file";
    return {};
}

/// The winner of one pump put into the user's text.
void put_in(const layout::Layout& layout, const choose::PumpChoice& choice, const choose::Candidate& winner, netfiles::Rewrite& rewrite) {
    const layout::Pump& pump = layout.pumps[at(choice.pump)];
    rewrite.set_pump(choice.pump, layout.pump_models[at(winner.model)].name, winner.count);
    if (pump.wear > 0.0) rewrite.remove_attribute(pump.place, "wear");  // a new pump is not worn
    for (const choose::CandidatePoint& point : winner.points) {
        const double now = layout::conditions_of(layout, point.arrangement).pump_speed[at(choice.pump)];
        if (point.speed > 0.0 && point.speed != now) rewrite.set_pump_speed(point.arrangement, choice.pump, point.speed);
    }
    if (winner.mode != choose::SpeedMode::one_speed) return;
    for (const layout::Routine& routine : layout.routines)
        for (const layout::Change& change : routine.changes)
            for (const layout::Setting& setting : change.settings)
                if (setting.act == layout::Act::run && setting.about == layout::Ref{layout::Kind::pump, choice.pump})
                    rewrite.set_attribute(setting.place, "speed", netfiles::share_text(winner.speed));
}

/// Writes the layout with the winners in. False when it could not be, which has then been told.
bool write_winners(const netfiles::ReadResult& read, const choose::PumpsAnswer& answer, const std::string& file) {
    netfiles::Rewrite rewrite(read);
    bool any = false;
    for (const choose::PumpChoice& choice : answer.pumps) {
        const choose::Candidate* winner = choice.winner();
        if (winner == nullptr) continue;
        put_in(read.layout, choice, *winner, rewrite);
        any = true;
    }
    if (!any) tell(fmt::format("'{}' is not written: no pump was chosen", file));
    return !any || write_layout(rewrite, file);
}

/// What a script should know: nothing solved, a pump for which no candidate meets everything, or all is well.
ExitStatus status_of(const choose::PumpsAnswer& answer, bool strict) {
    if (answer.stopped) return ExitStatus::interrupted;
    bool solved = answer.pumps.empty(), missed = answer.together.done && !answer.together.all_met;
    for (const choose::PumpChoice& choice : answer.pumps) {
        for (const choose::Duty& duty : choice.duties) {
            solved = solved || duty.outcome != choose::DutyOutcome::unreachable || std::isfinite(duty.flow_m3_s);
            missed = missed || (!duty.apart.empty() && !answer.together.done);  // together they are looked at again
        }
        missed = missed || choice.any_unreachable || (!choice.candidates.empty() && choice.candidates.front().standing != choose::Standing::meets);
    }
    if (!solved) return ExitStatus::no_solution;
    return missed && strict ? ExitStatus::target_missed : ExitStatus::fine;
}

void write_answer(const PumpsScene& scene, Format format, Output& output) {
    switch (format) {
        case Format::json: write_pumps_json(scene, output); return;
        case Format::csv: write_pumps_csv(scene, output); return;
        case Format::text: break;
    }
    output.write(pumps_text(scene));
}

}  // namespace

ExitStatus run_pumps(const PumpsRequest& request, Output& output) {
    const Request& common = request.common;
    if (const std::string wrong = contradiction(request); !wrong.empty()) {
        tell(wrong);
        return ExitStatus::command_line;
    }
    const netfiles::ReadResult read = netfiles::read_layout(common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    std::optional<choose::PumpQuestion> question = question_of(read.layout, request);
    if (!question || !output_is_safe(output, read) || !file_is_safe("--curves", request.curves_file, read) ||
        !layout_can_be_written(request.write_file, read)) {
        return ExitStatus::command_line;
    }
    const Subject subject = subject_of(common, read, 0);
    choose::PumpsAnswer answer;
    {
        Patience patience(1, "choosing");
        question->watch.threads = std::max(1U, std::thread::hardware_concurrency());
        question->watch.stop = patience.stop();
        Teller teller(patience);
        question->watch.progress = [&teller](double share) { teller.ready(share); };
        answer = choose::choose_pumps(read.layout, *question);
    }
    const PumpsScene scene{subject, answer};
    write_answer(scene, common.format, output);
    if (!request.curves_file.empty()) write_curves(scene, request.curves_file);
    if (answer.stopped) {
        tell("interrupted: what is shown is what was looked at until then");
        if (!request.write_file.empty()) tell(fmt::format("'{}' is not written: not every candidate was looked at", request.write_file));
    }
    if (!request.write_file.empty() && !answer.stopped && !write_winners(read, answer, request.write_file)) return ExitStatus::no_solution;
    return status_of(answer, common.strict);
}

}  // namespace ebb::cli
