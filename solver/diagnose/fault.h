#pragma once
// What can be wrong with a farm, as changes of the model's own elements: a fault is a kind, a place, and (mostly) a size between two ends.
//
// The list is made from the layout alone: every kind at every place where it can be. A fault of some size is put into copies of the layout and of an
// arrangement's conditions (`inject`); what the farm then does is for the same laws to say as for a sound one. Nothing here solves anything.
//
// Sizes. A fault's size runs along a coordinate u from 0 (hardly there) to 1 (as bad as it gets), in which equal steps are about equally likely and
// about equally felt; size_at(u) is the size in its unit:
//     blockage          open share of the area, from 0.9 down to 0.005 in equal ratios, loss by contraction and sudden expansion (blockage_loss)
//     valve             opening, 0 to 1 (u = 0 is shut here: a valve can be wrong either way); half of such valves are fully shut or open
//     leak              bore of a round hole, mm to cm, in equal ratios
//     lost head, levels metres, in equal steps or ratios
//     wear, speed       shares
// Faults without a size (a wrong insert, two things swapped, a pump that stands still) have size 1.
//
// How likely a fault is at one place before anything is read (`chance`) is common practice, from the memory of people who run such farms: blocked
// drains and valves left where they should not be are everyday, leaks and swapped pipes are rare. The table is in fault_kinds.cpp; readings files
// override it by kind.

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::diagnose {

/// Kinds of fault. The words of readings files are in FaultKindData.
enum class FaultKind : std::uint8_t {
    blocked_pipe,       ///< a pipe under pressure
    blocked_drain,      ///< roots, sludge: a gravity pipe
    blocked_standpipe,  ///< its guard, its lip or the downpipe
    blocked_hole,       ///< the drain-holes of a standpipe
    blocked_screen,     ///< of a pump that stands in the water
    blocked_nozzle,     ///< share of its holes
    valve_elsewhere,    ///< not where the arrangement says
    trapped_air,        ///< in a run with a high or low point: lost head
    siphon_does_not_start,
    siphon_does_not_stop,
    blocked_siphon,
    outfall_low,       ///< the end of a drain sits lower than drawn, and drowns
    worn_pump,         ///< share of head lost
    slow_pump,         ///< share of its speed
    backward_pump,     ///< three-phase, two wires swapped
    pump_stopped,      ///< though it should run
    pump_running,      ///< though it should stand
    other_curve,       ///< its curve was entered in other units: `which` says which
    check_missing,     ///< check valve missing or stuck open
    check_stuck,       ///< stuck shut
    wrong_insert,      ///< `which`: index of the insert that is fitted
    standpipe_out,     ///< pulled out, or broken off at the floor
    loose_standpipe,   ///< leaks at its foot
    dirty_filter,      ///< its loss times so much
    leak,              ///< out of the farm at a tee, or a vessel; or an open bypass back to the sump
    low_water,         ///< share of the water at the start that is missing, in a vessel
    much_water,        ///< share of the room above the start level that is filled
    supply_elsewhere,  ///< a supply's head is so many times what is drawn
    float_stuck_open,
    float_stuck_shut,
    pond_elsewhere,   ///< its level is off by so much
    swapped_valves,   ///< the openings of two valves
    swapped_inserts,  ///< the inserts of two standpipes of one form
    swapped_pumps,    ///< two pumps' models
    swapped_ends,     ///< where two pipes from one place lead
    count
};
inline constexpr std::size_t kFaultKinds = static_cast<std::size_t>(FaultKind::count);

/// How the size of a kind runs from u = 0 to u = 1.
enum class SizeScale : std::uint8_t { none, straight, ratio };

/// What is known of a kind.
struct FaultKindData {
    FaultKind kind;
    const char* name;   ///< in readings files and JSON: "blocked-drain"
    const char* title;  ///< to people: "blocked drain"
    double chance;      ///< at one place, before anything is read
    SizeScale scale;
    double least, most;  ///< sizes at u = 0 and u = 1, where the place does not say otherwise
    const char* unit;    ///< SI unit of the size: "" a share or factor, "m"
};
/// What is known of one kind.
const FaultKindData& data_of(FaultKind kind);
/// The whole table, in the order of FaultKind.
std::span<const FaultKindData> fault_kinds();

/// One fault at one place, with the sizes it may have. `u` runs from 0 (size `least`) to 1 (size `most`) by its scale.
struct Fault {
    FaultKind kind = FaultKind::blocked_pipe;
    layout::Ref at = {};
    layout::Ref other = {};   ///< of swapped things
    std::int32_t which = -1;  ///< insert, or curve
    double chance = 0.0;
    SizeScale scale = SizeScale::none;
    double least = 1.0, most = 1.0;
    double at_least = 0.0, at_most = 0.0;  ///< of these sizes themselves: the share of cases; the rest is anywhere between alike
    /// Whether it comes in sizes.
    bool sized() const { return scale != SizeScale::none; }
    /// Its size, in the unit of its kind, at u from 0 to 1.
    double size_at(double u) const;
    /// The inverse of size_at().
    double u_of(double size) const;
    friend bool operator==(const Fault&, const Fault&) = default;
};

/// A fault of one size.
struct Injected {
    Fault fault;
    double u = 1.0;
};

/// Every fault at every place of a validated layout that could show under one of `arrangements` (a valve is elsewhere than an arrangement says; a
/// pump stands that should run in one of them). `chances`: one per kind, in place of the table's; empty: the table's.
std::vector<Fault> faults_of(const layout::Layout& layout, std::span<const layout::Conditions> arrangements, std::span<const double> chances = {});

/// What a pipe of area A loses at a place of which the share `open` is left, in velocity heads of the pipe: the jet contracts to the share
/// Cc(open) of the opening and expands again (Borda-Carnot): (1/(Cc open) - 1)^2, Cc = 0.63 + 0.37 open^3, which follows Weisbach's contraction
/// coefficients (Streeter, Fluid Mechanics, table of Cc by A2/A1) to about 1 %, 2 % next to shut.
double blockage_loss(double open_share);

/// Puts a fault into copies of what is drawn. Things may be added to the layout (a leak is a hole that leads to the sump the water is missed in);
/// nothing is taken away, so that indices stay. `layout` must be valid before and is after.
void inject(const Injected& injected, layout::Layout& layout, layout::Conditions& conditions);

/// Several, one after the other, into a layout and the conditions of all visits to it.
void inject(std::span<const Injected> faults, layout::Layout& layout, std::span<layout::Conditions> by_visit);

/// The sump in which water that leaves the farm at `at` is missed: that of the pump that feeds the place, else the lowest vessel. -1: none.
std::int32_t missed_in(const layout::Layout& layout, const layout::Ref& at);

}  // namespace ebb::diagnose
