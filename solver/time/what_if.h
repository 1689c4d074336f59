#pragma once
// What if something fails now: how long until a vessel runs over, an intake is bare, a tank has no more water coming in.
//
// The farm stands settled (or runs its routine from the beginning); at time 0 one thing fails and stays so. It is followed for a day, or
// until it is still, and what is the same without the failure is told apart by following the farm once more as it is.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

/// What may go wrong with a thing.
enum class Fault : std::uint8_t {
    shuts,   ///< a valve or float valve: shut, and no clock opens it
    opens,   ///< a valve or float valve: fully open, and nothing shuts it
    stops,   ///< a pump fails; a supply gives nothing
    runs,    ///< a pump runs at full speed, and nothing stops it
    blocks,  ///< lets nothing through: pipe, drain, standpipe, siphon, nozzle, filter, float valve, valve, pump, supply
    breaks,  ///< a pipe or drain is broken off
};
/// The word of the JSON contract.
const char* name_of(Fault fault);

/// The faults that a thing of this kind can have.
std::vector<Fault> faults_of(layout::Kind kind);

/// One thing that goes wrong.
struct Mishap {
    Fault fault = Fault::shuts;
    layout::Ref about;
    std::string about_id;
};

/// What is asked of what_if().
struct WhatIfWanted {
    Mishap mishap;
    std::int32_t arrangement = 0;
    std::int32_t routine = -1;  ///< -1: the arrangement left alone
    double lasts_s = 86400.0;
};

/// What is waited for after a mishap.
enum class Clock : std::uint8_t { overflow, bare_intake, below_least_depth, inflow_below_target, no_inflow };
/// The word of the JSON contract.
const char* name_of(Clock clock);

/// One thing that happens, and when after the failure.
struct Strikes {
    double t_s = kUnknown;
    Clock what = Clock::overflow;
    layout::Ref about = {};
    std::string about_id = {};
    bool also_without = false;  ///< it happens without the failure too
    double over_s = kUnknown;   ///< it is over again; NaN: not in this time
    // overflow
    double spill_m3_s = kUnknown;     ///< as the rim is reached
    double first_hour_m3 = kUnknown;  ///< over the rim within one hour from then
    double spilled_m3 = kUnknown;     ///< in all
    double goes_on_m3_s = kUnknown;   ///< over the rim as the run ends
    // inflow
    double before_m3_s = kUnknown;  ///< of the vessel before the failure (its mean, where it comes and goes)
    double then_m3_s = kUnknown;    ///< where it ends (its mean)
    double wanted_m3_s = kUnknown;  ///< that its target asks for, with the water it then holds
};

/// What a mishap does, and how soon.
struct WhatIfAnswer {
    Mishap mishap;
    std::int32_t arrangement = -1, routine = -1;
    bool settled = true;  ///< false: began elsewhere than at a settled state, and why
    std::string why_not_settled;
    std::string cannot;                  ///< why it could not be followed at all; empty when it was
    bool nothing_changes = false;        ///< the thing is like that already
    Course course;                       ///< times from the failure
    std::vector<double> before_depth_m;  ///< per vessel
    std::vector<Strikes> strikes;        ///< in order of time
    // of a break
    double break_elevation_m = kUnknown;
    std::string break_at_id;
    double floor_m3 = 0.0;  ///< on the floor in all
    double floor_first_hour_m3 = 0.0;
    double floor_m3_s = kUnknown;  ///< as it breaks
};

/// Never throws on hydraulic grounds; Course::ending tells when the run could not be made.
WhatIfAnswer what_if(Simulation& simulation, const WhatIfWanted& wanted);

}  // namespace ebb::time
