#include "solver/choose/pump_routines.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/pump_place.h"
#include "solver/time/simulation.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

bool has_time(const layout::Vessel& vessel) { return layout::said(vessel.fills_within_s) || layout::said(vessel.drains_within_s); }

bool is_about(const layout::Setting& setting, std::int32_t pump) {
    return setting.about == layout::Ref{layout::Kind::pump, pump} && (setting.act == layout::Act::run || setting.act == layout::Act::stop);
}

/// The arrangement says this speed itself, whatever it is based on.
void say_speed(layout::Layout& layout, std::int32_t arrangement, std::int32_t pump, double speed) {
    std::vector<layout::Setting>& settings = layout.arrangements[at(arrangement)].settings;
    std::erase_if(settings, [&](const layout::Setting& setting) { return is_about(setting, pump); });
    layout::Setting setting;
    setting.act = layout::Act::run;
    setting.about_id = layout.pumps[at(pump)].id;
    setting.about = {layout::Kind::pump, pump};
    setting.value = speed;
    settings.push_back(std::move(setting));
}

/// A kept time, where the routine lets it be judged.
void judge(const layout::Layout& layout, const time::Course& course, std::int32_t routine, std::vector<BedInTime>& kept) {
    for (const time::BedCourse& bed : course.beds) {
        const layout::Vessel& vessel = layout.vessels[at(bed.vessel)];
        const bool watered = course.vessels[at(bed.vessel)].mean_inflow_m3_s > 1e-9;
        if (!watered || !(bed.timed || bed.has_siphon)) continue;
        if (layout::said(vessel.fills_within_s))
            kept.push_back({routine, bed.vessel, true, vessel.fills_within_s, bed.fill_s, bed.fill_s <= vessel.fills_within_s * (1.0 + 1e-9)});
        if (layout::said(vessel.drains_within_s))
            kept.push_back({routine, bed.vessel, false, vessel.drains_within_s, bed.drain_s, bed.drain_s <= vessel.drains_within_s * (1.0 + 1e-9)});
    }
}

}  // namespace

std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout, std::int32_t pump) {
    const std::vector<std::uint8_t> fed = reach_of(layout, pump).vessels;
    bool any = false;
    for (std::size_t v = 0; v < fed.size(); ++v) any = any || (fed[v] != 0 && has_time(layout.vessels[v]));
    std::vector<std::int32_t> routines;
    for (std::size_t r = 0; any && r < layout.routines.size(); ++r) {
        const layout::Routine& routine = layout.routines[r];
        // beds are timed by what opens and shuts, or by a siphon of their own
        if (!routine.timers.empty() || !routine.rotations.empty() || !layout.siphons.empty()) routines.push_back(static_cast<std::int32_t>(r));
    }
    return routines;
}

layout::Layout with_candidate(const layout::Layout& layout, std::int32_t pump, const Candidate& candidate) {
    layout::Layout changed = with_pump(layout, pump, {.model = candidate.model, .count = candidate.count});
    for (const CandidatePoint& point : candidate.points) {
        const double now = layout::conditions_of(changed, point.arrangement).pump_speed[at(pump)];
        if (point.speed > 0.0 && std::abs(point.speed - now) > 1e-12) say_speed(changed, point.arrangement, pump, point.speed);
    }
    if (candidate.mode == SpeedMode::one_speed)
        for (layout::Routine& routine : changed.routines)
            for (layout::Change& change : routine.changes)
                for (layout::Setting& setting : change.settings)
                    if (is_about(setting, pump) && setting.act == layout::Act::run) setting.value = candidate.speed;
    return changed;
}

std::vector<BedInTime> beds_in_time(const layout::Layout& layout, std::int32_t pump, const std::vector<std::int32_t>& routines,
                                    const std::stop_token& stop) {
    const std::vector<std::uint8_t> fed = reach_of(layout, pump).vessels;
    time::Options options;
    options.stop = stop;
    time::Simulation simulation(layout, options);
    std::vector<BedInTime> kept;
    for (const std::int32_t routine : routines) {
        time::Plan plan = time::plan_of_routine(layout, routine);
        plan.until_repeats = true;
        const time::Course course = simulation.run(plan);
        if (course.ending == time::Ending::cancelled) return {};
        judge(layout, course, routine, kept);
    }
    std::erase_if(kept, [&](const BedInTime& bed) { return fed[at(bed.vessel)] == 0; });
    return kept;
}

}  // namespace ebb::choose
