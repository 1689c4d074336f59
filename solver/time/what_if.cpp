// The failure is put into a plan (or into a copy of the layout), the plan is followed, and its course read from the other side: not what
// the levels are, but when a line is crossed. Figures between two rows of the series are straight between them.

#include "solver/time/what_if.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "solver/time/break_pipe.h"
#include "solver/time/options_kept.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kHour_s = 3600.0;
constexpr double kDay_s = 86400.0;
constexpr double kMoment_s = 1.0;        ///< long enough to see the flows of a farm that stands still
constexpr double kNoWater_share = 0.01;  ///< less inflow than this share of what came before is none
constexpr double kMissed_share = 1e-4;   ///< a target missed by less is met
constexpr double kSoon_s = 60.0;         ///< what is gone so soon after it was less is told as gone
constexpr double kShortest_s = 10.0;     ///< a gap that ends sooner is a ripple of the moment something moved
constexpr double kNothing_m3_s = 1e-9;
constexpr double kAlwaysOpen_m = 1e3;  ///< a float valve that hangs open waits for a level that never comes

/// Rows of a series as a function of time.
class Rows {
public:
    Rows(const Series& series, const std::vector<double>& list, std::size_t width) : t_(&series.t_s), list_(&list), width_(width) {}
    std::size_t count() const { return t_->size(); }
    double t_s(std::size_t row) const { return (*t_)[row]; }
    double value(std::size_t row, std::size_t column) const { return (*list_)[row * width_ + column]; }

    /// At a moment; the later of two rows of one moment, and beyond the last row what stands there.
    double at_moment(double t_s, std::size_t column) const {
        const auto after = std::upper_bound(t_->begin(), t_->end(), t_s);
        if (after == t_->begin()) return value(0, column);
        const auto row = static_cast<std::size_t>(after - t_->begin()) - 1;
        if (row + 1 == count()) return value(row, column);
        const double share = (t_s - this->t_s(row)) / (this->t_s(row + 1) - this->t_s(row));
        return std::lerp(value(row, column), value(row + 1, column), share);
    }

    /// Integral from one moment to another.
    double sum(double from_s, double to_s, std::size_t column) const {
        double total = 0.0;
        for (std::size_t row = 0; row + 1 < count(); ++row) {
            const double begin = std::max(from_s, t_s(row)), end = std::min(to_s, t_s(row + 1));
            if (end <= begin) continue;
            const double length = t_s(row + 1) - t_s(row);
            const auto inside = [&](double t) { return std::lerp(value(row, column), value(row + 1, column), (t - t_s(row)) / length); };
            total += 0.5 * (inside(begin) + inside(end)) * (end - begin);
        }
        return total;
    }

private:
    const std::vector<double>* t_;
    const std::vector<double>* list_;
    std::size_t width_;
};

/// Takes a thing out of the hands of the clock.
void take_from_clock(layout::Routine& routine, const Ref& about) {
    for (const layout::Rotation& rotation : routine.rotations)
        for (std::size_t i = 0; i < rotation.valves.size(); ++i) {
            layout::Timer turn;
            turn.about_id = rotation.valve_ids[i];
            turn.about = {Kind::valve, rotation.valves[i]};
            turn.every_s = rotation.each_s * static_cast<double>(rotation.valves.size());
            turn.for_s = rotation.each_s;
            turn.after_s = rotation.each_s * static_cast<double>(i);
            routine.timers.push_back(turn);
        }
    routine.rotations.clear();
    std::erase_if(routine.timers, [&](const layout::Timer& timer) { return timer.about == about; });
    std::erase_if(routine.level_switches, [&](const layout::LevelSwitch& one) { return one.about == about; });
}

void change_at_once(layout::Routine& routine, layout::Act act, const Mishap& mishap) {
    layout::Change change;
    change.at_s = 0.0;
    change.settings.push_back(
        {.act = act, .about_id = mishap.about_id, .about = mishap.about, .value = act == layout::Act::run ? 1.0 : layout::kNotSaid, .insert = {}});
    routine.changes.push_back(std::move(change));
}

void shut_all_of_supply(const layout::Layout& layout, std::int32_t supply, Plan& plan) {
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].from.ref == Ref{Kind::supply, supply}) plan.shut.push_back({Kind::pipe, static_cast<std::int32_t>(p)});
}

void block(const layout::Layout& layout, const Ref& about, Plan& plan) {
    // a blocked drain under a standpipe or siphon: nothing goes into it either
    const Ref above = about.kind == Kind::pipe ? layout.pipes[at(about.index)].from.ref : Ref{};
    if (above.kind == Kind::standpipe || above.kind == Kind::siphon)
        plan.shut.push_back(above);
    else if (about.kind == Kind::valve)
        plan.shut.push_back({Kind::pipe, layout.valves[at(about.index)].pipe});
    else if (about.kind == Kind::supply)
        shut_all_of_supply(layout, about.index, plan);
    else
        plan.shut.push_back(about);
}

class Asker {
public:
    Asker(Simulation& simulation, const WhatIfWanted& wanted) : simulation_(&simulation), wanted_(&wanted), layout_(&simulation.layout()) {}
    WhatIfAnswer answer();

private:
    Plan undisturbed();
    bool changes_nothing(const Plan& plan) const;
    Course fail(Plan plan);
    void look_at_floor(const BrokenPipe& broken);
    void find_overflows();
    void find_bare_intakes();
    void find_low_sumps();
    void find_lost_inflow(std::size_t vessel);
    void find_lost_share(std::size_t vessel);
    double wanted_inflow(std::size_t vessel, double depth_m) const;
    double end_of(Happening what, const Ref& about, double after_s) const;
    bool before_too(Happening what, const Ref& about) const;
    bool moves() const { return wanted_->routine >= 0 || !answer_.settled; }

    Simulation* simulation_;
    const WhatIfWanted* wanted_;
    const layout::Layout* layout_;
    Course as_it_is_;
    WhatIfAnswer answer_;
};

/// The farm as it is, from where it stands.
Plan Asker::undisturbed() {
    Plan plan;
    if (wanted_->routine >= 0) {
        plan = plan_of_routine(*layout_, wanted_->routine);
    } else {
        plan.arrangement = wanted_->arrangement;
        plan.conditions = layout::conditions_of(*layout_, wanted_->arrangement);
        plan.name = layout_->arrangements[at(wanted_->arrangement)].name;
        SettledStart start = settled_memory(*layout_, plan.conditions);
        answer_.settled = start.found;
        answer_.why_not_settled = start.why;
        plan.start = std::move(start.memory);
        if (!start.found) {  // it goes on and on: from where it stands after a while
            plan.lasts_s = kDay_s;
            plan.until_repeats = plan.until_still = true;
            plan.start = simulation_->run(plan).end;
            plan.until_repeats = plan.until_still = false;
        }
    }
    plan.lasts_s = moves() ? wanted_->lasts_s : kMoment_s;
    return plan;
}

bool Asker::changes_nothing(const Plan& plan) const {
    if (wanted_->routine >= 0) return false;
    const Mishap& mishap = wanted_->mishap;
    const auto i = at(mishap.about.index);
    const double opening = mishap.about.kind == Kind::valve ? plan.conditions.valve_opening[i] : kUnknown;
    const double speed = mishap.about.kind == Kind::pump ? plan.conditions.pump_speed[i] : kUnknown;
    switch (mishap.fault) {
        case Fault::shuts: return opening == 0.0;
        case Fault::opens: return opening == 1.0;
        case Fault::stops: return speed == 0.0;
        case Fault::runs: return speed == 1.0;
        case Fault::blocks: return opening == 0.0 || speed == 0.0;
        case Fault::breaks: break;
    }
    return false;
}

Course Asker::fail(Plan plan) {
    const Mishap& mishap = wanted_->mishap;
    plan.lasts_s = wanted_->lasts_s;
    // still levels do not mean that nothing runs out of a broken pipe
    plan.until_still = wanted_->routine < 0 && mishap.fault != Fault::breaks;
    const auto on_copy = [&](const layout::Layout& copy) { return Simulation(copy, simulation_->options()).run(plan); };
    switch (mishap.fault) {
        case Fault::shuts:
            if (mishap.about.kind == Kind::valve)
                change_at_once(plan.routine, layout::Act::close, mishap);
            else
                plan.shut.push_back(mishap.about);
            break;
        case Fault::opens: {
            if (mishap.about.kind == Kind::valve) {
                take_from_clock(plan.routine, mishap.about);
                change_at_once(plan.routine, layout::Act::open, mishap);
                break;
            }
            layout::Layout copy = *layout_;
            layout::FloatValve& hangs = copy.float_valves[at(mishap.about.index)];
            hangs.opens_at_m = kAlwaysOpen_m;
            hangs.closes_at_m = 2.0 * kAlwaysOpen_m;
            return on_copy(copy);
        }
        case Fault::stops:
            if (mishap.about.kind == Kind::supply)
                block(*layout_, mishap.about, plan);
            else
                plan.routine.failures.push_back({.place = {}, .pump_id = mishap.about_id, .pump = mishap.about.index, .at_s = 0.0});
            break;
        case Fault::runs:
            take_from_clock(plan.routine, mishap.about);
            change_at_once(plan.routine, layout::Act::run, mishap);
            break;
        case Fault::blocks: block(*layout_, mishap.about, plan); break;
        case Fault::breaks: {
            const BrokenPipe broken = break_pipe(*layout_, mishap.about.index);
            answer_.cannot = broken.why;
            answer_.break_elevation_m = broken.elevation_m;
            answer_.break_at_id = broken.at_id;
            if (!broken.found) return {};
            Course course = on_copy(broken.layout);
            answer_.course = course;
            look_at_floor(broken);
            return course;
        }
    }
    return simulation_->run(plan);
}

void Asker::look_at_floor(const BrokenPipe& broken) {
    const Series& series = answer_.course.series;
    if (series.t_s.size() < 2) return;
    const std::size_t ponds = broken.layout.ponds.size();
    const Rows poured(series, series.pond_m3, ponds);
    const auto on_floor = [&](double t_s) {
        return -poured.at_moment(t_s, at(broken.floor_before)) - poured.at_moment(t_s, at(broken.floor_beyond));
    };
    answer_.floor_m3 = on_floor(answer_.course.lasted_s);
    answer_.floor_first_hour_m3 = on_floor(kHour_s);
    const auto moving = std::find_if(series.t_s.begin(), series.t_s.end(), [](double t) { return t > 0.0; });
    if (moving != series.t_s.end()) answer_.floor_m3_s = on_floor(*moving) / *moving;
}

/// When something that began is over again; NaN: not in this run.
double Asker::end_of(Happening what, const Ref& about, double after_s) const {
    for (const Event& event : answer_.course.events)
        if (event.what == what && event.about == about && event.t_s >= after_s) return event.t_s;
    return kUnknown;
}

bool Asker::before_too(Happening what, const Ref& about) const {
    return std::any_of(as_it_is_.events.begin(), as_it_is_.events.end(),
                       [&](const Event& event) { return event.what == what && event.about == about; });
}

void Asker::find_overflows() {
    const std::size_t vessels = layout_->vessels.size();
    const Series& series = answer_.course.series;
    const Rows in(series, series.inflow_m3_s, vessels), out(series, series.outflow_m3_s, vessels), over(series, series.spilled_m3, vessels);
    for (std::size_t v = 0; v < vessels; ++v) {
        const Ref about{Kind::vessel, static_cast<std::int32_t>(v)};
        const double t = end_of(Happening::reaches_rim, about, 0.0);
        if (std::isnan(t)) continue;
        Strikes strike{.t_s = t, .what = Clock::overflow, .about = about, .about_id = layout_->vessels[v].id};
        const double end = answer_.course.lasted_s;
        const auto net = [&](double moment) { return std::max(0.0, in.at_moment(moment, v) - out.at_moment(moment, v)); };
        strike.spill_m3_s = net(t);
        strike.spilled_m3 = answer_.course.vessels[v].spilled_m3;
        strike.over_s = end_of(Happening::leaves_rim, about, t);
        // a farm that is still with water going over a rim goes on like that
        const double beyond = answer_.course.ending == Ending::still && std::isnan(strike.over_s) ? std::max(0.0, t + kHour_s - end) : 0.0;
        strike.goes_on_m3_s = std::isnan(strike.over_s) ? net(end) : 0.0;
        strike.first_hour_m3 = over.at_moment(t + kHour_s, v) + beyond * net(end);
        strike.also_without = before_too(Happening::reaches_rim, about);
        answer_.strikes.push_back(strike);
    }
}

void Asker::find_bare_intakes() {
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const Ref about{Kind::pump, static_cast<std::int32_t>(p)};
        const double t = end_of(Happening::intake_bare, about, 0.0);
        if (std::isnan(t) || !(answer_.course.pumps[p].dry_s > 0.0)) continue;
        Strikes strike{.t_s = t, .what = Clock::bare_intake, .about = about, .about_id = layout_->pumps[p].id};
        strike.over_s = end_of(Happening::intake_covered, about, t);
        strike.also_without = before_too(Happening::intake_bare, about);
        answer_.strikes.push_back(strike);
    }
}

void Asker::find_low_sumps() {
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) {
        const Ref about{Kind::vessel, static_cast<std::int32_t>(v)};
        const double t = end_of(Happening::below_least_depth, about, 0.0);
        if (std::isnan(t)) continue;
        Strikes strike{.t_s = t, .what = Clock::below_least_depth, .about = about, .about_id = layout_->vessels[v].id};
        strike.also_without = before_too(Happening::below_least_depth, about);
        answer_.strikes.push_back(strike);
    }
}

/// Inflow that the targets of a vessel ask for with this much water in it; NaN without targets.
double Asker::wanted_inflow(std::size_t vessel, double depth_m) const {
    const layout::Vessel& asked = layout_->vessels[vessel];
    double least = asked.inflow_m3_s;
    if (layout::said(asked.turnover_s)) least = std::fmax(least, layout::volume_at_depth(asked, depth_m) / asked.turnover_s);
    return least;
}

/// A vessel whose water came evenly: the moment it falls below what is wanted, and the moment it ends.
void Asker::find_lost_inflow(std::size_t vessel) {
    const std::size_t vessels = layout_->vessels.size();
    const Series& series = answer_.course.series;
    const Rows in(series, series.inflow_m3_s, vessels), depth(series, series.depth_m, vessels);
    const double before = as_it_is_.series.inflow_m3_s[vessel];
    if (before <= kNothing_m3_s) return;
    const auto margin = [&](std::size_t row, bool gone) {
        const double needed = gone ? kNoWater_share * before : wanted_inflow(vessel, depth.value(row, vessel)) * (1.0 - kMissed_share);
        return in.value(row, vessel) - needed;
    };
    const auto cross = [&](std::size_t row, bool gone) {  // between the row before and this one
        if (row == 0 || in.t_s(row) == in.t_s(row - 1)) return in.t_s(row);
        const double first = margin(row - 1, gone), second = margin(row, gone);
        return in.t_s(row - 1) + first / (first - second) * (in.t_s(row) - in.t_s(row - 1));
    };
    std::optional<Strikes> found[2];
    for (const bool gone : {false, true}) {
        const double needed = gone ? 0.0 : wanted_inflow(vessel, answer_.before_depth_m[vessel]);
        if (std::isnan(needed) || before < needed * (1.0 - kMissed_share)) continue;  // nothing asked, or missed before
        for (std::size_t row = 0; row < in.count(); ++row) {
            if (!(margin(row, gone) < 0.0)) continue;
            std::size_t back = row;
            while (back < in.count() && margin(back, gone) < 0.0) ++back;
            Strikes strike{.t_s = cross(row, gone), .what = gone ? Clock::no_inflow : Clock::inflow_below_target};
            if (back < in.count()) strike.over_s = cross(back, gone);
            if (strike.over_s - strike.t_s < kShortest_s) {
                row = back;
                continue;
            }
            strike.then_m3_s = in.value(in.count() - 1, vessel);
            strike.wanted_m3_s = wanted_inflow(vessel, depth.value(back < in.count() ? row : in.count() - 1, vessel));
            found[gone ? 1 : 0] = strike;
            break;
        }
    }
    if (found[0] && found[1] && found[1]->t_s - found[0]->t_s < kSoon_s) found[0].reset();
    for (auto& strike : found) {
        if (!strike) continue;
        strike->about = {Kind::vessel, static_cast<std::int32_t>(vessel)};
        strike->about_id = layout_->vessels[vessel].id;
        strike->before_m3_s = before;
        answer_.strikes.push_back(*strike);
    }
}

/// A vessel whose water comes and goes: by its mean over one cycle after the other.
void Asker::find_lost_share(std::size_t vessel) {
    const std::size_t vessels = layout_->vessels.size();
    const Series &failed = answer_.course.series, &sound = as_it_is_.series;
    const Rows in(failed, failed.inflow_m3_s, vessels), was(sound, sound.inflow_m3_s, vessels), depth(failed, failed.depth_m, vessels);
    const double length = std::min(answer_.course.lasted_s, as_it_is_.lasted_s);
    const double cycle = std::isnan(as_it_is_.repeats_every_s) || as_it_is_.repeats_every_s <= 0.0 ? length / 4.0 : as_it_is_.repeats_every_s;
    for (double begin = 0.0; begin + cycle <= length * (1.0 + 1e-9); begin += cycle) {
        const double now = in.sum(begin, begin + cycle, vessel) / cycle, then = was.sum(begin, begin + cycle, vessel) / cycle;
        const double needed = wanted_inflow(vessel, depth.sum(begin, begin + cycle, vessel) / cycle);
        const bool gone = now < kNoWater_share * then && then > kNothing_m3_s;
        if (!gone && !(now < needed * (1.0 - kMissed_share) && then >= needed * (1.0 - kMissed_share))) continue;
        answer_.strikes.push_back({.t_s = begin,
                                   .what = gone ? Clock::no_inflow : Clock::inflow_below_target,
                                   .about = {Kind::vessel, static_cast<std::int32_t>(vessel)},
                                   .about_id = layout_->vessels[vessel].id,
                                   .before_m3_s = then,
                                   .then_m3_s = now,
                                   .wanted_m3_s = needed});
        return;
    }
}

/// Vessels that lose something when their water stays away: those with a target, and those in which something lives.
bool needs_water(const layout::Vessel& vessel) {
    const bool target = layout::said(vessel.turnover_s) || layout::said(vessel.inflow_m3_s);
    return target || (vessel.kind != layout::VesselKind::sump && vessel.kind != layout::VesselKind::vessel);
}

WhatIfAnswer Asker::answer() {
    answer_.mishap = wanted_->mishap;
    answer_.arrangement = wanted_->routine >= 0 ? layout_->routines[at(wanted_->routine)].arrangement : wanted_->arrangement;
    answer_.routine = wanted_->routine;
    const OptionsKept kept(*simulation_);
    const Plan plan = undisturbed();
    answer_.nothing_changes = changes_nothing(plan);
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v)
        answer_.before_depth_m.push_back(layout::depth_at_volume(layout_->vessels[v], plan.start.volume_m3[v]));
    if (answer_.nothing_changes) return std::move(answer_);
    simulation_->options().keep_series = simulation_->options().keep_flows = true;
    simulation_->options().series_every_s = kUnknown;
    as_it_is_ = simulation_->run(plan);
    if (as_it_is_.ending == Ending::no_solution) {
        answer_.cannot = as_it_is_.why;
        return std::move(answer_);
    }
    answer_.course = fail(plan);
    if (answer_.course.series.t_s.empty()) return std::move(answer_);
    find_overflows();
    find_bare_intakes();
    find_low_sumps();
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) {
        if (!needs_water(layout_->vessels[v])) continue;
        if (moves())
            find_lost_share(v);
        else
            find_lost_inflow(v);
    }
    std::stable_sort(answer_.strikes.begin(), answer_.strikes.end(), [](const Strikes& a, const Strikes& b) { return a.t_s < b.t_s; });
    return std::move(answer_);
}

}  // namespace

const char* name_of(Fault fault) {
    static constexpr std::array<const char*, 6> kNames = {"shuts", "opens", "stops", "runs", "blocks", "breaks"};
    return kNames[static_cast<std::size_t>(fault)];
}

const char* name_of(Clock clock) {
    static constexpr std::array<const char*, 5> kNames = {"overflow", "intake-bare", "below-least-depth", "inflow-below-target", "no-inflow"};
    return kNames[static_cast<std::size_t>(clock)];
}

std::vector<Fault> faults_of(layout::Kind kind) {
    switch (kind) {
        case Kind::valve: return {Fault::shuts, Fault::opens, Fault::blocks};
        case Kind::float_valve: return {Fault::shuts, Fault::opens, Fault::blocks};
        case Kind::pump: return {Fault::stops, Fault::runs, Fault::blocks};
        case Kind::supply: return {Fault::stops, Fault::blocks};
        case Kind::pipe: return {Fault::blocks, Fault::breaks};
        case Kind::filter:
        case Kind::nozzle:
        case Kind::standpipe:
        case Kind::siphon: return {Fault::blocks};
        default: return {};
    }
}

WhatIfAnswer what_if(Simulation& simulation, const WhatIfWanted& wanted) { return Asker(simulation, wanted).answer(); }

}  // namespace ebb::time
