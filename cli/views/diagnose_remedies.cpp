// How to make sure of each kind of fault, the cheapest way first, and what is usually done about it. Common practice, from memory.

#include <array>
#include <cstddef>

#include "cli/views/diagnose_words.h"

namespace ebb::cli {

namespace {

using K = diagnose::FaultKind;

struct Line {
    K kind;
    Remedy remedy;
};

constexpr std::array<Line, diagnose::kFaultKinds> kRemedies = {{
    {K::blocked_pipe,
     {"time a bucket on the far side, then with the pipe's end taken off", "flush it, take out what sits in it, put a strainer before it"}},
    {K::blocked_drain,
     {"pull the standpipe: where the water still does not go, the blockage lies further down; then hose or rod it through an access",
      "cut the roots, flush, and give the drain an access and a larger bore"}},
    {K::blocked_standpipe,
     {"lift the guard or the standpipe: does the level drop at once?", "clean it; a larger guard with a lid that can be lifted"}},
    {K::blocked_hole, {"poke a wire through the drain-hole at low water: does it run again?", "clean it; a larger hole, or two"}},
    {K::blocked_screen,
     {"look at the intake with the pump off and unplugged; the pressure behind the pump jumps when it is clean",
      "clean it; a screen of more area, sludge kept away from it"}},
    {K::blocked_nozzle, {"look which of its holes give nothing", "clean the holes; a strainer before them"}},
    {K::valve_elsewhere, {"look at the handle, and whether it turns the ball or disc with it", "set it, mark the place, tie or label the handle"}},
    {K::trapped_air,
     {"open a vent at the highest place: a rush of air, and the flow jumps", "a vent tee at the hump, an even fall, or a larger bore"}},
    {K::siphon_does_not_start,
     {"raise its inflow for a moment, or hold a hand before its outlet: does it start?",
      "more flow, a smaller standpipe, the bell seated anew, a bend at the outlet"}},
    {K::siphon_does_not_stop, {"pinch the inflow for half a minute: does it break?", "less flow, a snorkel, a clean break hole"}},
    {K::blocked_siphon, {"lift the bell and look; time the fall of the bed", "clean it; a guard around it"}},
    {K::outfall_low,
     {"lower the sump by a hand's breadth: do the beds follow?",
      "raise the end of the drain above the highest water, or lower what the sump is filled to"}},
    {K::worn_pump,
     {"shut its outlet for a few seconds and read the gauge: less than its curve says at no flow means the pump itself",
      "clean or replace the impeller"}},
    {K::slow_pump, {"read the speed at its control, and the mains frequency on its plate", "set the speed; a pump for this frequency"}},
    {K::backward_pump, {"look at the arrow and at the shaft as it runs down", "an electrician swaps two of the three phases"}},
    {K::pump_stopped, {"feel and listen; look at the breaker", "find why the breaker fell before it is set again"}},
    {K::pump_running, {"feel and listen", "switch it off; look at the switch or timer that should have"}},
    {K::other_curve, {"compare the units on the maker's sheet with those in the layout", "correct the curve in the layout"}},
    {K::check_missing,
     {"shut the isolating valve of the pump that stands still: does the flow to the farm jump?", "clean or replace the check valve"}},
    {K::check_stuck, {"pressure before it as if all were shut, nothing behind it", "free or replace it"}},
    {K::wrong_insert, {"look into the standpipe", "fit the one the arrangement asks for; colour them"}},
    {K::standpipe_out, {"look", "push it back; a longer socket, or a collar"}},
    {K::loose_standpipe, {"stop the inflow: the bed falls below the lip though no hole is drawn there", "seat it again; a new seal"}},
    {K::dirty_filter,
     {"gauges before and behind it; or open its bypass for a minute", "backwash or clean it, and set at which pressure drop that is due"}},
    {K::leak,
     {"look for wet ground; note how the top-up meter goes with the pumps on and off; a bypass: look at its valve", "mend it; shut the bypass"}},
    {K::low_water,
     {"add up what all vessels hold and compare it with what was filled",
      "find where the water went before more is filled in: a full bed, a leak, a top-up that is shut"}},
    {K::much_water,
     {"add up what all vessels hold and compare it with what was filled", "take the excess out; move the float of the top-up out of the swing"}},
    {K::supply_elsewhere, {"a gauge at the supply while it runs", "draw it as it is; a pressure regulator"}},
    {K::float_stuck_open, {"lift the float by hand: does it shut?", "clean or replace it; a second valve before it"}},
    {K::float_stuck_shut, {"press the float down: does it run?", "clean or replace it, and its strainer"}},
    {K::pond_elsewhere, {"measure its level from the datum", "draw it as it is"}},
    {K::swapped_valves, {"turn one and look what changes", "label both"}},
    {K::swapped_inserts, {"look into both standpipes", "swap them back; colour them"}},
    {K::swapped_pumps, {"read the plates of both", "swap them back, or draw them as they are"}},
    {K::swapped_ends, {"follow the pipes; shut one and look what runs dry", "label both ends"}},
}};

constexpr bool in_order() {
    for (std::size_t k = 0; k < kRemedies.size(); ++k)
        if (kRemedies[k].kind != static_cast<K>(k)) return false;
    return true;
}
static_assert(in_order(), "one line for each kind, in their order");

}  // namespace

Remedy remedy_of(diagnose::FaultKind kind) { return kRemedies[static_cast<std::size_t>(kind)].remedy; }

}  // namespace ebb::cli
