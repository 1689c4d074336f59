#pragma once
// The window of inflow of a siphon: too little dribbles over its crest for ever, too much keeps it running for ever; between the two it
// starts and breaks, again and again.
//
// Both ends are found by following the bed in time, as stepping the inflow by hand would find them: everything else that feeds the bed is
// shut, a hose gives a constant inflow, and the same flow is taken out of the water that the siphon ends in, so that the farm's water stays
// what it is (on site that is the pump). The rest of the arrangement goes on.
//
//   lower end  from a bed full to the crest: the siphon starts, or the level comes to rest with the inflow running over the crest;
//   upper end  from a running siphon a hair above its break height: it breaks, or the level rises.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

/// What is asked of siphon_window().
struct SiphonWindowWanted {
    std::int32_t siphon = -1;
    std::int32_t arrangement = 0;
    double share = 1e-3;  ///< ends are found to this share of themselves
    int table_rows = 5;   ///< inflows across the window that are followed through a whole cycle; 0: none
};

/// Starting is uncertain: 0.3 (its pipe vents itself, it never starts) to 1 (it clears all air, it surely does) of A sqrt(g D), common practice.
struct StartBand {
    double may_m3_s = kUnknown, surely_m3_s = kUnknown;
};
/// From bore alone, by the rule above.
StartBand start_band_of(const layout::Siphon& siphon);

/// A whole cycle at one inflow. Times NaN where it does not cycle.
struct SiphonRow {
    double inflow_m3_s = kUnknown;
    double fill_s = kUnknown, drain_s = kUnknown, period_s = kUnknown, peak_drain_m3_s = kUnknown;
};

/// Why an end was not found.
enum class WindowEnd : std::uint8_t { not_sought, found, spills_first, always, never };
/// The word of the JSON contract.
const char* name_of(WindowEnd end);

/// Where the inflow of the bed stands against the window.
enum class InflowIs : std::uint8_t { unknown, nothing, too_little, in_window, too_much };
/// The word of the JSON contract.
const char* name_of(InflowIs where);

/// Between which inflows a siphon both starts and breaks.
struct SiphonWindow {
    std::int32_t siphon = -1, vessel = -1, arrangement = -1;
    std::string cannot;  ///< why nothing could be said; empty otherwise
    WindowEnd lower = WindowEnd::not_sought, upper = WindowEnd::not_sought;
    double starts_from_m3_s = kUnknown;  ///< least inflow with which it starts
    double breaks_to_m3_s = kUnknown;    ///< greatest inflow with which it breaks
    bool empty = false;                  ///< what starts it keeps it running

    /// start_band_of()
    double may_start_from_m3_s = kUnknown, surely_starts_from_m3_s = kUnknown;

    double inflow_m3_s = kUnknown;  ///< that the bed gets in this arrangement, on average
    double least_inflow_m3_s = kUnknown, greatest_inflow_m3_s = kUnknown;
    InflowIs inflow_is = InflowIs::unknown;
    std::vector<SiphonRow> rows;
    std::int32_t ends_in = -1;  ///< vessel its water comes to; -1: out of the farm, or not to be told
    int runs = 0;
};

/// Looks for both ends by trials in time. Never throws on hydraulic grounds.
SiphonWindow siphon_window(Simulation& simulation, const SiphonWindowWanted& wanted);

/// The plan of one trial: the bed fed by `inflow_m3_s` alone, empty, siphon at rest. What a hand that steps the inflow would do.
Plan siphon_trial(const layout::Layout& layout, const SiphonWindowWanted& wanted, const Memory& start, double inflow_m3_s);

/// Where the rest of the farm stands when the bed is shut off and empty.
Memory siphon_trial_start(Simulation& simulation, const SiphonWindowWanted& wanted);

}  // namespace ebb::time
