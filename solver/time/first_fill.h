#pragma once
// The first fill: a dry farm, a hose in the sump, and the pumps on.
//
// The farm falls into loops: vessels that water from one place reaches. The place is the vessel that a running pump draws from (of several, the
// one that holds most), else the lowest vessel; what it does not reach has a hose of its own. A hose is held at the vessel's start depth and
// ends when the water of the loop's start depths has run in; what the mains give meanwhile through float valves is taken off (found by
// repeating the run until both agree). The pumps follow the law of the solver: flow as soon as the intake is covered. Where one gulps at its
// intake on the way, the fill is told a second time with the pumps switched by hand: on when the sump is half way between its least depth
// and its start depth, off at the least depth.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

inline constexpr double kUsualHose_m3_s = 20.0 / 60000.0;  ///< 20 l/min: a garden tap (common practice)

/// What is asked of first_fill().
struct FillWanted {
    std::int32_t arrangement = 0;
    double hose_m3_s = kUsualHose_m3_s;  ///< of each loop
    double greatest_s = 30.0 * 86400.0;  ///< not followed for longer
};

/// One loop: its hose, and what was filled through it.
struct FilledLoop {
    std::int32_t vessel = -1;           ///< the hose hangs here
    std::vector<std::int32_t> members;  ///< vessels it fills, that one included
    double up_to_depth_m = kUnknown;
    double wanted_m3 = 0.0;  ///< at the start depths
    double hose_m3 = 0.0, mains_m3 = 0.0;
    double hose_ends_s = kUnknown;  ///< NaN: it was still held back at the end
};

/// A vessel in a first fill.
struct FilledVessel {
    double running_depth_m = kUnknown;  ///< settled; NaN where the farm has no settled state
    double end_depth_m = kUnknown, end_m3 = kUnknown;
    double reaches_after_s = kUnknown;  ///< from then on within 5 mm of where it ends; NaN: it stays empty
    double greatest_depth_m = kUnknown, spilled_m3 = 0.0, first_spill_s = kUnknown;
    double rest_depth_m = kUnknown;  ///< with the pumps stopped afterwards: the mark to paint
};

/// A pump in a first fill; seconds from its beginning.
struct FilledPump {
    double covered_s = kUnknown;  ///< its intake is first covered
    double last_bare_s = kUnknown;
    double gulps_s = 0.0;  ///< commanded to run with a bare intake after water first came to it
    std::int32_t starts = 0;
};

/// One way of doing it.
struct FillWay {
    bool made = false;               ///< false: not needed, or could not be made
    double done_after_s = kUnknown;  ///< all water in, every level within 5 mm of where it ends
    Course course;
    std::vector<FilledLoop> loops;
    std::vector<FilledVessel> vessels;
    std::vector<FilledPump> pumps;
    double spilled_m3 = 0.0;
    bool any_gulps = false;
};

/// The farm filled from empty, a hose at each loop.
struct FillAnswer {
    std::int32_t arrangement = -1;
    double hose_m3_s = kUnknown;
    std::string why_not_settled;          ///< empty: settled levels are known
    bool reaches_running = false;         ///< every level within 5 mm of the settled one at the end of the run with pumps left on
    std::vector<std::int32_t> elsewhere;  ///< vessels that do not stand at their settled level then
    FillWay left_on;
    FillWay by_hand;                         ///< made where a pump gulps
    std::vector<layout::LevelSwitch> hands;  ///< the switching of by_hand
};

/// Fills the farm from empty, with the pumps left on and, where one gulps, by hand. Never throws on hydraulic grounds.
FillAnswer first_fill(Simulation& simulation, const FillWanted& wanted);

}  // namespace ebb::time
