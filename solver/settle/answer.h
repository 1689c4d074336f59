#pragma once
// The answer to one arrangement, in SI, one entry per thing of the layout in the layout's order. Born "not run".

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

namespace ebb::settle {

inline constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();  ///< "null" in the JSON contract

/// What came of an arrangement. `given_levels`: solved at the start depths, as asked.
enum class State : std::uint8_t { not_run, settled, given_levels, cycles, spills_until_dry, no_solution };
const char* name_of(State state);  ///< the word of the JSON contract
/// Whether there are figures for the state asked for.
inline bool solved(State state) { return state == State::settled || state == State::given_levels; }

/// The lower and upper end of a figure that rests on a pump known only by its label. NaN when it does not.
struct Band {
    double low = kUnknown, high = kUnknown;
    /// Whether the figure has a band.
    bool there() const { return low == low && high == high; }
};

/// A vessel at rest. Depths above its floor, levels above the datum.
struct VesselAnswer {
    double depth_m = kUnknown, level_m = kUnknown, volume_m3 = kUnknown;
    double inflow_m3_s = kUnknown, outflow_m3_s = kUnknown;  ///< through pipes and devices; outflow without the spill
    double turnover_s = kUnknown;                            ///< volume / inflow; NaN without flow
    double freeboard_m = kUnknown;
    double spill_m3_s = kUnknown;     ///< over the rim, in the state reported
    double spilled_m3 = 0.0;          ///< lost over the rim on the way from the start depths
    double first_spill_s = kUnknown;  ///< when that began, from the start
    Band inflow_band, depth_band;
};

/// Head and pressure at a tee, m of water; pressure above its own elevation.
struct TeeAnswer {
    double head_m = kUnknown, pressure_m = kUnknown;  ///< NaN when cut off
    bool air = false;                                 ///< vented tee with air standing in it
};

/// A pipe or drain.
struct PipeAnswer {
    double flow_m3_s = kUnknown, velocity_m_s = kUnknown;  ///< signed, positive from -> to
    double loss_m = kUnknown;                              ///< NaN when shut
    double tee_loss_m = 0.0;                               ///< share of the loss that a tee of a header adds (may be negative)
    double reynolds = kUnknown;
    bool shut = false;              ///< a closed valve, or a check valve holding back
    bool held_by_entrance = false;  ///< the round opening at a vessel, not the pipe's law, holds its flow (also when that is nothing)
    bool entrance_limits = false;   ///< the round opening at the vessel limits the flow (air drawn in)
    // drains only (gravity)
    double fill_ratio = kUnknown;     ///< depth of flow / bore, 1 when full
    double capacity_used = kUnknown;  ///< flow / full-bore capacity at its slope
    bool drowned = false;
    Band flow_band;
};

/// A pump: flow and head of all of its count together.
struct PumpAnswer {
    bool running = false;
    double flow_m3_s = kUnknown, head_m = kUnknown, power_w = kUnknown, efficiency = kUnknown;
    double npsh_available_m = kUnknown, npsh_required_m = kUnknown, best_point_ratio = kUnknown;
    double inlet_head_m = kUnknown, outlet_head_m = kUnknown;  ///< above the datum; NaN when cut off
    bool intake_bare = false, beyond_curve = false, against_shut = false;
    bool from_label = false;
    Band flow_band, head_band;
};

/// A filter.
struct FilterAnswer {
    double flow_m3_s = kUnknown, loss_m = kUnknown;
    double inlet_head_m = kUnknown, outlet_head_m = kUnknown;
};
/// A nozzle.
struct NozzleAnswer {
    double flow_m3_s = kUnknown, head_m = kUnknown;  ///< head over its outlet
    double inlet_head_m = kUnknown;
};
/// What governs the flow over a lip.
enum class OverflowRegime : std::uint8_t { dry, weir, orifice, drowned };
/// The word of the JSON contract.
const char* name_of(OverflowRegime regime);
/// A standpipe: flow over its lip and through its holes together.
struct StandpipeAnswer {
    double flow_m3_s = kUnknown, depth_over_lip_m = kUnknown;  ///< depth negative below the lip
    double through_holes_m3_s = kUnknown;
    double foot_head_m = kUnknown;  ///< head in the pipe below: its foot while air stands in it
    OverflowRegime regime = OverflowRegime::dry;
    bool may_run_full = false;            ///< beyond the self-venting limit: a second, lower, noisy level is possible
    double full_pipe_level_m = kUnknown;  ///< that other level
};
/// A siphon.
struct SiphonAnswer {
    bool primed = false;
    double flow_m3_s = kUnknown;
    double foot_head_m = kUnknown;
    bool dribbles = false, runs_for_ever = false;
};
/// A supply, a float valve or a pond: what it gives; negative into a pond.
struct SourceAnswer {
    double flow_m3_s = kUnknown;     ///< out of the supply, the float valve or the pond
    double opening = kUnknown;       ///< float valves: 0..1
    double inlet_head_m = kUnknown;  ///< float valves
};

/// Something a person should know about this answer.
struct Warning {
    std::string code, about, says;
};

/// A wish of the layout, and whether it is met. SI by `quantity`.
struct Target {
    std::string about;     ///< id of the vessel or tee
    std::string quantity;  ///< "turnover_s", "inflow_m3_s" or "pressure_m"
    bool at_most = false;  ///< wanted <= or >=
    double wanted = kUnknown, got = kUnknown;
    bool met = false;
    bool band_meets = true;  ///< false when only part of the label pump's band meets it
    bool asked = true;       ///< false when the arrangement shuts the vessel's water off on purpose: valves shut, pumps stopped
};

/// Sump ledger: where the level of a sump stands in this arrangement. Depths above its floor; volumes between the marks.
struct SumpLedger {
    std::int32_t vessel = -1;
    double running_depth_m = kUnknown;
    double stopped_depth_m = kUnknown;                 ///< after every pump has stopped and the water has come home
    double returned_m3 = kUnknown;                     ///< water that comes back into it then
    double stopped_spill_m3 = kUnknown;                ///< what then goes over its rim
    double evaporation_m3_day = kUnknown;              ///< assumed share of the water of its loop, or the routines' uptake
    double depth_after_day_m = kUnknown;               ///< running depth less a day's evaporation
    double least_depth_m = kUnknown;                   ///< of the layout, or 20 mm above the highest intake in it
    double margin_m = kUnknown, margin_m3 = kUnknown;  ///< from a day's end to the least depth
    double days_to_least = kUnknown;
    double freeboard_running_m = kUnknown, freeboard_stopped_m = kUnknown;
};

/// What the answer took to find.
struct Counts {
    int newton_steps = -1;   ///< of the final solve
    int network_solves = 0;  ///< every solve made for this answer, integration on the way included
    int newton_steps_total = 0;
    int fallbacks = 0;  ///< times the safeguarded path was needed
};

/// All that is known of one arrangement, indexed as the layout.
struct Answer {
    std::int32_t arrangement = -1;
    std::string name;
    State state = State::not_run;
    std::string why;  ///< of no_solution, cycles, spills_until_dry: one sentence
    Counts counts;
    double worst_flow_imbalance_m3_s = kUnknown;  ///< recomputed from layout and answer by code that did not produce it
    double worst_head_error_m = kUnknown;
    double dry_after_s = kUnknown;  ///< of spills_until_dry
    bool rests_on_label = false;    ///< a pump known only by its label runs in it

    std::vector<VesselAnswer> vessels;
    std::vector<TeeAnswer> tees;
    std::vector<PipeAnswer> pipes;  ///< pipes and drains, indexed as Layout::pipes
    std::vector<PumpAnswer> pumps;
    std::vector<FilterAnswer> filters;
    std::vector<NozzleAnswer> nozzles;
    std::vector<StandpipeAnswer> standpipes;
    std::vector<SiphonAnswer> siphons;
    std::vector<SourceAnswer> supplies, float_valves, ponds;
    std::vector<Warning> warnings;
    std::vector<Target> targets;
    std::vector<SumpLedger> ledgers;  ///< filled by with_ledgers()
};

}  // namespace ebb::settle
