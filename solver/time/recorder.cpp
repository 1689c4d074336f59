#include "solver/time/recorder.h"

#include <algorithm>
#include <cmath>

namespace ebb::time {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kRuns_m3_s = 1e-9;  ///< a pump that gives less gives nothing

/// A link whose flow changes by more than this share of the largest flow within a step bends: then the middle of the step is looked at too.
constexpr double kBends = 0.01;

/// A depth as it is told: the film that stands over a rim while it spills, and the few thousandths of a millimetre by which the integration may
/// miss the end of an emptying, are not.
double within(const network::Storage& storage, double depth_m) { return std::clamp(depth_m, 0.0, storage.rim_m - storage.floor_m); }

void lower(double& least, double value) { least = std::isnan(least) ? value : std::min(least, value); }
void raise(double& greatest, double value) { greatest = std::isnan(greatest) ? value : std::max(greatest, value); }

}  // namespace

Recorder::Recorder(const layout::Layout& layout, const network::Network& network, const Plan& plan, const Options& options, Course& course)
    : layout_(&layout), network_(&network), options_(&options), course_(&course), beds_(layout) {
    const std::size_t vessels = layout.vessels.size(), pumps = layout.pumps.size();
    course.vessels.resize(vessels);
    course.pumps.resize(pumps);
    course.pipes.resize(layout.pipes.size());
    course.float_valves.resize(layout.float_valves.size());
    course.supplies.resize(layout.supplies.size());
    course.ponds.resize(layout.ponds.size());
    course.draws.resize(plan.routine.draws.size());
    course.uptakes.resize(plan.routine.uptakes.size());
    course.tees.resize(layout.tees.size());
    course.hoses_m3.assign(plan.hoses.size(), 0.0);
    for (Sample* sample : {&before_, &middle_, &now_}) {
        for (auto* list : {&sample->level, &sample->volume, &sample->area, &sample->inflow, &sample->outflow, &sample->net})
            list->assign(vessels, 0.0);
        sample->pump_flow.assign(pumps, 0.0);
        sample->power.assign(pumps, 0.0);
        sample->link_flow.assign(network.links.size(), 0.0);
        sample->spilled.assign(vessels, 0.0);
        sample->pond.assign(layout.ponds.size(), 0.0);
    }
    speed_.assign(pumps, 0.0);
    bare_.assign(pumps, 0);
    for (auto* list : {&inflow_m3_, &depth_s_, &volume_s_, &depth_inside_}) list->assign(vessels, 0.0);
    energy_j_.assign(pumps, 0.0);
    for (std::size_t p = 0; p < pumps; ++p)
        if (!layout.pump_models[at(layout.pumps[p].model)].has_power) energy_j_[p] = kUnknown;
}

void Recorder::sample(double t_s, std::span<const double> state, const WaterBalance& balance, Sample& into) const {
    const network::Point& point = balance.point();
    const std::size_t vessels = layout_->vessels.size();
    into.t_s = t_s;
    std::fill(into.inflow.begin(), into.inflow.end(), 0.0);
    std::fill(into.outflow.begin(), into.outflow.end(), 0.0);
    for (std::size_t l = 0; l < network_->links.size(); ++l) {
        const double flow = point.flow_m3_s[l];
        into.link_flow[l] = flow;
        if (flow == 0.0) continue;
        const network::Link& link = network_->links[l];
        const std::int32_t gives = flow > 0.0 ? link.from : link.to, gets = flow > 0.0 ? link.to : link.from;
        if (network_->is_vessel(gives)) into.outflow[at(gives - network_->plain_count)] += std::abs(flow);
        if (network_->is_vessel(gets)) into.inflow[at(gets - network_->plain_count)] += std::abs(flow);
    }
    for (std::size_t v = 0; v < vessels; ++v) {
        into.level[v] = balance.level_m(v, state);
        into.volume[v] = state[v];
        into.area[v] = network::volume_at_level(network_->storage[v], into.level[v]).slope;
        into.net[v] = into.inflow[v] - into.outflow[v];
    }
    balance.add_what_comes_by_hand(state, into.net);
    if (options_->keep_flows) {
        for (std::size_t v = 0; v < vessels; ++v) into.spilled[v] = state[balance.spilled_at(v)];
        for (std::size_t f = 0; f < into.pond.size(); ++f) into.pond[f] = state[balance.given_at(f)];
    }
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const double flow = point.flow_m3_s[at(network_->pump_link[p])];
        into.pump_flow[p] = flow;
        into.power[p] = 0.0;
        if (speed_[p] <= 0.0) continue;
        const network::PumpLaw& law = network_->pumps[p];
        into.power[p] = law.curve.power_w(std::max(0.0, flow), {.speed = speed_[p], .count = law.count, .wear = law.wear});
    }
}

void Recorder::note_depth(std::size_t vessel, double level, double t_s) {
    VesselCourse& course = course_->vessels[vessel];
    const network::Storage& storage = network_->storage[vessel];
    const double depth = within(storage, level - storage.floor_m);
    if (!(depth >= course.least_depth_m)) {
        course.least_depth_m = depth;
        course.least_at_s = t_s;
    }
    if (!(depth <= course.greatest_depth_m)) {
        course.greatest_depth_m = depth;
        course.greatest_at_s = t_s;
    }
}

/// Where a level turned between two steps, its extreme is that of the cubic through both ends.
void Recorder::extremes(std::size_t vessel) {
    note_depth(vessel, now_.level[vessel], now_.t_s);
    const double length = now_.t_s - before_.t_s;
    const double first = before_.net[vessel] / before_.area[vessel] * length, second = now_.net[vessel] / now_.area[vessel] * length;
    if (first * second >= 0.0 || length <= 0.0) return;
    // h(s) = l0 + first s + (3 d - 2 first - second) s^2 + (first + second - 2 d) s^3, 0 <= s <= 1
    const double rise = now_.level[vessel] - before_.level[vessel];
    const double b = 3.0 * rise - 2.0 * first - second, c = first + second - 2.0 * rise;
    const double root = std::sqrt(std::max(0.0, b * b - 3.0 * c * first));
    struct Ratio {
        double above, below;  // below is 0 where the cubic is a parabola, or bends alike on both sides of where it turns
    };
    for (const Ratio& ratio : {Ratio{-b + root, 3.0 * c}, Ratio{-b - root, 3.0 * c}, Ratio{-first, 2.0 * b}}) {
        if (ratio.below == 0.0) continue;
        const double s = ratio.above / ratio.below;
        if (std::isfinite(s) && s > 0.0 && s < 1.0 && std::abs(first + 2.0 * b * s + 3.0 * c * s * s) < 1e-6 * (std::abs(first) + std::abs(second)))
            note_depth(vessel, before_.level[vessel] + s * (first + s * (b + s * c)), before_.t_s + s * length);
    }
}

/// Integral over the step: Simpson's rule where its middle was looked at, else the trapezoidal one.
double Recorder::between(double first, double middle, double second, double length_s) const {
    return (has_middle_ ? (first + 4.0 * middle + second) / 6.0 : 0.5 * (first + second)) * length_s;
}

/// Looks at the middle of the step where a flow bends in it.
void Recorder::look_at_middle(WaterBalance& balance, const Stepper& stepper) {
    double largest = 0.0, bend = 0.0;
    for (std::size_t l = 0; l < now_.link_flow.size(); ++l) {
        largest = std::max({largest, std::abs(now_.link_flow[l]), std::abs(before_.link_flow[l])});
        bend = std::max(bend, std::abs(now_.link_flow[l] - before_.link_flow[l]));
    }
    has_middle_ = bend > kBends * largest;
    if (!has_middle_) return;
    state_inside_.resize(balance.size());
    const double middle_s = 0.5 * (before_.t_s + now_.t_s);
    has_middle_ = stepper.inside(middle_s, state_inside_) && balance.solve_at(state_inside_);
    if (has_middle_) sample(middle_s, state_inside_, balance, middle_);
}

void Recorder::pumps_between(double length_s) {
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        PumpCourse& course = course_->pumps[p];
        course.pumped_m3 += between(before_.pump_flow[p], middle_.pump_flow[p], now_.pump_flow[p], length_s);
        if (speed_[p] <= 0.0) continue;
        energy_j_[p] += between(before_.power[p], middle_.power[p], now_.power[p], length_s);
        course.run_s += length_s;
        if (bare_[p] != 0) {
            course.dry_s += length_s;
            if (std::isnan(course.first_dry_s)) course.first_dry_s = before_.t_s;
        }
        lower(course.least_flow_m3_s, now_.pump_flow[p]);
        raise(course.greatest_flow_m3_s, now_.pump_flow[p]);
    }
}

void Recorder::pipes_between(double length_s) {
    for (std::size_t p = 0; p < layout_->pipes.size(); ++p) {
        const auto l = at(network_->pipe_link[p]);
        const double first = before_.link_flow[l], middle = middle_.link_flow[l], second = now_.link_flow[l];
        PipeCourse& course = course_->pipes[p];
        course.net_m3 += between(first, middle, second, length_s);
        course.backward_m3 -= between(std::min(0.0, first), std::min(0.0, middle), std::min(0.0, second), length_s);
        course.greatest_flow_m3_s = std::max(course.greatest_flow_m3_s, std::abs(second));
    }
    for (std::size_t f = 0; f < layout_->float_valves.size(); ++f) {
        const auto l = at(network_->float_link[f]);
        course_->float_valves[f].given_m3 += between(before_.link_flow[l], middle_.link_flow[l], now_.link_flow[l], length_s);
    }
}

void Recorder::begin(double t_s, std::span<const double> state, const WaterBalance& balance, const Moment& moment) {
    for (std::size_t p = 0; p < speed_.size(); ++p) {
        const double speed = moment.conditions.pump_speed[p];
        if (speed > 0.0 && speed_[p] <= 0.0) ++course_->pumps[p].starts;
        speed_[p] = speed;
    }
    sample(t_s, state, balance, now_);
    for (std::size_t v = 0; v < now_.level.size(); ++v) note_depth(v, now_.level[v], t_s);
    beds_.flows(t_s, now_.inflow, now_.outflow);
    if (!options_->keep_series) return;
    if (!std::isnan(options_->series_every_s)) {
        if (t_s > 0.0) return;
        course_->series = {};  // what ran just before the beginning is not in it
        next_row_s_ = options_->series_every_s;
    }
    for (std::size_t v = 0; v < now_.level.size(); ++v) depth_inside_[v] = balance.depth_m(v, state);
    row(t_s, depth_inside_, now_);
}

void Recorder::row(double t_s, std::span<const double> depth, const Sample& flows) {
    Series& series = course_->series;
    series.t_s.push_back(t_s);
    for (std::size_t v = 0; v < depth.size(); ++v) {
        const network::Storage& storage = network_->storage[v];
        series.depth_m.push_back(within(storage, depth[v]));
    }
    series.pump_m3_s.insert(series.pump_m3_s.end(), flows.pump_flow.begin(), flows.pump_flow.end());
    if (!options_->keep_flows) return;
    series.inflow_m3_s.insert(series.inflow_m3_s.end(), flows.inflow.begin(), flows.inflow.end());
    series.outflow_m3_s.insert(series.outflow_m3_s.end(), flows.outflow.begin(), flows.outflow.end());
    series.spilled_m3.insert(series.spilled_m3.end(), flows.spilled.begin(), flows.spilled.end());
    series.pond_m3.insert(series.pond_m3.end(), flows.pond.begin(), flows.pond.end());
}

void Recorder::series(double t_s, const WaterBalance& balance, const Stepper& stepper) {
    if (!options_->keep_series) return;
    const std::size_t vessels = layout_->vessels.size();
    if (std::isnan(options_->series_every_s)) {
        for (std::size_t v = 0; v < vessels; ++v) depth_inside_[v] = now_.level[v] - network_->storage[v].floor_m;
        row(t_s, depth_inside_, now_);
        return;
    }
    if (next_row_s_ > t_s * (1.0 + 1e-15)) return;
    state_inside_.resize(balance.size());
    Sample flows = before_;
    while (next_row_s_ <= t_s * (1.0 + 1e-15)) {
        if (!stepper.inside(std::min(next_row_s_, t_s), state_inside_)) break;
        for (std::size_t v = 0; v < vessels; ++v) depth_inside_[v] = balance.depth_m(v, state_inside_);
        const double length = now_.t_s - before_.t_s;
        const double share = length > 0.0 ? (next_row_s_ - before_.t_s) / length : 1.0;
        const auto blend = [&](std::vector<double> Sample::*list) {
            for (std::size_t i = 0; i < (flows.*list).size(); ++i) (flows.*list)[i] = std::lerp((before_.*list)[i], (now_.*list)[i], share);
        };
        blend(&Sample::pump_flow);
        if (options_->keep_flows)
            for (const auto list : {&Sample::inflow, &Sample::outflow, &Sample::spilled, &Sample::pond}) blend(list);
        row(next_row_s_, depth_inside_, flows);
        next_row_s_ = std::round(next_row_s_ / options_->series_every_s + 1.0) * options_->series_every_s;
    }
}

void Recorder::step(double t_s, std::span<const double> state, WaterBalance& balance, const Stepper& stepper) {
    std::swap(before_, now_);
    sample(t_s, state, balance, now_);
    look_at_middle(balance, stepper);
    const double length = t_s - before_.t_s;
    for (std::size_t v = 0; v < now_.level.size(); ++v) {
        extremes(v);
        const double floor = network_->storage[v].floor_m;
        inflow_m3_[v] += between(before_.inflow[v], middle_.inflow[v], now_.inflow[v], length);
        depth_s_[v] += between(before_.level[v] - floor, middle_.level[v] - floor, now_.level[v] - floor, length);
        volume_s_[v] += between(before_.volume[v], middle_.volume[v], now_.volume[v], length);
    }
    pumps_between(length);
    pipes_between(length);
    beds_.flows(t_s, now_.inflow, now_.outflow);
    series(t_s, balance, stepper);
}

double Recorder::fastest_level_m_s() const {
    double fastest = 0.0;
    for (std::size_t v = 0; v < now_.level.size(); ++v) {
        const bool over = now_.level[v] >= network_->storage[v].rim_m && now_.net[v] > 0.0;
        if (!over) fastest = std::max(fastest, std::abs(now_.net[v]) / now_.area[v]);
    }
    return fastest;
}

Totals Recorder::totals(double t_s, std::span<const double> state, const WaterBalance& balance) const {
    Totals totals{.t_s = t_s, .inflow_m3 = inflow_m3_, .depth_s = depth_s_, .volume_s = volume_s_, .spilled_m3 = {}, .energy_j = energy_j_};
    for (std::size_t v = 0; v < inflow_m3_.size(); ++v) totals.spilled_m3.push_back(state[balance.spilled_at(v)]);
    return totals;
}

void Recorder::finish(const Totals& from, const Totals& to, std::span<const double> state, const WaterBalance& balance) {
    Course& course = *course_;
    const double length = to.t_s - from.t_s;
    course.cycle_begin_s = from.t_s;
    course.cycle_end_s = to.t_s;
    for (std::size_t v = 0; v < course.vessels.size(); ++v) {
        VesselCourse& vessel = course.vessels[v];
        const network::Storage& storage = network_->storage[v];
        vessel.end_depth_m = within(storage, balance.depth_m(v, state));
        const double full_m3 = network::volume_at_level(storage, storage.rim_m).value;
        vessel.end_volume_m3 = std::clamp(state[v], 0.0, full_m3);
        vessel.least_freeboard_m = storage.rim_m - storage.floor_m - vessel.greatest_depth_m;
        vessel.spilled_m3 = state[balance.spilled_at(v)] + std::max(0.0, state[v] - full_m3);  // what stands over the rim is as good as gone
        vessel.spilled_in_cycle_m3 = to.spilled_m3[v] - from.spilled_m3[v];
        if (length <= 0.0) continue;
        vessel.mean_depth_m = std::max(0.0, (to.depth_s[v] - from.depth_s[v]) / length);
        vessel.mean_volume_m3 = std::max(0.0, (to.volume_s[v] - from.volume_s[v]) / length);
        vessel.mean_inflow_m3_s = (to.inflow_m3[v] - from.inflow_m3[v]) / length;
        vessel.turnover_s = vessel.mean_inflow_m3_s > kRuns_m3_s ? vessel.mean_volume_m3 / vessel.mean_inflow_m3_s : kUnknown;
    }
    course.cycle_energy_j = 0.0;
    for (std::size_t p = 0; p < course.pumps.size(); ++p) {
        course.pumps[p].energy_j = energy_j_[p];
        course.cycle_energy_j += to.energy_j[p] - from.energy_j[p];
    }
    const std::size_t ponds = course.ponds.size();
    for (std::size_t f = 0; f < ponds; ++f) course.ponds[f].given_m3 = state[balance.given_at(f)];
    for (std::size_t f = 0; f < course.supplies.size(); ++f) course.supplies[f].given_m3 = state[balance.given_at(ponds + f)];
    for (std::size_t d = 0; d < course.draws.size(); ++d) course.draws[d].taken_m3 = state[balance.draw_at(d)];
    for (std::size_t u = 0; u < course.uptakes.size(); ++u) course.uptakes[u].taken_m3 = state[balance.uptake_at(u)];
    for (std::size_t tap = 0; tap < balance.tapped_tees().size(); ++tap)
        course.tees[balance.tapped_tees()[tap]].taken_m3 = state[balance.tapped_at(tap)];
    for (auto* list : {&course.draws, &course.uptakes, &course.tees})
        for (TakenCourse& taken : *list) taken.missing_m3 = std::max(0.0, taken.wanted_m3 - taken.taken_m3);
    for (std::size_t h = 0; h < course.hoses_m3.size(); ++h) course.hoses_m3[h] = state[balance.poured_at(h)];
}

}  // namespace ebb::time
