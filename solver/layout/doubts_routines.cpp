// Doubts about settings and routines: what would never happen, and clocks that overrule what was said before.

#include <algorithm>
#include <string>

#include "solver/layout/doubting.h"

namespace ebb::layout {
namespace {

/// Something a routine brings at a moment: "the power-cut", its attribute and when.
struct Event {
    std::string words;
    const char* attribute;
    double at_s;
    Place place;
};

void doubt_moment(Doubts& doubts, const Routine& routine, const Event& event) {
    if (event.at_s >= routine.lasts_s) {
        doubts.add({"after-the-end", routine.name,
                    event.words + " of routine " + in_quotes(routine.name) + " comes " + figure(event.at_s / 3600.0) +
                        " h after its beginning, but it lasts " + figure(routine.lasts_s / 3600.0) + " h: is it meant to happen?",
                    "let the routine last longer, or write an earlier time", event.attribute},
                   event.place, routine.place);
    }
}

void doubt_moments(Doubts& doubts, const Routine& routine) {
    for (const Timer& timer : routine.timers) {
        doubt_moment(doubts, routine, {"the first window of " + timer.about_id, "after", timer.after_s, timer.place});
    }
    for (const PowerCut& cut : routine.power_cuts) {
        doubt_moment(doubts, routine, {"a power-cut", "at", cut.at_s, cut.place});
    }
    for (const Draw& draw : routine.draws) {
        doubt_moment(doubts, routine, {"a draw from " + draw.from_id, "at", draw.at_s, draw.place});
    }
    for (const Change& change : routine.changes) {
        doubt_moment(doubts, routine, {"a change", "at", change.at_s, change.place});
    }
    for (const Failure& failure : routine.failures) {
        doubt_moment(doubts, routine, {"the failure of " + failure.pump_id, "at", failure.at_s, failure.place});
    }
}

/// A timer overrules the arrangement: a pump that stands still in it runs in the timer's windows.
void doubt_timed_pumps(Doubts& doubts, const Routine& routine) {
    const Conditions conditions = conditions_of(doubts.layout, routine.arrangement);
    const std::string& arrangement = doubts.layout.arrangements[static_cast<std::size_t>(routine.arrangement)].name;
    for (const Timer& timer : routine.timers) {
        if (timer.about.kind == Kind::pump && conditions.pump_speed[static_cast<std::size_t>(timer.about.index)] <= 0.0) {
            doubts.add({"timer-of-stopped-pump", routine.name,
                        "a timer of routine " + in_quotes(routine.name) + " runs " + timer.about_id + ", which the arrangement " +
                            in_quotes(arrangement) + " stops: is it meant to run?",
                        "in its windows it will run, at 100 %; take the <stop> out of the arrangement, or the timer out of the routine", "runs"},
                       timer.place, doubts.layout.arrangements[static_cast<std::size_t>(routine.arrangement)].place);
        }
    }
}

void doubt_rotations(Doubts& doubts, const Routine& routine) {
    for (const Rotation& rotation : routine.rotations) {
        if (rotation.valve_ids.size() == 1) {
            doubts.add({"rotation-of-one", routine.name,
                        "a rotation of routine " + in_quotes(routine.name) + " names only " + rotation.valve_ids[0] +
                            ", which then stays open: are there others that take turns with it?",
                        "name every valve that takes its turn, with spaces between", "opens"},
                       rotation.place);
        }
    }
}

/// Check and foot valves move by themselves; there is nothing on them to turn.
void doubt_settings(Doubts& doubts, const std::string& name, const std::vector<Setting>& settings) {
    for (const Setting& setting : settings) {
        if ((setting.act != Act::close && setting.act != Act::throttle) || setting.about.kind != Kind::valve) {
            continue;
        }
        const physics::ValveKind kind = doubts.layout.valves[static_cast<std::size_t>(setting.about.index)].kind;
        if (kind == physics::ValveKind::check || kind == physics::ValveKind::foot) {
            doubts.add({"valve-without-handle", name,
                        setting.about_id + " is a " + (kind == physics::ValveKind::check ? "check" : "foot") +
                            " valve, which opens and shuts by itself: is it the valve you mean?",
                        "name the valve that is turned by hand, or give this one another kind", "valve"},
                       setting.place, doubts.layout.valves[static_cast<std::size_t>(setting.about.index)].place);
        }
    }
}

}  // namespace

void doubt_routines(Doubts& doubts) {
    for (const Arrangement& arrangement : doubts.layout.arrangements) {
        doubt_settings(doubts, arrangement.name, arrangement.settings);
    }
    for (const Routine& routine : doubts.layout.routines) {
        doubt_moments(doubts, routine);
        doubt_timed_pumps(doubts, routine);
        doubt_rotations(doubts, routine);
        for (const Change& change : routine.changes) {
            doubt_settings(doubts, routine.name, change.settings);
        }
    }
}

}  // namespace ebb::layout
