#pragma once
// Setting the valves: openings of named valves that give each outlet its target with the least throttling.
//
// Unknowns are what each valve adds over standing fully open (and, where a pump's speed is let free, that speed). For one arrangement
//
//     minimise  sum of the heads dropped by throttling      with   flow of every outlet = its target,   no drop below 0
//
// and where the targets cannot all be had exactly (several arrangements share one setting, say), first the worst shortfall is made as small as it
// can be, then the next worst, and so on; with that kept the worst surplus, then what the rest has too much; among the settings that do so the one
// with the least throttling is taken. The method and what it promises stand at the head of balance.cpp.

#include <cstdint>
#include <functional>
#include <stop_token>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::choose {

/// A flow wanted instead of what the layout says of this vessel.
struct WantedFlow {
    std::int32_t vessel = -1;
    double inflow_m3_s = layout::kNotSaid;
};

/// What is asked of balance(): a layout, the arrangements one setting must serve, the valves to set.
struct BalanceProblem {
    const layout::Layout* layout = nullptr;  ///< validated; outlives the call
    std::vector<std::int32_t> arrangements;  ///< at least one: one setting for all of them
    std::vector<std::int32_t> valves;        ///< to be set; empty: those on the way to the outlets (valves_on_the_way())
    std::vector<WantedFlow> wanted;
    std::vector<std::int32_t> free_pumps;  ///< whose speed may be chosen too
    double spare = 0.0;                    ///< share aimed at beyond every target
    std::stop_token stop;                  ///< ends early with the best so far
    std::function<void(double)> progress;  ///< share done, 0 to 1, roughly; may be empty
};

/// balanced: every outlet has its target. met: it has that or more, exactly cannot be had. missed: some lack water; what is given comes nearest.
/// no_targets, no_valves: nothing to set. no_solution: the farm itself has no settled flows. stopped: was told to end; the setting given is the
/// best so far.
enum class BalanceOutcome : std::uint8_t { not_run, balanced, met, missed, no_targets, no_valves, no_solution, stopped };
/// The word of the JSON contract.
const char* name_of(BalanceOutcome outcome);

/// One outlet in one arrangement.
struct BalancedOutlet {
    std::int32_t arrangement = -1, vessel = -1;
    double wanted_m3_s = layout::kNotSaid;      ///< with what is to be spare; of a turnover: its water at the level it ends at, over the time wanted
    double got_m3_s = layout::kNotSaid;         ///< with the setting
    double before_m3_s = layout::kNotSaid;      ///< as the arrangement stands in the layout
    double share = layout::kNotSaid;            ///< got over wanted
    double path_throttle_m = layout::kNotSaid;  ///< dropped by named valves on its way; 0: nothing on it can be opened further
    bool aimed = true;                          ///< false: no named valve and no freed pump on its way: nothing here can set it
    std::int32_t pump = -1;                     ///< a running pump at the beginning of its way; -1: none
    std::vector<std::int32_t> valves;           ///< named valves on its way, nearest the outlet first
};

/// A valve in one of the arrangements.
struct ValvePlace {
    std::int32_t arrangement = -1;
    bool shut = false;  ///< the arrangement keeps it shut
    double opening_before = layout::kNotSaid;
    double flow_m3_s = layout::kNotSaid;  ///< magnitude
    double drop_m = layout::kNotSaid;     ///< head dropped over what it would drop fully open
};

/// A valve and the opening found for it, 0 shut to 1 open.
struct BalancedValve {
    std::int32_t valve = -1;
    double opening = 1.0;                            ///< share of travel
    double loss_coefficient = layout::kNotSaid;      ///< velocity heads at that opening, the fully open loss included
    double flow_per_travel_m3_s = layout::kNotSaid;  ///< change of its own flow per share of travel, in the first arrangement it is open in
    bool unsettable = false;                         ///< nearly shut: cannot be set or kept (kLeastSettable)
    bool reaches_outlet = true;                      ///< false: no outlet with a target has it on its way
    std::vector<ValvePlace> places;                  ///< per arrangement of the problem
};

/// One valve set, the others before it in the list already: what is then to be seen.
struct BalanceStep {
    std::int32_t valve = -1;
    std::int32_t outlet = -1;                    ///< vessel whose flow shows it, -1: it serves several
    double flow_m3_s = layout::kNotSaid;         ///< through the valve, right after
    double outlet_flow_m3_s = layout::kNotSaid;  ///< into that vessel, right after
};

/// A pump whose speed was let free, with the speed found (share of full speed).
struct BalancedPump {
    std::int32_t pump = -1;
    double speed = layout::kNotSaid, speed_before = layout::kNotSaid;
    double flow_m3_s = layout::kNotSaid, head_m = layout::kNotSaid, power_w = layout::kNotSaid;  ///< in the first arrangement
};

/// The outlet that falls furthest below its target (what is to be spare left out) when every opening is set to the nearest whole per cent.
struct SetByHand {
    std::int32_t arrangement = -1, vessel = -1;  ///< -1: not known
    double got_m3_s = layout::kNotSaid;
    double share = layout::kNotSaid;  ///< of its target; 1 or more: none falls below it
};

/// Why targets cannot be had, in the arrangement where the worst is.
struct MissingWater {
    std::int32_t arrangement = -1, vessel = -1;  ///< the neediest outlet: nothing on its way is throttled, and it lacks most
    double greatest_share = layout::kNotSaid;    ///< largest share such that every outlet gets that share of its target
    std::int32_t pump = -1;                      ///< that feeds it; -1: none does
    double needed_flow_m3_s = layout::kNotSaid;  ///< the duty that would meet every target
    double needed_head_m = layout::kNotSaid;     ///< NaN: no head up to kMostHead times the pump's would
    double given_head_m = layout::kNotSaid;      ///< what the pump lifts at that flow
    double alone_m3_s = layout::kNotSaid;        ///< what the outlet gets with every other named valve shut: below its target its own pipe limits
    bool shared_setting = false;                 ///< the pump would do for this arrangement alone: that one setting serves several is what costs
    std::int32_t worst_pipe = -1;                ///< on its way: where most head is lost
    double worst_pipe_loss_m = layout::kNotSaid;
};

/// The setting found, what every outlet then gets, and in which order to set it. `outcome` says what it is worth.
struct BalanceAnswer {
    BalanceOutcome outcome = BalanceOutcome::not_run;
    std::string why;  ///< of no_solution: one sentence
    std::vector<std::int32_t> arrangements;
    std::vector<settle::Answer> answers;  ///< per arrangement, with the setting; as `flows` solves it, without ledgers
    std::vector<BalancedValve> valves;    ///< in the order of the layout
    std::vector<BalancedPump> pumps;      ///< those let free
    std::vector<BalancedOutlet> outlets;  ///< arrangement by arrangement, vessels in the order of the layout
    std::vector<BalanceStep> steps;       ///< the order to set them in, for the first arrangement
    std::int32_t worst_outlet = -1;       ///< index into outlets, of those aimed at: the greatest shortfall; where none lacks anything, surplus
    double worst_deviation = 0.0;         ///< |share - 1| there
    double throttled_m = 0.0;             ///< the sum that was made least
    double spare = 0.0;                   ///< as asked
    SetByHand by_hand;
    bool valves_were_named = true;
    std::vector<std::int32_t> held_open;  ///< valves that stay as the arrangements have them: named, but shut wherever they stand
    bool rests_on_label = false;          ///< a pump known only by its label runs: every figure is the middle of a band
    MissingWater missing;                 ///< filled when outlets get too little
    int positions_tried = 0, network_solves = 0;
};

inline constexpr double kLeastSettable = 0.10;  ///< opening below which a hand cannot set a valve and keep it there (common practice)
inline constexpr double kBalanced = 1e-6;       ///< deviation up to which a target is met

/// Valves with a handle that stand open in `conditions` on the pressure side of the ways to these vessels, up to the pump, vessel or source that
/// feeds them, as the water of `answer` runs (where none does: as the pipes are drawn).
std::vector<std::int32_t> valves_on_the_way(const layout::Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer,
                                            const std::vector<std::int32_t>& vessels);

/// Opening at which a valve has `extra` velocity heads more than fully open; 1 for none. The inverse of physics::valve_loss_coefficient, found by
/// bisection on the logarithms to the last digit; never below kLeastOpening.
double opening_for_extra(physics::ValveKind kind, double extra);
inline constexpr double kLeastOpening = 1e-4;

/// Finds the setting. Never throws on hydraulic grounds.
BalanceAnswer balance(const BalanceProblem& problem);

}  // namespace ebb::choose
