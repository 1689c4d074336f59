// Balance: which opening of which valve gives each outlet its target.
//
// What is minimised. Each valve v drops  t_v = k_v Q_v^2 / (2 g A^2)  more than it would fully open, k_v >= 0 in velocity heads of its pipe. For one
// arrangement: minimise sum t_v subject to every outlet having its target. Where the targets fix every flow (a tree that feeds nothing else) all
// other losses are numbers, the head along every way from the pump must be used up, and what is left is a linear program in the t_v alone: its
// solution is at a corner, with as many valves fully open as there are more valves than needed, a valve shared by all branches taking what all
// have too much, and nothing throttled on the way to the outlet that needs most. With one valve on the way to each outlet the corner is the only
// point there is. Elsewhere (rings, outlets without a target, levels that move) the same program is solved around the flows there are, again and
// again (balance_search.h): what it ends at is least among its neighbours; no more is proved.
//
// Several arrangements share the k_v. Then, and wherever targets cannot be had exactly, the worst shortfall 1 - got/wanted is made least, the next
// worst after it, and so on; then the worst surplus; throttling last (balance_step.h).
//
// The start: every valve that serves one outlet alone takes half of the head there is at the outlet's target, so that no branch robs another dry;
// the others stand open.
//
// Failure: an arrangement without settled flows is no_solution; a setting that water on the floor on the way from the start depths makes untrue is
// found by solving it in full, and searched for again with that way walked in every trial.

#include "solver/choose/balance.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/balance_report.h"
#include "solver/choose/balance_search.h"
#include "solver/choose/balance_ways.h"
#include "solver/settle/farm.h"

namespace ebb::choose {

namespace {

using layout::Layout;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kLeastHeadScale_m = 0.2;
constexpr double kLeastSpeedEver = 0.3;  ///< below it no head is left that is worth a pump (common practice)

settle::Options plain_options() {
    settle::Options options;
    options.bands = false;
    options.ledgers = false;
    return options;
}

/// The targets of one vessel: what was said on the command line stands for what the layout says.
OutletWanted wanted_of(const BalanceProblem& problem, std::int32_t vessel) {
    const layout::Vessel& one = problem.layout->vessels[at(vessel)];
    const double times = 1.0 + problem.spare;
    for (const WantedFlow& wanted : problem.wanted)
        if (wanted.vessel == vessel) return {.vessel = vessel, .inflow_m3_s = wanted.inflow_m3_s * times};
    return {.vessel = vessel, .inflow_m3_s = one.inflow_m3_s * times, .turnover_s = one.turnover_s / times};
}

/// Whether the arrangement means to feed this vessel: not when it shuts its water off on purpose.
bool asked(const settle::Answer& answer, const std::string& vessel, bool on_command_line) {
    if (on_command_line) return true;
    return std::any_of(answer.targets.begin(), answer.targets.end(), [&](const settle::Target& t) { return t.about == vessel && t.asked; });
}

BalanceCase case_of(const BalanceProblem& problem, std::int32_t arrangement, const settle::Answer& before) {
    const Layout& layout = *problem.layout;
    BalanceCase one;
    one.arrangement = arrangement;
    one.at_start_levels = layout.arrangements[at(arrangement)].at_start_levels;
    one.conditions = layout::conditions_of(layout, arrangement);
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const auto vessel = static_cast<std::int32_t>(v);
        const OutletWanted wanted = wanted_of(problem, vessel);
        const bool on_line = std::any_of(problem.wanted.begin(), problem.wanted.end(), [&](const WantedFlow& w) { return w.vessel == vessel; });
        if ((said(wanted.inflow_m3_s) || said(wanted.turnover_s)) && asked(before, layout.vessels[v].id, on_line)) one.outlets.push_back(wanted);
    }
    return one;
}

class Balance {
public:
    explicit Balance(const BalanceProblem& problem) : problem_(problem), layout_(*problem.layout), farm_(layout_, plain_options()) {}
    BalanceAnswer run();

private:
    bool frame();
    void choose_valves();
    void sort_outlets();
    double head_scale() const;
    ValveSetting throttled_start() const;
    ValveSetting standing_start() const;
    Searched search(bool walk);
    bool holds_in_full(const Searched& searched);

    const BalanceProblem& problem_;
    const Layout& layout_;
    settle::Farm farm_;
    std::vector<settle::Answer> before_;
    BalanceFrame frame_;
    BalanceAnswer answer_;
};

void Balance::choose_valves() {
    std::vector<std::int32_t> valves = problem_.valves;
    answer_.valves_were_named = !valves.empty();
    if (valves.empty()) {
        for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
            std::vector<std::int32_t> vessels;
            for (const OutletWanted& outlet : frame_.cases[c].outlets) vessels.push_back(outlet.vessel);
            const std::vector<std::int32_t> here = valves_on_the_way(layout_, frame_.cases[c].conditions, before_[c], vessels);
            valves.insert(valves.end(), here.begin(), here.end());
        }
    }
    std::sort(valves.begin(), valves.end());
    valves.erase(std::unique(valves.begin(), valves.end()), valves.end());
    for (const std::int32_t valve : valves) {
        const bool stands = std::any_of(frame_.cases.begin(), frame_.cases.end(),
                                        [&](const BalanceCase& one) { return one.conditions.valve_opening[at(valve)] > 0.0; });
        (stands ? frame_.valves : answer_.held_open).push_back(valve);
    }
    for (BalanceCase& one : frame_.cases)
        for (const std::int32_t valve : frame_.valves) one.shut.push_back(one.conditions.valve_opening[at(valve)] > 0.0 ? 0 : 1);
}

/// Outlets that nothing to be moved is on the way to cannot be set: they are told of, not aimed at.
void Balance::sort_outlets() {
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        BalanceCase& one = frame_.cases[c];
        std::vector<OutletWanted> all;
        all.swap(one.outlets);
        for (const OutletWanted& outlet : all) {
            const Way way = way_to(layout_, one.conditions, before_[c], outlet.vessel);
            bool moves = std::any_of(way.pumps.begin(), way.pumps.end(), [&](std::int32_t pump) {
                return std::find(frame_.pumps.begin(), frame_.pumps.end(), pump) != frame_.pumps.end();
            });
            for (const std::int32_t pipe : way.pipes)
                for (const std::int32_t valve : layout_.pipes[at(pipe)].valves)
                    moves = moves || std::find(frame_.valves.begin(), frame_.valves.end(), valve) != frame_.valves.end();
            (moves ? one.outlets : one.others).push_back(outlet);
        }
    }
}

/// The problem as the search wants it; false when there is nothing to search for.
bool Balance::frame() {
    frame_.layout = &layout_;
    for (const std::int32_t arrangement : problem_.arrangements) {
        before_.push_back(farm_.solve(arrangement));
        frame_.cases.push_back(case_of(problem_, arrangement, before_.back()));
    }
    answer_.arrangements = problem_.arrangements;
    answer_.spare = problem_.spare;
    if (frame_.outlet_count() == 0) {
        answer_.outcome = BalanceOutcome::no_targets;
        return false;
    }
    choose_valves();
    for (const std::int32_t pump : problem_.free_pumps) {
        const double least = layout_.pump_models[at(layout_.pumps[at(pump)].model)].least_speed;
        frame_.pumps.push_back(pump);
        frame_.least_speed.push_back(said(least) ? least : kLeastSpeedEver);
        frame_.greatest_speed.push_back(1.0);
    }
    sort_outlets();
    if (frame_.unknowns() == 0 || frame_.outlet_count() == 0) {
        answer_.outcome = BalanceOutcome::no_valves;
        return false;
    }
    return true;
}

/// The greatest head a pump lifts, or that levels give, in the arrangements as they stand.
double Balance::head_scale() const {
    double scale = kLeastHeadScale_m;
    for (std::size_t c = 0; c < before_.size(); ++c)
        for (std::size_t p = 0; p < before_[c].pumps.size(); ++p)
            if (before_[c].pumps[p].running && std::isfinite(before_[c].pumps[p].head_m)) scale = std::max(scale, before_[c].pumps[p].head_m);
    return scale;
}

ValveSetting Balance::standing_start() const {
    ValveSetting start;
    start.extra.assign(frame_.valves.size(), 0.0);
    for (std::size_t v = 0; v < frame_.valves.size(); ++v)
        for (const BalanceCase& one : frame_.cases) {
            const double opening = one.conditions.valve_opening[at(frame_.valves[v])];
            if (opening <= 0.0) continue;
            start.extra[v] = physics::valve_loss_coefficient(layout_.valves[at(frame_.valves[v])].kind, opening, 0.0);
            break;
        }
    for (const std::int32_t pump : frame_.pumps) {
        const double speed = frame_.cases.front().conditions.pump_speed[at(pump)];
        start.speed.push_back(speed > 0.0 ? speed : 1.0);
    }
    return start;
}

ValveSetting Balance::throttled_start() const {
    ValveSetting start = standing_start();
    std::fill(start.extra.begin(), start.extra.end(), 0.0);
    std::vector<int> serves(frame_.valves.size(), 0);
    std::vector<double> flow(frame_.valves.size(), 0.0);
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        std::vector<int> here(frame_.valves.size(), 0);
        for (const OutletWanted& outlet : frame_.cases[c].outlets) {
            const double wanted = wanted_flow_m3_s(outlet, before_[c].vessels[at(outlet.vessel)]);
            const Way way = way_to(layout_, frame_.cases[c].conditions, before_[c], outlet.vessel);
            for (const std::int32_t pipe : way.pipes)
                for (const std::int32_t valve : layout_.pipes[at(pipe)].valves)
                    if (const auto found = std::find(frame_.valves.begin(), frame_.valves.end(), valve); found != frame_.valves.end()) {
                        const auto v = static_cast<std::size_t>(found - frame_.valves.begin());
                        ++here[v];
                        flow[v] = std::max(flow[v], std::isfinite(wanted) ? wanted : 0.0);
                    }
        }
        for (std::size_t v = 0; v < here.size(); ++v) serves[v] = std::max(serves[v], here[v]);
    }
    for (std::size_t v = 0; v < frame_.valves.size(); ++v)
        if (serves[v] == 1 && flow[v] > 0.0) start.extra[v] = 0.5 * head_scale() / (frame_.head_coefficient(v) * flow[v] * flow[v]);
    for (double& speed : start.speed) speed = 1.0;
    return start;
}

Searched Balance::search(bool walk) {
    BalanceTrial trial(frame_, walk);
    ValveSetting open = throttled_start();
    std::fill(open.extra.begin(), open.extra.end(), 0.0);
    const SearchOptions options{.head_scale_m = head_scale(), .stop = problem_.stop, .progress = problem_.progress};
    Searched searched = search_balance(frame_, trial, {throttled_start(), standing_start(), open}, options);
    answer_.positions_tried += searched.positions;
    answer_.network_solves += trial.solves();
    return searched;
}

/// Whether the setting gives what the search saw when the arrangement is solved as `flows` does.
bool Balance::holds_in_full(const Searched& searched) {
    constexpr double kSame = 1e-7;
    const BalanceTrial trial(frame_, true);
    for (std::size_t c = 0; c < frame_.cases.size(); ++c) {
        const settle::Answer full = farm_.solve(trial.conditions_of(searched.setting, c), frame_.cases[c].at_start_levels);
        if (full.state != settle::State::settled && full.state != settle::State::given_levels && full.state != settle::State::cycles) return false;
        for (std::size_t i = 0; i < frame_.cases[c].outlets.size(); ++i) {
            const OutletWanted& outlet = frame_.cases[c].outlets[i];
            if (!(std::abs(share_of(outlet, full.vessels[at(outlet.vessel)]) / kAim - searched.seen.cases[c].share[i]) < kSame)) return false;
        }
    }
    return true;
}

BalanceAnswer Balance::run() {
    if (!frame()) return std::move(answer_);
    Searched searched = search(false);
    if (searched.found && !searched.stopped && !holds_in_full(searched)) searched = search(true);
    if (!searched.found) {
        answer_.outcome = BalanceOutcome::no_solution;
        for (const settle::Answer& before : before_)
            if (answer_.why.empty()) answer_.why = before.why;
        if (answer_.why.empty()) answer_.why = "no setting of these valves has settled flows";
        return std::move(answer_);
    }
    const BalanceFound found{problem_, frame_, before_, searched, head_scale()};
    report_balance(found, farm_, answer_);
    return std::move(answer_);
}

}  // namespace

const char* name_of(BalanceOutcome outcome) {
    switch (outcome) {
        case BalanceOutcome::not_run: return "not-run";
        case BalanceOutcome::balanced: return "balanced";
        case BalanceOutcome::met: return "met";
        case BalanceOutcome::missed: return "missed";
        case BalanceOutcome::no_targets: return "no-targets";
        case BalanceOutcome::no_valves: return "no-valves";
        case BalanceOutcome::no_solution: return "no-solution";
        case BalanceOutcome::stopped: return "stopped";
    }
    return "";
}

BalanceAnswer balance(const BalanceProblem& problem) { return Balance(problem).run(); }

}  // namespace ebb::choose
