#pragma once
// One step of the search for a balanced setting: the linear programs made from what is seen at a setting and its slopes.

#include <vector>

#include "solver/choose/balance_trial.h"

namespace ebb::choose {

/// Where the step is made from.
struct StepFrom {
    const BalanceFrame& frame;
    const ValveSetting& setting;
    const SeenSetting& seen;
    const SettingSlopes& slopes;
    double head_scale_m = 1.0;  ///< what a drop is held against
};

/// A step, and what the linear programs promise of it.
struct StepPlan {
    bool found = false;
    std::vector<double> move;  ///< per unknown: change of velocity heads, of speed
    /// Per outlet, case by case: the round in which what it lacks, or has too much, could be made no smaller; as many as rounds for the others.
    std::vector<int> short_level, over_level;
    int short_levels = 0, over_levels = 0;  ///< rounds that ended with a deviation that stays
    double price = 0.0;                     ///< throttling (over the head scale) saved per deviation allowed, summed over outlets
    double throttled_m = 0.0;               ///< promised

    bool exact() const { return short_levels == 0 && over_levels == 0; }
};

/// The least that outlets lack, worst first, then the least they have too much, and among the steps that promise both the one with least
/// throttling; no valve moved by more than `trust` times the head scale.
StepPlan plan_step(const StepFrom& from, double trust);

/// The setting after a step. A valve is set by the drop and the flow the step promises of it, not by its velocity heads: where the flows end
/// as promised its drop is then right at once.
ValveSetting moved_by(const StepFrom& from, const std::vector<double>& move);

/// Got over wanted, case by case.
std::vector<double> shares(const SeenSetting& seen);

/// Newton's step to the targets themselves, of the outlets that have at most `up_to` of theirs, by the valves that throttle and the speeds that are
/// not at a limit; the shortest there is. False when the slopes do not allow one.
bool newton_step(const StepFrom& from, double up_to, std::vector<double>& move);

}  // namespace ebb::choose
