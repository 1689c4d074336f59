// The sump ledger: where each sump stands while running, with everything stopped, and after a day's evaporation.

#include <algorithm>
#include <cmath>

#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

using layout::Kind;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDay_s = 86400.0;

/// The depth the user does not want to go below: said, or where the highest intake in the sump begins to starve.
double least_depth(const Layout& layout, std::int32_t vessel) {
    const layout::Vessel& sump = layout.vessels[at(vessel)];
    if (layout::said(sump.least_depth_m)) return sump.least_depth_m;
    double least = 0.0;
    for (const auto& pump : layout.pumps)
        if (pump.in == layout::Ref{Kind::vessel, vessel})
            least = std::max(least, (layout::said(pump.intake_height_m) ? pump.intake_height_m : 0.0) + network::kBareBand_m);
    return least;
}

/// Water taken by the routines of the layout from the vessels of one loop, m3 a day; NaN when no routine says.
double uptake_m3_day(const Layout& layout, const Loops& loops, std::int32_t loop) {
    double most = kUnknown;
    for (const auto& routine : layout.routines) {
        double rate = 0.0;
        for (const auto& uptake : routine.uptakes)
            if (uptake.from.kind == Kind::vessel && loops.of_vessel[at(uptake.from.index)] == loop) rate += uptake.rate_m3_s;
        if (rate > 0.0) most = std::isnan(most) ? rate * kDay_s : std::max(most, rate * kDay_s);
    }
    return most;
}

}  // namespace

void add_ledgers(Model& model, const Layout& layout, const layout::Conditions& conditions, const Solved& solved, const LevelTolerances& tolerances,
                 double evaporation_share_per_day, Answer& answer) {
    const auto is_sump = [](const layout::Vessel& v) { return v.kind == layout::VesselKind::sump; };
    if (std::none_of(layout.vessels.begin(), layout.vessels.end(), is_sump)) return;

    layout::Conditions stopped = conditions;
    std::fill(stopped.pump_speed.begin(), stopped.pump_speed.end(), 0.0);
    Start running;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        running.level_m.push_back(answer.vessels[v].level_m);
        running.volume_m3.push_back(answer.vessels[v].volume_m3);
    }
    const Solved home = solve_model(model, layout, stopped, false, running, tolerances);
    const Loops loops = loops_of(model.network, solved.settings);
    std::vector<double> loop_water(loops.open.size(), 0.0);
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) loop_water[at(loops.of_vessel[v])] += answer.vessels[v].volume_m3;

    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const layout::Vessel& sump = layout.vessels[v];
        if (!is_sump(sump)) continue;
        SumpLedger ledger;
        ledger.vessel = static_cast<std::int32_t>(v);
        const VesselAnswer& now = answer.vessels[v];
        ledger.running_depth_m = now.depth_m;
        ledger.freeboard_running_m = now.freeboard_m;
        if (home.levels.found) {
            const double level = std::min(home.levels.point.head_m[at(model.network.plain_count) + v], sump.rim_m);
            ledger.stopped_depth_m = std::max(0.0, level - sump.floor_m);
            ledger.freeboard_stopped_m = sump.rim_m - level;
            ledger.stopped_spill_m3 = home.levels.lost[v].volume_m3;
            ledger.returned_m3 = layout::volume_at_depth(sump, ledger.stopped_depth_m) - now.volume_m3 + ledger.stopped_spill_m3;
        }
        const double uptake = uptake_m3_day(layout, loops, loops.of_vessel[v]);
        ledger.evaporation_m3_day = std::isnan(uptake) ? evaporation_share_per_day * loop_water[at(loops.of_vessel[v])] : uptake;
        ledger.depth_after_day_m = layout::depth_at_volume(sump, std::max(0.0, now.volume_m3 - ledger.evaporation_m3_day));
        ledger.least_depth_m = least_depth(layout, ledger.vessel);
        ledger.margin_m = ledger.depth_after_day_m - ledger.least_depth_m;
        ledger.margin_m3 = now.volume_m3 - ledger.evaporation_m3_day - layout::volume_at_depth(sump, ledger.least_depth_m);
        if (ledger.evaporation_m3_day > 0.0)
            ledger.days_to_least = std::max(0.0, (now.volume_m3 - layout::volume_at_depth(sump, ledger.least_depth_m)) / ledger.evaporation_m3_day);
        answer.ledgers.push_back(ledger);
    }
}

}  // namespace ebb::settle
