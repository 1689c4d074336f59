#include "solver/survey/row.h"

#include <algorithm>
#include <cassert>

#include "solver/physics/suction.h"
#include "solver/physics/water.h"
#include "solver/settle/heads.h"

namespace ebb::survey {

namespace {

using layout::said;

TargetState state_of(const settle::Target& target) {
    if (!target.asked) return TargetState::not_asked;
    return target.met ? TargetState::met : TargetState::missed;
}

}  // namespace

std::vector<TargetColumn> targets_of(const layout::Layout& layout) {
    std::vector<TargetColumn> targets;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const layout::Vessel& vessel = layout.vessels[v];
        const auto index = static_cast<std::int32_t>(v);
        if (said(vessel.turnover_s)) targets.push_back({.vessel = index, .quantity = "turnover_s", .at_most = true, .wanted = vessel.turnover_s});
        if (said(vessel.inflow_m3_s)) targets.push_back({.vessel = index, .quantity = "inflow_m3_s", .at_most = false, .wanted = vessel.inflow_m3_s});
    }
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (said(layout.tees[t].least_pressure_m))
            targets.push_back(
                {.tee = static_cast<std::int32_t>(t), .quantity = "pressure_m", .at_most = false, .wanted = layout.tees[t].least_pressure_m});
    return targets;
}

double most_hanging_m(const layout::Layout& layout) {
    return physics::npsh_available_m(physics::water_at(layout.water_temperature_c, layout.altitude_m), 0.0);
}

bool stands_below_least(const layout::Layout& layout, const Block& block, std::size_t row, std::size_t vessel) {
    return block.depth_m[row * block.vessels + vessel] < layout.vessels[vessel].least_depth_m - kSeenBelowLeast_m;  // never where none is said
}

bool spills_over(const Block& block, std::size_t row, std::size_t vessel) {
    const std::size_t i = row * block.vessels + vessel;
    return block.spill_m3_s[i] > kSpill_m3_s || block.spilled_m3[i] > kSpilled_m3;
}

void note_hanging(std::size_t row, std::size_t tee, double pressure_m, double most_m, Block& block) {
    if (!(pressure_m < -settle::kHangs_m)) return;  // or nothing determines it
    const bool breaks = pressure_m < -most_m;
    block.alarms[row] |= breaks ? kBelowVapour : kUnderVacuum;
    block.hanging.push_back(
        {.row = static_cast<std::uint32_t>(row), .tee = static_cast<std::int32_t>(tee), .pressure_m = pressure_m, .breaks = breaks});
}

void resize(const layout::Layout& layout, std::size_t targets, std::size_t rows, Block& block) {
    block.rows = rows;
    block.vessels = layout.vessels.size();
    block.pumps = layout.pumps.size();
    block.targets = targets;
    block.state.assign(rows, settle::State::not_run);
    block.alarms.assign(rows, 0);
    for (auto* values : {&block.depth_m, &block.volume_m3, &block.inflow_m3_s, &block.spill_m3_s, &block.spilled_m3})
        values->assign(rows * block.vessels, settle::kUnknown);
    for (auto* values : {&block.pump_flow_m3_s, &block.pump_head_m, &block.pump_power_w, &block.pump_best_ratio})
        values->assign(rows * block.pumps, settle::kUnknown);
    block.pump_alarms.assign(rows * block.pumps, 0);
    block.hanging.clear();
    block.pipe_flow_m3_s.assign(rows * block.pipes, settle::kUnknown);
    block.target_got.assign(rows * targets, settle::kUnknown);
    block.target_state.assign(rows * targets, TargetState::unknown);
}

namespace {

/// All values of a row unknown again.
void clear_row(std::size_t row, Block& block) {
    const auto clear = [row](auto& values, std::size_t things, auto with) {
        std::fill_n(values.begin() + static_cast<std::ptrdiff_t>(row * things), things, with);
    };
    for (auto* values : {&block.depth_m, &block.volume_m3, &block.inflow_m3_s, &block.spill_m3_s, &block.spilled_m3})
        clear(*values, block.vessels, settle::kUnknown);
    for (auto* values : {&block.pump_flow_m3_s, &block.pump_head_m, &block.pump_power_w, &block.pump_best_ratio})
        clear(*values, block.pumps, settle::kUnknown);
    clear(block.pump_alarms, block.pumps, std::uint8_t{0});
    std::erase_if(block.hanging, [row](const Hanging& one) { return one.row == row; });
    clear(block.pipe_flow_m3_s, block.pipes, settle::kUnknown);
    clear(block.target_got, block.targets, settle::kUnknown);
    clear(block.target_state, block.targets, TargetState::unknown);
}

}  // namespace

void write_row(const layout::Layout& layout, const settle::Answer& answer, std::size_t row, Block& block) {
    clear_row(row, block);
    block.state[row] = answer.state;
    std::uint8_t& alarms = block.alarms[row];
    alarms = kSolvedAlone;
    if (answer.state == settle::State::no_solution || answer.state == settle::State::not_run) return;
    for (std::size_t v = 0; v < block.vessels; ++v) {
        const settle::VesselAnswer& a = answer.vessels[v];
        const std::size_t i = row * block.vessels + v;
        block.depth_m[i] = a.depth_m;
        block.volume_m3[i] = a.volume_m3;
        block.inflow_m3_s[i] = a.inflow_m3_s;
        block.spill_m3_s[i] = a.spill_m3_s;
        block.spilled_m3[i] = a.spilled_m3;
        if (spills_over(block, row, v)) alarms |= kSpills;
        if (said(layout.vessels[v].least_depth_m) && a.depth_m < layout.vessels[v].least_depth_m - kSeenBelowLeast_m) alarms |= kBelowLeast;
    }
    for (std::size_t p = 0; p < block.pumps; ++p) {
        const settle::PumpAnswer& a = answer.pumps[p];
        const std::size_t i = row * block.pumps + p;
        block.pump_flow_m3_s[i] = a.flow_m3_s;
        block.pump_power_w[i] = a.power_w;
        if (!a.running) continue;
        block.pump_head_m[i] = a.head_m;
        block.pump_best_ratio[i] = a.best_point_ratio;
        std::uint8_t& own = block.pump_alarms[i];
        if (a.intake_bare) own |= kIntakeBare;
        if (a.beyond_curve) own |= kBeyondCurve;
        if (a.against_shut) own |= kAgainstShut;
        alarms |= own;
    }
    const double most_m = most_hanging_m(layout);
    for (std::size_t t = 0; t < answer.tees.size(); ++t) note_hanging(row, t, answer.tees[t].pressure_m, most_m, block);
    for (std::size_t p = 0; p < block.pipes; ++p) block.pipe_flow_m3_s[row * block.pipes + p] = answer.pipes[p].flow_m3_s;
    assert(answer.targets.size() == block.targets);
    for (std::size_t t = 0; t < block.targets; ++t) {
        block.target_got[row * block.targets + t] = answer.targets[t].got;
        block.target_state[row * block.targets + t] = state_of(answer.targets[t]);
    }
}

Block part_of(const Block& block, std::size_t begin, std::size_t end) {
    Block part;
    part.first = block.first + begin;
    part.rows = end - begin;
    part.vessels = block.vessels;
    part.pumps = block.pumps;
    part.targets = block.targets;
    part.pipes = block.pipes;
    const auto cut = [&](const auto& from, auto& to, std::size_t things) {
        to.assign(from.begin() + static_cast<std::ptrdiff_t>(begin * things), from.begin() + static_cast<std::ptrdiff_t>(end * things));
    };
    cut(block.state, part.state, 1);
    cut(block.alarms, part.alarms, 1);
    cut(block.depth_m, part.depth_m, block.vessels);
    cut(block.volume_m3, part.volume_m3, block.vessels);
    cut(block.inflow_m3_s, part.inflow_m3_s, block.vessels);
    cut(block.spill_m3_s, part.spill_m3_s, block.vessels);
    cut(block.spilled_m3, part.spilled_m3, block.vessels);
    cut(block.pump_flow_m3_s, part.pump_flow_m3_s, block.pumps);
    cut(block.pump_head_m, part.pump_head_m, block.pumps);
    cut(block.pump_power_w, part.pump_power_w, block.pumps);
    cut(block.pump_best_ratio, part.pump_best_ratio, block.pumps);
    cut(block.pump_alarms, part.pump_alarms, block.pumps);
    for (const Hanging& one : block.hanging)
        if (one.row >= begin && one.row < end) {
            part.hanging.push_back(one);
            part.hanging.back().row -= static_cast<std::uint32_t>(begin);
        }
    cut(block.pipe_flow_m3_s, part.pipe_flow_m3_s, block.pipes);
    cut(block.target_got, part.target_got, block.targets);
    cut(block.target_state, part.target_state, block.targets);
    return part;
}

}  // namespace ebb::survey
