#include "solver/time/clockwork.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <numeric>

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kNever_s = std::numeric_limits<double>::infinity();
constexpr double kSame_s = 1e-6;                           ///< moments closer than this are one
constexpr double kLongestPeriod_s = 10.0 * 365 * 86400.0;  ///< a common period longer than ten years is none
constexpr double kTick_s = 1e-3;                           ///< periods are compared in milliseconds

/// The next of after + k every (k = 0, 1, ...) later than t.
double next_of(double after_s, double every_s, double t_s) {
    if (after_s > t_s + kSame_s) return after_s;
    double k = std::floor((t_s - after_s) / every_s);
    while (after_s + k * every_s <= t_s + kSame_s) k += 1.0;
    return after_s + k * every_s;
}

/// How far into its period a thing is, from its first beginning; negative before that.
double phase(double after_s, double every_s, double t_s) {
    if (t_s + kSame_s < after_s) return -1.0;
    const double k = std::floor((t_s + kSame_s - after_s) / every_s);
    return t_s - after_s - k * every_s;
}

bool in_window(double after_s, double every_s, double for_s, double t_s) {
    const double into = phase(after_s, every_s, t_s);
    return into > -0.5 && into < for_s - kSame_s;
}

/// The next edge of windows [after + k every, + for).
double next_edge(double after_s, double every_s, double for_s, double t_s) {
    return std::min(next_of(after_s, every_s, t_s), next_of(after_s + for_s, every_s, t_s));
}

double draw_period(const layout::Draw& draw) { return layout::said(draw.every_s) ? draw.every_s : kNever_s; }

bool once_window(double at_s, double for_s, double t_s) { return t_s + kSame_s >= at_s && t_s + kSame_s < at_s + for_s; }

double failure_length(const layout::Failure& failure) { return layout::said(failure.for_s) ? failure.for_s : kNever_s; }

/// The least common multiple of periods, in milliseconds; NaN beyond ten years.
double common_period(const std::vector<double>& periods_s) {
    std::int64_t ticks = 0;
    for (const double period : periods_s) {
        if (period > kLongestPeriod_s) return kUnknown;
        const std::int64_t own = std::max<std::int64_t>(1, std::llround(period / kTick_s));
        if (ticks != 0 &&
            static_cast<double>(ticks) / static_cast<double>(std::gcd(ticks, own)) * static_cast<double>(own) * kTick_s > kLongestPeriod_s)
            return kUnknown;
        ticks = ticks == 0 ? own : std::lcm(ticks, own);
    }
    return ticks == 0 ? kNever_s : static_cast<double>(ticks) * kTick_s;
}

}  // namespace

Clockwork::Clockwork(const layout::Layout& layout, const Plan& plan) : layout_(&layout), plan_(&plan) {
    const layout::Routine& routine = plan.routine;
    for (const auto& change : routine.changes)
        for (const auto& setting : change.settings) changes_.push_back({change.at_s, &setting});
    std::stable_sort(changes_.begin(), changes_.end(), [](const Change& a, const Change& b) { return a.at_s < b.at_s; });

    std::vector<double> periods;
    const auto once = [&](double until_s) { once_only_until_s_ = std::max(once_only_until_s_, until_s); };
    for (const auto& timer : routine.timers) {
        periods.push_back(timer.every_s);
        once(timer.after_s);
    }
    for (const auto& rotation : routine.rotations) periods.push_back(rotation.each_s * static_cast<double>(rotation.valves.size()));
    for (const auto& cut : routine.power_cuts) once(cut.at_s + cut.for_s);
    for (const auto& failure : routine.failures) once(failure.at_s + (layout::said(failure.for_s) ? failure.for_s : 0.0));
    if (!changes_.empty()) once(changes_.back().at_s);
    for (const auto& draw : routine.draws) {
        if (layout::said(draw.every_s)) {
            periods.push_back(draw.every_s);
            once(draw.at_s);
        } else {
            once(draw.at_s + draw.over_s);
        }
    }
    common_period_s_ = common_period(periods);
}

double Clockwork::next_after(double t_s) const {
    const layout::Routine& routine = plan_->routine;
    double next = kNever_s;
    const auto offer = [&](double moment_s) {
        if (moment_s > t_s + kSame_s) next = std::min(next, moment_s);
    };
    for (const auto& timer : routine.timers) offer(next_edge(timer.after_s, timer.every_s, timer.for_s, t_s));
    for (const auto& rotation : routine.rotations) offer(next_of(0.0, rotation.each_s, t_s));
    for (const auto& cut : routine.power_cuts) {
        offer(cut.at_s);
        offer(cut.at_s + cut.for_s);
    }
    for (const auto& failure : routine.failures) {
        offer(failure.at_s);
        offer(failure.at_s + failure_length(failure));
    }
    for (const Change& change : changes_) offer(change.at_s);
    for (const auto& draw : routine.draws) {
        if (layout::said(draw.every_s)) {
            offer(next_edge(draw.at_s, draw.every_s, draw.over_s, t_s));
        } else {
            offer(draw.at_s);
            offer(draw.at_s + draw.over_s);
        }
    }
    return next;
}

bool Clockwork::timer_on(const Ref& about, double t_s, bool& timed) const {
    bool on = false;
    for (const auto& timer : plan_->routine.timers) {
        if (!(timer.about == about)) continue;
        timed = true;
        on = on || in_window(timer.after_s, timer.every_s, timer.for_s, t_s);
    }
    if (about.kind != Kind::valve) return on;
    for (const auto& rotation : plan_->routine.rotations) {
        const auto found = std::find(rotation.valves.begin(), rotation.valves.end(), about.index);
        if (found == rotation.valves.end()) continue;
        timed = true;
        const auto turn = static_cast<std::int64_t>(std::floor((t_s + kSame_s) / rotation.each_s));
        const auto count = static_cast<std::int64_t>(rotation.valves.size());
        on = on || (t_s >= -kSame_s && turn % count == found - rotation.valves.begin());
    }
    return on;
}

Moment Clockwork::at_moment(double t_s, const std::vector<std::uint8_t>& switch_holds) const {
    const layout::Routine& routine = plan_->routine;
    Moment moment;
    moment.conditions = plan_->conditions;
    moment.failed.assign(layout_->pumps.size(), 0);
    std::vector<std::uint8_t> valve_held(layout_->valves.size(), 0), pump_held(layout_->pumps.size(), 0);
    for (const Change& change : changes_) {
        if (change.at_s > t_s + kSame_s) break;
        const layout::Setting& setting = *change.setting;
        const auto index = at(setting.about.index);
        const double value = layout::said(setting.value) ? setting.value : 1.0;
        switch (setting.act) {
            case layout::Act::open:
            case layout::Act::throttle:
                moment.conditions.valve_opening[index] = setting.act == layout::Act::open ? 1.0 : value;
                valve_held[index] = moment.conditions.valve_opening[index] <= 0.0;
                break;
            case layout::Act::close: valve_held[index] = 1; break;
            case layout::Act::run:
                moment.conditions.pump_speed[index] = value;
                pump_held[index] = value <= 0.0;
                break;
            case layout::Act::stop: pump_held[index] = 1; break;
            case layout::Act::fit: {
                const auto& inserts = layout_->standpipes[index].inserts;
                for (std::size_t i = 0; i < inserts.size(); ++i)
                    if (inserts[i].name == setting.insert) moment.conditions.insert[index] = static_cast<std::int32_t>(i);
                break;
            }
            case layout::Act::load: moment.conditions.filter_load[index] = value; break;
        }
    }
    for (const auto& failure : routine.failures)
        if (once_window(failure.at_s, failure_length(failure), t_s)) moment.failed[at(failure.pump)] = 1;
    for (const auto& cut : routine.power_cuts)
        if (once_window(cut.at_s, cut.for_s, t_s)) moment.power = false;

    // `base`: the arrangement's own opening or speed; a thing in the hands of a timer or a switch may be on though the arrangement has it off
    const auto value_of = [&](const Ref& about, double base, bool held) {
        bool timed = false;
        bool on = timer_on(about, t_s, timed);
        bool switched = false;
        for (std::size_t s = 0; s < routine.level_switches.size(); ++s) {
            if (!(routine.level_switches[s].about == about)) continue;
            switched = true;
            if (switch_holds[s] != 0) held = true;
        }
        if (!timed) on = switched || base > 0.0;
        if (!on || held) return 0.0;
        return base > 0.0 ? base : 1.0;
    };
    for (std::size_t v = 0; v < layout_->valves.size(); ++v) {
        double& opening = moment.conditions.valve_opening[v];
        opening = value_of({Kind::valve, static_cast<std::int32_t>(v)}, opening, valve_held[v] != 0);
    }
    moment.pump_wanted.assign(layout_->pumps.size(), 0);
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        double& speed = moment.conditions.pump_speed[p];
        speed = value_of({Kind::pump, static_cast<std::int32_t>(p)}, speed, pump_held[p] != 0);
        if (moment.failed[p] != 0) speed = 0.0;
        moment.pump_wanted[p] = speed > 0.0;
        if (!moment.power) speed = 0.0;
    }
    for (const auto& draw : routine.draws) {
        const bool runs =
            layout::said(draw.every_s) ? in_window(draw.at_s, draw_period(draw), draw.over_s, t_s) : once_window(draw.at_s, draw.over_s, t_s);
        moment.draw_runs.push_back(runs);
    }
    return moment;
}

Moment Clockwork::before_start(const std::vector<std::uint8_t>& switch_holds) const {
    constexpr double kJustBefore_s = -1e-3;
    Moment before = at_moment(kJustBefore_s, switch_holds);
    const Moment first = at_moment(0.0, switch_holds);
    // only what opens at 0 was shut before; what the clock has shut from the beginning is no event
    for (std::size_t v = 0; v < layout_->valves.size(); ++v) {
        bool timed = false;
        (void)timer_on({Kind::valve, static_cast<std::int32_t>(v)}, 0.0, timed);
        if (!timed) before.conditions.valve_opening[v] = plan_->conditions.valve_opening[v];
        if (first.conditions.valve_opening[v] <= 0.0) before.conditions.valve_opening[v] = 0.0;
    }
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        bool timed = false;
        (void)timer_on({Kind::pump, static_cast<std::int32_t>(p)}, 0.0, timed);
        if (!timed) before.conditions.pump_speed[p] = plan_->conditions.pump_speed[p];
        if (timed && first.conditions.pump_speed[p] <= 0.0) before.conditions.pump_speed[p] = 0.0;
        before.pump_wanted[p] = before.conditions.pump_speed[p] > 0.0;
    }
    before.failed.assign(layout_->pumps.size(), 0);
    before.power = true;
    before.draw_runs.assign(plan_->routine.draws.size(), 0);
    return before;
}

std::vector<std::uint8_t> Clockwork::switches_at_ease() const {
    std::vector<std::uint8_t> holds;
    for (const auto& level_switch : plan_->routine.level_switches) {
        const Ref& about = level_switch.about;
        bool timed = false;
        (void)timer_on(about, 0.0, timed);
        const auto index = at(about.index);
        const double base = about.kind == Kind::valve ? plan_->conditions.valve_opening[index] : plan_->conditions.pump_speed[index];
        holds.push_back(!timed && base <= 0.0);
    }
    return holds;
}

bool Clockwork::switch_holds_at(std::size_t index, double depth_m, bool holds) const {
    const layout::LevelSwitch& level_switch = plan_->routine.level_switches[index];
    if (depth_m < level_switch.below_m) return level_switch.stops_below;
    if (depth_m > level_switch.above_m) return !level_switch.stops_below;
    return holds;
}

std::string Clockwork::because(const Ref& about, double t_s) const {
    const layout::Routine& routine = plan_->routine;
    const auto now = [&](double moment_s) { return std::abs(moment_s - t_s) <= 2.0 * kSame_s; };
    for (const Change& change : changes_)
        if (now(change.at_s) && change.setting->about == about) return "change";
    if (about.kind == Kind::pump)
        for (const auto& failure : routine.failures)
            if (failure.pump == about.index && (now(failure.at_s) || now(failure.at_s + failure_length(failure)))) return "failure";
    for (const auto& rotation : routine.rotations)
        if (about.kind == Kind::valve && std::find(rotation.valves.begin(), rotation.valves.end(), about.index) != rotation.valves.end() &&
            (now(next_of(0.0, rotation.each_s, t_s - 0.5)) || t_s <= kSame_s))
            return "rotation";
    for (const auto& timer : routine.timers) {
        if (!(timer.about == about)) continue;
        if (now(next_edge(timer.after_s, timer.every_s, timer.for_s, t_s - 1e-4)) || now(timer.after_s)) return "timer";
    }
    for (const auto& level_switch : routine.level_switches)
        if (level_switch.about == about) return "level-switch of " + level_switch.watches_id;
    return "";
}

}  // namespace ebb::time
