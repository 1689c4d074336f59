#include "solver/settle/levels.h"

#include <algorithm>
#include <cmath>

#include "solver/settle/march.h"

namespace ebb::settle {

namespace {

using network::Network;
using network::Settings;
using network::Solver;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kLongStep_s = 1e9;
constexpr int kMostRepeats = 12;
constexpr double kCoarse_m = 5e-3, kFine_m = 1e-4;
constexpr double kNearRim_m = 10e-3;
constexpr double kLost_m3 = 1e-7;    ///< below a tenth of a millilitre nothing was spilled
constexpr double kStill_m_s = 1e-9;  ///< a level that moves slower than a tenth of a millimetre a day has settled
constexpr double kLongestWalk_s = 365.0 * 86400.0;
constexpr int kMostWalkSteps = 20000;

/// Settles directly from `volume` and leaves there the volumes at the end. `lost`: what the step says went over each rim.
bool settle_directly(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::vector<double>& volume,
                     std::vector<double>& lost, bool warm, Settled& result) {
    const Network& net = solver.network();
    std::vector<double> start = volume;
    for (int repeat = 0; repeat < kMostRepeats; ++repeat) {
        const network::Outcome outcome =
            solver.solve(settings, {.unknown = true, .tau_s = kLongStep_s, .start_volume_m3 = start}, tolerances, warm || repeat > 0, result.point);
        ++result.network_solves;
        result.newton_steps_total += std::max(0, outcome.steps);
        result.fallbacks += outcome.fallbacks;
        if (repeat == 0) result.newton_steps = outcome.steps;
        if (!outcome.converged) return false;
        double moved = 0.0;
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            double& level = result.point.head_m[at(net.vessel_node(v))];
            const double now = network::volume_at_level(net.storage[at(v)], level).value;
            if (repeat == 0) lost[at(v)] = kLongStep_s * network::spill_at_level(net.storage[at(v)], level).value;
            moved = std::max(moved, std::abs(now - start[at(v)]));
            start[at(v)] = now;
        }
        if (moved < 1e-12) break;
    }
    volume = start;
    return true;
}

/// An intake that is (nearly) bare while its pump is asked to run.
bool intake_bare(const Network& net, const Settings& settings, const network::Point& point) {
    for (std::size_t p = 0; p < net.pumps.size(); ++p) {
        const network::LinkSetting& setting = settings.links[at(net.pump_link[p])];
        if (setting.shut || setting.resting || setting.value <= 0.0 || net.pumps[p].intake_m == network::kNoPort) continue;
        if (point.head_m[at(net.pump_inlet_node[p])] < net.pumps[p].intake_m + network::kBareBand_m) return true;
    }
    return false;
}

bool is_still(const Network& net, const MarchState& state) {
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const double area = network::volume_at_level(net.storage[at(v)], state.point.head_m[at(net.vessel_node(v))]).slope;
        if (std::abs(state.rate_m3_s[at(v)]) > kStill_m_s * area) return false;
    }
    return true;
}

/// Walks coarsely from the start to near `end_levels`: does any level come near its rim?
bool comes_near_a_rim(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::span<const double> start,
                      const network::Point& end, Settled& result) {
    const Network& net = solver.network();
    March march(solver, settings, tolerances, kCoarse_m);
    march.start(start);
    bool near = false;
    for (int i = 0; i < kMostWalkSteps && !near; ++i) {
        bool home = true;
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            const double level = march.level_m(v);
            near = near || (level > net.storage[at(v)].rim_m - kNearRim_m);
            home = home && std::abs(level - end.head_m[at(net.vessel_node(v))]) < kCoarse_m;
        }
        if (home || near || march.state().time_s > kLongestWalk_s || !march.step(kLongestWalk_s)) break;
    }
    result.network_solves += march.state().network_solves;
    result.newton_steps_total += march.state().newton_steps;
    return near;
}

/// Walks finely until everything is still; what spilled, when, and whether an intake fell bare. Leaves the volumes at the end.
void walk_with_spills(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::vector<double>& volume, Settled& result) {
    const Network& net = solver.network();
    March march(solver, settings, tolerances, kFine_m);
    march.start(volume);
    for (int i = 0; i < kMostWalkSteps && march.state().time_s < kLongestWalk_s; ++i) {
        if (!march.step(kLongestWalk_s)) break;
        const MarchState& state = march.state();
        double spilled = 0.0;
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            Lost& lost = result.lost[at(v)];
            lost.volume_m3 = state.spilled_m3[at(v)];
            if (lost.first_s < 0.0 && lost.volume_m3 > kLost_m3) lost.first_s = state.time_s;
            spilled += lost.volume_m3;
        }
        if (result.dry_after_s < 0.0 && spilled > kLost_m3 && intake_bare(net, settings, state.point)) result.dry_after_s = state.time_s;
        if (is_still(net, state)) break;
    }
    volume = march.state().volume_m3;
    result.point = march.state().point;
    result.network_solves += march.state().network_solves;
    result.newton_steps_total += march.state().newton_steps;
}

}  // namespace

Settled settle_levels(Solver& solver, const Settings& settings, std::span<const double> start_volume_m3, std::span<const double> guess_m,
                      const LevelTolerances& tolerances) {
    Settled result;
    result.lost.resize(start_volume_m3.size());
    result.point = solver.cold_point(guess_m);
    std::vector<double> volume(start_volume_m3.begin(), start_volume_m3.end()), lost(start_volume_m3.size(), 0.0);
    result.found = settle_directly(solver, settings, tolerances.network, volume, lost, false, result);
    bool spills = std::any_of(lost.begin(), lost.end(), [](double v) { return v > kLost_m3; });
    if (tolerances.walk &&
        (!result.found || (!spills && comes_near_a_rim(solver, settings, tolerances.network, start_volume_m3, result.point, result))))
        spills = true;
    if (!spills || !tolerances.walk) return result;

    volume.assign(start_volume_m3.begin(), start_volume_m3.end());
    walk_with_spills(solver, settings, tolerances.network, volume, result);
    std::vector<double> ignored(lost.size(), 0.0);
    const Settled before = result;
    result.found = settle_directly(solver, settings, tolerances.network, volume, ignored, true, result);
    // a spill that goes on for ever is fed from outside; one that ended with a bare intake has emptied a closed loop
    result.ran_dry = result.found && before.dry_after_s >= 0.0 && intake_bare(solver.network(), settings, result.point);
    return result;
}

}  // namespace ebb::settle
