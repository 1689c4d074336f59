#pragma once
// One vessel left to drain: what feeds it is shut, everything else goes on, and the water leaves through the vessel's own ways out.
//
// The run begins at the settled state of an arrangement (at the start depths where there is none). A second run over the same time keeps the
// level at even moments, a four-thousandth of it apart, between which it is taken as straight: the times below are good to a part in a million
// of the run where the level bends gently. Shares are of all the water that stood in the vessel.

#include <array>
#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

/// What is asked of drain_down().
struct DrainWanted {
    std::int32_t arrangement = 0;
    std::int32_t vessel = -1;
    double greatest_s = 86400.0;  ///< not followed for longer
};

/// What water can leave a vessel by.
enum class WayOut : std::uint8_t { lip, hole, siphon, port, inlet, pump };
/// The word of the JSON contract.
const char* name_of(WayOut kind);

/// A way out that is open in this arrangement; lowest first.
struct OpenWay {
    WayOut kind = WayOut::port;
    layout::Ref about;           ///< the standpipe, siphon, pipe or pump
    double height_m = kUnknown;  ///< above the floor, where it ends
};

/// What one pipe carried out of the vessel.
struct WayTaken {
    std::int32_t pipe = -1;
    double volume_m3 = 0.0, greatest_flow_m3_s = 0.0;
};

/// Why the level stops where it stops.
enum class DrainStop : std::uint8_t {
    drained,     ///< within 5 mm of the lowest open way out
    shut_in,     ///< no way out is open
    level_with,  ///< another surface stands as high: the way out is drowned
    held,        ///< nothing moves, though a way out lies lower
    not_yet,     ///< still falling at the end of the run
    no_water,    ///< there was none to begin with above the lowest way out
    no_answer,   ///< the run could not be made
};
/// The word of the JSON contract.
const char* name_of(DrainStop stop);

/// Another vessel, before and after.
struct DrainOther {
    std::int32_t vessel = -1;
    double before_depth_m = kUnknown, greatest_depth_m = kUnknown, end_depth_m = kUnknown;
    double gained_m3 = 0.0, least_freeboard_m = kUnknown, spilled_m3 = 0.0;
};

/// A vessel drained by what leads out of it, nothing feeding it.
struct DrainAnswer {
    std::int32_t arrangement = -1, vessel = -1;
    bool from_settled = true;
    std::string why_not_settled;
    std::vector<layout::Ref> shut;        ///< what was shut so that nothing feeds the vessel
    std::vector<OpenWay> ways_out;        ///< lowest first
    std::vector<std::int32_t> shut_ways;  ///< pipes out of the vessel that a valve shuts
    double before_depth_m = kUnknown, before_m3 = kUnknown;
    double end_depth_m = kUnknown, end_m3 = kUnknown;
    std::array<double, 3> share_left{0.75, 0.50, 0.25};
    std::array<double, 3> share_after_s{kUnknown, kUnknown, kUnknown};
    double drained_after_s = kUnknown;  ///< within 5 mm of the lowest open way out
    double peak_m3_s = 0.0;             ///< sum of what its ways carried at most
    double over_lip_m3 = 0.0;           ///< of what left, what stood above the lip of a fitted standpipe
    std::vector<WayTaken> taken;        ///< largest first
    std::vector<DrainOther> others;     ///< vessels that gained or lost water, the most first
    DrainStop stop = DrainStop::not_yet;
    std::int32_t level_with = -1;
    double wanted_s = kUnknown;  ///< drains-within of the layout
    bool in_time = true;
    Course course;
};

/// Follows a vessel while it empties. Never throws on hydraulic grounds.
DrainAnswer drain_down(Simulation& simulation, const DrainWanted& wanted);

}  // namespace ebb::time
