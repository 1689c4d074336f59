#pragma once
// The course of a farm in time, in SI: what happened, when, and what it amounts to. One entry per thing of the layout, in the
// layout's order. Born "not run": NaN where there is nothing to say ("null" in the JSON contract).

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::time {

inline constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// What can happen. The first thirteen are words of the JSON contract; name_of() gives them.
enum class Happening : std::uint8_t {
    valve_opens,
    valve_closes,
    power_fails,
    power_returns,
    pump_stops,
    pump_restarts,
    siphon_starts,
    siphon_breaks,
    reaches_lip,
    falls_below_lip,
    drained,
    reaches_rim,
    intake_bare,
    // our own, beside the contract
    intake_covered,   ///< an intake that was bare has water over it again
    leaves_rim,       ///< a vessel that spilled stands below its rim again
    inlet_submerged,  ///< the end of a pipe that stood free above the water is now under it
    inlet_free,
    below_least_depth,  ///< a sump falls below its least-depth
    draw_begins,
    draw_ends,
    draw_short,       ///< a draw or an uptake finds less water than it would take
    setting_changes,  ///< an opening, a speed, an insert or a load other than open / shut / run / stop
    hose_ends,        ///< a hose has poured its whole amount
};
/// The word of the JSON contract.
const char* name_of(Happening what);

/// Something that happened, and when; seconds from the beginning of the run.
struct Event {
    double t_s = kUnknown;
    Happening what = Happening::valve_opens;
    layout::Ref about;          ///< kind none: the whole farm (power)
    std::string about_id;       ///< "" for the whole farm
    std::string because;        ///< the id or word of what did it: "timer", "level-switch of FS", "power"; may be empty
    double level_m = kUnknown;  ///< of the vessel concerned, where there is one
    bool switches = false;      ///< changes what the farm does; false: only passes a mark
};

/// A vessel through a run.
struct VesselCourse {
    double least_depth_m = kUnknown, least_at_s = kUnknown;
    double greatest_depth_m = kUnknown, greatest_at_s = kUnknown;
    double end_depth_m = kUnknown, end_volume_m3 = kUnknown;
    double least_freeboard_m = kUnknown;
    double spilled_m3 = 0.0;           ///< over the rim, in the whole run
    double first_spill_s = kUnknown;   ///< NaN: never
    double spilled_in_cycle_m3 = 0.0;  ///< in the last cycle (or the whole run)
    // averages over the last cycle, or the whole run where nothing repeats
    double mean_depth_m = kUnknown, mean_volume_m3 = kUnknown;
    double mean_inflow_m3_s = kUnknown, turnover_s = kUnknown;  ///< turnover = mean volume / mean inflow
};

/// Figures of the last complete cycle of a bed (or tier); NaN where it had none.
struct BedCourse {
    std::int32_t vessel = -1;
    double fill_s = kUnknown, hold_s = kUnknown, drain_s = kUnknown, period_s = kUnknown;
    double peak_drain_m3_s = kUnknown;  ///< greatest outflow through standpipes, siphons and ports in the whole run
    double peak_drain_at_s = kUnknown;
    double spare_s = kUnknown;            ///< from drained to the next opening; negative never: NaN when it did not drain in time
    std::int32_t starts = 0, breaks = 0;  ///< of its siphons, in the whole run
    std::int32_t fills = 0, drains = 0;   ///< times it reached its lip; times it was drained
    bool has_siphon = false, timed = false;
    bool never_starts = false;           ///< a siphon whose inflow goes over the crest without starting it: it dribbles
    bool never_breaks = false;           ///< a siphon that runs and is held at a level above its break height
    bool opened_before_drained = false;  ///< the next water came before the last was out
};

/// A pump through a run.
struct PumpCourse {
    double energy_j = 0.0;  ///< NaN when the model gives no power
    double run_s = 0.0;     ///< commanded to run and under power
    double dry_s = 0.0;     ///< of that, with a bare intake
    double first_dry_s = kUnknown;
    double pumped_m3 = 0.0;
    std::int32_t starts = 0;
    double least_flow_m3_s = kUnknown, greatest_flow_m3_s = kUnknown;  ///< while running
};

/// Water through a boundary in the whole run: into the farm positive.
struct SourceCourse {
    double given_m3 = 0.0;
};

/// A draw or an uptake of the routine, or the water a tee takes.
struct TakenCourse {
    double wanted_m3 = 0.0, taken_m3 = 0.0;
    double missing_m3 = 0.0;
};

/// Net water through one pipe in the whole run, positive from -> to; and what went backwards.
struct PipeCourse {
    double net_m3 = 0.0, backward_m3 = 0.0, greatest_flow_m3_s = 0.0;
};

/// Why a run ended.
enum class Ending : std::uint8_t {
    not_run,
    time_over,    ///< ran to the given end
    repeats,      ///< stopped because the cycle repeats (asked for)
    still,        ///< stopped because nothing moves any more and nothing is to come (asked for)
    chatters,     ///< two things fight: switching without progress
    no_solution,  ///< the network could not be solved
    cancelled,
};
const char* name_of(Ending ending);  ///< "time-over", "repeats", ...

/// Whether the levels come round again.
enum class Repeat : std::uint8_t { not_asked, repeats, still, not_yet, never };
/// The word of the JSON contract.
const char* name_of(Repeat repeat);

/// What the run took.
struct Counts {
    std::int64_t steps = 0;  ///< of the integration in time
    std::int64_t restarts = 0;
    std::int64_t network_solves = 0, newton_steps = 0;
    std::int64_t slope_evaluations = 0;  ///< Jacobians
    std::int64_t fallbacks = 0;
};

/// Where a run stopped: enough to go on from.
struct Memory {
    std::vector<double> volume_m3;          ///< per vessel
    std::vector<std::uint8_t> primed;       ///< per siphon
    std::vector<std::uint8_t> switch_acts;  ///< per level-switch of the routine: it holds its thing stopped (shut, opened, started)
};

/// Levels against time.
struct Series {
    std::vector<double> t_s;
    std::vector<double> depth_m;    ///< t_s.size() rows of one depth per vessel
    std::vector<double> pump_m3_s;  ///< the same of pump flows
    // with Options::keep_flows only, rows as above
    std::vector<double> inflow_m3_s, outflow_m3_s;  ///< of every vessel, through pipes and devices
    std::vector<double> spilled_m3;                 ///< over the rim of every vessel, so far
    std::vector<double> pond_m3;                    ///< out of every pond, so far (negative: into it)
};

/// A whole run: how it went and how it ended.
struct Course {
    std::string name;
    std::int32_t arrangement = -1;
    Ending ending = Ending::not_run;
    std::string why;  ///< of chatters, no_solution: one sentence
    double lasted_s = kUnknown;
    Repeat repeat = Repeat::not_asked;
    double repeats_every_s = kUnknown;                     ///< NaN: it does not
    double repeats_from_s = kUnknown;                      ///< begin of the first cycle that the next one copied
    std::string why_no_repeat;                             ///< of never and not_yet: one sentence
    double drift_m3 = kUnknown, drift_cycle_s = kUnknown;  ///< of never and not_yet: change of the farm's water over its last cycle, and that cycle
    double drift_level_m = kUnknown;                       ///< of not_yet: the level that changed most, and whose
    std::int32_t drift_vessel = -1;
    double cycle_begin_s = kUnknown, cycle_end_s = kUnknown;  ///< the time over which averages are taken
    double cycle_energy_j = kUnknown;                         ///< of all pumps in it

    std::vector<VesselCourse> vessels;
    std::vector<BedCourse> beds;  ///< of beds and tiers, and of every vessel with a siphon
    std::vector<PumpCourse> pumps;
    std::vector<SourceCourse> supplies, ponds, float_valves;
    std::vector<TakenCourse> draws, uptakes;
    std::vector<TakenCourse> tees;  ///< what they take; nothing where they take nothing
    std::vector<PipeCourse> pipes;
    std::vector<double> hoses_m3;  ///< per hose of the plan: poured
    std::vector<Event> events;
    Series series;
    Memory end;
    Counts counts;
    double worst_water_error_m3 = kUnknown;  ///< start + what came in - what went out - end, greatest at any step
    double water_m3 = kUnknown;              ///< in the vessels, at the start
};

}  // namespace ebb::time
