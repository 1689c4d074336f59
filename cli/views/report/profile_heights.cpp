// Heights of things. What stands in a vessel says its height above the floor; a filter says none and is drawn as high as what it is joined to.

#include "cli/views/report/profile_heights.h"

#include <algorithm>

namespace ebb::cli::profile {

using layout::Kind;
using layout::Layout;
using layout::Ref;

namespace {

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

/// A filter has no elevation of its own: it stands about as high as what it is joined to.
double filter_elevation(const Layout& layout, std::int32_t filter) {
    double sum = 0.0;
    int count = 0;
    const auto see = [&](const Ref& ref) {
        double elevation_m = layout::kNotSaid;
        if (ref.kind == Kind::tee) elevation_m = layout.tees[index(ref.index)].elevation_m;
        if (ref.kind == Kind::pump && layout.pumps[index(ref.index)].in_id.empty()) elevation_m = layout.pumps[index(ref.index)].elevation_m;
        if (ref.kind == Kind::supply) elevation_m = layout.supplies[index(ref.index)].elevation_m;
        if (!layout::said(elevation_m)) return;
        sum += elevation_m;
        ++count;
    };
    const Ref self{Kind::filter, filter};
    double vessel_m = layout::kNotSaid;
    for (const layout::Pipe& pipe : layout.pipes) {
        if (!(pipe.from.ref == self) && !(pipe.to.ref == self)) continue;
        const Ref other = pipe.from.ref == self ? pipe.to.ref : pipe.from.ref;
        see(other);
        const Ref home = home_of(layout, other);
        if (home.kind == Kind::vessel) vessel_m = layout.vessels[index(home.index)].rim_m;
        if (home.kind == Kind::pond) vessel_m = layout.ponds[index(home.index)].level_m;
    }
    if (count > 0) return sum / count;
    return layout::said(vessel_m) ? vessel_m : 0.0;
}

double typical_height(const Layout& layout) {
    std::vector<double> heights;
    for (const layout::Vessel& vessel : layout.vessels) heights.push_back(vessel.rim_m - vessel.floor_m);
    if (heights.empty()) return 1.0;
    std::nth_element(heights.begin(), heights.begin() + static_cast<std::ptrdiff_t>(heights.size() / 2), heights.end());
    return heights[heights.size() / 2];
}

}  // namespace

Ref home_of(const Layout& layout, const Ref& ref) {
    const std::size_t i = index(ref.index);
    switch (ref.kind) {
        case Kind::pump: return layout.pumps[i].in_id.empty() ? ref : layout.pumps[i].in;
        case Kind::nozzle: return layout.nozzles[i].into;
        case Kind::float_valve: return layout.float_valves[i].into;
        case Kind::standpipe: return layout.standpipes[i].in;
        case Kind::siphon: return layout.siphons[i].in;
        default: return ref;
    }
}

double floor_of(const Layout& layout, const Ref& home) {
    if (home.kind == Kind::vessel) return layout.vessels[index(home.index)].floor_m;
    return home.kind == Kind::pond ? layout.ponds[index(home.index)].level_m : 0.0;
}

double elevation_of(const Layout& layout, const Ref& ref) {
    const std::size_t i = index(ref.index);
    const Ref home = home_of(layout, ref);
    switch (ref.kind) {
        case Kind::tee: return layout.tees[i].elevation_m;
        case Kind::filter: return filter_elevation(layout, ref.index);
        case Kind::supply: return layout.supplies[i].elevation_m;
        case Kind::pump: {
            const layout::Pump& pump = layout.pumps[i];
            if (pump.in_id.empty()) return pump.elevation_m;
            return floor_of(layout, home) + (layout::said(pump.intake_height_m) ? pump.intake_height_m : 0.0);
        }
        case Kind::nozzle: return floor_of(layout, home) + layout.nozzles[i].height_m;
        case Kind::float_valve: {
            const layout::FloatValve& valve = layout.float_valves[i];
            return floor_of(layout, home) + (layout::said(valve.height_m) ? valve.height_m : valve.closes_at_m);
        }
        default: return floor_of(layout, home);
    }
}

Axis axis_of(const Layout& layout, double highest_head_m) {
    std::vector<Stretch> inhabited;
    const double typical_m = typical_height(layout);
    for (const layout::Vessel& vessel : layout.vessels) inhabited.push_back({vessel.floor_m, vessel.rim_m});
    for (const layout::Pond& pond : layout.ponds) inhabited.push_back({pond.level_m - typical_m / 2.0, pond.level_m});
    const auto see = [&](Kind kind, std::size_t count) {
        for (std::size_t i = 0; i < count; ++i) {
            const double elevation_m = elevation_of(layout, {kind, static_cast<std::int32_t>(i)});
            inhabited.push_back({elevation_m, elevation_m});
        }
    };
    see(Kind::tee, layout.tees.size());
    see(Kind::filter, layout.filters.size());
    see(Kind::supply, layout.supplies.size());
    see(Kind::pump, layout.pumps.size());
    see(Kind::nozzle, layout.nozzles.size());
    see(Kind::float_valve, layout.float_valves.size());
    for (const layout::Pipe& pipe : layout.pipes)
        for (const layout::End* end : {&pipe.from, &pipe.to}) {
            if (end->ref.kind != Kind::vessel && end->ref.kind != Kind::pond) continue;
            const double elevation_m = floor_of(layout, end->ref) + end->height();
            inhabited.push_back({elevation_m, elevation_m});
        }
    return {std::move(inhabited), typical_m, highest_head_m};
}

}  // namespace ebb::cli::profile
