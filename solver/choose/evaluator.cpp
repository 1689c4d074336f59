// What a design is worth, solved warm.
//
// The layout is compiled once; a design that differs from the last one puts new bores into the links of the pipes that changed (the pattern of the
// matrix stays) and Newton's method starts from the last state of each arrangement. Networks without vessels are solved at the given heads and their
// targets, which can only be pressures at tees, read off the point: no allocation. Farms with vessels go through the direct settled state
// (settle::settle_near) and the answer of the settled state; where that does not arrive, or water goes over a rim by its account, or a level stands
// near its rim, or a running pump's intake is bare or nearly so, the end can depend on the way, and the whole way is walked as in settle/farm.h.
// Siphons remember how their state came about, so their farms are always solved from the start.

#include <algorithm>
#include <cmath>

#include "solver/choose/design_judge.h"
#include "solver/choose/pump_place.h"
#include "solver/choose/sizing.h"
#include "solver/physics/fittings.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"

namespace ebb::choose {

namespace {

using layout::Kind;
using layout::Layout;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kWattsOfKilowatt = 1000.0;
constexpr double kWalkWhenLost_m3 = 1e-7;  ///< the direct step spilled: only the way can tell
constexpr double kNearRim_m = 20e-3;       ///< as the walk of settle/levels.cpp has it
constexpr double kNearIntake_m = 20e-3;    ///< of water over the band in which an intake starves
constexpr int kWarmSteps = 25;
constexpr double kFlows_m3_s = 1e-12;  ///< as the answer has it: below, nothing shows
constexpr double kSamePressure_m = 1e-9, kLeastScale_m = 1.0;

/// A pressure wanted at a tee that water can come to.
struct QuickTarget {
    std::int32_t node;
    double elevation_m, wanted_m, scale_m;
};

/// One arrangement that counts.
struct Case {
    std::int32_t arrangement = -1;
    layout::Conditions conditions;
    bool at_start_levels = false;
    network::Settings settings;
    settle::Solved solved;  ///< of the last design that was solved
    bool warm = false;
    bool cut_off = false;  ///< a tee that takes water gets none, whatever the sizes
    std::vector<QuickTarget> quick_targets;
};

/// Cost of a pipe as drawn; NaN when no price is known.
double cost_as_drawn(const SizingProblem& problem, std::int32_t p) {
    constexpr double kSame_m = 1e-6;
    const layout::Pipe& pipe = problem.layout->pipes[at(p)];
    double price = pipe.price_per_metre;
    for (const layout::SoldSize& size : problem.layout->sold_series[at(pipe.sold_series)].sizes)
        if (!said(price) && std::abs(size.bore_m - pipe.bore_m) < kSame_m) price = size.price_per_metre;
    return price * pipe.length_m;
}

/// Nodes that open links join to open water.
std::vector<std::uint8_t> wet_nodes(const network::Network& net, const network::Settings& settings) {
    std::vector<std::uint8_t> wet(at(net.node_count()), 0);
    std::fill(wet.begin() + net.plain_count, wet.end(), std::uint8_t{1});
    for (bool more = true; more;) {
        more = false;
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            const network::Link& link = net.links[l];
            if (settings.links[l].shut || wet[at(link.from)] == wet[at(link.to)]) continue;
            wet[at(link.from)] = wet[at(link.to)] = 1;
            more = true;
        }
    }
    return wet;
}

}  // namespace

struct Evaluator::Impl {
    const SizingProblem* problem;
    Layout layout;  ///< with the sizes of the last design
    Design sizes;   ///< of the last design; empty before the first
    std::unique_ptr<settle::Model> model;
    settle::Start start;
    settle::LevelTolerances tolerances;
    std::vector<Case> cases;
    bool quick = false;  ///< no vessels, and no drain to choose
    bool walk = false;
    bool starts_near_rim = false;  ///< then what spills on the way decides in every design

    explicit Impl(const SizingProblem& of) : problem(&of), layout(*of.layout) {
        model = std::make_unique<settle::Model>(network::compile(layout));
        start = settle::start_of(layout);
        const settle::Options as_flows;
        tolerances.network.head_m = as_flows.head_tolerance_m;
        tolerances.network.flow_share = as_flows.flow_tolerance;
        tolerances.network.greatest_steps = as_flows.greatest_steps;
        for (std::size_t v = 0; v < layout.vessels.size(); ++v)
            starts_near_rim = starts_near_rim || start.level_m[v] > model->network.storage[v].rim_m - kNearRim_m;
        quick = layout.vessels.empty();
        for (const Choice& choice : of.choices)
            for (const std::int32_t p : choice.pipes) quick = quick && !layout.pipes[at(p)].gravity;
        for (const std::int32_t a : of.arrangements) cases.push_back(case_of(a));
    }

    Case case_of(std::int32_t arrangement) const {
        Case one;
        one.arrangement = arrangement;
        one.conditions = layout::conditions_of(layout, arrangement);
        one.at_start_levels = layout.arrangements[at(arrangement)].at_start_levels;
        one.settings =
            network::settings_for(model->network, layout, one.conditions, std::vector<std::uint8_t>(model->network.siphons.size(), std::uint8_t{0}));
        const std::vector<std::uint8_t> wet = wet_nodes(model->network, one.settings);
        for (std::size_t t = 0; t < layout.tees.size(); ++t) {
            const layout::Tee& tee = layout.tees[t];
            const std::int32_t node = model->network.tee_node[t];
            if (wet[at(node)] == 0)
                one.cut_off = one.cut_off || tee.takes_m3_s > 0.0;
            else if (said(tee.least_pressure_m))
                one.quick_targets.push_back({node, tee.elevation_m, tee.least_pressure_m, std::max(tee.least_pressure_m, kLeastScale_m)});
        }
        return one;
    }

    void put(const Design& design) {
        for (std::size_t c = 0; c < design.size(); ++c) {
            if (!sizes.empty() && sizes[c] == design[c]) continue;
            const Choice& choice = problem->choices[c];
            const layout::SoldSize& size = layout.sold_series[at(choice.series)].sizes[design[c]];
            for (const std::int32_t p : choice.pipes) {
                layout.pipes[at(p)].bore_m = size.bore_m;
                layout.pipes[at(p)].wall_m = size.wall_m;
                network::resize_pipe(layout, p, model->network);
                for (Case& one : cases) one.settings.links[at(model->network.pipe_link[at(p)])] = network::setting_of_pipe(layout, p, one.conditions);
            }
        }
        sizes = design;
    }

    // -------------------------------------------------------------------------------------------- networks at given heads

    bool solve_quickly(Case& one) {
        network::Tolerances now = tolerances.network;
        now.keep_water = false;  // nothing is integrated
        network::Point& point = one.solved.levels.point;
        if (one.warm) {
            now.greatest_steps = kWarmSteps;
            if (model->solver.solve(one.settings, {}, now, true, point, false).converged) return true;
            now.greatest_steps = tolerances.network.greatest_steps;
        }
        if (point.head_m.empty()) point = model->solver.cold_point({});
        return model->solver.solve(one.settings, {}, now, false, point).converged;
    }

    /// Every open link follows its law, and shows the head at its ends: then a head is what the point says.
    bool heads_show(const Case& one) const {
        const network::Network& net = model->network;
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            if (one.settings.links[l].shut) continue;
            const network::Link& link = net.links[l];
            const bool ports = link.at_from.elevation_m > network::kNoPort || link.at_to.elevation_m > network::kNoPort;
            if (model->solver.linears()[l].hold != network::Hold::law) return false;
            if (ports && std::abs(one.solved.levels.point.flow_m3_s[l]) <= kFlows_m3_s) return false;
        }
        return least_cover_m(one, one.solved.levels.point) > kNearIntake_m;
    }

    void judge_quickly(const Case& one, Tally& tally) const {
        const network::Point& point = one.solved.levels.point;
        for (const QuickTarget& target : one.quick_targets) {
            const double over = point.head_m[at(target.node)] - target.elevation_m - target.wanted_m;
            tally.target(over / target.scale_m, over >= -kSamePressure_m, problem->least_margin);
        }
        for (const Choice& choice : problem->choices)
            for (const std::int32_t p : choice.pipes) {
                const auto l = at(model->network.pipe_link[at(p)]);
                const double flow = std::abs(point.flow_m3_s[l]);
                const double velocity = flow / physics::bore_area_m2(model->network.links[l].bore_m);
                judge_velocity(*problem, p, velocity, flow,
                               [&tally](const char*, bool, double, double, const Kept& kept) { tally.limit(kept.margin, kept.met); });
            }
    }

    double power_of_point(const Case& one, bool& known) const {
        double power = 0.0;
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
            const double speed = one.conditions.pump_speed[p];
            if (speed <= 0.0) continue;
            const network::PumpLaw& law = model->network.pumps[p];
            const double flow = std::max(0.0, one.solved.levels.point.flow_m3_s[at(model->network.pump_link[p])]);
            const double of_pump = law.curve.power_w(flow, {.speed = speed, .count = law.count, .wear = law.wear});
            known = known && said(of_pump);
            if (said(of_pump)) power += of_pump;
        }
        return power;
    }

    // -------------------------------------------------------------------------------------------- farms with levels

    /// Least height of water over the band in which an intake starves, of the pumps that run.
    double least_cover_m(const Case& one, const network::Point& point) const {
        const network::Network& net = model->network;
        double least = HUGE_VAL;
        for (std::size_t p = 0; p < net.pumps.size(); ++p) {
            const network::LinkSetting& setting = one.settings.links[at(net.pump_link[p])];
            if (setting.shut || setting.resting || setting.value <= 0.0 || net.pumps[p].intake_m == network::kNoPort) continue;
            least = std::min(least, point.head_m[at(net.pump_inlet_node[p])] - net.pumps[p].intake_m - network::kBareBand_m);
        }
        return least;
    }

    /// A level near its rim, or an intake nearly bare: the state may be one of several, and the way decides which.
    bool way_may_decide(const Case& one, const network::Point& point) const {
        const network::Network& net = model->network;
        for (std::int32_t v = 0; v < net.vessel_count; ++v)
            if (point.head_m[at(net.vessel_node(v))] > net.storage[at(v)].rim_m - kNearRim_m) return true;
        return least_cover_m(one, point) < kNearIntake_m;
    }

    void solve_settled(Case& one) {
        const bool can_start_warm = one.warm && !walk && !starts_near_rim && model->network.siphons.empty();
        if (can_start_warm && !one.at_start_levels) {
            settle::Settled near = settle::settle_near(model->solver, one.settings, start.volume_m3, one.solved.levels.point, tolerances);
            const bool spills = std::any_of(near.lost.begin(), near.lost.end(), [](const auto& lost) { return lost.volume_m3 > kWalkWhenLost_m3; });
            if (near.found && !spills && !way_may_decide(one, near.point)) {
                for (settle::Lost& lost : near.lost) lost = {};
                one.solved.levels = std::move(near);
                one.solved.settings = one.settings;
                one.solved.state = settle::State::settled;
                return;
            }
        }
        one.solved = settle::solve_model(*model, layout, one.conditions, one.at_start_levels, start, tolerances);
    }

    settle::Answer answer_of(const Case& one) {
        settle::Solved looked_at = one.solved;
        model->solver.look_at(looked_at.settings, looked_at.levels.point);
        settle::Answer answer;
        settle::fill_answer(*model, layout, one.conditions, looked_at, answer);
        settle::judge(layout, one.conditions, answer);
        return answer;
    }

    // -------------------------------------------------------------------------------------------- both

    /// Solves and judges one arrangement; its power, W.
    bool take(Case& one, Tally& tally, double& power, Verdict& verdict) {
        if (one.cut_off) return false;
        bool& power_known = verdict.power_known;
        if (quick) {
            one.warm = solve_quickly(one);
            verdict.unfinished = verdict.unfinished || !one.warm;
            if (!one.warm) return false;
            if (heads_show(one)) {
                judge_quickly(one, tally);
                power = power_of_point(one, power_known);
                return true;
            }
            one.solved.settings = one.settings;
            one.solved.state = settle::State::given_levels;
        } else {
            solve_settled(one);
        }
        one.warm = can_be_judged(one.solved.state);
        const bool was_tried = one.solved.levels.network_solves > 0;  // else it is known why there can be no balance
        if (one.solved.state == settle::State::no_solution && was_tried) verdict.unfinished = true;
        if (!one.warm) return false;
        const settle::Answer answer = answer_of(one);
        judge_answer(*problem, one.arrangement, answer, tally, nullptr);
        bool unknown = false;
        power = power_of(answer, &unknown);
        power_known = power_known && !unknown;
        return true;
    }

    void price(Verdict& verdict) const {
        const Costing& costing = problem->costing;
        verdict.total_cost = verdict.pipes_cost + verdict.energy_a_year_kwh * costing.price_per_kwh * costing.worth_of_a_year;
    }

    void finish(const Tally& tally, Verdict& verdict) const {
        verdict.pipes_cost = pipes_cost(*problem, sizes);
        price(verdict);
        verdict.allowed = verdict.solved && tally.allowed;
        verdict.limits_kept = verdict.solved && tally.limits_kept;
        verdict.worst_margin = verdict.solved ? tally.worst : -HUGE_VAL;
        verdict.targets_margin = verdict.solved ? tally.of_targets : -HUGE_VAL;
        verdict.missed = verdict.solved ? tally.missed : HUGE_VAL;
    }

    double yearly_kwh(std::int32_t arrangement, double power_w) const {
        return problem->costing.hours_a_year[at(arrangement)] * power_w / kWattsOfKilowatt;
    }

    Verdict evaluate(const Design& design) {
        put(design);
        Verdict verdict;
        Tally tally;
        verdict.solved = true;
        for (Case& one : cases) {
            double power = 0.0;
            if (take(one, tally, power, verdict)) {
                verdict.energy_a_year_kwh += yearly_kwh(one.arrangement, power);
                continue;
            }
            if (verdict.solved) verdict.unsolved = one.arrangement;
            verdict.solved = false;
        }
        finish(tally, verdict);
        return verdict;
    }

    /// `solved_layout` as `flows` answers it.
    Verdict explain(const Layout& solved_layout) const {
        settle::Options options;
        options.bands = options.ledgers = false;
        settle::Farm farm(solved_layout, options);
        Verdict verdict;
        Tally tally;
        verdict.solved = true;
        for (const Case& one : cases) {
            const settle::Answer answer = farm.solve(one.arrangement);
            if (!can_be_judged(answer.state)) {
                verdict.unfinished = verdict.unfinished || (answer.state == settle::State::no_solution && answer.counts.network_solves > 0);
                if (verdict.solved) {
                    verdict.unsolved = one.arrangement;
                    verdict.why = answer.why;
                }
                verdict.solved = false;
                continue;
            }
            judge_answer(*problem, one.arrangement, answer, tally, &verdict.judgements);
            bool unknown = false;
            verdict.energy_a_year_kwh += yearly_kwh(one.arrangement, power_of(answer, &unknown));
            verdict.power_known = verdict.power_known && !unknown;
        }
        finish(tally, verdict);
        std::stable_sort(verdict.judgements.begin(), verdict.judgements.end(),
                         [](const Judgement& one, const Judgement& other) { return one.met != other.met ? !one.met : one.margin < other.margin; });
        return verdict;
    }

    Verdict explain(const Design& design) {
        put(design);
        return explain(layout);
    }

    Verdict explain_drawn() const {
        Verdict verdict = explain(*problem->layout);
        verdict.pipes_cost = 0.0;
        for (const Choice& choice : problem->choices)
            for (const std::int32_t p : choice.pipes) verdict.pipes_cost += cost_as_drawn(*problem, p);
        price(verdict);
        return verdict;
    }
};

Evaluator::Evaluator(const SizingProblem& problem) : impl_(std::make_unique<Impl>(problem)) {}
Evaluator::~Evaluator() = default;
Evaluator::Evaluator(Evaluator&&) noexcept = default;
Evaluator& Evaluator::operator=(Evaluator&&) noexcept = default;

Verdict Evaluator::evaluate(const Design& design) { return impl_->evaluate(design); }
Verdict Evaluator::explain(const Design& design) { return impl_->explain(design); }
Verdict Evaluator::explain_drawn() { return impl_->explain_drawn(); }
void Evaluator::walk_from_now_on() { impl_->walk = true; }
void Evaluator::start_cold() {
    for (Case& one : impl_->cases) one.warm = false;
}

}  // namespace ebb::choose
