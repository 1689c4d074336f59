#pragma once
// Small farms followed in time: their layouts are those of tests/settle/by_hand.h, what happens to them is a routine made here.

#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

#include "solver/time/simulation.h"
#include "tests/settle/by_hand.h"

namespace ebb::test {

inline constexpr double kDay_s = 86400.0;
inline constexpr double kMinute_s = 60.0;

/// Validates the layout with `routine` as its only one (names are resolved in place) and makes the plan of it.
inline time::Plan plan_for(layout::Layout& layout, layout::Routine routine, double lasts_s) {
    routine.name = "what happens";
    routine.lasts_s = lasts_s;
    layout.routines = {std::move(routine)};
    if (layout.arrangements.empty()) {
        layout::Arrangement drawn;
        drawn.name = "drawn";
        layout.arrangements = {drawn};
    }
    layout.routines[0].arrangement_name = layout.arrangements[0].name;
    const auto problems = layout::validate(layout);
    for (const auto& problem : problems) FAIL_CHECK(problem.says);
    REQUIRE(problems.empty());
    return time::plan_of_routine(layout, 0);
}

inline time::Course follow(layout::Layout& layout, double lasts_s, layout::Routine routine = {}, time::Options options = {}) {
    const time::Plan plan = plan_for(layout, std::move(routine), lasts_s);
    return time::Simulation(layout, std::move(options)).run(plan);
}

/// When it happened to this thing, each time.
inline std::vector<double> times_of(const time::Course& course, time::Happening what, const std::string& id) {
    std::vector<double> times;
    for (const auto& event : course.events)
        if (event.what == what && event.about_id == id) times.push_back(event.t_s);
    return times;
}

/// The first time, NaN for never.
inline double first_of(const time::Course& course, time::Happening what, const std::string& id) {
    const auto times = times_of(course, what, id);
    return times.empty() ? time::kUnknown : times.front();
}

/// "time what thing" of every event, for messages and comparisons.
inline std::vector<std::string> told(const time::Course& course, bool switching_only = false) {
    std::vector<std::string> lines;
    for (const auto& event : course.events)
        if (event.switches || !switching_only)
            lines.push_back(std::to_string(std::llround(event.t_s)) + " " + time::name_of(event.what) + " " + event.about_id);
    return lines;
}

/// What the farm stops with against what it had and what came and went, from the figures of the answer alone, m3.
inline double water_missing_m3(const time::Plan& plan, const time::Course& course) {
    double missing = 0.0;
    for (const double volume : plan.start.volume_m3) missing += volume;
    for (const double volume : course.end.volume_m3) missing -= volume;
    for (const auto& vessel : course.vessels) missing -= vessel.spilled_m3;
    for (const auto& pond : course.ponds) missing += pond.given_m3;
    for (const auto& supply : course.supplies) missing += supply.given_m3;
    for (const double poured : course.hoses_m3) missing += poured;
    for (const auto& uptake : course.uptakes) missing -= uptake.taken_m3;
    for (std::size_t d = 0; d < course.draws.size(); ++d)
        if (plan.routine.draws[d].into.kind != layout::Kind::vessel) missing -= course.draws[d].taken_m3;
    return missing;
}

// ---- things of routines
inline layout::Timer timer(const std::string& about, double every_s, double for_s, double after_s = 0.0) {
    layout::Timer timer;
    timer.about_id = about;
    timer.every_s = every_s;
    timer.for_s = for_s;
    timer.after_s = after_s;
    return timer;
}
inline layout::LevelSwitch level_switch(const std::string& watches, const std::string& about, double below_m, double above_m,
                                        bool stops_below = true) {
    layout::LevelSwitch made;
    made.watches_id = watches;
    made.about_id = about;
    made.below_m = below_m;
    made.above_m = above_m;
    made.stops_below = stops_below;
    return made;
}
inline layout::PowerCut power_cut(double at_s, double for_s) {
    layout::PowerCut cut;
    cut.at_s = at_s;
    cut.for_s = for_s;
    return cut;
}
inline layout::Uptake uptake(const std::string& from, double rate_m3_s) {
    layout::Uptake made;
    made.from_id = from;
    made.rate_m3_s = rate_m3_s;
    return made;
}
inline layout::Draw draw(const std::string& from, const std::string& into, double volume_m3, double at_s, double over_s,
                         double every_s = layout::kNotSaid) {
    layout::Draw made;
    made.from_id = from;
    made.into_id = into;
    made.volume_m3 = volume_m3;
    made.at_s = at_s;
    made.over_s = over_s;
    made.every_s = every_s;
    return made;
}
inline layout::Change change(double at_s, layout::Act act, const std::string& about, double value = layout::kNotSaid) {
    layout::Setting setting;
    setting.act = act;
    setting.about_id = about;
    setting.value = value;
    layout::Change made;
    made.at_s = at_s;
    made.settings = {setting};
    return made;
}

/// The share of a long campaign that was asked for.
inline double slow_share() {
    double share = 1.0;
    if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
    return share;
}

}  // namespace ebb::test
