#include "solver/time/drain_down.h"

#include <algorithm>
#include <cmath>

#include "solver/settle/farm.h"
#include "solver/time/options_kept.h"
#include "solver/time/water_paths.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrained_m = 0.005;  ///< of the contract: this near to its lowest way out a vessel is drained
constexpr double kEqual_m = 0.005;    ///< two surfaces nearer than this are level
constexpr double kRows = 4000.0;      ///< of the second run
constexpr double kTrace_m3 = 5e-4;    ///< vessels whose water changed by less are not told
constexpr double kFlows_m3_s = 1e-9;  ///< less is no flow

class Drain {
public:
    Drain(Simulation& simulation, const DrainWanted& wanted)
        : simulation_(&simulation), layout_(&simulation.layout()), wanted_(&wanted), vessel_(layout_->vessels[at(wanted.vessel)]),
          conditions_(layout::conditions_of(*layout_, wanted.arrangement)) {}

    DrainAnswer answer();

private:
    bool here(const Ref& ref) const { return ref.kind == Kind::vessel && ref.index == wanted_->vessel; }
    bool shut_by_valve(const layout::Pipe& pipe) const;
    bool is_shut(std::size_t pipe) const;
    void shut_feeds();
    void find_ways();
    void add_way(WayOut kind, const Ref& about, double height_m) { answer_.ways_out.push_back({kind, about, height_m}); }
    void follow();
    void read_times();
    void account();
    void say_stop();

    Simulation* simulation_;
    const Layout* layout_;
    const DrainWanted* wanted_;
    const layout::Vessel& vessel_;
    layout::Conditions conditions_;
    Memory start_;
    DrainAnswer answer_;
};

bool Drain::shut_by_valve(const layout::Pipe& pipe) const {
    return std::any_of(pipe.valves.begin(), pipe.valves.end(), [&](std::int32_t valve) { return conditions_.valve_opening[at(valve)] <= 0.0; });
}

bool Drain::is_shut(std::size_t pipe) const {
    const Ref self{Kind::pipe, static_cast<std::int32_t>(pipe)};
    return std::find(answer_.shut.begin(), answer_.shut.end(), self) != answer_.shut.end();
}

/// Whatever ends in the vessel and does not carry water out of it now.
void Drain::shut_feeds() {
    settle::Options quick;
    quick.bands = quick.ledgers = false;
    const settle::Answer now = settle::Farm(*layout_, quick).solve(conditions_, false);
    const auto flow = [&](std::size_t pipe) {
        return pipe < now.pipes.size() && now.pipes[pipe].flow_m3_s == now.pipes[pipe].flow_m3_s ? now.pipes[pipe].flow_m3_s : 0.0;
    };
    for (std::size_t p = 0; p < layout_->pipes.size(); ++p) {
        const layout::Pipe& pipe = layout_->pipes[p];
        const bool brings = (here(pipe.to.ref) && flow(p) >= -kFlows_m3_s) || (here(pipe.from.ref) && flow(p) < -kFlows_m3_s);
        if (brings) answer_.shut.push_back({Kind::pipe, static_cast<std::int32_t>(p)});
    }
    for (std::size_t n = 0; n < layout_->nozzles.size(); ++n)
        if (here(layout_->nozzles[n].into)) answer_.shut.push_back({Kind::nozzle, static_cast<std::int32_t>(n)});
    for (std::size_t f = 0; f < layout_->float_valves.size(); ++f)
        if (here(layout_->float_valves[f].into)) answer_.shut.push_back({Kind::float_valve, static_cast<std::int32_t>(f)});
}

void Drain::find_ways() {
    for (std::size_t s = 0; s < layout_->standpipes.size(); ++s) {
        const layout::Standpipe& standpipe = layout_->standpipes[s];
        if (!here(standpipe.in)) continue;
        const Ref self{Kind::standpipe, static_cast<std::int32_t>(s)};
        add_way(WayOut::lip, self, standpipe.inserts[at(conditions_.insert[s])].lip_m);
        for (const layout::DrainHole& hole : standpipe.holes) add_way(WayOut::hole, self, hole.height_m);
    }
    for (std::size_t s = 0; s < layout_->siphons.size(); ++s) {
        if (!here(layout_->siphons[s].in)) continue;
        const bool runs = s < start_.primed.size() && start_.primed[s] != 0;
        add_way(WayOut::siphon, {Kind::siphon, static_cast<std::int32_t>(s)}, runs ? layout_->siphons[s].breaks_at_m : layout_->siphons[s].crest_m);
    }
    for (std::size_t p = 0; p < layout_->pipes.size(); ++p) {
        const layout::Pipe& pipe = layout_->pipes[p];
        if (is_shut(p) || (!here(pipe.from.ref) && !here(pipe.to.ref))) continue;
        if (shut_by_valve(pipe))
            answer_.shut_ways.push_back(static_cast<std::int32_t>(p));
        else
            add_way(here(pipe.from.ref) ? WayOut::port : WayOut::inlet, {Kind::pipe, static_cast<std::int32_t>(p)},
                    here(pipe.from.ref) ? pipe.from.height() : pipe.to.height());
    }
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p)
        if (here(layout_->pumps[p].in) && conditions_.pump_speed[p] > 0.0)
            add_way(WayOut::pump, {Kind::pump, static_cast<std::int32_t>(p)}, layout_->pumps[p].intake_height_m);
    std::stable_sort(answer_.ways_out.begin(), answer_.ways_out.end(), [](const OpenWay& a, const OpenWay& b) { return a.height_m < b.height_m; });
}

void Drain::follow() {
    Plan plan;
    plan.name = layout_->arrangements[at(wanted_->arrangement)].name;
    plan.arrangement = wanted_->arrangement;
    plan.conditions = conditions_;
    plan.start = start_;
    plan.shut = answer_.shut;
    plan.lasts_s = wanted_->greatest_s;
    plan.until_still = true;
    simulation_->options().keep_series = false;
    answer_.course = simulation_->run(plan);
    if (answer_.course.ending != Ending::still && answer_.course.ending != Ending::time_over) return;
    plan.lasts_s = answer_.course.lasted_s;
    plan.until_still = false;
    simulation_->options().keep_series = true;
    simulation_->options().series_every_s = plan.lasts_s / kRows;
    Course fine = simulation_->run(plan);
    answer_.course.series = std::move(fine.series);
}

/// When the level first falls to a depth, straight between rows.
double falls_to_s(const Series& series, std::size_t vessel, std::size_t vessels, double depth_m) {
    for (std::size_t i = 0; i < series.t_s.size(); ++i) {
        const double here = series.depth_m[i * vessels + vessel];
        if (here > depth_m) continue;
        if (i == 0) return series.t_s[0];
        const double before = series.depth_m[(i - 1) * vessels + vessel];
        return std::lerp(series.t_s[i - 1], series.t_s[i], before > here ? (before - depth_m) / (before - here) : 1.0);
    }
    return kUnknown;
}

void Drain::read_times() {
    const auto fall = [&](double depth) { return falls_to_s(answer_.course.series, at(wanted_->vessel), layout_->vessels.size(), depth); };
    for (std::size_t i = 0; i < answer_.share_left.size(); ++i)
        answer_.share_after_s[i] = fall(layout::depth_at_volume(vessel_, answer_.share_left[i] * answer_.before_m3));
    if (!answer_.ways_out.empty()) answer_.drained_after_s = fall(answer_.ways_out.front().height_m + kDrained_m);
}

void Drain::account() {
    const Course& course = answer_.course;
    for (std::size_t p = 0; p < layout_->pipes.size(); ++p) {
        const layout::Pipe& pipe = layout_->pipes[p];
        if (is_shut(p)) continue;
        const bool from = vessel_of(*layout_, pipe.from.ref) == wanted_->vessel, to = here(pipe.to.ref);
        const double out = from ? course.pipes[p].net_m3 : to ? -course.pipes[p].net_m3 : 0.0;
        if (out > 1e-6) answer_.taken.push_back({static_cast<std::int32_t>(p), out, course.pipes[p].greatest_flow_m3_s});
    }
    std::stable_sort(answer_.taken.begin(), answer_.taken.end(), [](const WayTaken& a, const WayTaken& b) { return a.volume_m3 > b.volume_m3; });
    // flows between steps are taken as straight, volumes are exact: the ways share what left the vessel
    double through = 0.0;
    for (const WayTaken& way : answer_.taken) through += way.volume_m3;
    const double left = answer_.before_m3 - answer_.end_m3 - course.vessels[at(wanted_->vessel)].spilled_m3;
    for (WayTaken& way : answer_.taken) way.volume_m3 *= std::max(0.0, left) / through;
    for (const WayTaken& way : answer_.taken) answer_.peak_m3_s += way.greatest_flow_m3_s;
    for (const OpenWay& way : answer_.ways_out)
        if (way.kind == WayOut::lip)
            answer_.over_lip_m3 = std::max(0.0, answer_.before_m3 - std::max(answer_.end_m3, layout::volume_at_depth(vessel_, way.height_m)));
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) {
        const VesselCourse& vessel = course.vessels[v];
        const double gained = vessel.end_volume_m3 - start_.volume_m3[v];
        if (static_cast<std::int32_t>(v) == wanted_->vessel || (std::abs(gained) < kTrace_m3 && vessel.spilled_m3 < kTrace_m3)) continue;
        DrainOther other{.vessel = static_cast<std::int32_t>(v)};
        other.before_depth_m = layout::depth_at_volume(layout_->vessels[v], start_.volume_m3[v]);
        other.greatest_depth_m = vessel.greatest_depth_m;
        other.end_depth_m = vessel.end_depth_m;
        other.gained_m3 = gained;
        other.least_freeboard_m = vessel.least_freeboard_m;
        other.spilled_m3 = vessel.spilled_m3;
        answer_.others.push_back(other);
    }
    std::stable_sort(answer_.others.begin(), answer_.others.end(),
                     [](const DrainOther& a, const DrainOther& b) { return std::abs(a.gained_m3) > std::abs(b.gained_m3); });
}

void Drain::say_stop() {
    const Course& course = answer_.course;
    const bool made = course.ending == Ending::still || course.ending == Ending::time_over;
    if (!made) {
        answer_.stop = DrainStop::no_answer;
    } else if (answer_.ways_out.empty()) {
        answer_.stop = DrainStop::shut_in;
    } else if (answer_.before_depth_m <= answer_.ways_out.front().height_m + kDrained_m) {
        answer_.stop = DrainStop::no_water;
    } else if (std::isfinite(answer_.drained_after_s)) {
        answer_.stop = DrainStop::drained;
    } else {
        answer_.stop = course.ending == Ending::still ? DrainStop::held : DrainStop::not_yet;
        const double level = vessel_.floor_m + answer_.end_depth_m;
        for (std::size_t v = 0; v < layout_->vessels.size() && answer_.stop == DrainStop::held; ++v) {
            const double other = layout_->vessels[v].floor_m + course.vessels[v].end_depth_m;
            if (static_cast<std::int32_t>(v) == wanted_->vessel || std::abs(other - level) > kEqual_m) continue;
            answer_.stop = DrainStop::level_with;
            answer_.level_with = static_cast<std::int32_t>(v);
        }
    }
    answer_.wanted_s = vessel_.drains_within_s;
    const bool done = answer_.stop == DrainStop::no_water || answer_.drained_after_s <= answer_.wanted_s;
    answer_.in_time = !layout::said(answer_.wanted_s) || done;
}

DrainAnswer Drain::answer() {
    answer_.arrangement = wanted_->arrangement;
    answer_.vessel = wanted_->vessel;
    const SettledStart settled = settled_memory(*layout_, conditions_);
    answer_.from_settled = settled.found;
    answer_.why_not_settled = settled.why;
    start_ = settled.memory;
    answer_.before_m3 = start_.volume_m3[at(wanted_->vessel)];
    answer_.before_depth_m = layout::depth_at_volume(vessel_, answer_.before_m3);
    shut_feeds();
    find_ways();
    follow();
    if (!answer_.course.vessels.empty()) {
        answer_.end_depth_m = answer_.course.vessels[at(wanted_->vessel)].end_depth_m;
        answer_.end_m3 = answer_.course.vessels[at(wanted_->vessel)].end_volume_m3;
        read_times();
        account();
    }
    say_stop();
    return std::move(answer_);
}

}  // namespace

const char* name_of(WayOut kind) {
    static constexpr std::array<const char*, 6> kNames = {"lip", "hole", "siphon", "port", "inlet", "pump"};
    return kNames[static_cast<std::size_t>(kind)];
}

const char* name_of(DrainStop stop) {
    static constexpr std::array<const char*, 7> kNames = {"drained", "shut-in", "level-with", "held", "not-yet", "no-water", "no-answer"};
    return kNames[static_cast<std::size_t>(stop)];
}

DrainAnswer drain_down(Simulation& simulation, const DrainWanted& wanted) {
    const OptionsKept kept(simulation);
    return Drain(simulation, wanted).answer();
}

}  // namespace ebb::time
