#pragma once
// What to follow in time: where the farm starts, what is set, what happens to it, and when to stop.

#include <functional>
#include <limits>
#include <stop_token>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/network/newton.h"
#include "solver/time/answer.h"

namespace ebb::time {

/// Water let in from outside the layout: up to `rate`, in proportion over the last 20 mm below `up_to_depth_m`, until `greatest_m3` have run.
struct Hose {
    std::int32_t vessel = -1;
    double rate_m3_s = 0.0;
    double up_to_depth_m = std::numeric_limits<double>::infinity();  ///< infinity: a constant inflow
    double greatest_m3 = std::numeric_limits<double>::infinity();
};

/// What a run in time is to do.
struct Plan {
    std::string name;
    std::int32_t arrangement = -1;  ///< of the layout, for the record
    layout::Conditions conditions;  ///< at the beginning
    layout::Routine routine;        ///< timers, rotations, switches, cuts, failures, changes, draws, uptakes; its lasts_s is not looked at
    Memory start;                   ///< volumes (needed); siphons and switches (empty: unprimed, at ease)
    std::vector<layout::Ref> shut;  ///< pipes, nozzles, float valves, standpipes, siphons, filters blocked from the beginning
    std::vector<Hose> hoses;
    double lasts_s = 0.0;
    bool until_repeats = false;  ///< stop at the end of a cycle that copied the one before
    bool until_still = false;    ///< stop when nothing moves and nothing is to come
};

/// How exactly to follow time, and what to keep.
struct Options {
    double level_tolerance_m = 1e-7;   ///< error of one step in time, as level
    double relative_tolerance = 1e-7;  ///< the same, as share of the volume
    network::Tolerances network;
    bool keep_series = false;
    bool keep_flows = false;                                           ///< the series also holds inflow, outflow and spill of every vessel
    double series_every_s = std::numeric_limits<double>::quiet_NaN();  ///< NaN: at the solver's own steps
    double repeat_tolerance_m = 1e-5;                                  ///< levels that differ by less are the same, when cycles are compared
    std::stop_token stop;
    std::function<void(double share)> progress;  ///< called now and then with the share done
};

}  // namespace ebb::time
