// A farm from bytes, eight questions of it solved side by side and one by one: two ways to each answer. Where both arrive they give the same levels
// and flows, or at least the single solve takes the lane's point for an answer as well.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/network/laws.h"
#include "solver/network/newton.h"
#include "solver/network/newton_rules.h"
#include "solver/settle/model.h"
#include "solver/survey/lane_solver.h"
#include "tests/fuzz/parts/extreme_farm.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;
using survey::kLanes;
using survey::LaneSolver;

constexpr double kSame_m = 1e-6, kSameFlow = 1e-6;  ///< of points that were iterated on different ways; share of the largest flow
constexpr double kSolverShare = network::Tolerances{}.flow_share;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

struct Asked {
    network::Settings settings;
    std::vector<double> level_m;
};

Asked asked_of(const layout::Layout& layout, const network::Network& net, fuzz::Bytes& bytes) {
    const int last = static_cast<int>(layout.arrangements.size()) - 1;
    layout::Conditions conditions = layout::conditions_of(layout, bytes.integer(0, last));
    for (double& opening : conditions.valve_opening)
        if (bytes.chance(0.2)) opening = opening > 0.0 ? 0.0 : 1.0;
    for (double& speed : conditions.pump_speed)
        if (bytes.chance(0.1)) speed = speed > 0.0 ? 0.0 : 1.0;
    std::vector<std::uint8_t> primed(layout.siphons.size());
    for (auto& is_primed : primed) is_primed = bytes.chance(0.5) ? 1 : 0;
    Asked asked;
    asked.settings = network::settings_for(net, layout, conditions, primed);
    asked.settings.dry.assign(at(net.plain_count), 0);
    for (const network::Storage& storage : net.storage) asked.level_m.push_back(storage.floor_m + bytes.share() * (storage.rim_m - storage.floor_m));
    return asked;
}

/// Whether the digits of the heads at the ends of a link leave no drop between them: what flows there is not known to any number.
bool no_drop(const network::Link& link, const network::Point& point) {
    const double from_m = point.head_m[at(link.from)], to_m = point.head_m[at(link.to)];
    return std::abs(from_m - to_m) <= 1e-14 * (1.0 + std::abs(from_m));
}

/// Both points balance to the solver's tolerance and no better: flows below `network::kDust_m3_s` are none, and a head is known as well as the
/// flow that makes its drop, which cannot be more than all heads lie apart.
bool same(const network::Network& net, const network::Point& one, const network::Point& other) {
    double largest_m3_s = 1e-9;
    for (const double flow : one.flow_m3_s) largest_m3_s = std::max(largest_m3_s, std::abs(flow));
    double highest_m = -1e300, lowest_m = 1e300;
    for (const network::Link& link : net.links)
        for (const std::int32_t n : {link.from, link.to}) {
            highest_m = std::max(highest_m, one.head_m[at(n)]);
            lowest_m = std::min(lowest_m, one.head_m[at(n)]);
        }
    const double tolerance_m3_s = kSolverShare * largest_m3_s + network::kStillFlow_m3_s;
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Link& link = net.links[l];
        const double flow_m3_s = std::abs(one.flow_m3_s[l]);
        if (no_drop(link, one) && no_drop(link, other)) continue;
        if (std::abs(one.flow_m3_s[l] - other.flow_m3_s[l]) > kSameFlow * largest_m3_s + network::kDust_m3_s) return false;
        if (flow_m3_s < std::max(1e-6 * largest_m3_s, network::kDust_m3_s)) continue;  // heads of still water are not the network's to say
        const double doubt_m = 2.0 * tolerance_m3_s / flow_m3_s * (highest_m - lowest_m);
        for (const std::int32_t n : {link.from, link.to})
            if (std::abs(one.head_m[at(n)] - other.head_m[at(n)]) > kSame_m * std::max(1.0, std::abs(one.head_m[at(n)])) + doubt_m) return false;
    }
    return true;
}

/// Whether the single solve lets the lane's point stand.
bool takes(network::Solver& solver, const network::Network& net, const Asked& asked, const network::Point& lane) {
    network::Point point = lane;
    const network::Outcome outcome = solver.solve(asked.settings, {}, {}, true, point, false);
    return outcome.converged && (outcome.steps == 0 || same(net, point, lane));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Bytes bytes({data, size});
    layout::Layout layout = fuzz::extreme_farm(bytes);
    for (layout::Tee& tee : layout.tees) tee.loss = layout::TeeLoss::none;  // lanes do not take those
    fuzz::must(layout::validate(layout).empty(), "a farm without headers is valid");
    const network::Network net = network::compile(layout);
    fuzz::must(LaneSolver::supports(net), "lanes take a farm without headers");
    network::Solver solver(net);
    LaneSolver lanes(net);
    std::vector<Asked> asked;
    for (int lane = 0; lane < kLanes; ++lane) {
        asked.push_back(asked_of(layout, net, bytes));
        lanes.load(lane, asked.back().settings);
        lanes.put_levels(lane, asked.back().level_m);
        lanes.give_levels(lane);
        lanes.begin(lane, false);
    }
    survey::LaneBits arrived = 0;
    while (lanes.active() != 0) arrived = static_cast<survey::LaneBits>(arrived | lanes.advance().arrived);
    for (int lane = 0; lane < kLanes; ++lane) {
        const Asked& one = asked[at(lane)];
        network::Point single = solver.cold_point(one.level_m), stored = single;
        const bool solved = solver.solve(one.settings, {}, {}, false, single, false).converged;
        if (!solved || (arrived >> lane & 1U) == 0) continue;
        lanes.store(lane, stored);
        if (!same(net, single, stored) && !takes(solver, net, one, stored))
            fuzz::broken("lane " + std::to_string(lane) + " gives what the single solve gives");
    }
    return 0;
}
