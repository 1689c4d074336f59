// The table of kinds: names, chances, sizes. Chances are common practice, from memory: of a farm whose keeper has begun to wonder, how often this
// kind of fault is found at any one place. Only their ratios matter much.

#include <array>
#include <cassert>
#include <cmath>

#include "solver/diagnose/fault.h"

namespace ebb::diagnose {

namespace {

using K = FaultKind;
using S = SizeScale;

constexpr double kLeastOpen = 0.005, kMostOpen = 0.9;  // a hair of an opening; and what nobody would notice

constexpr std::array<FaultKindData, kFaultKinds> kTable = {{
    {K::blocked_pipe, "blocked-pipe", "blocked pipe", 0.003, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::blocked_drain, "blocked-drain", "blocked drain", 0.010, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::blocked_standpipe, "blocked-standpipe", "blocked standpipe", 0.010, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::blocked_hole, "blocked-hole", "blocked drain-hole", 0.015, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::blocked_screen, "blocked-screen", "blocked intake screen", 0.020, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::blocked_nozzle, "blocked-nozzle", "blocked nozzle", 0.015, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::valve_elsewhere, "valve-elsewhere", "valve not where it should be", 0.010, S::straight, 0.0, 1.0, ""},
    {K::trapped_air, "trapped-air", "trapped air", 0.002, S::straight, 0.005, 0.30, "m"},
    {K::siphon_does_not_start, "siphon-does-not-start", "siphon that does not start", 0.030, S::ratio, 1.1, 10.0, ""},
    {K::siphon_does_not_stop, "siphon-does-not-stop", "siphon that does not stop", 0.020, S::none, 1.0, 1.0, ""},
    {K::blocked_siphon, "blocked-siphon", "blocked siphon", 0.010, S::ratio, kMostOpen, kLeastOpen, ""},
    {K::outfall_low, "outfall-low", "outfall under water", 0.002, S::straight, 0.01, 0.50, "m"},
    {K::worn_pump, "worn-pump", "worn or clogged pump", 0.020, S::straight, 0.02, 0.95, ""},
    {K::slow_pump, "slow-pump", "slow pump", 0.005, S::straight, 0.98, 0.30, ""},
    {K::backward_pump, "backward-pump", "pump that turns backwards", 0.002, S::none, 1.0, 1.0, ""},
    {K::pump_stopped, "pump-stopped", "pump that stands still", 0.010, S::none, 1.0, 1.0, ""},
    {K::pump_running, "pump-running", "pump that was left running", 0.005, S::none, 1.0, 1.0, ""},
    {K::other_curve, "other-curve", "pump curve in other units", 0.001, S::none, 1.0, 1.0, ""},
    {K::check_missing, "check-missing", "check valve missing or stuck open", 0.010, S::none, 1.0, 1.0, ""},
    {K::check_stuck, "check-stuck", "check valve stuck shut", 0.005, S::none, 1.0, 1.0, ""},
    {K::wrong_insert, "wrong-insert", "wrong insert", 0.010, S::none, 1.0, 1.0, ""},
    {K::standpipe_out, "standpipe-out", "standpipe pulled out", 0.003, S::none, 1.0, 1.0, ""},
    {K::loose_standpipe, "loose-standpipe", "standpipe that leaks at its foot", 0.004, S::ratio, 0.002, 0.030, "m"},
    {K::dirty_filter, "dirty-filter", "dirty filter", 0.050, S::ratio, 1.1, 30.0, ""},
    {K::leak, "leak", "leak, or open bypass", 0.001, S::ratio, 0.002, 0.040, "m"},
    {K::low_water, "low-water", "water missing", 0.030, S::straight, 0.02, 0.98, ""},
    {K::much_water, "much-water", "too much water", 0.010, S::straight, 0.02, 1.0, ""},
    {K::supply_elsewhere, "supply-elsewhere", "supply pressure other than drawn", 0.010, S::straight, 0.0, 2.0, ""},
    {K::float_stuck_open, "float-stuck-open", "float valve stuck open", 0.010, S::none, 1.0, 1.0, ""},
    {K::float_stuck_shut, "float-stuck-shut", "float valve stuck shut", 0.010, S::none, 1.0, 1.0, ""},
    {K::pond_elsewhere, "pond-elsewhere", "pond level other than drawn", 0.010, S::straight, -0.50, 0.50, "m"},
    {K::swapped_valves, "swapped-valves", "two valves swapped", 0.0005, S::none, 1.0, 1.0, ""},
    {K::swapped_inserts, "swapped-inserts", "two inserts swapped", 0.0005, S::none, 1.0, 1.0, ""},
    {K::swapped_pumps, "swapped-pumps", "two pumps swapped", 0.001, S::none, 1.0, 1.0, ""},
    {K::swapped_ends, "swapped-ends", "two pipe ends swapped", 0.0005, S::none, 1.0, 1.0, ""},
}};

constexpr bool in_order() {
    for (std::size_t k = 0; k < kTable.size(); ++k)
        if (kTable[k].kind != static_cast<FaultKind>(k)) return false;
    return true;
}
static_assert(in_order(), "one line for each kind, in their order");

}  // namespace

const FaultKindData& data_of(FaultKind kind) { return kTable[static_cast<std::size_t>(kind)]; }
std::span<const FaultKindData> fault_kinds() { return kTable; }

double Fault::size_at(double u) const {
    switch (scale) {
        case SizeScale::none: return most;
        case SizeScale::straight: return least + u * (most - least);
        case SizeScale::ratio: return least * std::pow(most / least, u);
    }
    return most;
}

double Fault::u_of(double size) const {
    switch (scale) {
        case SizeScale::none: return 1.0;
        case SizeScale::straight: return (size - least) / (most - least);
        case SizeScale::ratio: return std::log(size / least) / std::log(most / least);
    }
    return 1.0;
}

}  // namespace ebb::diagnose
