// `balance`: openings of valves that give each outlet its target, and the layout with them put in.

#include "cli/balance.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "cli/commands.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/views/balance_view.h"
#include "cli/words.h"
#include "cli/write_layout.h"
#include "solver/choose/balance.h"
#include "solver/settle/farm.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// The valves named; nothing when one is unknown or has no handle.
std::optional<std::vector<std::int32_t>> named_valves(const layout::Layout& layout, const BalanceRequest& request) {
    const Names names = names_of("valve", layout.valves);
    std::vector<std::int32_t> valves;
    bool good = true;
    for (const std::string& name : request.valves) {
        const std::int32_t valve = index_of(name, names, request.common.layout_file);
        good = good && valve >= 0;
        if (valve >= 0 && physics::valve_is_one_way(layout.valves[at(valve)].kind)) {
            tell(fmt::format("'{}' is a {} valve: it has no handle to be set by", name, physics::valve_kind_name(layout.valves[at(valve)].kind)));
            good = false;
        }
        valves.push_back(valve);
    }
    if (!good) return std::nullopt;
    return valves;
}

/// The problem as the command line and the layout put it; nothing when something in it is unknown, which has then been told.
std::optional<choose::BalanceProblem> problem_of(const layout::Layout& layout, const BalanceRequest& request) {
    choose::BalanceProblem problem;
    problem.layout = &layout;
    const std::string& file = request.common.layout_file;
    const auto arrangements = chosen_arrangements(layout, request.common);
    const auto valves = named_valves(layout, request);
    bool good = arrangements && valves;
    const Names vessels = names_of("vessel", layout.vessels), pumps = names_of("pump", layout.pumps);
    for (const TargetSaid& target : request.targets) {
        const std::int32_t vessel = index_of(target.vessel, vessels, file);
        const bool twice = std::any_of(problem.wanted.begin(), problem.wanted.end(), [&](const auto& one) { return one.vessel == vessel; });
        if (vessel >= 0 && twice) tell(fmt::format("--target names '{}' twice", target.vessel));
        good = good && vessel >= 0 && !twice;
        problem.wanted.push_back({vessel, target.inflow_m3_s});
    }
    for (const std::string& name : request.free_pumps) {
        const std::int32_t pump = index_of(name, pumps, file);
        good = good && pump >= 0;
        if (std::find(problem.free_pumps.begin(), problem.free_pumps.end(), pump) == problem.free_pumps.end()) problem.free_pumps.push_back(pump);
    }
    if (!good) return std::nullopt;
    problem.spare = request.spare;
    problem.arrangements = request.common.arrangements.empty() ? std::vector<std::int32_t>{arrangements->front()} : *arrangements;
    problem.valves = *valves;
    if (!problem.free_pumps.empty() && problem.arrangements.size() > 1) {
        tell("--pump-speed is for one arrangement: a speed that serves several at once may serve each of them badly. Let it be chosen in one, "
             "write it (--write), and set the valves for the others with that speed in their run line");
        return std::nullopt;
    }
    return problem;
}

/// Why there is nothing to do, in a sentence; empty when there is.
std::string nothing_to_do(const choose::BalanceAnswer& answer, const BalanceRequest& request) {
    if (answer.outcome == choose::BalanceOutcome::no_targets)
        return "no vessel that is fed here has a target (inflow= or turnover=); say what an outlet shall get: --target \"B1=12 l/min\"";
    if (answer.outcome == choose::BalanceOutcome::no_valves)
        return request.valves.empty() ? "no valve with a handle stands open on the way to an outlet with a target: there is nothing to set"
                                      : "none of the valves named stands open on the way to an outlet with a target: there is nothing to set";
    return {};
}

/// Writes the layout with the setting in. False when it would not be valid, which has then been told.
bool write_setting(const netfiles::ReadResult& read, const choose::BalanceAnswer& answer, const std::string& file) {
    netfiles::Rewrite rewrite(read);
    for (const choose::BalancedValve& valve : answer.valves)
        for (const choose::ValvePlace& place : valve.places)
            if (!place.shut) rewrite.set_valve_opening(place.arrangement, valve.valve, valve.opening);
    for (const std::int32_t a : answer.arrangements)
        for (const choose::BalancedPump& pump : answer.pumps)
            if (layout::conditions_of(read.layout, a).pump_speed[at(pump.pump)] > 0.0) rewrite.set_pump_speed(a, pump.pump, pump.speed);
    return write_layout(rewrite, file);
}

void write_answer(const BalanceScene& scene, Format format, Output& output) {
    switch (format) {
        case Format::json: write_balance_json(scene, output); return;
        case Format::csv: write_balance_csv(scene, output); return;
        case Format::text: break;
    }
    output.write(balance_text(scene));
}

ExitStatus status_of(const layout::Layout& layout, const choose::BalanceAnswer& answer, bool strict) {
    if (answer.outcome == choose::BalanceOutcome::stopped) return ExitStatus::interrupted;
    if (answer.outcome == choose::BalanceOutcome::no_solution) return ExitStatus::no_solution;
    bool missed = std::any_of(answer.outlets.begin(), answer.outlets.end(),
                              [&](const choose::BalancedOutlet& outlet) { return outlet.share * (1.0 + answer.spare) < 1.0 - choose::kBalanced; });
    for (const settle::Answer& one : answer.answers)
        for (const settle::Target& target : one.targets) {
            const auto own = std::find_if(answer.outlets.begin(), answer.outlets.end(), [&](const choose::BalancedOutlet& outlet) {
                return outlet.arrangement == one.arrangement && layout.vessels[at(outlet.vessel)].id == target.about;
            });
            // what is aimed at is judged above; a pump known only by its label must do with every curve that the label fits
            if (own == answer.outlets.end() ? is_missed(one, target) : one.rests_on_label && target.asked && !target.band_meets) missed = true;
        }
    return missed && strict ? ExitStatus::target_missed : ExitStatus::fine;
}

/// True when `arrangement` takes its settings from one of these, or is one of them.
bool rests_on(const layout::Layout& layout, std::size_t arrangement, const std::vector<std::int32_t>& on) {
    for (std::size_t steps = 0; steps <= layout.arrangements.size(); ++steps) {
        if (std::find(on.begin(), on.end(), static_cast<std::int32_t>(arrangement)) != on.end()) return true;
        const std::string& base = layout.arrangements[arrangement].based_on;
        const auto found = std::find_if(layout.arrangements.begin(), layout.arrangements.end(), [&](const auto& one) { return one.name == base; });
        if (base.empty() || found == layout.arrangements.end()) return false;
        arrangement = static_cast<std::size_t>(found - layout.arrangements.begin());
    }
    return false;
}

/// The arrangements that a written layout leaves as they were, and what they miss.
std::vector<LeftAlone> left_alone(const layout::Layout& layout, const choose::BalanceAnswer& answer) {
    std::vector<LeftAlone> all;
    settle::Options options;
    options.bands = options.ledgers = false;
    settle::Farm farm(layout, options);
    for (std::size_t a = 0; a < layout.arrangements.size(); ++a)
        if (!rests_on(layout, a, answer.arrangements)) all.push_back({farm.solve(static_cast<std::int32_t>(a))});
    return all;
}

}  // namespace

ExitStatus run_balance(const BalanceRequest& request, Output& output) {
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
    std::optional<choose::BalanceProblem> problem = problem_of(read.layout, request);
    if (!problem || !output_is_safe(output, read) || !layout_can_be_written(request.write_file, read)) {
        return ExitStatus::command_line;
    }
    choose::BalanceAnswer answer;
    {
        Patience patience(1, "balancing");
        problem->stop = patience.stop();
        problem->progress = [&patience](double share) { patience.tell_share(share); };
        answer = choose::balance(*problem);
    }
    if (const std::string nothing = nothing_to_do(answer, request); !nothing.empty()) {
        tell(nothing);
        return ExitStatus::command_line;
    }
    const Subject subject = subject_of(common, read, problem->arrangements.size());
    const bool first = common.arrangements.empty() && read.layout.arrangements.size() > 1;
    const bool has_setting = !answer.valves.empty() || !answer.pumps.empty();
    const bool writes = !request.write_file.empty() && has_setting && answer.outcome != choose::BalanceOutcome::no_solution;
    write_answer({.subject = subject,
                  .answer = answer,
                  .bucket_m3 = request.bucket_m3,
                  .first_taken = first,
                  .left_alone = writes ? left_alone(read.layout, answer) : std::vector<LeftAlone>{}},
                 common.format, output);
    const ExitStatus status = status_of(read.layout, answer, common.strict);
    if (status == ExitStatus::interrupted) tell("interrupted: what is shown is the best setting found until then");
    if (writes && !write_setting(read, answer, request.write_file)) return ExitStatus::no_solution;
    return status;
}

}  // namespace ebb::cli
