#include "solver/choose/bed_times.h"

#include "solver/time/simulation.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

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

bool has_time_to_keep(const layout::Vessel& vessel) { return layout::said(vessel.fills_within_s) || layout::said(vessel.drains_within_s); }

std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout, const std::vector<std::uint8_t>& vessels) {
    bool any = false;
    for (std::size_t v = 0; v < vessels.size(); ++v) any = any || (vessels[v] != 0 && has_time_to_keep(layout.vessels[v]));
    std::vector<std::int32_t> routines;
    for (std::size_t r = 0; any && r < layout.routines.size(); ++r) {
        const layout::Routine& routine = layout.routines[r];
        // beds are timed by what opens and shuts, or by a siphon of their own
        if (!routine.timers.empty() || !routine.rotations.empty() || !layout.siphons.empty()) routines.push_back(static_cast<std::int32_t>(r));
    }
    return routines;
}

std::vector<BedInTime> beds_in_time(const layout::Layout& layout, const std::vector<std::uint8_t>& vessels, const std::vector<std::int32_t>& routines,
                                    const std::stop_token& stop) {
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
    std::erase_if(kept, [&](const BedInTime& bed) { return vessels[at(bed.vessel)] == 0; });
    return kept;
}

}  // namespace ebb::choose
