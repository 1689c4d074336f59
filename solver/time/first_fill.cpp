#include "solver/time/first_fill.h"

#include <algorithm>
#include <cmath>

#include "solver/time/fill_loops.h"
#include "solver/time/options_kept.h"
#include "solver/time/power_cut.h"
#include "solver/time/water_paths.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kThere_m = 0.005;  ///< a level this near to its end has arrived
constexpr double kEmpty_m = 0.001;  ///< a vessel with less depth is empty
constexpr double kSpill_m3 = 1e-6;
constexpr int kMostRounds = 8;          ///< of hose against mains
constexpr double kAgree = 2e-4;         ///< share of a loop's water
constexpr double kGulps_s = 10.0;       ///< bare for less than this after the first water is the moment of covering
constexpr double kOverIntake_m = 0.05;  ///< where no least depth is said: by hand a pump is stopped this far above its intake
constexpr double kLeastBand_m = 0.03;   ///< between off and on by hand
constexpr double kDay_s = 86400.0;

class Fill {
public:
    Fill(Simulation& simulation, const FillWanted& wanted)
        : simulation_(&simulation), layout_(&simulation.layout()), wanted_(&wanted),
          conditions_(layout::conditions_of(*layout_, wanted.arrangement)) {}

    FillAnswer answer();

private:
    Plan plan_for(const std::vector<FilledLoop>& loops) const;
    FillWay fill(std::vector<layout::LevelSwitch> hands);
    void share_mains(std::vector<FilledLoop>& loops, const Course& course) const;
    void account(FillWay& way) const;
    void account_pumps(FillWay& way) const;
    void rest(FillWay& way);
    std::vector<layout::LevelSwitch> hands() const;

    Simulation* simulation_;
    const Layout* layout_;
    const FillWanted* wanted_;
    layout::Conditions conditions_;
    std::vector<double> running_depth_m_;
    std::vector<layout::LevelSwitch> hands_;
};

Plan Fill::plan_for(const std::vector<FilledLoop>& loops) const {
    Plan plan;
    plan.name = layout_->arrangements[at(wanted_->arrangement)].name;
    plan.arrangement = wanted_->arrangement;
    plan.conditions = conditions_;
    plan.routine.level_switches = hands_;
    plan.start.volume_m3.assign(layout_->vessels.size(), 0.0);
    plan.start.primed.assign(layout_->siphons.size(), 0);
    plan.start.switch_acts.assign(hands_.size(), 1);  // pumps are off to begin with
    double most = 0.0;
    for (const FilledLoop& loop : loops) {
        plan.hoses.push_back({loop.vessel, wanted_->hose_m3_s, loop.up_to_depth_m, std::max(1e-6, loop.wanted_m3 - loop.mains_m3)});
        most = std::max(most, loop.wanted_m3);
    }
    plan.lasts_s = std::min(wanted_->greatest_s, 3.0 * most / wanted_->hose_m3_s + 2.0 * kDay_s);
    plan.until_still = true;
    return plan;
}

/// What the mains gave goes to the loop whose vessel the float valve fills.
void Fill::share_mains(std::vector<FilledLoop>& loops, const Course& course) const {
    for (FilledLoop& loop : loops) {
        loop.mains_m3 = 0.0;
        for (std::size_t f = 0; f < layout_->float_valves.size(); ++f) {
            const layout::Ref& into = layout_->float_valves[f].into;
            const bool mine = into.kind == Kind::vessel && std::find(loop.members.begin(), loop.members.end(), into.index) != loop.members.end();
            if (mine) loop.mains_m3 += course.float_valves[f].given_m3;
        }
    }
}

void Fill::account_pumps(FillWay& way) const {
    way.pumps.assign(layout_->pumps.size(), {});
    for (const Event& event : way.course.events) {
        if (event.about.kind != Kind::pump) continue;
        FilledPump& pump = way.pumps[at(event.about.index)];
        if (event.what == Happening::intake_covered && std::isnan(pump.covered_s)) pump.covered_s = event.t_s;
        if (event.what == Happening::intake_bare) pump.last_bare_s = event.t_s;
    }
    const Series& series = way.course.series;
    for (std::size_t p = 0; p < way.pumps.size(); ++p) {
        FilledPump& pump = way.pumps[p];
        const PumpCourse& course = way.course.pumps[p];
        pump.starts = course.starts;
        if (course.run_s <= 0.0) continue;
        // before the first water the pump only hums; once it moves water and is still said to be bare, it gulps
        double first_water_s = kUnknown;
        for (std::size_t i = 0; i < series.t_s.size() && std::isnan(first_water_s); ++i)
            if (series.pump_m3_s[i * way.pumps.size() + p] > 1e-9) first_water_s = series.t_s[i];
        if (std::isfinite(first_water_s)) pump.gulps_s = hands_.empty() ? std::max(0.0, course.dry_s - first_water_s) : course.dry_s;
        way.any_gulps = way.any_gulps || pump.gulps_s > kGulps_s;
    }
}

void Fill::account(FillWay& way) const {
    const Course& course = way.course;
    const double levels_s = still_from_s(course, kThere_m);
    way.done_after_s = levels_s;
    for (std::size_t l = 0; l < way.loops.size(); ++l) {
        way.loops[l].hose_m3 = course.hoses_m3[l];
        for (const Event& event : course.events)
            if (event.what == Happening::hose_ends && event.about.index == way.loops[l].vessel) way.loops[l].hose_ends_s = event.t_s;
        if (std::isfinite(way.loops[l].hose_ends_s)) way.done_after_s = std::max(way.done_after_s, way.loops[l].hose_ends_s);
    }
    const std::size_t count = layout_->vessels.size();
    for (std::size_t v = 0; v < count; ++v) {
        FilledVessel vessel;
        if (v < running_depth_m_.size()) vessel.running_depth_m = running_depth_m_[v];
        vessel.end_depth_m = course.vessels[v].end_depth_m;
        vessel.end_m3 = course.vessels[v].end_volume_m3;
        vessel.greatest_depth_m = course.vessels[v].greatest_depth_m;
        vessel.spilled_m3 = course.vessels[v].spilled_m3;
        vessel.first_spill_s = vessel.spilled_m3 > kSpill_m3 ? course.vessels[v].first_spill_s : kUnknown;
        way.spilled_m3 += vessel.spilled_m3;
        if (vessel.end_depth_m > kEmpty_m) {
            Course own;  // only this vessel's levels
            own.series.t_s = course.series.t_s;
            for (std::size_t i = 0; i < own.series.t_s.size(); ++i) own.series.depth_m.push_back(course.series.depth_m[i * count + v]);
            own.vessels = {course.vessels[v]};
            vessel.reaches_after_s = still_from_s(own, kThere_m);
        }
        way.vessels.push_back(vessel);
    }
    account_pumps(way);
}

/// Where the water stands when the pumps are stopped afterwards.
void Fill::rest(FillWay& way) {
    Plan plan = plan_for({});
    plan.routine.level_switches.clear();
    plan.start = way.course.end;
    plan.start.switch_acts.clear();
    std::fill(plan.conditions.pump_speed.begin(), plan.conditions.pump_speed.end(), 0.0);
    plan.lasts_s = kDay_s;
    simulation_->options().keep_series = false;
    const Course course = simulation_->run(plan);
    for (std::size_t v = 0; v < way.vessels.size() && v < course.vessels.size(); ++v) way.vessels[v].rest_depth_m = course.vessels[v].end_depth_m;
}

FillWay Fill::fill(std::vector<layout::LevelSwitch> hands) {
    hands_ = std::move(hands);
    FillWay way;
    way.loops = fill_loops(*layout_, conditions_, running_depth_m_);
    if (way.loops.empty()) return way;
    for (int round = 0; round < kMostRounds; ++round) {
        simulation_->options().keep_series = true;
        way.course = simulation_->run(plan_for(way.loops));
        const Ending ending = way.course.ending;
        way.made = ending == Ending::still || ending == Ending::time_over;
        if (!way.made) break;
        const std::vector<FilledLoop> assumed = way.loops;
        share_mains(way.loops, way.course);
        bool agree = true;
        for (std::size_t l = 0; l < way.loops.size(); ++l)
            agree = agree && std::abs(way.loops[l].mains_m3 - assumed[l].mains_m3) <= kAgree * way.loops[l].wanted_m3;
        if (agree) break;
    }
    if (way.course.vessels.empty()) return way;
    account(way);
    if (way.made) rest(way);
    return way;
}

/// A person at the plug: off at the least depth, on again half way up to where the hose is held.
std::vector<layout::LevelSwitch> Fill::hands() const {
    std::vector<layout::LevelSwitch> switches;
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const layout::Pump& pump = layout_->pumps[p];
        if (pump.in.kind != Kind::vessel || conditions_.pump_speed[p] <= 0.0) continue;
        const layout::Vessel& sump = layout_->vessels[at(pump.in.index)];
        const double over_intake = pump.intake_height_m + kOverIntake_m;
        const double off = layout::said(sump.least_depth_m) ? std::max(sump.least_depth_m, over_intake) : over_intake;
        const double start = layout::said(sump.start_depth_m) ? sump.start_depth_m : 0.0;
        layout::LevelSwitch by_hand;
        by_hand.watches_id = sump.id;
        by_hand.watches = pump.in;
        by_hand.about_id = pump.id;
        by_hand.about = {Kind::pump, static_cast<std::int32_t>(p)};
        by_hand.stops_below = true;
        by_hand.below_m = off;
        by_hand.above_m = std::max(off + kLeastBand_m, 0.5 * (off + start));
        if (by_hand.above_m < sump.rim_m - sump.floor_m) switches.push_back(by_hand);
    }
    return switches;
}

FillAnswer Fill::answer() {
    FillAnswer answer;
    answer.arrangement = wanted_->arrangement;
    answer.hose_m3_s = wanted_->hose_m3_s;
    const SettledStart settled = settled_memory(*layout_, conditions_);
    answer.why_not_settled = settled.why;
    if (settled.found)
        for (std::size_t v = 0; v < layout_->vessels.size(); ++v)
            running_depth_m_.push_back(layout::depth_at_volume(layout_->vessels[v], settled.memory.volume_m3[v]));
    answer.left_on = fill({});
    if (answer.left_on.any_gulps && answer.left_on.made) {
        answer.hands = hands();
        if (!answer.hands.empty()) answer.by_hand = fill(answer.hands);
    }
    answer.reaches_running = settled.found && answer.left_on.made;
    if (!answer.reaches_running) return answer;
    for (std::size_t v = 0; v < answer.left_on.vessels.size(); ++v) {
        const FilledVessel& vessel = answer.left_on.vessels[v];
        if (std::abs(vessel.end_depth_m - vessel.running_depth_m) > kThere_m) answer.elsewhere.push_back(static_cast<std::int32_t>(v));
    }
    answer.reaches_running = answer.elsewhere.empty();
    return answer;
}

}  // namespace

FillAnswer first_fill(Simulation& simulation, const FillWanted& wanted) {
    const OptionsKept kept(simulation);
    simulation.options().series_every_s = kUnknown;
    return Fill(simulation, wanted).answer();
}

}  // namespace ebb::time
