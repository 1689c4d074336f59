// From a setting to what a person wants to know of it. Everything here is solved as `flows` solves it.

#include "solver/choose/balance_report.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/balance_ways.h"

namespace ebb::choose {

namespace {

using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kRounding = 1e11;  ///< steps of an opening: a billionth of a per cent each, which a file can carry and no flow notices
constexpr double kTravelStep = 0.005;

class Report {
public:
    Report(const BalanceFound& found, settle::Farm& farm, BalanceAnswer& answer)
        : found_(found), frame_(found.frame), layout_(*found.frame.layout), farm_(farm), answer_(answer) {}
    std::vector<settle::Answer> run();

private:
    layout::Conditions conditions(std::size_t c) const;
    void openings();
    void solve_all();
    void with_bands();
    void by_hand();
    BalancedOutlet outlet(std::size_t c, const OutletWanted& wanted, bool aimed) const;
    void outlets();
    void valves();
    void travel(std::size_t v);
    void steps();
    void pumps();
    void worst();

    const BalanceFound& found_;
    const BalanceFrame& frame_;
    const Layout& layout_;
    settle::Farm& farm_;
    BalanceAnswer& answer_;
    std::vector<settle::Answer> after_;
};

layout::Conditions Report::conditions(std::size_t c) const {
    layout::Conditions conditions = frame_.cases[c].conditions;
    for (std::size_t v = 0; v < frame_.valves.size(); ++v)
        if (frame_.cases[c].shut[v] == 0) conditions.valve_opening[at(frame_.valves[v])] = answer_.valves[v].opening;
    for (std::size_t p = 0; p < frame_.pumps.size(); ++p)
        if (conditions.pump_speed[at(frame_.pumps[p])] > 0.0) conditions.pump_speed[at(frame_.pumps[p])] = answer_.pumps[p].speed;
    return conditions;
}

void Report::openings() {
    for (std::size_t v = 0; v < frame_.valves.size(); ++v) {
        const layout::Valve& valve = layout_.valves[at(frame_.valves[v])];
        BalancedValve one;
        one.valve = frame_.valves[v];
        const double opening = opening_for_extra(valve.kind, found_.searched.setting.extra[v]);
        one.opening = std::clamp(std::round(opening * kRounding) / kRounding, kLeastOpening, 1.0);
        one.loss_coefficient = physics::valve_loss_coefficient(valve.kind, one.opening, valve.loss);
        one.unsettable = one.opening < kLeastSettable;
        answer_.valves.push_back(one);
    }
    for (std::size_t p = 0; p < frame_.pumps.size(); ++p) {
        BalancedPump one;
        one.pump = frame_.pumps[p];
        one.speed = std::round(found_.searched.setting.speed[p] * kRounding) / kRounding;
        one.speed_before = frame_.cases.front().conditions.pump_speed[at(one.pump)];
        answer_.pumps.push_back(one);
    }
}

void Report::solve_all() {
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        after_.push_back(farm_.solve(conditions(c), frame_.cases[c].at_start_levels));
        after_.back().arrangement = frame_.cases[c].arrangement;
        after_.back().name = layout_.arrangements[at(frame_.cases[c].arrangement)].name;
        ++answer_.network_solves;
    }
}

/// A pump known only by its label: its targets are judged with every pump that label fits, as `flows` does.
void Report::with_bands() {
    answer_.answers = after_;
    for (const settle::Answer& one : after_) answer_.rests_on_label = answer_.rests_on_label || one.rests_on_label;
    if (!answer_.rests_on_label) return;
    settle::Options options;
    options.ledgers = false;
    settle::Farm farm(layout_, options);
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        const settle::Answer banded = farm.solve(conditions(c), frame_.cases[c].at_start_levels);
        ++answer_.network_solves;
        answer_.answers[c].targets = banded.targets;
        answer_.answers[c].warnings = banded.warnings;
    }
}

/// A hand sets whole per cents: what that costs, in one solve of each arrangement.
void Report::by_hand() {
    constexpr double kWhole = 100.0;
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        layout::Conditions rounded = conditions(c);
        for (std::size_t v = 0; v < frame_.valves.size(); ++v)
            if (frame_.cases[c].shut[v] == 0)
                rounded.valve_opening[at(frame_.valves[v])] = std::max(1.0, std::round(kWhole * answer_.valves[v].opening)) / kWhole;
        const settle::Answer seen = farm_.solve(rounded, frame_.cases[c].at_start_levels);
        ++answer_.network_solves;
        if (!settle::solved(seen.state) && seen.state != settle::State::cycles) {
            answer_.by_hand = {};
            return;
        }
        for (const OutletWanted& wanted : frame_.cases[c].outlets) {
            const settle::VesselAnswer& vessel = seen.vessels[at(wanted.vessel)];
            const double share = share_of(wanted, vessel) * (1.0 + answer_.spare);
            if (answer_.by_hand.vessel >= 0 && !(share < answer_.by_hand.share)) continue;
            answer_.by_hand = {frame_.cases[c].arrangement, wanted.vessel, vessel.inflow_m3_s, share};
        }
    }
}

void Report::valves() {
    for (std::size_t v = 0; v < frame_.valves.size(); ++v) {
        BalancedValve& one = answer_.valves[v];
        const layout::Valve& valve = layout_.valves[at(one.valve)];
        const double extra = one.loss_coefficient - valve.loss;
        for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
            ValvePlace place;
            place.arrangement = frame_.cases[c].arrangement;
            place.shut = frame_.cases[c].shut[v] != 0;
            place.opening_before = frame_.cases[c].conditions.valve_opening[at(one.valve)];
            place.flow_m3_s = std::abs(after_[c].pipes[at(valve.pipe)].flow_m3_s);
            if (place.shut || !std::isfinite(place.flow_m3_s)) place.flow_m3_s = 0.0;
            place.drop_m = frame_.head_coefficient(v) * extra * place.flow_m3_s * place.flow_m3_s;
            answer_.throttled_m += place.drop_m;
            one.places.push_back(place);
        }
        travel(v);
    }
}

/// How much its own flow changes with its position, the others as they are.
void Report::travel(std::size_t v) {
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        if (frame_.cases[c].shut[v] != 0) continue;
        layout::Conditions low = conditions(c), high = low;
        const std::size_t valve = at(frame_.valves[v]);
        low.valve_opening[valve] = std::max(low.valve_opening[valve] - kTravelStep, 0.5 * low.valve_opening[valve]);
        high.valve_opening[valve] = std::min(high.valve_opening[valve] + kTravelStep, 1.0);
        const std::size_t pipe = at(layout_.valves[valve].pipe);
        const bool given = frame_.cases[c].at_start_levels;
        const double change = std::abs(farm_.solve(high, given).pipes[pipe].flow_m3_s) - std::abs(farm_.solve(low, given).pipes[pipe].flow_m3_s);
        answer_.network_solves += 2;
        answer_.valves[v].flow_per_travel_m3_s = change / (high.valve_opening[valve] - low.valve_opening[valve]);
        return;
    }
}

BalancedOutlet Report::outlet(std::size_t c, const OutletWanted& wanted, bool aimed) const {
    const settle::VesselAnswer& vessel = after_[c].vessels[at(wanted.vessel)];
    BalancedOutlet outlet;
    outlet.arrangement = frame_.cases[c].arrangement;
    outlet.vessel = wanted.vessel;
    outlet.aimed = aimed;
    outlet.wanted_m3_s = wanted_flow_m3_s(wanted, vessel);
    outlet.got_m3_s = vessel.inflow_m3_s;
    outlet.before_m3_s = found_.before[c].vessels[at(wanted.vessel)].inflow_m3_s;
    outlet.share = share_of(wanted, vessel);
    outlet.path_throttle_m = 0.0;
    const Way way = way_to(layout_, conditions(c), after_[c], wanted.vessel);
    for (const std::int32_t pump : way.pumps)
        if (outlet.pump < 0 && after_[c].pumps[at(pump)].running) outlet.pump = pump;
    for (const std::int32_t pipe : way.pipes)
        for (const std::int32_t valve : layout_.pipes[at(pipe)].valves)
            if (const auto it = std::find(frame_.valves.begin(), frame_.valves.end(), valve); it != frame_.valves.end()) {
                outlet.valves.push_back(valve);
                outlet.path_throttle_m += answer_.valves[static_cast<std::size_t>(it - frame_.valves.begin())].places[c].drop_m;
            }
    return outlet;
}

void Report::outlets() {
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        const std::size_t begin = answer_.outlets.size();
        for (const OutletWanted& wanted : frame_.cases[c].outlets) answer_.outlets.push_back(outlet(c, wanted, true));
        for (const OutletWanted& wanted : frame_.cases[c].others) answer_.outlets.push_back(outlet(c, wanted, false));
        std::sort(answer_.outlets.begin() + static_cast<std::ptrdiff_t>(begin), answer_.outlets.end(),
                  [](const BalancedOutlet& one, const BalancedOutlet& other) { return one.vessel < other.vessel; });
    }
    for (BalancedValve& valve : answer_.valves)
        valve.reaches_outlet = std::any_of(answer_.outlets.begin(), answer_.outlets.end(), [&](const BalancedOutlet& outlet) {
            return std::find(outlet.valves.begin(), outlet.valves.end(), valve.valve) != outlet.valves.end();
        });
}

/// The valves that throttle, those that serve several outlets first, then from the most to drop to the least: what is set later disturbs less.
void Report::steps() {
    struct Order {
        std::size_t valve;
        std::size_t serves;
        std::int32_t outlet;
    };
    std::vector<Order> order;
    for (std::size_t v = 0; v < frame_.valves.size(); ++v) {
        if (frame_.cases.front().shut[v] != 0 || answer_.valves[v].opening >= 1.0) continue;
        Order one{v, 0, -1};
        for (const BalancedOutlet& outlet : answer_.outlets)
            if (outlet.arrangement == frame_.cases.front().arrangement &&
                std::find(outlet.valves.begin(), outlet.valves.end(), frame_.valves[v]) != outlet.valves.end()) {
                ++one.serves;
                one.outlet = outlet.vessel;
            }
        if (one.serves != 1) one.outlet = -1;
        order.push_back(one);
    }
    const auto drop = [&](const Order& one) { return answer_.valves[one.valve].places.front().drop_m; };
    std::stable_sort(order.begin(), order.end(), [&](const Order& one, const Order& other) {
        const bool shared = one.serves > 1, other_shared = other.serves > 1;
        return shared != other_shared ? shared : drop(one) > drop(other);
    });
    layout::Conditions now = conditions(0);
    for (std::size_t v = 0; v < frame_.valves.size(); ++v)
        if (frame_.cases.front().shut[v] == 0) now.valve_opening[at(frame_.valves[v])] = 1.0;
    for (const Order& one : order) {
        if (found_.problem.stop.stop_requested()) return;
        const std::int32_t valve = frame_.valves[one.valve];
        now.valve_opening[at(valve)] = answer_.valves[one.valve].opening;
        const settle::Answer seen = farm_.solve(now, frame_.cases.front().at_start_levels);
        ++answer_.network_solves;
        answer_.steps.push_back({.valve = valve,
                                 .outlet = one.outlet,
                                 .flow_m3_s = std::abs(seen.pipes[at(layout_.valves[at(valve)].pipe)].flow_m3_s),
                                 .outlet_flow_m3_s = one.outlet < 0 ? layout::kNotSaid : seen.vessels[at(one.outlet)].inflow_m3_s});
    }
}

void Report::pumps() {
    for (BalancedPump& pump : answer_.pumps) {
        const settle::PumpAnswer& seen = after_.front().pumps[at(pump.pump)];
        pump.flow_m3_s = seen.flow_m3_s;
        pump.head_m = seen.head_m;
        pump.power_w = seen.power_w;
    }
}

void Report::worst() {
    bool lacking = false;  // a shortfall comes before any surplus
    for (std::size_t i = 0; i < answer_.outlets.size(); ++i) {
        const double deviation = std::abs(answer_.outlets[i].share - 1.0);
        if (!answer_.outlets[i].aimed) continue;
        const bool lacks = answer_.outlets[i].share < 1.0 - kBalanced;
        if (answer_.worst_outlet >= 0 && (lacks == lacking ? !(deviation > answer_.worst_deviation) : lacking)) continue;
        lacking = lacks;
        answer_.worst_outlet = static_cast<std::int32_t>(i);
        answer_.worst_deviation = deviation;
    }
    const bool all_solved = std::all_of(after_.begin(), after_.end(),
                                        [](const settle::Answer& one) { return settle::solved(one.state) || one.state == settle::State::cycles; });
    if (!all_solved) {
        answer_.outcome = BalanceOutcome::no_solution;
        for (const settle::Answer& one : after_)
            if (answer_.why.empty()) answer_.why = one.why;
    } else if (found_.searched.stopped) {
        answer_.outcome = BalanceOutcome::stopped;
    } else {
        answer_.outcome = answer_.worst_deviation <= kBalanced ? BalanceOutcome::balanced : lacking ? BalanceOutcome::missed : BalanceOutcome::met;
    }
}

std::vector<settle::Answer> Report::run() {
    openings();
    solve_all();
    valves();
    outlets();
    pumps();
    with_bands();
    worst();
    if (answer_.outcome != BalanceOutcome::stopped && answer_.outcome != BalanceOutcome::no_solution) {
        by_hand();
        steps();
    }
    return std::move(after_);
}

}  // namespace

void report_balance(const BalanceFound& found, settle::Farm& farm, BalanceAnswer& answer) {
    const std::vector<settle::Answer> after = Report(found, farm, answer).run();
    if (answer.outcome == BalanceOutcome::missed) explain_missing(found, farm, after, answer);
}

}  // namespace ebb::choose
