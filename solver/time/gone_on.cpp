// A routine as it goes on from some moment: clocks keep their phase, what is over is left out, what stays changed is changed at once.

#include <algorithm>
#include <cmath>

#include "solver/time/power_cut.h"

namespace ebb::time {

namespace {

/// Beginning of a thing that comes every so often, as seen from `by_s`: in the future as it is, else its last beginning.
double shifted(double after_s, double every_s, double by_s) { return after_s > by_s ? after_s - by_s : -std::fmod(by_s - after_s, every_s); }

/// A rotation has no phase of its own: one timer for each of its valves has.
void add_rotation(const layout::Rotation& rotation, double by_s, std::vector<layout::Timer>& timers) {
    const double every = rotation.each_s * static_cast<double>(rotation.valves.size());
    for (std::size_t i = 0; i < rotation.valves.size(); ++i) {
        layout::Timer timer;
        timer.place = rotation.place;
        timer.about_id = rotation.valve_ids[i];
        timer.about = {layout::Kind::valve, rotation.valves[i]};
        timer.every_s = every;
        timer.for_s = rotation.each_s;
        timer.after_s = shifted(rotation.each_s * static_cast<double>(i), every, by_s);
        timers.push_back(timer);
    }
}

}  // namespace

layout::Routine gone_on(const layout::Routine& routine, double by_s) {
    layout::Routine on = routine;
    for (auto& timer : on.timers) timer.after_s = shifted(timer.after_s, timer.every_s, by_s);
    if (by_s > 0.0) {
        for (const auto& rotation : routine.rotations) add_rotation(rotation, by_s, on.timers);
        on.rotations.clear();
    }
    for (auto& cut : on.power_cuts) cut.at_s -= by_s;
    std::erase_if(on.power_cuts, [](const layout::PowerCut& cut) { return cut.at_s + cut.for_s <= 0.0; });
    for (auto& failure : on.failures) failure.at_s -= by_s;
    std::erase_if(on.failures, [](const layout::Failure& one) { return layout::said(one.for_s) && one.at_s + one.for_s <= 0.0; });
    for (auto& change : on.changes) change.at_s -= by_s;
    for (auto& draw : on.draws) draw.at_s = layout::said(draw.every_s) ? shifted(draw.at_s, draw.every_s, by_s) : draw.at_s - by_s;
    std::erase_if(on.draws, [](const layout::Draw& draw) { return !layout::said(draw.every_s) && draw.at_s + draw.over_s <= 0.0; });
    return on;
}

}  // namespace ebb::time
