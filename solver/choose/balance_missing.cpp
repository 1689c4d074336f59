// Why water is missing: at the neediest outlet, the one with nothing left to open on its way. Three questions, each solved: what the pump would have
// to lift (the same search with its speed let go beyond full: by the affinity laws that is a larger pump of its kind), what the outlet gets when
// it has the water to itself, and in which pipe the head is lost.

#include <algorithm>
#include <cmath>

#include "solver/choose/balance_report.h"
#include "solver/choose/balance_ways.h"

namespace ebb::choose {

namespace {

using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kMostSpeed = 3.0;   ///< nine times the head: beyond that it is not the pump
constexpr double kOpenWay_m = 1e-6;  ///< a way that drops less in its valves is open
constexpr double kFoundDuty = 1e-4;

/// The case in which an outlet lacks most, and in it the outlet that nothing more can be opened for.
std::int32_t neediest(const BalanceAnswer& answer) {
    std::int32_t worst = -1;
    for (std::size_t i = 0; i < answer.outlets.size(); ++i)
        if (answer.outlets[i].aimed && (worst < 0 || answer.outlets[i].share < answer.outlets[at(worst)].share)) worst = static_cast<std::int32_t>(i);
    if (worst < 0 || answer.outlets[at(worst)].share >= 1.0 - kBalanced) return -1;
    const std::int32_t arrangement = answer.outlets[at(worst)].arrangement;
    const double alike = answer.outlets[at(worst)].share + kBalanced;
    std::int32_t best = worst;
    for (std::size_t i = 0; i < answer.outlets.size(); ++i) {
        const BalancedOutlet& outlet = answer.outlets[i];
        if (!outlet.aimed || outlet.arrangement != arrangement || outlet.share > alike) continue;
        const double least = answer.outlets[at(best)].path_throttle_m;
        if (outlet.path_throttle_m < least - kOpenWay_m) best = static_cast<std::int32_t>(i);
    }
    return best;
}

/// The duty of `pump` that would meet every target of case `c`; NaN in `missing` when none does.
void find_duty(const BalanceFound& found, std::size_t c, const settle::Answer& after, BalanceAnswer& answer) {
    MissingWater& missing = answer.missing;
    const Layout& layout = *found.frame.layout;
    BalanceFrame frame = found.frame;
    frame.cases = {found.frame.cases[c]};
    const double now = [&] {
        for (const BalancedPump& pump : answer.pumps)
            if (pump.pump == missing.pump) return pump.speed;
        return frame.cases.front().conditions.pump_speed[at(missing.pump)];
    }();
    ValveSetting start = found.searched.setting;
    auto place = std::find(frame.pumps.begin(), frame.pumps.end(), missing.pump);
    if (place == frame.pumps.end()) {
        frame.pumps.push_back(missing.pump);
        frame.least_speed.push_back(now);
        frame.greatest_speed.push_back(kMostSpeed);
        start.speed.push_back(now);
    } else {
        frame.greatest_speed[static_cast<std::size_t>(place - frame.pumps.begin())] = kMostSpeed;
    }
    BalanceTrial trial(frame, false);
    const SearchOptions options{.head_scale_m = found.head_scale_m, .stop = found.problem.stop, .progress = {}};
    const Searched searched = search_balance(frame, trial, {start}, options);
    answer.positions_tried += searched.positions;
    const settle::Answer wanted = searched.found ? trial.answer(searched.setting, 0) : after;
    answer.network_solves += trial.solves();
    if (!searched.found || searched.lacks > kFoundDuty) return;
    const settle::PumpAnswer& duty = wanted.pumps[at(missing.pump)];
    const layout::Pump& pump = layout.pumps[at(missing.pump)];
    missing.needed_flow_m3_s = duty.flow_m3_s;
    missing.needed_head_m = duty.head_m;
    missing.given_head_m =
        layout.pump_models[at(pump.model)].curve.head(duty.flow_m3_s, {.speed = now, .count = pump.count, .wear = pump.wear}).value;
    missing.shared_setting = found.frame.cases.size() > 1 && duty.head_m <= missing.given_head_m * (1.0 + kFoundDuty);
}

}  // namespace

void explain_missing(const BalanceFound& found, settle::Farm& farm, const std::vector<settle::Answer>& after, BalanceAnswer& answer) {
    const std::int32_t which = neediest(answer);
    if (which < 0) return;
    const Layout& layout = *found.frame.layout;
    const BalancedOutlet& outlet = answer.outlets[at(which)];
    constexpr double kAlike = 1e-5;
    if (answer.worst_deviation - (1.0 - outlet.share) < kAlike) {  // of those equally far off it is the one that says why
        answer.worst_outlet = which;
        answer.worst_deviation = 1.0 - outlet.share;
    }
    MissingWater& missing = answer.missing;
    missing.arrangement = outlet.arrangement;
    missing.vessel = outlet.vessel;
    missing.greatest_share = outlet.share;
    std::size_t c = 0;
    while (found.frame.cases[c].arrangement != outlet.arrangement) ++c;

    layout::Conditions conditions = found.frame.cases[c].conditions;
    for (std::size_t v = 0; v < found.frame.valves.size(); ++v) {
        if (found.frame.cases[c].shut[v] != 0) continue;
        const bool own = std::find(outlet.valves.begin(), outlet.valves.end(), found.frame.valves[v]) != outlet.valves.end();
        conditions.valve_opening[at(found.frame.valves[v])] = own ? 1.0 : 0.0;
    }
    const settle::Answer alone = farm.solve(conditions, found.frame.cases[c].at_start_levels);
    ++answer.network_solves;
    if (settle::solved(alone.state)) missing.alone_m3_s = alone.vessels[at(outlet.vessel)].inflow_m3_s;

    const Way way = way_to(layout, found.frame.cases[c].conditions, after[c], outlet.vessel);
    for (const std::int32_t pipe : way.pipes) {
        const double loss = std::abs(after[c].pipes[at(pipe)].loss_m);
        if (!(loss > 0.0) || (missing.worst_pipe >= 0 && !(loss > missing.worst_pipe_loss_m))) continue;
        missing.worst_pipe = pipe;
        missing.worst_pipe_loss_m = loss;
    }
    for (const std::int32_t pump : way.pumps)
        if (missing.pump < 0 && found.frame.cases[c].conditions.pump_speed[at(pump)] > 0.0) missing.pump = pump;
    if (missing.pump >= 0 && !found.problem.stop.stop_requested()) find_duty(found, c, after[c], answer);
}

}  // namespace ebb::choose
