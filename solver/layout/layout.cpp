// Names, volumes and the settings of an arrangement.

#include "solver/layout/layout.h"

#include <algorithm>
#include <cassert>
#include <cstddef>

namespace ebb::layout {
namespace {

/// The segment of the table that holds x, by the given member; the last one beyond the end.
template <double VolumePoint::*kBy>
std::size_t segment_of(const std::vector<VolumePoint>& table, double x) {
    const auto above =
        std::upper_bound(table.begin() + 1, table.end() - 1, x, [](double wanted, const VolumePoint& point) { return wanted < point.*kBy; });
    return static_cast<std::size_t>(above - table.begin()) - 1;
}

template <double VolumePoint::*kFrom, double VolumePoint::*kTo>
double interpolate(const std::vector<VolumePoint>& table, double x) {
    assert(table.size() >= 2);
    const VolumePoint& low = table[segment_of<kFrom>(table, x)];
    const VolumePoint& high = *(&low + 1);
    return low.*kTo + (x - low.*kFrom) * (high.*kTo - low.*kTo) / (high.*kFrom - low.*kFrom);
}

void apply(const Setting& setting, Conditions& conditions, const Layout& layout) {
    const auto index = static_cast<std::size_t>(setting.about.index);
    switch (setting.act) {
        case Act::open: conditions.valve_opening[index] = 1.0; break;
        case Act::close: conditions.valve_opening[index] = 0.0; break;
        case Act::throttle: conditions.valve_opening[index] = setting.value; break;
        case Act::run: conditions.pump_speed[index] = said(setting.value) ? setting.value : 1.0; break;
        case Act::stop: conditions.pump_speed[index] = 0.0; break;
        case Act::load: conditions.filter_load[index] = setting.value; break;
        case Act::fit: {
            const std::vector<Insert>& inserts = layout.standpipes[index].inserts;
            const auto found = std::ranges::find(inserts, setting.insert, &Insert::name);
            assert(found != inserts.end());
            conditions.insert[index] = static_cast<std::int32_t>(found - inserts.begin());
            break;
        }
    }
}

}  // namespace

Conditions conditions_of(const Layout& layout, std::int32_t index) {
    Conditions conditions;
    conditions.valve_opening.assign(layout.valves.size(), 1.0);
    conditions.pump_speed.assign(layout.pumps.size(), 1.0);
    conditions.insert.assign(layout.standpipes.size(), 0);
    conditions.filter_load.assign(layout.filters.size(), 0.0);

    // From the arrangement to the one at the bottom of its chain, then applied from the bottom up, so that the nearest line wins.
    std::vector<const Arrangement*> chain = {&layout.arrangements[static_cast<std::size_t>(index)]};
    while (chain.back()->base >= 0 && chain.size() <= layout.arrangements.size()) {
        chain.push_back(&layout.arrangements[static_cast<std::size_t>(chain.back()->base)]);
    }
    std::ranges::reverse(chain);
    for (const Arrangement* arrangement : chain) {
        for (const Setting& setting : arrangement->settings) {
            apply(setting, conditions, layout);
        }
    }
    return conditions;
}

double volume_at_depth(const Vessel& vessel, double depth_m) {
    return interpolate<&VolumePoint::depth_m, &VolumePoint::volume_m3>(vessel.volume, depth_m);
}

double depth_at_volume(const Vessel& vessel, double volume_m3) {
    return interpolate<&VolumePoint::volume_m3, &VolumePoint::depth_m>(vessel.volume, volume_m3);
}

std::vector<VolumePoint> prism_volume(double plan_area_m2, double height_m, double media_depth_m, double void_fraction) {
    const double voids = said(void_fraction) ? void_fraction : 1.0;
    if (!said(media_depth_m) || media_depth_m >= height_m) {
        return {{0.0, 0.0}, {height_m, plan_area_m2 * voids * height_m}};
    }
    const double in_media_m3 = plan_area_m2 * voids * media_depth_m;
    if (media_depth_m <= 0.0) {
        return {{0.0, 0.0}, {height_m, plan_area_m2 * height_m}};
    }
    return {{0.0, 0.0}, {media_depth_m, in_media_m3}, {height_m, in_media_m3 + plan_area_m2 * (height_m - media_depth_m)}};
}

double elevation_of(const Layout& layout, const End& end) {
    const auto index = static_cast<std::size_t>(end.ref.index);
    const auto above = [&](const Ref& in, double height_m) {
        const auto i = static_cast<std::size_t>(in.index);
        const double floor_m = in.kind == Kind::vessel ? layout.vessels[i].floor_m : in.kind == Kind::pond ? layout.ponds[i].level_m : kNotSaid;
        return floor_m + (said(height_m) ? height_m : 0.0);
    };
    switch (end.ref.kind) {
        case Kind::vessel:
        case Kind::pond: return above(end.ref, end.height_m);
        case Kind::tee: return layout.tees[index].elevation_m;
        case Kind::standpipe: return above(layout.standpipes[index].in, 0.0);
        case Kind::siphon: return above(layout.siphons[index].in, 0.0);
        case Kind::nozzle: return above(layout.nozzles[index].into, layout.nozzles[index].height_m);
        case Kind::float_valve: {
            const FloatValve& valve = layout.float_valves[index];
            return above(valve.into, said(valve.height_m) ? valve.height_m : valve.closes_at_m);
        }
        case Kind::supply: return layout.supplies[index].elevation_m;
        case Kind::pump: {
            const Pump& pump = layout.pumps[index];
            return pump.in.kind == Kind::none ? pump.elevation_m : above(pump.in, pump.intake_height_m);
        }
        default: return kNotSaid;
    }
}

const char* name_of(VesselKind kind) {
    switch (kind) {
        case VesselKind::tank: return "tank";
        case VesselKind::sump: return "sump";
        case VesselKind::trough: return "trough";
        case VesselKind::bed: return "bed";
        case VesselKind::tier: return "tier";
        case VesselKind::vessel: return "vessel";
    }
    return "";
}

const char* name_of(Kind kind) {
    switch (kind) {
        case Kind::none: return "nothing";
        case Kind::vessel: return "vessel";
        case Kind::pond: return "pond";
        case Kind::tee: return "tee";
        case Kind::pump: return "pump";
        case Kind::filter: return "filter";
        case Kind::nozzle: return "nozzle";
        case Kind::supply: return "supply";
        case Kind::float_valve: return "float-valve";
        case Kind::standpipe: return "standpipe";
        case Kind::siphon: return "siphon";
        case Kind::pipe: return "pipe";
        case Kind::valve: return "valve";
    }
    return "";
}

}  // namespace ebb::layout
