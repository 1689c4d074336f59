// Eight arrangements side by side give what the single solve gives, lane by lane: random farms of every kind (random_farm.h), each lane with its own
// valves, pumps and inserts, at given levels and over steps of several lengths, cold and warm, mixed in one advance(). Two implementations of
// one model: network::Solver is held against published examples and other programs elsewhere.

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/network/newton.h"
#include "solver/settle/model.h"
#include "solver/survey/lane_solver.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;
using network::Levels;
using survey::kLanes;
using survey::LaneSolver;

constexpr double kSame_m = 1e-9, kSameFlow = 1e-9;  ///< share of the largest flow

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// What one lane is asked.
struct Asked {
    network::Settings settings;
    double tau_s = 0.0;  ///< 0: levels given
    std::vector<double> level_m, volume_m3;
};

Asked asked_of(const layout::Layout& layout, const network::Network& net, test::Random& random) {
    const int last = static_cast<int>(layout.arrangements.size()) - 1;
    layout::Conditions conditions = layout::conditions_of(layout, random.integer(0, last));
    for (double& opening : conditions.valve_opening)
        if (random.chance(0.15)) opening = opening > 0.0 ? 0.0 : 1.0;
    for (double& speed : conditions.pump_speed)
        if (random.chance(0.1)) speed = speed > 0.0 ? 0.0 : 1.0;
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s)
        if (random.chance(0.2)) conditions.insert[s] = random.integer(0, static_cast<int>(layout.standpipes[s].inserts.size()) - 1);
    std::vector<std::uint8_t> primed(layout.siphons.size());
    for (auto& is_primed : primed) is_primed = random.chance(0.5) ? 1 : 0;
    Asked asked;
    asked.settings = network::settings_for(net, layout, conditions, primed);
    asked.settings.dry.assign(at(net.plain_count), 0);
    for (auto& dry : asked.settings.dry) dry = random.chance(0.1) ? 1 : 0;
    constexpr double kTaus_s[] = {0.0, 0.0, 5.0, 600.0, 1e5, 1e7};
    asked.tau_s = kTaus_s[random.integer(0, 5)];
    for (const network::Storage& storage : net.storage) {
        const double level = storage.floor_m + random.uniform(0.02, 1.0) * (storage.rim_m - storage.floor_m);
        asked.level_m.push_back(level);
        asked.volume_m3.push_back(network::volume_at_level(storage, level).value);
    }
    return asked;
}

Levels levels_of(const Asked& asked) {
    if (asked.tau_s == 0.0) return {};
    return {.unknown = true, .tau_s = asked.tau_s, .start_volume_m3 = asked.volume_m3};
}

void load(LaneSolver& lanes, int lane, const Asked& asked) {
    lanes.load(lane, asked.settings);
    lanes.put_levels(lane, asked.level_m);
    if (asked.tau_s == 0.0)
        lanes.give_levels(lane);
    else
        lanes.set_step(lane, asked.tau_s, asked.volume_m3);
}

/// Goes on until every lane has ended; which have arrived.
survey::LaneBits run(LaneSolver& lanes) {
    survey::LaneBits arrived = 0;
    while (lanes.active() != 0) arrived = static_cast<survey::LaneBits>(arrived | lanes.advance().arrived);
    return arrived;
}

struct Count {
    int lanes = 0, both = 0, only_single = 0, only_lanes = 0, differ = 0;
    double worst_m = 0.0, worst_share = 0.0;
    long steps_single = 0, steps_lanes = 0;
};

double largest_of(const network::Point& point) {
    double largest = 1e-9;
    for (const double flow : point.flow_m3_s) largest = std::max(largest, std::abs(flow));
    return largest;
}

/// Holds one lane's point against the single solve's. Heads of parts without any water moving are not the network's to say.
void compare(const network::Network& net, const network::Point& single, const network::Point& lane, Count& count, std::uint64_t seed) {
    const double largest = largest_of(single);
    double flow = 0.0, level = 0.0;
    for (std::size_t l = 0; l < net.links.size(); ++l) flow = std::max(flow, std::abs(single.flow_m3_s[l] - lane.flow_m3_s[l]) / largest);
    for (std::int32_t v = 0; v < net.vessel_count; ++v)
        level = std::max(level, std::abs(single.head_m[at(net.vessel_node(v))] - lane.head_m[at(net.vessel_node(v))]));
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        if (std::abs(single.flow_m3_s[l]) < 1e-6 * largest) continue;
        for (const std::int32_t n : {net.links[l].from, net.links[l].to})
            level = std::max(level, std::abs(single.head_m[at(n)] - lane.head_m[at(n)]));
    }
    count.worst_m = std::max(count.worst_m, level);
    count.worst_share = std::max(count.worst_share, flow);
    if (level > kSame_m || flow > kSameFlow) {
        ++count.differ;
        MESSAGE("seed ", seed, ": level ", level, " m, flow ", flow, " of the largest");
    }
}

void hold(std::uint64_t seed, Count& count) {
    layout::Layout layout = test::random_farm(seed);
    for (layout::Tee& tee : layout.tees) tee.loss = layout::TeeLoss::none;
    if (!layout::validate(layout).empty()) return;
    const network::Network net = network::compile(layout);
    REQUIRE(LaneSolver::supports(net));
    test::Random random(seed + 77);
    network::Solver solver(net);
    LaneSolver lanes(net);
    std::vector<Asked> asked;
    for (int lane = 0; lane < kLanes; ++lane) asked.push_back(asked_of(layout, net, random));
    std::array<network::Point, kLanes> point;
    std::array<bool, kLanes> solved{};
    for (const bool warm : {false, true}) {
        if (warm)  // every lane goes on from where it ended, with another lane's levels and lengths of step
            std::rotate(asked.begin(), asked.begin() + 3, asked.end());
        survey::LaneBits lanes_of_run = 0;
        for (int lane = 0; lane < kLanes; ++lane) {
            const auto i = static_cast<std::size_t>(lane);
            load(lanes, lane, asked[i]);
            network::Tolerances tolerances;
            tolerances.greatest_steps = 60;
            if (!warm) {
                point[i] = solver.cold_point(asked[i].level_m);
            } else {
                for (std::int32_t v = 0; v < net.vessel_count; ++v) {
                    point[i].head_m[at(net.vessel_node(v))] = asked[i].level_m[at(v)];
                    point[i].brim[at(v)] = 0;
                    point[i].spill_m3_s[at(v)] = 0.0;
                }
            }
            if (warm && !solved[i]) continue;
            if (warm) {
                lanes.take(lane, point[i]);
            }
            lanes.begin(lane, warm);
            lanes_of_run = static_cast<survey::LaneBits>(lanes_of_run | 1U << lane);
            const network::Outcome outcome = solver.solve(asked[i].settings, levels_of(asked[i]), tolerances, warm, point[i], false);
            solved[i] = outcome.converged;
            count.steps_single += outcome.converged ? outcome.steps : 0;
        }
        const survey::LaneBits arrived = run(lanes);
        for (int lane = 0; lane < kLanes; ++lane) {
            const auto i = static_cast<std::size_t>(lane);
            if ((lanes_of_run >> lane & 1) == 0) continue;
            const bool there = (arrived >> lane & 1) != 0;
            ++count.lanes;
            if (there && solved[i]) {
                ++count.both;
                count.steps_lanes += lanes.steps(lane);
                network::Point stored = solver.cold_point(asked[i].level_m);
                lanes.store(lane, stored);
                compare(net, point[i], stored, count, seed);
            } else {
                count.only_single += solved[i] ? 1 : 0;
                count.only_lanes += there ? 1 : 0;
            }
        }
    }
}

void hold_on(std::uint64_t first, std::uint64_t last) {
    Count count;
    for (std::uint64_t seed = first; seed < last; ++seed) hold(seed, count);
    MESSAGE(count.lanes, " lanes: ", count.both, " solved by both, ", count.only_single, " only by the single solve, ", count.only_lanes,
            " only in lanes; worst level ", count.worst_m, " m, worst flow ", count.worst_share, " of the largest; steps ", count.steps_single,
            " and ", count.steps_lanes);
    CHECK(count.differ == 0);
    CHECK(count.both > count.lanes * 8 / 10);
    CHECK(count.only_single <= count.lanes / 100 + count.only_lanes);
}

}  // namespace

TEST_CASE("eight lanes give what eight single solves give: random farms") { hold_on(0, 60); }
