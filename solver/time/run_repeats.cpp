// What a run says about its own repetition: that it repeats, that it stands still, or why it does not.

#include <cmath>
#include <string>

#include "solver/settle/taking.h"
#include "solver/time/run.h"

namespace ebb::time {

namespace {

/// Two changes of the water that differ by less than this share are the same drift.
constexpr double kSteady = 0.05;
constexpr double kNothing_m3 = 1e-7;
constexpr double kStandsStill_m_s = 1e-6;

}  // namespace

void Run::say_why_no_repeat() {
    if (repeats_.found()) {
        course_.repeat = Repeat::repeats;
        course_.repeats_every_s = repeats_.period_s();
        course_.repeats_from_s = repeats_.from_s();
        return;
    }
    const bool has_uptake =
        !plan_->routine.uptakes.empty() || settle::emptying_tee(*network_, *layout_, balance_.settings()) >= 0;  // slow, but never still
    if (std::isnan(clock_.common_period_s())) {
        course_.repeat = Repeat::never;
        course_.why_no_repeat = "the timers have no common period below ten years";
        return;
    }
    const Repeats::Drift drift = repeats_.drift();
    if (std::isinf(clock_.common_period_s()) && recorder_.fastest_level_m_s() < kStandsStill_m_s && !has_uptake) {
        course_.repeat = Repeat::still;
        return;
    }
    if (!drift.known) {
        course_.repeat = Repeat::not_yet;
        course_.why_no_repeat = "it was not followed for two whole cycles";
        return;
    }
    const bool steady = std::abs(drift.last_m3) > kNothing_m3 && std::abs(drift.last_m3 - drift.before_m3) < kSteady * std::abs(drift.last_m3);
    if (steady) {
        const bool topped_up =
            drift.last_m3 < 0.0 && (!layout_->float_valves.empty() || !plan_->routine.level_switches.empty()) && !layout_->supplies.empty();
        course_.repeat = topped_up ? Repeat::not_yet : Repeat::never;
        course_.drift_m3 = drift.last_m3;
        course_.drift_cycle_s = drift.cycle_s;
        course_.why_no_repeat =
            topped_up ? "every cycle leaves less water in the farm than the one before, until the top-up opens; follow it for longer"
            : drift.last_m3 < 0.0
                ? "every cycle leaves less water in the farm than the one before, and nothing brings it back"
                : "every cycle leaves more water in the farm than the one before, and nothing takes it away before something spills";
        return;
    }
    course_.repeat = Repeat::not_yet;
    course_.drift_m3 = drift.last_m3;
    course_.drift_cycle_s = drift.cycle_s;
    course_.drift_level_m = drift.level_m;
    course_.drift_vessel = drift.vessel;
    course_.why_no_repeat = "the levels are still not those of the cycle before; follow it for longer";
}

}  // namespace ebb::time
