// `--if "VB3 shuts"`: what a failure does, and when.

#include <fmt/format.h>

#include <algorithm>

#include "cli/cycle_questions.h"
#include "cli/messages.h"
#include "cli/views/question_if.h"
#include "cli/words.h"
#include "solver/time/what_if.h"

namespace ebb::cli {
namespace {

using layout::Kind;
using time::Fault;
using time::Mishap;

constexpr double kDay_s = 86400.0;
constexpr Fault kFaults[] = {Fault::shuts, Fault::opens, Fault::stops, Fault::runs, Fault::blocks, Fault::breaks};

/// Everything that can fail, by id.
std::vector<Mishap> things(const layout::Layout& layout) {
    std::vector<Mishap> all;
    const auto add = [&](Kind kind, const auto& list) {
        for (std::size_t i = 0; i < list.size(); ++i) {
            all.push_back({Fault::shuts, {kind, static_cast<std::int32_t>(i)}, list[i].id});
        }
    };
    add(Kind::valve, layout.valves);
    add(Kind::pump, layout.pumps);
    add(Kind::pipe, layout.pipes);
    add(Kind::standpipe, layout.standpipes);
    add(Kind::siphon, layout.siphons);
    add(Kind::nozzle, layout.nozzles);
    add(Kind::filter, layout.filters);
    add(Kind::float_valve, layout.float_valves);
    add(Kind::supply, layout.supplies);
    return all;
}

std::string verbs(const std::vector<Fault>& faults) {
    std::vector<std::string> words;
    for (const Fault fault : faults) {
        words.emplace_back(time::name_of(fault));
    }
    return listed(words, words.size());
}

constexpr const char* kHow = "write a label and a verb: \"V1 shuts\", \"V1 opens\", \"P1 stops\", \"P1 runs\", \"drain-1 blocks\", \"feed-1 breaks\"";

/// "VB3 shuts". Nothing when it cannot be understood or cannot be: told on standard error.
std::optional<Mishap> understood(const std::string& text, const layout::Layout& layout) {
    const auto begin = text.find_first_not_of(' ');
    const auto end = text.find_last_not_of(" .!");
    const std::string said = begin == std::string::npos ? "" : text.substr(begin, end - begin + 1);
    const auto space = said.rfind(' ');
    const std::string id = said.substr(0, said.find(' '));
    if (space == std::string::npos || space != said.find(' ')) {
        tell(fmt::format("--if \"{}\": {}", text, kHow));
        return std::nullopt;
    }
    const std::string verb = said.substr(space + 1);
    const auto fault = std::find_if(std::begin(kFaults), std::end(kFaults), [&](Fault one) { return verb == time::name_of(one); });
    const std::vector<Mishap> all = things(layout);
    const auto thing = std::find_if(all.begin(), all.end(), [&](const Mishap& one) { return one.about_id == id; });
    if (thing == all.end()) {
        std::vector<std::string> ids;
        for (const Mishap& one : all) {
            ids.push_back(one.about_id);
        }
        const std::string near = nearest_name(id, ids);
        tell(fmt::format("--if \"{}\": nothing that can fail has the label '{}'{}", text, id,
                         near.empty() ? "; pipes, drains, valves, pumps, standpipes, siphons, nozzles, filters, float-valves and supplies can"
                                      : fmt::format("; did you mean '{}'?", near)));
        return std::nullopt;
    }
    const std::vector<Fault> can = time::faults_of(thing->about.kind);
    if (fault == std::end(kFaults) || std::find(can.begin(), can.end(), *fault) == can.end()) {
        tell(fmt::format("--if \"{}\": {} is a {}; what it can do is: {}", text, id, layout::name_of(thing->about.kind), verbs(can)));
        return std::nullopt;
    }
    Mishap mishap = *thing;
    mishap.fault = *fault;
    return mishap;
}

/// The routines asked for that belong to what was chosen; -1: each arrangement left alone.
std::vector<time::WhatIfWanted> places(const CycleSession& session) {
    std::vector<time::WhatIfWanted> all;
    for (const std::int32_t arrangement : session.arrangements) {
        if (session.request.routines.empty()) {
            all.push_back({.mishap = {}, .arrangement = arrangement, .routine = -1, .lasts_s = session.request.lasts_s.value_or(kDay_s)});
        }
        for (std::size_t r = 0; r < session.layout.routines.size(); ++r) {
            const layout::Routine& routine = session.layout.routines[r];
            const auto& names = session.request.routines;
            if (routine.arrangement == arrangement && std::find(names.begin(), names.end(), routine.name) != names.end()) {
                all.push_back({.mishap = {},
                               .arrangement = arrangement,
                               .routine = static_cast<std::int32_t>(r),
                               .lasts_s = session.request.lasts_s.value_or(kDay_s)});
            }
        }
    }
    return all;
}

}  // namespace

ExitStatus answer_if(const CycleSession& session, QuestionPage& page) {
    std::vector<Mishap> mishaps;
    for (const std::string& text : session.request.ifs) {
        if (const auto mishap = understood(text, session.layout)) {
            mishaps.push_back(*mishap);
        }
    }
    if (mishaps.size() < session.request.ifs.size()) {
        return ExitStatus::command_line;
    }
    time::Simulation simulation(session.layout, session.options);
    ExitStatus status = ExitStatus::fine;
    for (std::size_t i = 0; i < mishaps.size(); ++i) {
        for (time::WhatIfWanted wanted : places(session)) {
            wanted.mishap = mishaps[i];
            const time::WhatIfAnswer answer = time::what_if(simulation, wanted);
            show_if({session.request.ifs[i], answer, wanted.lasts_s}, page);
            if (answer.course.ending == time::Ending::cancelled) {
                return ExitStatus::interrupted;
            }
            const bool failed = !answer.cannot.empty() || answer.course.ending == time::Ending::no_solution;
            constexpr double kPuddle_m3 = 1e-3;  // less on the floor is wiped up
            const bool harm = answer.floor_m3 > kPuddle_m3 ||
                              std::any_of(answer.strikes.begin(), answer.strikes.end(), [](const time::Strikes& one) { return !one.also_without; });
            if (failed) {
                status = ExitStatus::no_solution;
            } else if (harm && session.request.common.strict && status == ExitStatus::fine) {
                status = ExitStatus::target_missed;
            }
        }
    }
    return status;
}

}  // namespace ebb::cli
