#include "tests/property/edges.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "tests/property/random_farm.h"

namespace ebb::test {

namespace {

using layout::Layout;

constexpr double kLeastBore_m = 1e-3, kGreatestBore_m = 10.0;
constexpr double kLeastFlow_m3_s = 1e-9, kGreatestFlow_m3_s = 1e3;

/// Every bore anywhere between a needle's and a tunnel's, on one pipe in a hundred at the very end.
double edge_bore(Random& random) {
    if (random.chance(0.01)) return random.chance(0.5) ? kLeastBore_m : kGreatestBore_m;
    return random.log_uniform(kLeastBore_m, kGreatestBore_m);
}

void stretch_bores(Layout& layout, Random& random) {
    for (auto& pipe : layout.pipes) {
        pipe.bore_m = edge_bore(random);
        pipe.roughness_m = random.chance(0.3) ? 0.0 : random.log_uniform(1e-7, 0.03) * pipe.bore_m;
        pipe.length_m = random.log_uniform(0.01, 1e4);
    }
    for (auto& standpipe : layout.standpipes) standpipe.bore_m = random.log_uniform(kLeastBore_m, 1.0);
}

void stretch_flows(Layout& layout, Random& random) {
    for (auto& model : layout.pump_models) {
        const double flow = model.curve.greatest_flow_m3_s({}), head = model.curve.head(0.0, {}).value;
        model.curve = model.curve.scaled(random.log_uniform(kLeastFlow_m3_s, kGreatestFlow_m3_s) / flow, random.log_uniform(1e-3, 1e2) / head);
    }
    for (auto& valve : layout.float_valves) valve.rated_flow_m3_s = random.log_uniform(kLeastFlow_m3_s, 10.0);
    for (auto& filter : layout.filters) {
        filter.clean[0].flow_m3_s = random.log_uniform(kLeastFlow_m3_s, kGreatestFlow_m3_s);
        filter.dirty[0].flow_m3_s = filter.clean[0].flow_m3_s;
    }
}

void stretch_throttles(Layout& layout, Random& random) {
    for (auto& arrangement : layout.arrangements) {
        for (const auto& valve : layout.valves) {
            if (valve.kind == physics::ValveKind::check || !random.chance(0.5)) continue;
            const bool set =
                std::any_of(arrangement.settings.begin(), arrangement.settings.end(), [&](const auto& s) { return s.about_id == valve.id; });
            if (set) continue;
            arrangement.settings.push_back(
                {.act = layout::Act::throttle, .place = {}, .about_id = valve.id, .about = {}, .value = random.log_uniform(1e-6, 1.0), .insert = {}});
        }
        for (auto& setting : arrangement.settings)
            if (setting.act == layout::Act::throttle && random.chance(0.5)) setting.value = random.log_uniform(1e-6, 1e-2);
    }
}

/// Levels that differ by next to nothing: heads drive next to nothing, and the slopes of the laws are steepest there.
void stretch_levels(Layout& layout, Random& random) {
    const double level = random.uniform(0.5, 1.5);
    const auto near = [&] { return level + (random.chance(0.3) ? 0.0 : random.log_uniform(1e-15, 1e-6) * (random.chance(0.5) ? 1.0 : -1.0)); };
    for (auto& pond : layout.ponds) pond.level_m = near();
    for (auto& vessel : layout.vessels) {
        const double depth = near() - vessel.floor_m;
        if (depth > 0.0 && depth < vessel.rim_m - vessel.floor_m) vessel.start_depth_m = depth;
    }
    for (auto& arrangement : layout.arrangements)
        if (random.chance(0.7))
            for (const auto& pump : layout.pumps) {
                const bool set =
                    std::any_of(arrangement.settings.begin(), arrangement.settings.end(), [&](const auto& s) { return s.about_id == pump.id; });
                if (!set)
                    arrangement.settings.push_back(
                        {.act = layout::Act::stop, .place = {}, .about_id = pump.id, .about = {}, .value = layout::kNotSaid, .insert = {}});
            }
}

void stretch_resistances(Layout& layout, Random& random) {
    for (auto& pipe : layout.pipes) {
        if (pipe.gravity) continue;
        pipe.fittings.push_back({.kind = "", .count = 1, .loss = random.log_uniform(1e-3, 1e6)});
        pipe.length_m = random.log_uniform(0.01, 1e4);
    }
    for (auto& valve : layout.valves) valve.loss = random.log_uniform(1e-3, 1e6);
}

void stretch_vessels(Layout& layout, Random& random) {
    for (auto& vessel : layout.vessels) {
        vessel.plan_area_m2 = random.log_uniform(1e-4, 1e4);
        vessel.volume = layout::prism_volume(vessel.plan_area_m2, vessel.rim_m - vessel.floor_m, vessel.media_depth_m, vessel.void_fraction);
    }
}

}  // namespace

const char* name_of(Edge edge) {
    switch (edge) {
        case Edge::bores: return "bores";
        case Edge::flows: return "flows";
        case Edge::throttles: return "throttles";
        case Edge::near_equal_levels: return "near-equal levels";
        case Edge::resistances: return "resistances";
        case Edge::vessels: return "vessels";
        case Edge::all: return "all";
    }
    return "";
}

layout::Layout farm_at_the_edge(std::uint64_t seed, Edge edge) {
    Layout layout = random_farm(seed);
    Random random(seed * 0x9e3779b97f4a7c15ULL + static_cast<std::uint64_t>(edge));
    const auto either = [&](Edge one) { return edge == one || (edge == Edge::all && random.chance(0.5)); };
    if (either(Edge::bores)) stretch_bores(layout, random);
    if (either(Edge::flows)) stretch_flows(layout, random);
    if (either(Edge::throttles)) stretch_throttles(layout, random);
    if (either(Edge::near_equal_levels)) stretch_levels(layout, random);
    if (either(Edge::resistances)) stretch_resistances(layout, random);
    if (either(Edge::vessels)) stretch_vessels(layout, random);
    return layout;
}

}  // namespace ebb::test
