// One pump of several in parallel that stops: the others go on, each on its own curve, and the one that stands is taken as shut. Only a check
// valve keeps it shut: where there is none, water may run back through it, and the valve that is missing is named.

#include "solver/choose/pump_standby.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "solver/choose/pump_place.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrops_m3_s = 1e-9;  // 4 ml an hour

/// Targets missed now that were asked for while everything ran.
void unmet(const settle::Answer& before, const settle::Answer& after, Failed& failed) {
    for (std::size_t t = 0; t < after.targets.size() && t < before.targets.size(); ++t) {
        const bool no_figure = after.state == settle::State::cycles && std::isnan(after.targets[t].got);
        if (!before.targets[t].asked || after.targets[t].met || no_figure) continue;
        if (before.targets[t].met || std::isnan(before.targets[t].got))
            failed.unmet.push_back(after.targets[t]);
        else
            failed.unmet_before.push_back(after.targets[t].about);
    }
}

void compare(const layout::Layout& layout, const settle::Answer& before, const settle::Answer& after, Failed& failed) {
    failed.state = after.state;
    failed.why = after.why;
    unmet(before, after, failed);
    for (std::size_t v = 0; v < after.vessels.size(); ++v) {
        const std::int32_t vessel = static_cast<std::int32_t>(v);
        const bool sump = layout.vessels[v].kind == layout::VesselKind::sump;  // that gets none because nothing is sent round
        if (!sump && before.vessels[v].inflow_m3_s > kDrops_m3_s && !(after.vessels[v].inflow_m3_s > kDrops_m3_s))
            failed.without_water.push_back(vessel);
        if (after.vessels[v].spill_m3_s > kDrops_m3_s && !(before.vessels[v].spill_m3_s > kDrops_m3_s)) failed.spills.push_back(vessel);
        // on the way to the end water may be lost too
        constexpr double kLost_m3 = 1e-6;
        if (after.vessels[v].spilled_m3 > kLost_m3 + before.vessels[v].spilled_m3 && (failed.spills.empty() || failed.spills.back() != vessel))
            failed.spills.push_back(vessel);
    }
    for (std::size_t p = 0; p < after.pumps.size(); ++p)
        if (after.pumps[p].intake_bare && !before.pumps[p].intake_bare) failed.bare.push_back(static_cast<std::int32_t>(p));
    failed.flow_before_m3_s = before.pumps[at(failed.pump)].flow_m3_s;
    failed.flow_after_m3_s = after.pumps[at(failed.pump)].flow_m3_s;
}

Failed fail(const layout::Layout& layout, std::int32_t pump, std::int32_t arrangement, const std::stop_token& stop) {
    const layout::Pump& now = layout.pumps[at(pump)];
    Failed failed;
    failed.pump = pump;
    failed.arrangement = arrangement;
    failed.left = now.count - 1;
    const double speed = layout::conditions_of(layout, arrangement).pump_speed[at(pump)];
    failed.ran = speed > 0.0;
    if (!failed.ran) return failed;
    Place running(layout, pump, Put{.model = now.model, .count = now.count, .wear = now.wear}, stop);
    const settle::Answer before = running.solve(arrangement, speed);
    if (failed.left == 0) {
        compare(layout, before, running.solve(arrangement, 0.0), failed);
        return failed;
    }
    Place fewer(layout, pump, Put{.model = now.model, .count = failed.left, .wear = now.wear}, stop);
    compare(layout, before, fewer.solve(arrangement, speed), failed);
    return failed;
}

}  // namespace

Standby standby_of(const layout::Layout& layout, const std::vector<std::int32_t>& arrangements, const Watch& watch, double from, double to) {
    Standby standby;
    const std::size_t each = arrangements.size();
    standby.cases.resize(layout.pumps.size() * each);
    const std::vector<std::uint8_t> done = work_through(standby.cases.size(), watch, from, to, [&](std::size_t i) {
        standby.cases[i] = fail(layout, static_cast<std::int32_t>(i / each), arrangements[i % each], watch.stop);
    });
    for (std::size_t i = standby.cases.size(); i-- > 0;)
        if (done[i] == 0) standby.cases.erase(standby.cases.begin() + static_cast<std::ptrdiff_t>(i));
    for (std::size_t p = 0; p < layout.pumps.size(); ++p)
        if (!layout.pumps[p].check_valve && layout.pumps[p].count > 1) standby.without_check_valve.push_back(static_cast<std::int32_t>(p));
    return standby;
}

}  // namespace ebb::choose
