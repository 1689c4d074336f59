// Vessels: floor, rim, depths and the volume table.

#include <cmath>

#include "solver/layout/checks.h"

namespace ebb::layout {
namespace {

struct NamedDepth {
    double depth_m;
    std::string_view attribute;
    std::string_view code;
    std::string_view what;
};

void check_depths(Checks& checks, const Vessel& vessel) {
    const double height_m = vessel.rim_m - vessel.floor_m;
    const NamedDepth depths[] = {
        {vessel.start_depth_m, "start-depth", "start-above-rim", "starts with water to"},
        {vessel.least_depth_m, "least-depth", "least-above-rim", "has a least depth of"},
        {vessel.media_depth_m, "media-depth", "media-above-rim", "has media to"},
    };
    for (const NamedDepth& depth : depths) {
        if (said(depth.depth_m) && depth.depth_m > height_m + kSame_m) {
            checks.add({std::string(depth.code), vessel.id,
                        std::string(name_of(vessel.kind)) + " " + vessel.id + " " + std::string(depth.what) + " " + metres(depth.depth_m) +
                            ", but its rim is only " + metres(height_m) + " above its floor",
                        "write a depth of " + metres(height_m) + " or less; depths are above the floor, not above the datum",
                        std::string(depth.attribute)},
                       vessel.place);
        }
    }
}

bool rises(const std::vector<VolumePoint>& table) {
    if (table.size() < 2 || table.front().depth_m != 0.0 || table.front().volume_m3 != 0.0) {
        return false;
    }
    for (std::size_t i = 1; i < table.size(); ++i) {
        if (!(table[i].depth_m > table[i - 1].depth_m) || !(table[i].volume_m3 > table[i - 1].volume_m3) || !std::isfinite(table[i].volume_m3)) {
            return false;
        }
    }
    return true;
}

/// Targets of nothing are no targets: what is wanted is divided by. The reader refuses them; a layout made by hand is told here.
void check_targets(Checks& checks, const Vessel& vessel) {
    struct NamedTarget {
        double value;
        std::string_view attribute;
    };
    const NamedTarget targets[] = {{vessel.turnover_s, "turnover"},
                                   {vessel.inflow_m3_s, "inflow"},
                                   {vessel.fills_within_s, "fills-within"},
                                   {vessel.drains_within_s, "drains-within"}};
    for (const NamedTarget& target : targets)
        if (said(target.value) && !(target.value > 0.0 && std::isfinite(target.value)))
            checks.add({"target-of-nothing", vessel.id,
                        std::string(name_of(vessel.kind)) + " " + vessel.id + ": its target " + std::string(target.attribute) + " is not above 0",
                        "write a number above 0, or leave the target out", std::string(target.attribute)},
                       vessel.place);
}

void check_vessel(Checks& checks, Vessel& vessel) {
    const std::string_view word = name_of(vessel.kind);
    const bool heights =
        checks.given(vessel.floor_m, {vessel.id, word, "floor", vessel.place}) && checks.given(vessel.rim_m, {vessel.id, word, "rim", vessel.place});
    if (!said(vessel.start_depth_m) && (vessel.kind == VesselKind::bed || vessel.kind == VesselKind::tier)) {
        vessel.start_depth_m = 0.0;  // beds and tiers start empty
    }
    checks.given(vessel.start_depth_m, {vessel.id, word, "start-depth", vessel.place});
    check_targets(checks, vessel);
    if (!heights) {
        return;
    }
    if (vessel.rim_m <= vessel.floor_m) {
        checks.add(
            {"rim-below-floor", vessel.id,
             std::string(word) + " " + vessel.id + ": the rim (" + metres(vessel.rim_m) + ") is not above the floor (" + metres(vessel.floor_m) + ")",
             "both are elevations above the datum: write the rim as the higher one", "rim"},
            vessel.place);
        return;
    }
    check_depths(checks, vessel);
    if (!rises(vessel.volume)) {
        checks.add({"volume-table", vessel.id, std::string(word) + " " + vessel.id + " has no volume table that rises from the floor",
                    "give its plan, or a table from (0, 0) up to the rim"},
                   vessel.place);
    }
}

}  // namespace

void check_vessels(Checks& checks) {
    for (Vessel& vessel : checks.layout.vessels) {
        check_vessel(checks, vessel);
    }
    for (const Pond& pond : checks.layout.ponds) {
        checks.given(pond.level_m, {pond.id, "pond", "level", pond.place});
    }
}

}  // namespace ebb::layout
