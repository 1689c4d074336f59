#include "solver/settle/levels.h"

#include <algorithm>
#include <cmath>

#include "solver/network/newton_rules.h"
#include "solver/settle/march.h"
#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

using network::Network;
using network::Settings;
using network::Solver;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kLongStep_s = 1e7;
constexpr int kMostRepeats = 40;
/// What still moves by more than this after so many of them is a wide vessel behind a thread of water: the steps grow, as far as the sum of a loop's
/// water can still be told in them.
constexpr int kPatientRepeats = 3;
constexpr double kTrickle_m3_s = 1e-13, kLengthen = 10.0, kLongestStep_s = 1e12;
/// What moves no more than a millilitre a day over a step of hours is taken as at rest where a longer step does not arrive; judge() says so.
constexpr double kCalm_m3_s = 1e-11, kCalmStep_s = 1e4;
constexpr double kMoved_m3 = 1e-9;  ///< a thousandth of a millilitre over the long step: it has settled
constexpr int kDirectSteps = 40, kGrowingSteps = 30;
constexpr double kFirstStep_s = 10.0, kCreepBelow_s = 0.1, kShortestStep_s = 1e-9;
constexpr int kMostAttempts = 400, kMostCreeps = 20;
constexpr double kGrowFast = 6.0, kGrowSlow = 2.0, kShorten = 0.1;
constexpr double kCoarse_m = 1e-2, kFine_m = 2e-5;
constexpr double kRoughHead_m = 1e-5, kRoughFlow = 1e-5;  ///< of the coarse walk's solves
constexpr double kSameLevel_m = 1e-6;
/// More than this was not rounding: of the water; of the largest flow (some hundreds of its last digit) or of no flow at all, over the longest step.
constexpr double kRestorable_m3 = 1e-6, kRestorableShare = 1e-7, kRestorableFlowShare = 1e-13, kRestorableFlow_m3_s = 2e-17;
constexpr double kLastingSpill_m3_s = 1e-9;
constexpr double kNearRim_m = 20e-3;
constexpr double kLost_m3 = 1e-7;    ///< below a tenth of a millilitre nothing was spilled
constexpr double kStill_m_s = 1e-9;  ///< a level that moves slower than a tenth of a millimetre a day has settled
constexpr double kLongestWalk_s = 365.0 * 86400.0;
constexpr int kMostWalkSteps = 3000;
constexpr int kMostRaises = 3;  ///< states with more water tried as a bound of the way
/// Those must be at rest: what moves less over a long step moves some millilitres in the longest walk. So many steps are given for it.
constexpr double kAtRest_m3 = 1e-6;
constexpr int kMostRests = 6;

/// One implicit step of length tau from `volume`; on success `volume` is where it ends and `lost` grows by what went over each rim.
bool implicit_step(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, double tau_s, bool warm,
                   std::vector<double>& volume, std::vector<double>& lost, Settled& result, double& moved, bool safeguard = false) {
    const Network& net = solver.network();
    const network::Outcome outcome =
        solver.solve(settings, {.unknown = true, .tau_s = tau_s, .start_volume_m3 = volume}, tolerances, warm, result.point, safeguard);
    ++result.network_solves;
    result.newton_steps = std::max(0, outcome.steps);
    result.newton_steps_total += result.newton_steps;
    if (!outcome.converged) return false;
    moved = 0.0;
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const double level = result.point.head_m[at(net.vessel_node(v))];
        const double now = network::volume_at_level(net.storage[at(v)], level).value;
        lost[at(v)] += tau_s * result.point.spill_m3_s[at(v)];
        moved = std::max(moved, std::abs(now - volume[at(v)]));
        volume[at(v)] = now;
    }
    return true;
}

/// Repeats the long step from its own end until nothing moves. False, and the last good point, when the first of these steps does not arrive.
bool finish(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::vector<double>& volume, std::vector<double>& lost,
            Settled& result) {
    const int steps = result.newton_steps;
    double moved = 1.0, tau = kLongStep_s;
    network::Point before = result.point;
    network::Tolerances strict = tolerances;
    strict.greatest_steps = network::kStrictSteps;  // over a longer step what is let pass after them is litres
    for (int repeat = 0; repeat < kMostRepeats && moved > kMoved_m3; ++repeat) {
        if (implicit_step(solver, settings, tau > kLongStep_s ? strict : tolerances, tau, true, volume, lost, result, moved)) {
            before = result.point;
            result.longest_step_s = std::max(result.longest_step_s, tau);
            if (repeat >= kPatientRepeats && moved > kTrickle_m3_s * tau && tau < kLongestStep_s) tau *= kLengthen;
            continue;
        }
        result.point = before;
        if (tau == kLongStep_s) return false;
        tau = kLongStep_s;  // at rest as far as can be told
    }
    result.newton_steps = steps;
    return true;
}

/// Settles from `volume` and leaves there the volumes at the end. `lost`: what went over each rim by the account of the steps made.
bool settle_from(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::vector<double>& volume,
                 std::vector<double>& lost, bool warm, Settled& result) {
    const std::vector<double> start = volume;
    double moved = 0.0;
    network::Tolerances brief = tolerances;
    brief.greatest_steps = kDirectSteps;
    if (implicit_step(solver, settings, brief, kLongStep_s, warm, volume, lost, result, moved))
        if (finish(solver, settings, tolerances, volume, lost, result)) return true;

    // the long step did not arrive: take it in steps that grow, from the start, each where Newton can follow
    ++result.fallbacks;
    volume = start;
    std::fill(lost.begin(), lost.end(), 0.0);
    std::vector<double> levels;
    for (std::size_t v = 0; v < start.size(); ++v) levels.push_back(network::level_at_volume(solver.network().storage[v], start[v]));
    result.point = solver.cold_point(levels);
    solver.solve(settings, {}, tolerances, false, result.point);
    double tau = kFirstStep_s;
    network::Point safe = result.point;
    brief.greatest_steps = kGrowingSteps;
    int creeps = 0;
    bool calm = false;  // hardly anything moved over the last step, and it was hours
    for (int attempt = 0; tau < kLongStep_s; ++attempt) {
        if (attempt > kMostAttempts) return calm;
        const bool creep = tau < kCreepBelow_s && creeps < kMostCreeps;
        if (creep) ++creeps;
        // when even a short step does not arrive it is not the levels: let the network creep to its balance
        if (implicit_step(solver, settings, brief, tau, true, volume, lost, result, moved, creep)) {
            safe = result.point;
            calm = tau >= kCalmStep_s && moved <= kCalm_m3_s * tau;
            tau *= result.newton_steps <= kGrowingSteps / 3 ? kGrowFast : kGrowSlow;
        } else {
            result.point = safe;
            if (calm) return true;
            tau *= kShorten;
            if (tau < kShortestStep_s) return false;
        }
    }
    return finish(solver, settings, tolerances, volume, lost, result) || calm;
}

/// Least height of water over where an intake begins to starve, of the pumps asked to run; above 0: none starves.
double least_cover_m(const Network& net, const Settings& settings, const network::Point& point) {
    double least = HUGE_VAL;
    for (std::size_t p = 0; p < net.pumps.size(); ++p) {
        const network::LinkSetting& setting = settings.links[at(net.pump_link[p])];
        if (setting.shut || setting.resting || setting.value <= 0.0 || net.pumps[p].intake_m == network::kNoPort) continue;
        least = std::min(least, point.head_m[at(net.pump_inlet_node[p])] - net.pumps[p].intake_m - network::kBareBand_m);
    }
    return least;
}

bool is_still(const Network& net, const MarchState& state) {
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const double area = network::volume_at_level(net.storage[at(v)], state.point.head_m[at(net.vessel_node(v))]).slope;
        if (std::abs(state.rate_m3_s[at(v)]) > kStill_m_s * area) return false;
    }
    return true;
}

/// How the coarse walk from the start ended.
enum class Walk { home, near_rim, elsewhere };

/// Walks coarsely from `volume` until every level is near those of `end` (home), one comes near its rim, or all stand still elsewhere. Leaves the
/// volumes where the walk ended.
Walk walk_coarsely(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, const network::Point& end,
                   std::vector<double>& volume, Settled& result) {
    const Network& net = solver.network();
    network::Tolerances rough = tolerances;
    rough.head_m = kRoughHead_m;
    rough.flow_share = kRoughFlow;
    rough.keep_water = false;
    March march(solver, settings, rough, kCoarse_m, true);
    march.start(volume);
    Walk walk = Walk::elsewhere;
    for (int i = 0; i < kMostWalkSteps; ++i) {
        bool home = true, near_rim = false;
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            const double level = march.level_m(v);
            near_rim = near_rim || level > net.storage[at(v)].rim_m - kNearRim_m;
            home = home && std::abs(level - end.head_m[at(net.vessel_node(v))]) < kCoarse_m;
        }
        if (near_rim || home) {
            walk = near_rim ? Walk::near_rim : Walk::home;
            break;
        }
        if (march.state().time_s > kLongestWalk_s || !march.step(kLongestWalk_s) || is_still(net, march.state())) break;
    }
    volume = march.state().volume_m3;
    result.network_solves += march.state().network_solves;
    result.newton_steps_total += march.state().newton_steps;
    return walk;
}

/// Is the direct answer where the water really goes? It is when nothing comes near a rim on the way, and when a direct step from nearby, at the end
/// of the walk, ends at the same levels: what each vessel got on the way did not matter then.
bool way_confirms(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::span<const double> start, Settled& result) {
    std::vector<double> volume(start.begin(), start.end()), lost(start.size(), 0.0);
    if (walk_coarsely(solver, settings, tolerances, result.point, volume, result) != Walk::home) return false;
    Settled nearby;
    nearby.point = result.point;
    const bool found = settle_from(solver, settings, tolerances, volume, lost, true, nearby);
    result.network_solves += nearby.network_solves;
    result.newton_steps_total += nearby.newton_steps_total;
    if (!found) return false;
    const Network& net = solver.network();
    for (std::int32_t n = net.plain_count; n < net.plain_count + net.vessel_count; ++n)
        if (std::abs(nearby.point.head_m[at(n)] - result.point.head_m[at(n)]) > kSameLevel_m) return false;
    return true;
}

/// Is it certain without a walk that nothing spills on the way and that the water ends here (certainty.h)?
bool way_is_certain(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::span<const double> start,
                    Certainty& certainty, Settled& result) {
    const Network& net = solver.network();
    if (!Certainty::applies_to(net)) return false;
    certainty.take(settings, false);
    std::vector<double> start_level(start.size()), lost(start.size(), 0.0), volume(start.size());
    for (std::size_t v = 0; v < start.size(); ++v) start_level[v] = network::level_at_volume(net.storage[v], start[v]);
    const auto levels_of = [&](const network::Point& point) { return std::span(point.head_m).subspan(at(net.plain_count), start.size()); };
    solver.look_at(settings, result.point);
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Link& link = net.links[l];
        const network::Linear& linear = solver.linears()[l];
        const auto air = [&](std::int32_t node) { return node < net.plain_count && result.point.air[at(node)] != 0; };
        const double a = air(link.from) && linear.hold != network::Hold::cascade ? 0.0 : linear.a, b = air(link.to) ? 0.0 : linear.b;
        certainty.pass(l, {a, b}, result.point.head_m[at(link.from)], result.point.head_m[at(link.to)], result.point.flow_m3_s[l]);
    }
    Settled rest;
    rest.point = result.point;
    const auto bounded = [&] { return certainty.fits(start, levels_of(rest.point)); };
    const auto shut = [&] { return certainty.floats_stay_shut(settings, start, levels_of(rest.point)); };
    bool fits = bounded(), closed = fits && shut();
    for (int raise = 0; !(fits && closed) && raise < kMostRaises; ++raise) {
        certainty.pour(start, levels_of(rest.point), volume);
        const network::Point before = rest.point;
        double moved = HUGE_VAL;
        bool found = true;
        for (int repeat = 0; found && moved > kAtRest_m3 && repeat < kMostRests; ++repeat) {
            found = implicit_step(solver, settings, tolerances, kLongStep_s, true, volume, lost, rest, moved);
            result.network_solves += 1;
            result.newton_steps_total += rest.newton_steps;
        }
        if (!found || moved > kAtRest_m3 || std::any_of(lost.begin(), lost.end(), [](double v) { return v > 0.0; })) {
            rest.point = before;
            break;
        }
        fits = bounded();
        closed = fits && shut();
    }
    if (!closed) fits = bounded();
    if (fits && !closed) {
        certainty.take(settings, true);
        fits = bounded();
    }
    return fits && certainty.one_end(start_level, levels_of(result.point));
}

/// Walks finely until everything is still; what spilled, when, and whether an intake fell bare. Leaves the volumes at the end.
void walk_finely(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::vector<double>& volume, Settled& result) {
    const Network& net = solver.network();
    March march(solver, settings, tolerances, kFine_m);
    march.start(volume);
    double cover_before = least_cover_m(net, settings, march.state().point);
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
        const double cover = least_cover_m(net, settings, state.point);
        if (result.dry_after_s < 0.0 && spilled > kLost_m3 && cover < 0.0) {
            // within the step the level is taken as straight in time
            const double share = cover_before > 0.0 && std::isfinite(cover_before) ? cover_before / (cover_before - cover) : 0.0;
            result.dry_after_s = state.time_s - (1.0 - share) * march.last_step_s();
        }
        cover_before = cover;
        if (is_still(net, state)) break;
    }
    volume = march.state().volume_m3;
    result.point = march.state().point;
    result.network_solves += march.state().network_solves;
    result.newton_steps_total += march.state().newton_steps;
}

/// The last digits of the flows, times long steps, are water made or lost. Gives every closed loop back what its sum is off, to its widest vessel,
/// and lets the levels find their place once more.
void restore_inventory(Solver& solver, const Settings& settings, const network::Tolerances& tolerances, std::span<const double> start,
                       std::vector<double>& volume, Settled& result) {
    const Network& net = solver.network();
    const Loops loops = loops_of(net, settings);
    std::vector<double> off(loops.open.size(), 0.0), widest(loops.open.size(), 0.0), whole(loops.open.size(), 0.0);
    std::vector<std::size_t> taker(loops.open.size(), 0);
    double worst = 0.0, largest_m3_s = 0.0;
    for (const double flow : result.point.flow_m3_s) largest_m3_s = std::max(largest_m3_s, std::abs(flow));
    const double rounding_m3 = kRestorable_m3 + std::max(kRestorableFlowShare * largest_m3_s, kRestorableFlow_m3_s) * result.longest_step_s;
    for (std::size_t v = 0; v < volume.size(); ++v) {
        const auto loop = at(loops.of_vessel[v]);
        off[loop] += start[v] - volume[v] - result.lost[v].volume_m3;
        whole[loop] += start[v];
        const double area = network::volume_at_level(net.storage[v], result.point.head_m[at(net.plain_count) + v]).slope;
        if (area > widest[loop] && result.point.brim[v] == 0) {
            widest[loop] = area;
            taker[loop] = v;
        }
    }
    for (std::size_t loop = 0; loop < off.size(); ++loop) {
        if (loops.open[loop] != 0 || widest[loop] <= 0.0 || std::abs(off[loop]) > rounding_m3 + kRestorableShare * whole[loop]) continue;
        volume[taker[loop]] += off[loop];
        worst = std::max(worst, std::abs(off[loop]));
    }
    if (worst == 0.0) return;
    const Settled before = result;
    std::vector<double> more_lost(volume.size(), 0.0);
    double moved = 0.0;
    if (implicit_step(solver, settings, tolerances, kLongStep_s, true, volume, more_lost, result, moved))
        for (std::size_t v = 0; v < volume.size(); ++v) result.lost[v].volume_m3 += more_lost[v];
    else
        result = before;
    result.newton_steps = before.newton_steps;
}

}  // namespace

Settled settle_levels(Solver& solver, const Settings& settings, std::span<const double> start_volume_m3, std::span<const double> guess_m,
                      const LevelTolerances& tolerances, Certainty* certainty) {
    Settled result;
    result.lost.resize(start_volume_m3.size());
    result.point = solver.cold_point(guess_m);
    std::vector<double> volume(start_volume_m3.begin(), start_volume_m3.end()), lost(start_volume_m3.size(), 0.0);
    result.found = settle_from(solver, settings, tolerances.network, volume, lost, false, result);
    const bool spills = std::any_of(lost.begin(), lost.end(), [](double v) { return v > kLost_m3; });
    const auto certain = [&] {
        return certainty != nullptr && way_is_certain(solver, settings, tolerances.network, start_volume_m3, *certainty, result);
    };
    if (!tolerances.walk || (result.found && !spills && (certain() || way_confirms(solver, settings, tolerances.network, start_volume_m3, result)))) {
        if (result.found) restore_inventory(solver, settings, tolerances.network, start_volume_m3, volume, result);
        return result;
    }

    volume.assign(start_volume_m3.begin(), start_volume_m3.end());
    walk_finely(solver, settings, tolerances.network, volume, result);
    std::vector<double> rest(lost.size(), 0.0);
    const Settled before = result;
    result.found = settle_from(solver, settings, tolerances.network, volume, rest, true, result);
    // the walk ends while a spill still dies away: what is left of it goes in the long steps
    for (std::size_t v = 0; v < result.lost.size(); ++v) result.lost[v].volume_m3 += rest[v];
    // what goes on spilling has no volume
    bool lasts = false;
    for (std::size_t v = 0; v < result.lost.size(); ++v) {
        if (result.point.spill_m3_s[v] <= kLastingSpill_m3_s) continue;
        result.lost[v].volume_m3 = 0.0;
        lasts = true;
    }
    if (result.found && !lasts) restore_inventory(solver, settings, tolerances.network, start_volume_m3, volume, result);
    // a spill that goes on for ever is fed from outside; one that ended with a bare intake has emptied a closed loop
    result.ran_dry = result.found && !lasts && before.dry_after_s >= 0.0 && least_cover_m(solver.network(), settings, result.point) < 0.0;
    return result;
}

Settled settle_near(Solver& solver, const Settings& settings, std::span<const double> start_volume_m3, const network::Point& near,
                    const LevelTolerances& tolerances) {
    Settled result;
    result.lost.resize(start_volume_m3.size());
    result.point = near;
    std::vector<double> volume(start_volume_m3.begin(), start_volume_m3.end()), lost(start_volume_m3.size(), 0.0);
    result.found = settle_from(solver, settings, tolerances.network, volume, lost, true, result);
    for (std::size_t v = 0; v < lost.size(); ++v) result.lost[v].volume_m3 = lost[v];
    if (result.found) restore_inventory(solver, settings, tolerances.network, start_volume_m3, volume, result);
    return result;
}

}  // namespace ebb::settle
