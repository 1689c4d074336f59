// Routines: what they name, and times and depths that make sense.

#include <algorithm>
#include <cmath>
#include <map>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "solver/layout/checks.h"
#include "solver/layout/nearest.h"

namespace ebb::layout {
namespace {

void check_arrangement_name(Checks& checks, Routine& routine) {
    const std::vector<Arrangement>& arrangements = checks.layout.arrangements;
    if (routine.arrangement_name.empty()) {
        routine.arrangement = 0;
        return;
    }
    const auto found = std::ranges::find(arrangements, routine.arrangement_name, &Arrangement::name);
    if (found != arrangements.end()) {
        routine.arrangement = static_cast<std::int32_t>(found - arrangements.begin());
        return;
    }
    std::vector<std::string_view> names;
    names.reserve(arrangements.size());
    for (const Arrangement& arrangement : arrangements) {
        names.push_back(arrangement.name);
    }
    const std::string near = nearest_word(routine.arrangement_name, names);
    checks.add({"unknown-arrangement", routine.name,
                "routine " + in_quotes(routine.name) + " starts from the arrangement " + in_quotes(routine.arrangement_name) + ", which is not there",
                near.empty() ? "there are " + join_labels(names, "and") : "did you mean " + in_quotes(near) + "?", "arrangement"},
               routine.place);
}

/// A length of time, a volume or a rate of layouts made in C++: there, finite, and more than nothing.
bool positive(Checks& checks, double value, const Referrer& referrer) {
    if (!checks.given(value, referrer)) {
        return false;
    }
    if (value > 0.0) {
        return true;
    }
    const std::string attribute(referrer.attribute);
    checks.add({"out-of-bounds", referrer.about,
                std::string(referrer.element) + " " + referrer.about + ": " + attribute + "= must be more than nothing, not " + figure(value),
                "write a value that is more than nothing", attribute},
               referrer.place);
    return false;
}

/// A moment, counted from the beginning of the routine.
void moment(Checks& checks, double value, const Referrer& referrer) {
    if (checks.given(value, referrer) && value < 0.0) {
        const std::string attribute(referrer.attribute);
        checks.add(
            {"out-of-bounds", referrer.about,
             std::string(referrer.element) + " " + referrer.about + ": " + attribute + "= is " + figure(-value) + " s before the routine begins",
             "write a time from its beginning, nothing or more", attribute},
            referrer.place);
    }
}

/// What happens again and again must be over before it comes again.
void fits_its_period(Checks& checks, double lasts_s, double every_s, Finding finding, const Place& place) {
    if (lasts_s > every_s) {  // false where one of them is not said
        finding.says += " for " + figure(lasts_s / 60.0) + " min of every " + figure(every_s / 60.0) + " min";
        checks.add(std::move(finding), place);
    }
}

/// The valve or pump a word of the language asks for, or either in layouts made in C++.
Ref resolve_driven(Checks& checks, const std::string& id, const Ref& wanted, const Referrer& referrer) {
    switch (wanted.kind) {
        case Kind::valve: return checks.resolve(id, {Kind::valve}, referrer);
        case Kind::pump: return checks.resolve(id, {Kind::pump}, referrer);
        default: return checks.resolve(id, {Kind::valve, Kind::pump}, referrer);
    }
}

void check_timers(Checks& checks, Routine& routine) {
    for (Timer& timer : routine.timers) {
        const std::string_view verb = timer.about.kind == Kind::pump ? "runs" : "opens";
        timer.about = resolve_driven(checks, timer.about_id, timer.about, {routine.name, "timer of", verb, timer.place});
        positive(checks, timer.every_s, {routine.name, "timer of", "every", timer.place});
        positive(checks, timer.for_s, {routine.name, "timer of", "for", timer.place});
        moment(checks, timer.after_s, {routine.name, "timer of", "after", timer.place});
        fits_its_period(
            checks, timer.for_s, timer.every_s,
            {"timer-longer-than-period", routine.name, "the timer of " + timer.about_id + " stays on", "for= must not be longer than every=", "for"},
            timer.place);
    }
}

void check_rotations(Checks& checks, Routine& routine) {
    for (Rotation& rotation : routine.rotations) {
        std::unordered_set<std::string_view> seen;
        rotation.valves.clear();
        if (rotation.valve_ids.empty()) {
            checks.add(
                {"missing", routine.name, "a rotation of routine " + in_quotes(routine.name) + " names no valve", "name the valves it opens", ""},
                rotation.place);
        }
        for (const std::string& id : rotation.valve_ids) {
            const Ref valve = checks.resolve(id, {Kind::valve}, {routine.name, "rotation of", "opens", rotation.place});
            rotation.valves.push_back(valve.index);
            if (!seen.insert(id).second) {
                checks.add({"rotation-twice", routine.name, "the rotation names valve " + id + " twice", "name each valve once", "opens"},
                           rotation.place);
            }
        }
        positive(checks, rotation.each_s, {routine.name, "rotation of", "each", rotation.place});
    }
}

/// A clock opens a valve in its windows and shuts it outside them: two of them would undo each other's work.
void check_one_clock_each(Checks& checks, const Routine& routine) {
    struct Clock {
        const char* word;
        Place place;
    };
    std::unordered_map<std::string_view, Clock> driven;
    const auto drive = [&](const std::string& id, const Clock& clock, const char* verb, std::string_view attribute) {
        const auto [found, fresh] = driven.try_emplace(id, clock);
        if (fresh || id.empty()) {
            return;
        }
        const bool alike = std::string_view(found->second.word) == clock.word;
        checks.add({"two-clocks", routine.name,
                    "routine " + in_quotes(routine.name) + ": " + (alike ? "two " : "a ") + found->second.word +
                        (alike ? std::string("s") : std::string(" and a ") + clock.word) + " " + verb + " " + id +
                        ", and each shuts it when its own time is over",
                    "keep one of them; a level-switch may go with it", std::string(attribute)},
                   clock.place, found->second.place);
    };
    for (const Timer& timer : routine.timers) {
        const bool pump = timer.about.kind == Kind::pump;
        drive(timer.about_id, {"timer", timer.place}, pump ? "run" : "open", pump ? "runs" : "opens");
    }
    for (const Rotation& rotation : routine.rotations) {
        std::unordered_set<std::string_view> once;  // a valve named twice has been complained of
        for (const std::string& id : rotation.valve_ids) {
            if (once.insert(id).second) {
                drive(id, {"rotation", rotation.place}, "open", "opens");
            }
        }
    }
}

void check_thresholds(Checks& checks, const Routine& routine, const LevelSwitch& level_switch) {
    if (!checks.given(level_switch.below_m, {routine.name, "level-switch of", "below", level_switch.place}) ||
        !checks.given(level_switch.above_m, {routine.name, "level-switch of", "above", level_switch.place})) {
        return;
    }
    if (level_switch.below_m < 0.0) {
        checks.add({"out-of-bounds", routine.name,
                    "the level-switch of " + level_switch.watches_id + " waits for a depth of " + metres(level_switch.below_m),
                    "write depths above the floor"},
                   level_switch.place);
    }
    if (level_switch.below_m >= level_switch.above_m) {
        checks.add({"switch-thresholds", routine.name,
                    "the level-switch of " + level_switch.watches_id + " acts below " + metres(level_switch.below_m) + " and above " +
                        metres(level_switch.above_m) + ": between them nothing is left",
                    "leave a few centimetres between the two, or it chatters"},
                   level_switch.place);
    }
}

void check_level_switches(Checks& checks, Routine& routine) {
    for (LevelSwitch& level_switch : routine.level_switches) {
        level_switch.watches =
            checks.resolve(level_switch.watches_id, {Kind::vessel}, {routine.name, "level-switch of", "watches", level_switch.place});
        level_switch.about =
            resolve_driven(checks, level_switch.about_id, level_switch.about, {routine.name, "level-switch of", "", level_switch.place});
        check_thresholds(checks, routine, level_switch);
        if (level_switch.watches.kind != Kind::vessel) {
            continue;
        }
        const Vessel& vessel = checks.layout.vessels[static_cast<std::size_t>(level_switch.watches.index)];
        if (vessel.rim_m > vessel.floor_m && level_switch.above_m > vessel.rim_m - vessel.floor_m + kSame_m) {
            checks.add({"switch-above-rim", routine.name,
                        "the level-switch of " + vessel.id + " waits for a depth of " + metres(level_switch.above_m) + ", but the rim is at " +
                            metres(vessel.rim_m - vessel.floor_m),
                        "write depths below the rim; they are above the floor, not above the datum"},
                       level_switch.place, vessel.place);
        }
    }
}

void check_draws(Checks& checks, Routine& routine) {
    for (Draw& draw : routine.draws) {
        draw.from = checks.resolve(draw.from_id, {Kind::vessel}, {routine.name, "draw of", "from", draw.place});
        draw.into = checks.resolve(draw.into_id, {Kind::vessel, Kind::pond}, {routine.name, "draw of", "into", draw.place});
        if (!draw.into_id.empty() && draw.into_id == draw.from_id) {
            checks.add({"draw-to-itself", routine.name, "a draw takes water from " + draw.from_id + " into itself", "name another vessel", "into"},
                       draw.place);
        }
        positive(checks, draw.volume_m3, {routine.name, "draw of", "volume", draw.place});
        moment(checks, draw.at_s, {routine.name, "draw of", "at", draw.place});
        positive(checks, draw.over_s, {routine.name, "draw of", "over", draw.place});
        if (said(draw.every_s)) {
            positive(checks, draw.every_s, {routine.name, "draw of", "every", draw.place});
            fits_its_period(
                checks, draw.over_s, draw.every_s,
                {"draw-longer-than-period", routine.name, "the draw from " + draw.from_id + " runs", "over= must not be longer than every=", "over"},
                draw.place);
        }
    }
}

void check_uptakes(Checks& checks, Routine& routine) {
    for (Uptake& uptake : routine.uptakes) {
        uptake.from = checks.resolve(uptake.from_id, {Kind::vessel}, {routine.name, "uptake of", "from", uptake.place});
        positive(checks, uptake.rate_m3_s, {routine.name, "uptake of", "rate", uptake.place});
    }
}

void check_failures(Checks& checks, Routine& routine) {
    for (const PowerCut& cut : routine.power_cuts) {
        moment(checks, cut.at_s, {routine.name, "power-cut of", "at", cut.place});
        positive(checks, cut.for_s, {routine.name, "power-cut of", "for", cut.place});
    }
    for (Failure& failure : routine.failures) {
        failure.pump = checks.resolve(failure.pump_id, {Kind::pump}, {routine.name, "failure of", "of", failure.place}).index;
        moment(checks, failure.at_s, {routine.name, "failure of", "at", failure.place});
        if (said(failure.for_s)) {
            positive(checks, failure.for_s, {routine.name, "failure of", "for", failure.place});
        }
    }
}

/// Changes of one moment are one: what they say of a thing must agree, whichever line comes first.
void check_changes(Checks& checks, Routine& routine) {
    std::map<double, SettingsSaid> said_at;
    for (Change& change : routine.changes) {
        moment(checks, change.at_s, {routine.name, "change of", "at", change.place});
        if (change.settings.empty()) {
            checks.add({"missing", routine.name, "a change of routine " + in_quotes(routine.name) + " sets nothing", "say what it sets", ""},
                       change.place);
        }
        const std::string words = "routine " + in_quotes(routine.name) + ", in what changes at " + figure(change.at_s / 3600.0) + " h,";
        check_settings(checks, change.settings, {routine.name, "change of", words}, said_at[change.at_s]);
    }
}

}  // namespace

void check_routines(Checks& checks) {
    std::unordered_set<std::string_view> names;
    for (Routine& routine : checks.layout.routines) {
        if (!names.insert(routine.name).second) {
            const auto twin = std::ranges::find(checks.layout.routines, routine.name, &Routine::name);
            checks.add({"name-twice", routine.name, "two routines are called " + in_quotes(routine.name), "give one of them another name", "name"},
                       routine.place, twin->place);
        }
        check_arrangement_name(checks, routine);
        positive(checks, routine.lasts_s, {routine.name, "routine", "lasts", routine.place});
        check_timers(checks, routine);
        check_rotations(checks, routine);
        check_one_clock_each(checks, routine);
        check_level_switches(checks, routine);
        check_draws(checks, routine);
        check_uptakes(checks, routine);
        check_failures(checks, routine);
        check_changes(checks, routine);
    }
}

}  // namespace ebb::layout
