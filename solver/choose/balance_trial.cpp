// A trial is the settled state of the network under one setting, without the walk from the start depths (settle/levels.h) that costs most and
// changes nothing where no water is lost on the way: the setting that is found is solved once more in full by who asked for it.
//
// SettingSlopes are differences: a valve is closed by what would drop kStep_m more at its flow, a step that the law of the pipe bends by less than a
// thousandth and that the solve's own error (1e-9 m) blurs by less than 1e-5. Newton's method on them still gains three digits a step.

#include "solver/choose/balance_trial.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/balance.h"
#include "solver/physics/fittings.h"
#include "solver/physics/opening.h"

namespace ebb::choose {

namespace {

using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kStep_m = 2e-4, kStepShare = 1e-4;
constexpr double kSpeedStep = 1e-4;

}  // namespace

std::size_t BalanceFrame::outlet_count() const {
    std::size_t count = 0;
    for (const BalanceCase& one : cases) count += one.outlets.size();
    return count;
}

double BalanceFrame::head_coefficient(std::size_t i) const {
    const layout::Pipe& pipe = layout->pipes[at(layout->valves[at(valves[i])].pipe)];
    return physics::velocity_head_coefficient(physics::bore_area_m2(pipe.bore_m));
}

double opening_for_extra(physics::ValveKind kind, double extra) {
    if (!(extra > 0.0)) return 1.0;
    constexpr int kHalvings = 200;
    double low = std::log(kLeastOpening), high = 0.0;
    for (int i = 0; i < kHalvings; ++i) {
        const double middle = 0.5 * (low + high);
        if (middle <= low || middle >= high) break;
        (physics::valve_loss_coefficient(kind, std::exp(middle), 0.0) > extra ? low : high) = middle;
    }
    return std::exp(0.5 * (low + high));
}

double throttle_drop_m(const BalanceFrame& frame, const ValveSetting& setting, const SeenCase& seen, std::size_t i) {
    return frame.head_coefficient(i) * setting.extra[i] * seen.flow_m3_s[i] * seen.flow_m3_s[i];
}

double wanted_flow_m3_s(const OutletWanted& wanted, const settle::VesselAnswer& vessel) {
    const double turnover = said(wanted.turnover_s) ? vessel.volume_m3 / wanted.turnover_s : 0.0;
    return std::max(said(wanted.inflow_m3_s) ? wanted.inflow_m3_s : 0.0, turnover);
}

double share_of(const OutletWanted& wanted, const settle::VesselAnswer& vessel) {
    const double flow = wanted_flow_m3_s(wanted, vessel);
    if (!(vessel.inflow_m3_s > 0.0)) return 0.0;
    return flow > 0.0 ? vessel.inflow_m3_s / flow : HUGE_VAL;
}

BalanceTrial::BalanceTrial(const BalanceFrame& frame, bool walk)
    : frame_(frame), walk_(walk), start_(settle::start_of(*frame.layout)), model_(std::make_unique<settle::Model>(network::compile(*frame.layout))) {}

layout::Conditions BalanceTrial::conditions_of(const ValveSetting& setting, std::size_t which) const {
    const BalanceCase& one = frame_.cases[which];
    layout::Conditions conditions = one.conditions;
    for (std::size_t i = 0; i < frame_.valves.size(); ++i)
        if (one.shut[i] == 0)
            conditions.valve_opening[at(frame_.valves[i])] = opening_for_extra(frame_.layout->valves[at(frame_.valves[i])].kind, setting.extra[i]);
    for (std::size_t p = 0; p < frame_.pumps.size(); ++p)
        if (conditions.pump_speed[at(frame_.pumps[p])] > 0.0) conditions.pump_speed[at(frame_.pumps[p])] = setting.speed[p];
    return conditions;
}

settle::Answer BalanceTrial::answer(const ValveSetting& setting, std::size_t which) {
    settle::LevelTolerances tolerances;
    tolerances.network.flow_share = settle::Options{}.flow_tolerance;
    tolerances.walk = walk_;
    const layout::Conditions conditions = conditions_of(setting, which);
    const settle::Solved solved = settle::solve_model(*model_, *frame_.layout, conditions, frame_.cases[which].at_start_levels, start_, tolerances);
    ++solves_;
    network::Point point = solved.levels.point;
    model_->solver.look_at(solved.settings, point);
    settle::Answer answer;
    settle::fill_answer(*model_, *frame_.layout, conditions, solved, answer);
    return answer;
}

SeenCase BalanceTrial::look_at(const ValveSetting& setting, std::size_t which) {
    const settle::Answer found = answer(setting, which);
    SeenCase seen;
    seen.solved = settle::solved(found.state) || found.state == settle::State::cycles;
    if (!seen.solved) return seen;
    for (const OutletWanted& outlet : frame_.cases[which].outlets) {
        seen.share.push_back(share_of(outlet, found.vessels[at(outlet.vessel)]) / kAim);
        seen.wanted_m3_s.push_back(wanted_flow_m3_s(outlet, found.vessels[at(outlet.vessel)]));
        seen.solved = seen.solved && std::isfinite(seen.share.back());
    }
    for (const std::int32_t valve : frame_.valves) {
        const double flow = found.pipes[at(frame_.layout->valves[at(valve)].pipe)].flow_m3_s;
        seen.flow_m3_s.push_back(std::isfinite(flow) ? flow : 0.0);
    }
    return seen;
}

SeenSetting BalanceTrial::look(const ValveSetting& setting) {
    SeenSetting seen;
    seen.solved = true;
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        seen.cases.push_back(look_at(setting, c));
        seen.solved = seen.solved && seen.cases.back().solved;
        if (!seen.solved) return seen;
        for (std::size_t i = 0; i < frame_.valves.size(); ++i) seen.throttled_m += throttle_drop_m(frame_, setting, seen.cases.back(), i);
    }
    return seen;
}

SettingSlopes BalanceTrial::slopes(const ValveSetting& setting, const SeenSetting& seen) {
    SettingSlopes slopes;
    for (std::size_t u = 0; u < frame_.unknowns(); ++u) {
        const bool is_valve = u < frame_.valves.size();
        ValveSetting moved = setting;
        double step = 0.0;
        if (is_valve) {
            double most = 0.0;
            for (const SeenCase& one : seen.cases) most = std::max(most, std::abs(one.flow_m3_s[u]));
            const double scale = frame_.head_coefficient(u) * most * most;
            step = most > kDead_m3_s ? kStep_m / scale + kStepShare * setting.extra[u] : 0.0;
            moved.extra[u] += step;
        } else {
            const std::size_t p = u - frame_.valves.size();
            step = setting.speed[p] + kSpeedStep > frame_.greatest_speed[p] ? -kSpeedStep : kSpeedStep;
            moved.speed[p] += step;
        }
        SeenSetting slope = seen;
        const SeenSetting there = step != 0.0 ? look(moved) : seen;
        for (std::size_t c = 0; c < seen.cases.size(); ++c) {
            const bool known = step != 0.0 && there.solved;
            for (std::size_t i = 0; i < slope.cases[c].share.size(); ++i)
                slope.cases[c].share[i] = known ? (there.cases[c].share[i] - seen.cases[c].share[i]) / step : 0.0;
            for (std::size_t i = 0; i < slope.cases[c].flow_m3_s.size(); ++i)
                slope.cases[c].flow_m3_s[i] = known ? (there.cases[c].flow_m3_s[i] - seen.cases[c].flow_m3_s[i]) / step : 0.0;
        }
        slopes.by.push_back(std::move(slope));
    }
    return slopes;
}

}  // namespace ebb::choose
