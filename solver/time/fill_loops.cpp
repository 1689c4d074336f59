#include "solver/time/fill_loops.h"

#include <algorithm>
#include <cmath>

#include "solver/time/water_paths.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kUnderRim_m = 0.05;   ///< where a vessel has no depth to begin with, its hose is held this far under the rim
constexpr double kSlackens_m = 0.020;  ///< of plan.h
constexpr double kNothing_m3 = 1e-6;

/// Open pipes as arrows between vessels and what stands between them.
class Arrows {
public:
    Arrows(const Layout& layout, const layout::Conditions& conditions) : layout_(&layout), tees_(layout.vessels.size()) {
        pumps_ = tees_ + layout.tees.size();
        filters_ = pumps_ + layout.pumps.size();
        to_.resize(filters_ + layout.filters.size());
        for (const layout::Pipe& pipe : layout.pipes) {
            const bool shut =
                std::any_of(pipe.valves.begin(), pipe.valves.end(), [&](std::int32_t v) { return conditions.valve_opening[at(v)] <= 0.0; });
            const auto from = node(pipe.from.ref), to = node(pipe.to.ref);
            const bool stopped = pipe.from.ref.kind == Kind::pump && conditions.pump_speed[at(pipe.from.ref.index)] <= 0.0;
            if (shut || stopped || from < 0 || to < 0) continue;
            to_[at(from)].push_back(at(to));
            if (vessel_of(layout, pipe.from.ref) == from && pipe.to.ref.kind == Kind::vessel && pipe.from.ref.kind == Kind::vessel) {
                const layout::Vessel& ends_in = layout.vessels[at(to)];
                if (ends_in.floor_m + pipe.to.height() < layout.vessels[at(from)].rim_m && pipe.to.height() <= std::max(0.0, ends_in.start_depth_m))
                    to_[at(to)].push_back(at(from));  // both ends under water: it runs either way
            }
        }
    }

    /// Per vessel: water let in at `vessel` reaches it.
    std::vector<char> reached(std::size_t vessel) const {
        std::vector<char> seen(to_.size(), 0);
        std::vector<std::size_t> look{vessel};
        seen[vessel] = 1;
        while (!look.empty()) {
            const std::size_t here = look.back();
            look.pop_back();
            for (const std::size_t next : to_[here]) {
                if (seen[next] != 0) continue;
                seen[next] = 1;
                look.push_back(next);
            }
        }
        seen.resize(tees_);
        return seen;
    }

private:
    std::int32_t node(const layout::Ref& ref) const {
        if (const std::int32_t vessel = vessel_of(*layout_, ref); vessel >= 0) return vessel;
        switch (ref.kind) {
            case Kind::tee: return static_cast<std::int32_t>(tees_) + ref.index;
            case Kind::pump: return static_cast<std::int32_t>(pumps_) + ref.index;
            case Kind::filter: return static_cast<std::int32_t>(filters_) + ref.index;
            default: return -1;
        }
    }

    const Layout* layout_;
    std::size_t tees_, pumps_ = 0, filters_ = 0;
    std::vector<std::vector<std::size_t>> to_;
};

double start_m3(const layout::Vessel& vessel) {
    return layout::said(vessel.start_depth_m) ? layout::volume_at_depth(vessel, vessel.start_depth_m) : 0.0;
}

/// Vessels in the order in which a hose is hung: those that a running pump draws from, the one with most water first; then the lowest.
std::vector<std::size_t> order_of(const Layout& layout, const layout::Conditions& conditions) {
    std::vector<char> pumped(layout.vessels.size(), 0);
    for (std::size_t p = 0; p < layout.pumps.size(); ++p)
        if (layout.pumps[p].in.kind == Kind::vessel && conditions.pump_speed[p] > 0.0) pumped[at(layout.pumps[p].in.index)] = 1;
    std::vector<std::size_t> order(layout.vessels.size());
    for (std::size_t v = 0; v < order.size(); ++v) order[v] = v;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        if (pumped[a] != pumped[b]) return pumped[a] > pumped[b];
        if (pumped[a] != 0) return start_m3(layout.vessels[a]) > start_m3(layout.vessels[b]);
        return layout.vessels[a].floor_m < layout.vessels[b].floor_m;
    });
    return order;
}

}  // namespace

std::vector<FilledLoop> fill_loops(const Layout& layout, const layout::Conditions& conditions, const std::vector<double>& running_depth_m) {
    const Arrows arrows(layout, conditions);
    std::vector<char> taken(layout.vessels.size(), 0);
    std::vector<FilledLoop> loops;
    for (const std::size_t v : order_of(layout, conditions)) {
        if (taken[v] != 0) continue;
        FilledLoop loop;
        loop.vessel = static_cast<std::int32_t>(v);
        const std::vector<char> reached = arrows.reached(v);
        for (std::size_t other = 0; other < taken.size(); ++other) {
            if (reached[other] == 0 || taken[other] != 0) continue;
            loop.members.push_back(static_cast<std::int32_t>(other));
            loop.wanted_m3 += start_m3(layout.vessels[other]);
        }
        if (loop.wanted_m3 <= kNothing_m3) continue;  // its members may belong to another's loop
        for (const std::int32_t member : loop.members) taken[at(member)] = 1;
        const layout::Vessel& vessel = layout.vessels[v];
        const double running = v < running_depth_m.size() ? running_depth_m[v] : kUnknown;
        const double start = layout::said(vessel.start_depth_m) && vessel.start_depth_m > 0.0 ? vessel.start_depth_m
                             : running > 0.0                                                  ? running
                                                                                              : kUnknown;
        const double highest = vessel.rim_m - vessel.floor_m - kUnderRim_m;
        // a hose slackens over its last 20 mm: so far above the mark, it runs whole up to the mark
        loop.up_to_depth_m = std::isfinite(start) ? std::min(start + kSlackens_m, std::max(start, highest)) : highest;
        loops.push_back(std::move(loop));
    }
    return loops;
}

}  // namespace ebb::time
