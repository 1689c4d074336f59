// The work behind a report falls into parts that do not need one another; they are spread over the cores, the long ones first.

#include "cli/report_matter.h"

#include <algorithm>
#include <functional>
#include <utility>

#include "solver/choose/economy.h"
#include "solver/choose/pump_duty.h"
#include "solver/choose/pump_workers.h"
#include "solver/settle/farm.h"
#include "solver/time/simulation.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

using Part = std::function<void()>;

/// Too large for everything to be looked at in the time of a page: a system curve takes a hundred solves.
bool is_large(const layout::Layout& layout) {
    constexpr std::size_t kLargePipes = 400;
    return layout.pipes.size() > kLargePipes;
}

StateMade state_made(const layout::Layout& layout, settle::Farm& farm, layout::Conditions conditions, bool at_start_levels, const Speech& speech) {
    StateMade made;
    made.conditions = std::move(conditions);
    made.answer = farm.solve(made.conditions, at_start_levels);
    made.found = findings(layout, made.answer, made.conditions, speech);
    return made;
}

void add_arrangements(const layout::Layout& layout, const Speech& speech, const MatterWanted& wanted, ReportMatter& matter,
                      std::vector<Part>& parts) {
    matter.arrangements.resize(wanted.arrangements.size());
    constexpr std::size_t kAtOnce = 8;  // one workspace for so many
    for (std::size_t begin = 0; begin < wanted.arrangements.size(); begin += kAtOnce) {
        parts.emplace_back([&, begin] {
            settle::Farm farm(layout);
            for (std::size_t i = begin; i < std::min(begin + kAtOnce, wanted.arrangements.size()); ++i) {
                StateMade& made = matter.arrangements[i];
                made.conditions = layout::conditions_of(layout, wanted.arrangements[i]);
                made.answer = farm.solve(wanted.arrangements[i]);
                made.found = findings(layout, made.answer, speech);
            }
        });
    }
}

// ---------------------------------------------------------------------------------------------- what if

/// So many figures are kept at most for the combinations of a page; more would make it heavy.
constexpr std::size_t kMostFigures = 45'000;
constexpr std::size_t kMostWhole = 8;  // 256 combinations

std::size_t figures_of_one(const layout::Layout& layout) {
    constexpr std::size_t kOfVessel = 3, kOfPump = 3;
    return layout.vessels.size() * kOfVessel + layout.pipes.size() + layout.pumps.size() * kOfPump + layout.tees.size();
}

/// Off in the arrangement itself: switches of valves it has shut and pumps it has stopped.
std::uint64_t drawn_off(const survey::Question& question) {
    std::uint64_t off = 0;
    for (std::size_t s = 0; s < question.switches.size(); ++s) {
        const layout::Ref& thing = question.switches[s].thing;
        const bool is_off = (thing.kind == layout::Kind::valve && question.arrangement.valve_opening[at(thing.index)] <= 0.0) ||
                            (thing.kind == layout::Kind::pump && question.arrangement.pump_speed[at(thing.index)] <= 0.0);
        if (is_off) off |= std::uint64_t{1} << s;
    }
    return off;
}

/// Every combination of the first `whole` switches, the others as drawn; then each of the others turned alone, then pairs of them, as many as there
/// is room for.
std::vector<std::uint64_t> held_of(const WhatIfMade& what_if, std::size_t most) {
    const std::size_t count = what_if.question.switches.size();
    std::vector<std::uint64_t> held = {what_if.drawn};
    const std::uint64_t cube = std::uint64_t{1} << what_if.whole;
    const auto add = [&](std::uint64_t off) {
        if (held.size() < most) held.push_back(off);
    };
    for (std::uint64_t bits = 1; bits < cube; ++bits) add(what_if.drawn ^ bits);
    for (std::size_t s = what_if.whole; s < count; ++s) add(what_if.drawn ^ std::uint64_t{1} << s);
    for (std::size_t s = what_if.whole; s < count; ++s)
        for (std::size_t other = 0; other < s; ++other) add(what_if.drawn ^ std::uint64_t{1} << s ^ std::uint64_t{1} << other);
    return held;
}

void add_what_if(const layout::Layout& layout, const Speech& speech, const MatterWanted& wanted, ReportMatter& matter, std::vector<Part>& parts) {
    WhatIfMade& what_if = matter.what_if;
    const std::int32_t first = wanted.arrangements.front();
    what_if.question.arrangement = layout::conditions_of(layout, first);
    what_if.question.at_start_levels = layout.arrangements[at(first)].at_start_levels;
    what_if.question.switches = wanted.switches.empty() ? switches_that_matter(layout, what_if.question.arrangement) : wanted.switches;
    what_if.drawn = drawn_off(what_if.question);
    what_if.all = survey::how_many(what_if.question.switches.size(), -1);
    const std::size_t most = std::max<std::size_t>(1, kMostFigures / std::max<std::size_t>(1, figures_of_one(layout)));
    while (what_if.whole < std::min(what_if.question.switches.size(), kMostWhole) && std::size_t{2} << what_if.whole <= most) ++what_if.whole;
    what_if.held = held_of(what_if, most);
    what_if.states.resize(what_if.held.size());
    constexpr std::size_t kAtOnce = 64;
    for (std::size_t begin = 0; begin < what_if.held.size(); begin += kAtOnce) {
        parts.emplace_back([&layout, &speech, &what_if, begin] {
            settle::Options options;
            options.bands = options.ledgers = false;  // the figures of a combination stand by themselves
            settle::Farm farm(layout, options);
            for (std::size_t i = begin; i < std::min(begin + kAtOnce, what_if.held.size()); ++i)
                what_if.states[i] =
                    state_made(layout, farm, survey::conditions_with(what_if.question, what_if.held[i]), what_if.question.at_start_levels, speech);
        });
    }
}

// ---------------------------------------------------------------------------------------------- in time

void add_courses(const layout::Layout& layout, const Speech& speech, const choose::Watch& watch, ReportMatter& matter, std::vector<Part>& parts) {
    matter.courses.resize(layout.routines.size());
    for (std::size_t i = 0; i < layout.routines.size(); ++i) {
        parts.emplace_back([&, i] {
            constexpr double kRows = 1500.0;
            CourseMade& made = matter.courses[i];
            made.plan = time::plan_of_routine(layout, static_cast<std::int32_t>(i));
            time::Options options;
            options.keep_series = true;
            options.series_every_s = made.plan.lasts_s / kRows;
            options.stop = watch.stop;
            made.course = time::Simulation(layout, options).run(made.plan);
            made.found = cycle_findings(layout, made.plan, made.course, speech);
            made.targets = time_targets(layout, made.course);
        });
    }
}

void add_cut(const layout::Layout& layout, const MatterWanted& wanted, const choose::Watch& watch, ReportMatter& matter, std::vector<Part>& parts) {
    if (layout.pumps.empty()) return;
    parts.emplace_back([&] {
        time::Options options;
        options.stop = watch.stop;
        time::Simulation simulation(layout, options);
        matter.cut = time::power_cut(simulation, {.arrangement = wanted.arrangements.front()});
    });
}

void add_windows(const layout::Layout& layout, const MatterWanted& wanted, const choose::Watch& watch, ReportMatter& matter,
                 std::vector<Part>& parts) {
    constexpr std::size_t kMost = 24;  // each takes some fifty milliseconds of a farm
    matter.windows.resize(wanted.whole ? layout.siphons.size() : std::min(kMost, layout.siphons.size()));
    for (std::size_t i = 0; i < matter.windows.size(); ++i) {
        parts.emplace_back([&, i] {
            time::Options options;
            options.stop = watch.stop;
            time::Simulation simulation(layout, options);
            matter.windows[i] = time::siphon_window(
                simulation, {.siphon = static_cast<std::int32_t>(i), .arrangement = wanted.arrangements.front(), .table_rows = 0});
        });
    }
}

// ---------------------------------------------------------------------------------------------- pumps, sizes, how sure

/// The arrangements whose system curves are drawn: those that count over the year, and the first of the page.
std::vector<std::int32_t> drawn_for_pumps(const layout::Layout& layout, const MatterWanted& wanted) {
    constexpr std::size_t kMost = 4;
    std::vector<std::int32_t> all = {wanted.arrangements.front()};
    for (const std::int32_t counts : choose::arrangements_that_count(layout)) {
        const bool asked = std::find(wanted.arrangements.begin(), wanted.arrangements.end(), counts) != wanted.arrangements.end();
        if (asked && counts != all.front() && all.size() < kMost) all.push_back(counts);
    }
    return all;
}

/// To this head a system curve is drawn: as high as the pump can lift.
double shut_off_head_m(const layout::Layout& layout, const layout::Pump& pump) {
    return layout.pump_models[at(pump.model)].curve.head(0.0, {}).value;
}

void add_pumps(const layout::Layout& layout, const MatterWanted& wanted, const choose::Watch& watch, ReportMatter& matter, std::vector<Part>& parts) {
    const std::vector<std::int32_t> arrangements = drawn_for_pumps(layout, wanted);
    matter.pumps.resize(layout.pumps.size());
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) matter.pumps[p].pump = static_cast<std::int32_t>(p);
    constexpr std::size_t kMostPumps = 12;
    if (is_large(layout) && !wanted.whole) return;
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        if (p >= kMostPumps) break;
        matter.pumps[p].duties.resize(arrangements.size());
        for (std::size_t i = 0; i < arrangements.size(); ++i) {
            const std::int32_t arrangement = arrangements[i];
            parts.emplace_back([&, p, i, arrangement] {
                constexpr int kPoints = 17;
                matter.pumps[p].duties[i] =
                    choose::duty_of(layout, static_cast<std::int32_t>(p), arrangement, kPoints, shut_off_head_m(layout, layout.pumps[p]), watch.stop);
            });
        }
    }
}

void add_sizing(const layout::Layout& layout, const MatterWanted& wanted, const choose::Watch& watch, ReportMatter& matter,
                std::vector<Part>& parts) {
    const bool any = std::any_of(layout.pipes.begin(), layout.pipes.end(), [](const layout::Pipe& pipe) { return pipe.choose; });
    if (!any) return;
    parts.emplace_back([&] {
        choose::SizingQuestion question;
        question.trade_off = true;
        question.threads = wanted.threads;
        question.stop = watch.stop;
        matter.sizing = choose::size_pipes(layout, question);
    });
}

void add_unsure(const layout::Layout& layout, const MatterWanted& wanted, const choose::Watch& watch, ReportMatter& matter,
                std::vector<Part>& parts) {
    parts.emplace_back([&] {
        const std::int32_t first = wanted.arrangements.front();
        survey::UncertainOptions options;
        constexpr std::size_t kSamples = 512, kFewSamples = 128;
        options.samples = is_large(layout) && !wanted.whole ? kFewSamples : kSamples;
        matter.unsure = survey::solve_uncertain(layout, layout::conditions_of(layout, first), layout.arrangements[at(first)].at_start_levels, options,
                                                {}, watch.stop);
    });
}

/// How much a handle matters: by what the pipe it stands in leads to.
int rank_of(const layout::Layout& layout, const layout::Pipe& pipe) {
    constexpr int kOther = 5;
    std::int32_t vessel = pipe.to.ref.kind == layout::Kind::vessel ? pipe.to.ref.index : -1;
    if (pipe.to.ref.kind == layout::Kind::nozzle) vessel = layout.nozzles[at(pipe.to.ref.index)].into.index;
    if (vessel < 0 || pipe.from.ref.kind == layout::Kind::vessel) return kOther;
    switch (layout.vessels[at(vessel)].kind) {
        case layout::VesselKind::bed: return 1;
        case layout::VesselKind::tier: return 2;
        case layout::VesselKind::trough: return 3;
        case layout::VesselKind::tank: return 4;
        case layout::VesselKind::sump:
        case layout::VesselKind::vessel: break;
    }
    return kOther;
}

}  // namespace

std::vector<survey::Switch> switches_that_matter(const layout::Layout& layout, const layout::Conditions& arrangement) {
    struct Ranked {
        int rank;
        survey::Switch one;
    };
    std::vector<Ranked> ranked;
    for (std::size_t v = 0; v < layout.valves.size(); ++v) {
        if (layout.valves[v].pipe < 0 || physics::valve_is_one_way(layout.valves[v].kind)) continue;
        constexpr int kShutAsDrawn = 10;  // what the arrangement has shut comes after what it has open
        const int rank = rank_of(layout, layout.pipes[at(layout.valves[v].pipe)]) + (arrangement.valve_opening[v] <= 0.0 ? kShutAsDrawn : 0);
        ranked.push_back({rank, {.thing = {layout::Kind::valve, static_cast<std::int32_t>(v)}}});
    }
    std::stable_sort(ranked.begin(), ranked.end(), [](const Ranked& one, const Ranked& other) { return one.rank < other.rank; });
    const auto beds = static_cast<std::size_t>(std::count_if(ranked.begin(), ranked.end(), [](const Ranked& one) { return one.rank == 1; }));
    constexpr std::size_t kPumpsBefore = 6;  // after so many beds come the pumps
    const std::size_t before = std::min(std::max<std::size_t>(beds, 1), kPumpsBefore);
    std::vector<survey::Switch> switches;
    for (std::size_t i = 0; i <= ranked.size(); ++i) {
        if (i == std::min(before, ranked.size()))
            for (std::size_t p = 0; p < layout.pumps.size(); ++p) switches.push_back({.thing = {layout::Kind::pump, static_cast<std::int32_t>(p)}});
        if (i < ranked.size()) switches.push_back(ranked[i].one);
    }
    if (switches.size() > survey::kMostSwitches) switches.resize(survey::kMostSwitches);
    return switches;
}

ReportMatter make_matter(const layout::Layout& layout, const Speech& speech, const MatterWanted& wanted, const choose::Watch& watch) {
    ReportMatter matter;
    std::vector<Part> parts;
    if (wanted.readings != nullptr) {
        parts.emplace_back([&] {
            diagnose::DiagnosisOptions options;
            options.stop = watch.stop;
            matter.diagnosis = make_diagnosis(layout, *wanted.readings, false, wanted.threads, options);
        });
    }
    if (wanted.whole) add_sizing(layout, wanted, watch, matter, parts);
    add_windows(layout, wanted, watch, matter, parts);
    add_courses(layout, speech, watch, matter, parts);
    add_unsure(layout, wanted, watch, matter, parts);
    add_cut(layout, wanted, watch, matter, parts);
    add_pumps(layout, wanted, watch, matter, parts);
    add_arrangements(layout, speech, wanted, matter, parts);
    add_what_if(layout, speech, wanted, matter, parts);
    const std::vector<std::uint8_t> done = choose::work_through(parts.size(), watch, 0.0, 1.0, [&](std::size_t i) { parts[i](); });
    matter.stopped = watch.stop.stop_requested() || std::find(done.begin(), done.end(), std::uint8_t{0}) != done.end();
    return matter;
}

}  // namespace ebb::cli
