#pragma once
// What the clock and the switches do: timers, rotations, power cuts, failures and changes of a routine, and the level-switches' hold on
// things, put together into the conditions that stand at a moment.
//
// Who has a say on a valve or a pump, in this order: a change that shut or stopped it holds it so until another change gives it back; a
// failure and a power cut stop a pump; a timer or a rotation says whether it is its turn (else the arrangement does, and what a
// level-switch has in hand counts as on); every level-switch on it must let it.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/plan.h"

namespace ebb::time {

/// What stands at a moment: conditions for the network, and the flags behind them.
struct Moment {
    layout::Conditions conditions;
    std::vector<std::uint8_t> pump_wanted;  ///< the pump would run if there were power
    std::vector<std::uint8_t> failed;       ///< per pump
    bool power = true;
    std::vector<std::uint8_t> draw_runs;  ///< per draw of the routine
};

class Clockwork {
public:
    Clockwork(const layout::Layout& layout, const Plan& plan);

    /// The next moment after `t_s` at which the clock changes anything; infinity when never.
    double next_after(double t_s) const;

    /// What stands from `t_s` on (moments closer than a microsecond are one), given the switches that hold their thing off.
    Moment at_moment(double t_s, const std::vector<std::uint8_t>& switch_holds) const;

    /// What stood before the first moment: timers and rotations closed that open at 0.
    Moment before_start(const std::vector<std::uint8_t>& switch_holds) const;

    /// Switches at ease: on where the arrangement has their thing on.
    std::vector<std::uint8_t> switches_at_ease() const;

    /// Whether switch `index` goes over at this depth; `holds`: how it stands.
    bool switch_holds_at(std::size_t index, double depth_m, bool holds) const;

    /// Period after which the clock does the same again; infinity when there is nothing periodic, NaN when the periods have no common one
    /// below ten years. Only the clock's own periods: timers, rotations, repeated draws.
    double common_period_s() const { return common_period_s_; }

    /// After this nothing happens once only: first openings, cuts, failures, changes, single draws are over.
    double once_only_until_s() const { return once_only_until_s_; }

    /// Who moved this valve or pump at `t_s`.
    std::string because(const layout::Ref& about, double t_s) const;

private:
    struct Change {
        double at_s;
        const layout::Setting* setting;
    };
    bool timer_on(const layout::Ref& about, double t_s, bool& timed) const;

    const layout::Layout* layout_;
    const Plan* plan_;
    std::vector<Change> changes_;  ///< by time
    double common_period_s_ = 0.0, once_only_until_s_ = 0.0;
};

}  // namespace ebb::time
