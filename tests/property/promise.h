#pragma once
// What every answer to a valid layout must keep, whatever the layout: it has converged, its balances and losses hold when they are
// recomputed, closed loops keep their water, and every number that must be there is one.

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/farm.h"

namespace ebb::test {

inline constexpr double kMostHeadError_m = 1e-6;
inline constexpr double kMostImbalance = 1e-9;         ///< share of the largest flow
inline constexpr double kStillImbalance_m3_s = 1e-13;  ///< where next to nothing flows
inline constexpr double kMostWaterLost = 1e-9;         ///< share of a loop's water

inline double largest_flow_m3_s(const settle::Answer& answer) {
    double largest = 0.0;
    for (const auto& pipe : answer.pipes) largest = std::max(largest, std::abs(pipe.flow_m3_s));
    return largest;
}

/// Things that share water through open ways, by name, and whether a pond or a supply is among them. Made from the layout alone.
class SharedWater {
public:
    SharedWater(const layout::Layout& layout, const layout::Conditions& conditions) {
        for (const auto& pipe : layout.pipes) {
            const auto shuts = [&](std::int32_t v) { return conditions.valve_opening[static_cast<std::size_t>(v)] <= 0.0; };
            if (std::none_of(pipe.valves.begin(), pipe.valves.end(), shuts)) join(pipe.from.id, pipe.to.id);
        }
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
            const layout::Pump& pump = layout.pumps[p];
            if (!pump.in_id.empty() && (conditions.pump_speed[p] > 0.0 || layout::said(pump.stopped_flow_m3_s))) join(pump.id, pump.in_id);
        }
        for (const auto& nozzle : layout.nozzles) join(nozzle.id, nozzle.into_id);
        for (const auto& valve : layout.float_valves) join(valve.id, valve.into_id);
        for (const auto& standpipe : layout.standpipes) join(standpipe.id, standpipe.in_id);
        for (const auto& siphon : layout.siphons) join(siphon.id, siphon.in_id);
        for (const auto& pond : layout.ponds) open_[find(pond.id)] = true;
        for (const auto& supply : layout.supplies) open_[find(supply.id)] = true;
    }
    std::string find(std::string id) {
        while (true) {
            const auto parent = parent_.find(id);
            if (parent == parent_.end()) return id;
            id = parent->second;
        }
    }
    bool open(const std::string& root) const { return open_.contains(root); }

private:
    void join(const std::string& a, const std::string& b) {
        const std::string one = find(a), other = find(b);
        if (one != other) parent_[one] = other;
    }
    std::map<std::string, std::string> parent_;
    std::map<std::string, bool> open_;
};

/// Share of its water that the worst closed loop has gained or lost between the start depths and the answer (spilled water counted); what is not more
/// than `unseen_m3` is nothing.
inline double worst_water_lost(const layout::Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer,
                               double unseen_m3 = 0.0) {
    SharedWater shared(layout, conditions);
    std::map<std::string, std::pair<double, double>> water;  // root -> at the start, at the end
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const layout::Vessel& vessel = layout.vessels[v];
        auto& [start, end] = water[shared.find(vessel.id)];
        start += layout::volume_at_depth(vessel, layout::said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0);
        end += answer.vessels[v].volume_m3 + answer.vessels[v].spilled_m3;
    }
    double worst = 0.0;
    for (const auto& [root, volumes] : water) {
        const double lost = std::abs(volumes.first - volumes.second);
        if (!shared.open(root) && lost > unseen_m3) worst = std::max(worst, lost / std::max(volumes.first, 1e-3));
    }
    return worst;
}

/// True when every number that the answer owes is there.
inline bool numbers_are_there(const settle::Answer& answer) {
    bool there = std::isfinite(answer.worst_flow_imbalance_m3_s) && std::isfinite(answer.worst_head_error_m);
    const auto want = [&](double value) { there = there && std::isfinite(value); };
    for (const auto& v : answer.vessels)
        for (const double value : {v.depth_m, v.level_m, v.volume_m3, v.inflow_m3_s, v.outflow_m3_s, v.freeboard_m, v.spill_m3_s, v.spilled_m3})
            want(value);
    for (const auto& p : answer.pipes)
        for (const double value : {p.flow_m3_s, p.velocity_m_s, p.reynolds}) want(value);
    for (const auto& p : answer.pumps) {
        want(p.flow_m3_s);
        if (!p.from_label) want(p.power_w);  // a label does not say it
        if (p.running) want(p.head_m);
    }
    for (const auto& f : answer.filters) {
        want(f.flow_m3_s);
        want(f.loss_m);
    }
    for (const auto& n : answer.nozzles) want(n.flow_m3_s);
    for (const auto& s : answer.standpipes) {
        want(s.flow_m3_s);
        want(s.through_holes_m3_s);
        want(s.depth_over_lip_m);
    }
    for (const auto& s : answer.siphons) want(s.flow_m3_s);
    for (const auto* list : {&answer.supplies, &answer.float_valves, &answer.ponds})
        for (const auto& source : *list) want(source.flow_m3_s);
    return there;
}

/// What the answer breaks, in words; empty when it keeps every promise.
inline std::string broken_promise(const layout::Layout& layout, const layout::Conditions& conditions, bool at_start_levels,
                                  const settle::Answer& answer) {
    const auto figure = [](const char* what, double value) { return std::string(what) + " " + std::to_string(std::log10(value)) + " (log10)"; };
    if (answer.state == settle::State::no_solution || answer.state == settle::State::not_run) return settle::name_of(answer.state);
    if (!numbers_are_there(answer)) return "a number is missing";
    if (!(answer.worst_head_error_m <= kMostHeadError_m)) return figure("head error m", answer.worst_head_error_m);
    if (!(answer.worst_flow_imbalance_m3_s <= kMostImbalance * largest_flow_m3_s(answer) + kStillImbalance_m3_s))
        return figure("imbalance m3/s", answer.worst_flow_imbalance_m3_s);
    if (at_start_levels) return {};
    const double lost = worst_water_lost(layout, conditions, answer);
    return lost <= kMostWaterLost ? std::string() : figure("water made or lost, share", lost);
}

inline constexpr double kUnseen_m3 = 1e-7;  ///< below a tenth of a millilitre nothing is counted as spilled (solver/settle/levels.cpp)

/// What the answer breaks without saying so, in words; empty when it keeps every promise or says which not.
inline std::string broken_in_silence(const layout::Layout& layout, const layout::Conditions& conditions, bool at_start_levels,
                                     const settle::Answer& answer) {
    if (answer.state == settle::State::no_solution) return answer.why.empty() ? "no solution, and no word why" : "";
    if (answer.state == settle::State::not_run) return "not run";
    if (!numbers_are_there(answer)) return "a number is missing";
    const bool head_said = std::any_of(answer.warnings.begin(), answer.warnings.end(), [](const auto& w) { return w.code == "recomputed-apart"; });
    if (!head_said && !(answer.worst_head_error_m <= kMostHeadError_m)) return "head error of " + std::to_string(answer.worst_head_error_m) + " m";
    bool creeping_spill = false;
    double allowed = kMostImbalance * largest_flow_m3_s(answer) + kStillImbalance_m3_s;
    for (const auto& warning : answer.warnings) {
        if (warning.code != "still-creeps") continue;
        const auto v = std::find_if(layout.vessels.begin(), layout.vessels.end(), [&](const auto& vessel) { return vessel.id == warning.about; });
        if (v == layout.vessels.end()) return "a warning about nothing";
        const settle::VesselAnswer& a = answer.vessels[static_cast<std::size_t>(v - layout.vessels.begin())];
        constexpr double kMostCreep_m3_s = 1e-7;          // six millilitres a minute are no creeping,
        constexpr double kMostRise_m_s = 1e-3 / 86400.0;  // but where they move a level by less than a millimetre a day
        const double creeps = std::abs(a.inflow_m3_s - a.outflow_m3_s - a.spill_m3_s);
        const double low_m = std::max(0.0, a.depth_m - 1e-3);
        const double wide_m2 = (layout::volume_at_depth(*v, low_m + 1e-3) - layout::volume_at_depth(*v, low_m)) / 1e-3;
        if (creeps > std::max(kMostCreep_m3_s, kMostRise_m_s * wide_m2))
            return "said to creep, but it runs: " + std::to_string(60e6 * creeps) + " ml/min";
        creeping_spill = std::any_of(answer.vessels.begin(), answer.vessels.end(), [](const auto& vessel) { return vessel.spill_m3_s > 0.0; });
        allowed = std::max(allowed, creeps * (1.0 + 1e-9));
    }
    if (!(answer.worst_flow_imbalance_m3_s <= allowed)) return "imbalance of " + std::to_string(1e9 * answer.worst_flow_imbalance_m3_s) + " ul/s";
    if (at_start_levels || creeping_spill) return {};  // a spill that goes on has no volume, and what feeds this one is said to creep
    const double lost = worst_water_lost(layout, conditions, answer, kUnseen_m3);
    return lost <= kMostWaterLost ? std::string() : "water made or lost, share of 1e-9: " + std::to_string(1e9 * lost);
}

}  // namespace ebb::test
