#include "solver/time/power_cut.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "solver/time/backflow.h"
#include "solver/time/clockwork.h"
#include "solver/time/options_kept.h"
#include "solver/time/water_paths.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDay_s = 86400.0;
constexpr double kOver_m = 1e-3;    ///< levels nearer to their end than this have arrived
constexpr double kBack_m = 0.01;    ///< and nearer than this to where they were have come back
constexpr double kTrace_m3 = 5e-5;  ///< less is not told
constexpr double kSpill_m3 = 1e-6;  ///< a millilitre
constexpr double kForEver_s = HUGE_VAL;

/// Everything that one cut begins with.
struct Before {
    Memory memory;
    layout::Routine routine;
    double moment_s = kUnknown;
};

double total(const std::vector<double>& values) {
    double sum = 0.0;
    for (const double value : values) sum += value;
    return sum;
}

double spilled(const Course& course) {
    double sum = 0.0;
    for (const VesselCourse& vessel : course.vessels) sum += vessel.spilled_m3;
    return sum;
}

double least_freeboard(const Course& course) {
    double least = HUGE_VAL;
    for (const VesselCourse& vessel : course.vessels) least = std::min(least, vessel.least_freeboard_m);
    return least;
}

class Cutter {
public:
    Cutter(Simulation& simulation, const PowerCutWanted& wanted)
        : simulation_(&simulation), layout_(&simulation.layout()), wanted_(&wanted),
          conditions_(layout::conditions_of(*layout_, wanted.arrangement)) {}

    PowerCutAnswer answer();

private:
    bool any_pump_runs() const;
    std::vector<Before> beginnings();
    std::vector<Before> moments_of(const Plan& plan);
    Plan plan_from(const Memory& memory, const layout::Routine& routine, double lasts_s) const;
    Course cut_at(const Before& before);
    Course restart_from(const Before& before, const Course& cut);
    void account(const Before& before);
    void account_vessels(const Before& before);
    void come_home();
    void judge_restart(const Before& before);

    Simulation* simulation_;
    const Layout* layout_;
    const PowerCutWanted* wanted_;
    layout::Conditions conditions_;
    PowerCutAnswer answer_;
    double period_s_ = kUnknown;  ///< of the cycle the cut is in
};

bool Cutter::any_pump_runs() const {
    const auto runs = [](double speed) { return speed > 0.0; };
    if (std::any_of(conditions_.pump_speed.begin(), conditions_.pump_speed.end(), runs)) return true;
    if (wanted_->routine < 0) return false;
    const layout::Routine& routine = layout_->routines[at(wanted_->routine)];
    const auto is_pump = [](const auto& one) { return one.about.kind == Kind::pump; };
    const auto runs_one = [](const layout::Change& change) {
        return std::any_of(change.settings.begin(), change.settings.end(), [](const layout::Setting& one) { return one.act == layout::Act::run; });
    };
    return std::any_of(routine.timers.begin(), routine.timers.end(), is_pump) ||
           std::any_of(routine.level_switches.begin(), routine.level_switches.end(), is_pump) ||
           std::any_of(routine.changes.begin(), routine.changes.end(), runs_one);
}

Plan Cutter::plan_from(const Memory& memory, const layout::Routine& routine, double lasts_s) const {
    Plan plan;
    plan.name = layout_->arrangements[at(wanted_->arrangement)].name;
    plan.arrangement = wanted_->arrangement;
    plan.conditions = conditions_;
    plan.routine = routine;
    plan.start = memory;
    plan.lasts_s = lasts_s;
    return plan;
}

/// The moments of the last cycle of a plan; where it has none, of the last day.
std::vector<Before> Cutter::moments_of(const Plan& plan) {
    simulation_->options().keep_series = false;
    Plan first = plan;
    first.until_repeats = true;
    const Course course = simulation_->run(first);
    std::vector<Before> found;
    if (course.ending == Ending::no_solution || course.ending == Ending::cancelled || course.ending == Ending::not_run) {
        answer_.cut = course;
        return found;
    }
    double begin = std::max(0.0, course.lasted_s - kDay_s), end = course.lasted_s;
    if (std::isfinite(course.repeats_every_s)) {
        period_s_ = course.repeats_every_s;
        begin = std::max(0.0, course.lasted_s - period_s_);
    }
    const int count = std::max(1, wanted_->moments);
    Memory memory = plan.start;
    double reached = 0.0;
    for (int i = 0; i < count; ++i) {
        const double moment = begin + (end - begin) * i / count;
        if (moment > reached) {
            const Course part = simulation_->run(plan_from(memory, gone_on(plan.routine, reached), moment - reached));
            memory = part.end;
            reached = moment;
        }
        found.push_back({memory, gone_on(plan.routine, moment), moment});
    }
    return found;
}

std::vector<Before> Cutter::beginnings() {
    if (wanted_->routine >= 0) {
        answer_.start = CutStart::cycle;
        return moments_of(plan_of_routine(*layout_, wanted_->routine));
    }
    const SettledStart settled = settled_memory(*layout_, conditions_);
    if (settled.found) return {{settled.memory, {}, kUnknown}};
    answer_.why_not_settled = settled.why;
    // siphons that swing about their levels have found their rhythm within a day
    Plan plan = plan_from(settled.memory, {}, settled.cycles ? std::min(kDay_s, wanted_->followed_s) : wanted_->followed_s);
    std::vector<Before> moments = moments_of(plan);
    answer_.start = std::isfinite(period_s_) || settled.cycles ? CutStart::cycle : CutStart::start_depths;
    if (answer_.start == CutStart::start_depths && !moments.empty()) return {{plan.start, {}, kUnknown}};
    return moments;
}

/// The routine without power: valves stay as the clocks have them at this moment. Where the cut has no given length nobody draws water either.
Course Cutter::cut_at(const Before& before) {
    const bool has_length = !std::isnan(wanted_->lasts_s);
    Plan plan = plan_from(before.memory, before.routine, has_length ? wanted_->lasts_s : kDay_s);
    const Clockwork clock(*layout_, plan);
    const std::vector<std::uint8_t> acts = before.memory.switch_acts.empty() ? clock.switches_at_ease() : before.memory.switch_acts;
    plan.conditions = clock.at_moment(0.0, acts).conditions;
    std::erase_if(plan.routine.changes, [](const layout::Change& change) { return change.at_s <= 0.0; });  // in the conditions already
    plan.routine.timers.clear();
    plan.routine.rotations.clear();
    plan.routine.level_switches.clear();
    plan.start.switch_acts.clear();
    if (!has_length) plan.routine = {};
    layout::PowerCut cut;
    cut.at_s = 0.0;
    cut.for_s = kForEver_s;
    plan.routine.power_cuts = {cut};
    plan.until_still = !has_length;
    simulation_->options().keep_series = true;
    Course course = simulation_->run(plan);
    course.end.switch_acts = before.memory.switch_acts;
    return course;
}

/// With the power back, for a day; in a routine until its clocks stand as they did when the cut began.
Course Cutter::restart_from(const Before& before, const Course& cut) {
    double lasts = kDay_s;
    if (std::isfinite(period_s_) && wanted_->routine >= 0) lasts = std::ceil((kDay_s + cut.lasted_s) / period_s_) * period_s_ - cut.lasted_s;
    Plan plan = plan_from(cut.end, gone_on(before.routine, cut.lasted_s), lasts);
    plan.until_still = wanted_->routine < 0;
    simulation_->options().keep_series = true;
    return simulation_->run(plan);
}

void Cutter::account_vessels(const Before& before) {
    const Course& cut = answer_.cut;
    const Course& restart = answer_.restart;
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) {
        CutVessel vessel;
        vessel.before_depth_m = layout::depth_at_volume(layout_->vessels[v], before.memory.volume_m3[v]);
        vessel.end_depth_m = cut.vessels[v].end_depth_m;
        vessel.gained_m3 = cut.vessels[v].end_volume_m3 - before.memory.volume_m3[v];
        vessel.greatest_depth_m = cut.vessels[v].greatest_depth_m;
        vessel.greatest_at_s = cut.vessels[v].greatest_at_s;
        vessel.least_freeboard_m = cut.vessels[v].least_freeboard_m;
        vessel.spilled_m3 = cut.vessels[v].spilled_m3;
        vessel.first_spill_s = cut.vessels[v].spilled_m3 > kSpill_m3 ? cut.vessels[v].first_spill_s : kUnknown;
        vessel.restart_least_depth_m = restart.vessels[v].least_depth_m;
        vessel.restart_least_at_s = restart.vessels[v].least_at_s;
        vessel.restart_spilled_m3 = restart.vessels[v].spilled_m3;
        vessel.restart_first_spill_s = restart.vessels[v].spilled_m3 > kSpill_m3 ? restart.vessels[v].first_spill_s : kUnknown;
        vessel.after_depth_m = restart.vessels[v].end_depth_m;
        answer_.spilled_m3 += vessel.spilled_m3;
        if (std::isfinite(vessel.first_spill_s) && !(vessel.first_spill_s >= answer_.first_spill_s)) {
            answer_.first_spill_s = vessel.first_spill_s;
            answer_.first_spills = static_cast<std::int32_t>(v);
        }
        answer_.vessels.push_back(vessel);
    }
}

/// What comes back into every vessel that a pump draws from, and where it had stood.
void Cutter::come_home() {
    Moved moved;
    for (const PipeCourse& pipe : answer_.cut.pipes) moved.pipe_net_m3.push_back(pipe.net_m3);
    for (const CutVessel& vessel : answer_.vessels) moved.left_m3.push_back(-vessel.gained_m3 - vessel.spilled_m3);
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) {
        const auto draws = [v](const layout::Pump& pump) { return pump.in.kind == Kind::vessel && at(pump.in.index) == v; };
        const bool pumped = std::any_of(layout_->pumps.begin(), layout_->pumps.end(), draws);
        if (!pumped && layout_->vessels[v].kind != layout::VesselKind::sump) continue;
        HomeComing home;
        home.sump = static_cast<std::int32_t>(v);
        home.returned_m3 = -moved.left_m3[v];
        const Arrived arrived = arrived_in(*layout_, moved, v);
        for (std::size_t o = 0; o < arrived.from_vessel_m3.size(); ++o)
            if (arrived.from_vessel_m3[o] > kTrace_m3) home.from.push_back({static_cast<std::int32_t>(o), arrived.from_vessel_m3[o]});
        if (arrived.from_outside_m3 > kTrace_m3) home.from.push_back({-1, arrived.from_outside_m3});
        // mixed with what it passes on: it keeps its own share of everything
        double came = 0.0;
        for (const CameFrom& one : home.from) came += one.volume_m3;
        if (home.returned_m3 <= kTrace_m3) home.from.clear();
        for (CameFrom& one : home.from) one.volume_m3 *= home.returned_m3 / came;
        std::stable_sort(home.from.begin(), home.from.end(), [](const CameFrom& a, const CameFrom& b) { return a.volume_m3 > b.volume_m3; });
        answer_.home.push_back(std::move(home));
    }
}

void Cutter::judge_restart(const Before& before) {
    const Course& restart = answer_.restart;
    const bool comparable = wanted_->routine < 0 ? answer_.start != CutStart::cycle : std::isfinite(period_s_);
    bool spills = answer_.spilled_m3 > kSpill_m3;
    for (std::size_t v = 0; v < answer_.vessels.size(); ++v) {
        const CutVessel& vessel = answer_.vessels[v];
        spills = spills || vessel.restart_spilled_m3 > kSpill_m3;
        if (comparable && std::abs(vessel.after_depth_m - vessel.before_depth_m) > kBack_m) answer_.not_back.push_back(static_cast<std::int32_t>(v));
    }
    for (std::size_t p = 0; p < restart.pumps.size(); ++p)
        if (restart.pumps[p].dry_s > 0.0)
            answer_.bare.push_back({static_cast<std::int32_t>(p), restart.pumps[p].first_dry_s, restart.pumps[p].dry_s});
    const bool made = restart.ending == Ending::still || restart.ending == Ending::time_over;
    answer_.comes_back = made && !spills && answer_.not_back.empty() && answer_.bare.empty();
    if (wanted_->routine < 0 && restart.ending == Ending::still) answer_.settled_again_after_s = still_from_s(restart, kOver_m);
    if (answer_.start == CutStart::settled)
        for (const BedCourse& bed : restart.beds)
            if (bed.breaks > 1) answer_.cycle_now.push_back(bed.vessel);
    answer_.missing_m3 = total(before.memory.volume_m3) - total(restart.end.volume_m3);
}

void Cutter::account(const Before& before) {
    account_vessels(before);
    come_home();
    answer_.backflows = backflows_of(*layout_, before.memory, answer_.cut, answer_.vessels);
    answer_.over_after_s = still_from_s(answer_.cut, kOver_m);
    judge_restart(before);
}

PowerCutAnswer Cutter::answer() {
    answer_.arrangement = wanted_->arrangement;
    answer_.routine = wanted_->routine;
    answer_.any_pump_ran = any_pump_runs();
    if (!answer_.any_pump_ran) return std::move(answer_);
    const std::vector<Before> beginnings = this->beginnings();
    if (beginnings.empty()) return std::move(answer_);
    answer_.moments_tried = static_cast<int>(beginnings.size());
    const Before* worst = nullptr;
    for (const Before& before : beginnings) {
        Course cut = cut_at(before);
        if (cut.ending == Ending::cancelled) {
            answer_.cut = std::move(cut);
            return std::move(answer_);
        }
        const bool first = worst == nullptr, spills_alike = !first && std::abs(spilled(cut) - spilled(answer_.cut)) <= kSpill_m3;
        if (first || (spills_alike ? least_freeboard(cut) < least_freeboard(answer_.cut) : spilled(cut) > spilled(answer_.cut))) {
            worst = &before;
            answer_.cut = std::move(cut);
        }
    }
    answer_.moment_s = worst->moment_s;
    answer_.period_s = period_s_;
    answer_.restart = restart_from(*worst, answer_.cut);
    account(*worst);
    return std::move(answer_);
}

}  // namespace

double still_from_s(const Course& course, double within_m) {
    const Series& series = course.series;
    const std::size_t vessels = course.vessels.size();
    if (series.t_s.empty()) return kUnknown;
    double from = 0.0;
    for (std::size_t i = series.t_s.size(); i-- > 0;) {
        double away = 0.0, next = 0.0;
        for (std::size_t v = 0; v < vessels; ++v) {
            const double here = std::abs(series.depth_m[i * vessels + v] - course.vessels[v].end_depth_m);
            if (here <= away) continue;
            away = here;
            next = i + 1 < series.t_s.size() ? std::abs(series.depth_m[(i + 1) * vessels + v] - course.vessels[v].end_depth_m) : 0.0;
        }
        if (away <= within_m) continue;
        if (i + 1 == series.t_s.size()) return series.t_s[i];
        const double share = away > next ? std::clamp((away - within_m) / (away - next), 0.0, 1.0) : 1.0;
        from = series.t_s[i] + share * (series.t_s[i + 1] - series.t_s[i]);
        break;
    }
    return from;
}

const char* name_of(BackflowEnd end) {
    static constexpr std::array<const char*, 5> kNames = {"port", "air-hole", "levels-equal", "still-running", "balance"};
    return kNames[static_cast<std::size_t>(end)];
}

PowerCutAnswer power_cut(Simulation& simulation, const PowerCutWanted& wanted) {
    const OptionsKept kept(simulation);
    simulation.options().series_every_s = kUnknown;
    return Cutter(simulation, wanted).answer();
}

}  // namespace ebb::time
