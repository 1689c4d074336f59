// Routines: what they name, and times and depths that make sense.

#include <algorithm>
#include <cmath>
#include <unordered_set>

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

void check_timers(Checks& checks, Routine& routine) {
    for (Timer& timer : routine.timers) {
        timer.about = checks.resolve(timer.about_id, {Kind::valve, Kind::pump}, {routine.name, "timer of", "opens", timer.place});
        if (said(timer.every_s) && said(timer.for_s) && timer.for_s > timer.every_s) {
            checks.add({"timer-longer-than-period", routine.name,
                        "the timer of " + timer.about_id + " stays on for " + figure(timer.for_s / 60.0) + " min of every " +
                            figure(timer.every_s / 60.0) + " min",
                        "for= must not be longer than every=", "for"},
                       timer.place);
        }
    }
}

void check_rotations(Checks& checks, Routine& routine) {
    for (Rotation& rotation : routine.rotations) {
        std::unordered_set<std::string_view> seen;
        for (const std::string& id : rotation.valve_ids) {
            const Ref valve = checks.resolve(id, {Kind::valve}, {routine.name, "rotation of", "opens", rotation.place});
            rotation.valves.push_back(valve.index);
            if (!seen.insert(id).second) {
                checks.add({"rotation-twice", routine.name, "the rotation names valve " + id + " twice", "name each valve once", "opens"},
                           rotation.place);
            }
        }
    }
}

void check_level_switches(Checks& checks, Routine& routine) {
    for (LevelSwitch& level_switch : routine.level_switches) {
        level_switch.watches =
            checks.resolve(level_switch.watches_id, {Kind::vessel}, {routine.name, "level-switch of", "watches", level_switch.place});
        level_switch.about =
            checks.resolve(level_switch.about_id, {Kind::valve, Kind::pump}, {routine.name, "level-switch of", "", level_switch.place});
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

void check_takings(Checks& checks, Routine& routine) {
    for (Draw& draw : routine.draws) {
        draw.from = checks.resolve(draw.from_id, {Kind::vessel}, {routine.name, "draw of", "from", draw.place});
        draw.into = checks.resolve(draw.into_id, {Kind::vessel, Kind::pond}, {routine.name, "draw of", "into", draw.place});
        if (!draw.into_id.empty() && draw.into_id == draw.from_id) {
            checks.add({"draw-to-itself", routine.name, "a draw takes water from " + draw.from_id + " into itself", "name another vessel", "into"},
                       draw.place);
        }
    }
    for (Uptake& uptake : routine.uptakes) {
        uptake.from = checks.resolve(uptake.from_id, {Kind::vessel}, {routine.name, "uptake of", "from", uptake.place});
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
        checks.given(routine.lasts_s, {routine.name, "routine", "lasts", routine.place});
        check_timers(checks, routine);
        check_rotations(checks, routine);
        check_level_switches(checks, routine);
        check_takings(checks, routine);
    }
}

}  // namespace ebb::layout
