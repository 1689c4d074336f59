#include "solver/time/water_balance.h"

#include <algorithm>
#include <cmath>

namespace ebb::time {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kOverRim_s = 0.02;   ///< what stands over a rim is gone within this
constexpr double kHoseBand_m = 0.02;  ///< depth over which a hose closes

}  // namespace

WaterBalance::WaterBalance(const layout::Layout& layout, const network::Network& network, network::Solver& solver,
                           const network::Tolerances& tolerances, const Plan& plan)
    : network_(&network), solver_(&solver), tolerances_(tolerances), plan_(&plan), vessels_(at(network.vessel_count)),
      fixed_(at(network.fixed_count)), draws_(plan.routine.draws.size()), uptakes_(plan.routine.uptakes.size()), linear_(network) {
    std::vector<double> levels;
    for (std::size_t v = 0; v < vessels_; ++v) {
        levels.push_back(network.storage[v].floor_m);
        rim_volume_m3_.push_back(network::volume_at_level(network.storage[v], network.storage[v].rim_m).value);
    }
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (layout.tees[t].takes_m3_s > 0.0) tapped_tees_.push_back(t);
    point_ = solver.cold_point(levels);
    hose_open_.assign(plan.hoses.size(), 1);
    draw_runs_.assign(draws_, 0);
    over_rim_.assign(vessels_, 0);
    in_film_.assign(vessels_, 0);
    for (auto* list : {&area_, &spill_slope_, &own_slope_, &storage_, &level_change_}) list->assign(vessels_, 0.0);
    draw_slope_.assign(draws_, 0.0);
    uptake_slope_.assign(uptakes_, 0.0);
    hose_slope_.assign(plan.hoses.size(), 0.0);
    fixed_gives_.assign(fixed_, 0.0);
}

void WaterBalance::stand(network::Settings settings, std::span<const std::uint8_t> draw_runs) {
    has_good_ = has_good_ || !solved_for_.empty();
    if (!solved_for_.empty()) good_ = point_;
    settings_ = std::move(settings);
    draw_runs_.assign(draw_runs.begin(), draw_runs.end());
    warm_ = false;
    solved_for_.clear();
}

double WaterBalance::level_m(std::size_t vessel, std::span<const double> state) const {
    return network::level_at_volume(network_->storage[vessel], state[vessel]);
}

double WaterBalance::depth_m(std::size_t vessel, std::span<const double> state) const {
    return level_m(vessel, state) - network_->storage[vessel].floor_m;
}

double WaterBalance::mean_area_m2(std::size_t vessel) const {
    const network::Storage& storage = network_->storage[vessel];
    return rim_volume_m3_[vessel] / (storage.rim_m - storage.floor_m);
}

double WaterBalance::draw_rate_m3_s(std::size_t draw) const {
    const layout::Draw& asked = plan_->routine.draws[draw];
    return draw_runs_[draw] != 0 ? asked.volume_m3 / asked.over_s : 0.0;
}

std::int32_t WaterBalance::vessel_into(const layout::Draw& draw) const { return draw.into.kind == layout::Kind::vessel ? draw.into.index : -1; }

double WaterBalance::share_left(std::size_t vessel, std::span<const double> state, double* slope_per_m3) const {
    const double level = level_m(vessel, state);
    const double share = (level - network_->storage[vessel].floor_m) / kLastFilm_m;
    if (slope_per_m3 != nullptr)
        *slope_per_m3 = share > 0.0 && share < 1.0 ? 1.0 / (kLastFilm_m * network::volume_at_level(network_->storage[vessel], level).slope) : 0.0;
    return std::clamp(share, 0.0, 1.0);
}

double WaterBalance::hose_share(std::size_t hose, std::span<const double> state, double* slope_per_m3) const {
    const Hose& asked = plan_->hoses[hose];
    if (slope_per_m3 != nullptr) *slope_per_m3 = 0.0;
    if (hose_open_[hose] == 0) return 0.0;
    if (std::isinf(asked.up_to_depth_m)) return 1.0;
    const std::size_t v = at(asked.vessel);
    const double level = level_m(v, state);
    const double share = (asked.up_to_depth_m - (level - network_->storage[v].floor_m)) / kHoseBand_m;
    if (slope_per_m3 != nullptr && share > 0.0 && share < 1.0)
        *slope_per_m3 = -1.0 / (kHoseBand_m * network::volume_at_level(network_->storage[v], level).slope);
    return std::clamp(share, 0.0, 1.0);
}

bool WaterBalance::solve_at(std::span<const double> state) {
    const auto volumes = state.first(vessels_);
    if (solved_for_.size() == vessels_ && std::equal(volumes.begin(), volumes.end(), solved_for_.begin())) return true;
    for (std::size_t v = 0; v < vessels_; ++v) {
        point_.head_m[at(network_->plain_count) + v] = level_m(v, state);
        point_.brim[v] = 0;
        point_.spill_m3_s[v] = 0.0;
    }
    const auto solve = [&](bool warm) {
        // what a tee takes may be more than can reach it: then no creeping finds a balance, and it is not tried again at every shorter step
        const bool safeguard = tapped_tees_.empty() || (!warm && !failed_before_);
        const network::Outcome outcome = solver_->solve(settings_, {}, tolerances_, warm, point_, safeguard);
        ++counts_.network_solves;
        counts_.newton_steps += std::max(0, outcome.steps);
        counts_.fallbacks += outcome.fallbacks;
        return outcome.converged;
    };
    bool found = solve(warm_);
    if (!found && has_good_) {  // begin where the flows were before
        const std::vector<double> levels(point_.head_m.begin() + network_->plain_count, point_.head_m.end());
        point_ = good_;
        std::copy(levels.begin(), levels.end(), point_.head_m.begin() + network_->plain_count);
        found = solve(true);
    }
    warm_ = found;
    failed_before_ = !found;
    if (!found) {
        solved_for_.clear();
        return false;
    }
    solved_for_.assign(volumes.begin(), volumes.end());
    return true;
}

bool WaterBalance::rates(std::span<const double> state, std::span<double> rate) {
    if (!solve_at(state)) return false;
    std::fill(rate.begin(), rate.end(), 0.0);
    const std::int32_t plain = network_->plain_count;
    const auto pour = [&](std::int32_t node, double flow) {
        if (node < plain) return;
        const auto place = at(node - plain);
        if (place < vessels_)
            rate[place] += flow;
        else
            rate[given_at(place - vessels_)] -= flow;
    };
    for (std::size_t l = 0; l < network_->links.size(); ++l) {
        const double flow = point_.flow_m3_s[l];
        if (flow == 0.0) continue;
        pour(network_->links[l].from, -flow);
        pour(network_->links[l].to, flow);
    }
    for (std::size_t v = 0; v < vessels_; ++v) {
        const double spill = std::max(0.0, state[v] - rim_volume_m3_[v]) / kOverRim_s;
        rate[v] -= spill;
        rate[spilled_at(v)] = spill;
    }
    for (std::size_t d = 0; d < draws_; ++d) {
        if (draw_runs_[d] == 0) continue;
        const layout::Draw& draw = plan_->routine.draws[d];
        const double flow = draw_rate_m3_s(d) * share_left(at(draw.from.index), state);
        rate[at(draw.from.index)] -= flow;
        rate[draw_at(d)] = flow;
        if (const std::int32_t into = vessel_into(draw); into >= 0) rate[at(into)] += flow;
    }
    for (std::size_t u = 0; u < uptakes_; ++u) {
        const layout::Uptake& uptake = plan_->routine.uptakes[u];
        const double flow = uptake.rate_m3_s * share_left(at(uptake.from.index), state);
        rate[at(uptake.from.index)] -= flow;
        rate[uptake_at(u)] = flow;
    }
    for (std::size_t h = 0; h < plan_->hoses.size(); ++h) {
        const double flow = plan_->hoses[h].rate_m3_s * hose_share(h, state);
        rate[at(plan_->hoses[h].vessel)] += flow;
        rate[poured_at(h)] = flow;
    }
    for (std::size_t tap = 0; tap < tapped_tees_.size(); ++tap) {
        const auto node = at(network_->tee_node[tapped_tees_[tap]]);
        rate[tapped_at(tap)] = settings_.taken_m3_s(node, network_->takes_m3_s[node]);
    }
    return true;
}

void WaterBalance::add_what_comes_by_hand(std::span<const double> state, std::span<double> net_m3_s) const {
    for (std::size_t d = 0; d < draws_; ++d) {
        if (draw_runs_[d] == 0) continue;
        const layout::Draw& draw = plan_->routine.draws[d];
        const double flow = draw_rate_m3_s(d) * share_left(at(draw.from.index), state);
        net_m3_s[at(draw.from.index)] -= flow;
        if (const std::int32_t into = vessel_into(draw); into >= 0) net_m3_s[at(into)] += flow;
    }
    for (const layout::Uptake& uptake : plan_->routine.uptakes)
        net_m3_s[at(uptake.from.index)] -= uptake.rate_m3_s * share_left(at(uptake.from.index), state);
    for (std::size_t h = 0; h < plan_->hoses.size(); ++h) net_m3_s[at(plan_->hoses[h].vessel)] += plan_->hoses[h].rate_m3_s * hose_share(h, state);
}

bool WaterBalance::prepare(std::span<const double> state, double gamma, bool keep) {
    if (!keep) {
        if (!solve_at(state)) return false;
        ++counts_.slope_evaluations;
        linear_.take(*solver_, settings_, point_);
        for (std::size_t v = 0; v < vessels_; ++v) {
            area_[v] = network::volume_at_level(network_->storage[v], level_m(v, state)).slope;
            spill_slope_[v] = state[v] > rim_volume_m3_[v] ? 1.0 / kOverRim_s : 0.0;
            own_slope_[v] = spill_slope_[v];
        }
        const auto take = [&](std::size_t from, double rate) {
            double slope = 0.0;
            (void)share_left(from, state, &slope);
            own_slope_[from] += rate * slope;
            return rate * slope;
        };
        for (std::size_t d = 0; d < draws_; ++d) draw_slope_[d] = take(at(plan_->routine.draws[d].from.index), draw_rate_m3_s(d));
        for (std::size_t u = 0; u < uptakes_; ++u)
            uptake_slope_[u] = take(at(plan_->routine.uptakes[u].from.index), plan_->routine.uptakes[u].rate_m3_s);
        for (std::size_t h = 0; h < hose_slope_.size(); ++h) {
            (void)hose_share(h, state, &hose_slope_[h]);
            hose_slope_[h] *= plan_->hoses[h].rate_m3_s;
            own_slope_[at(plan_->hoses[h].vessel)] -= hose_slope_[h];
        }
    }
    gamma_ = gamma;
    for (std::size_t v = 0; v < vessels_; ++v) storage_[v] = area_[v] * (1.0 / gamma + own_slope_[v]);
    return linear_.factorise(storage_);
}

/// The accounts follow their vessel's volume by substitution. That what a draw pours into another vessel raises it is put in after the solve
/// of the levels: a correction of Newton may be off by the little that matters to flows, not by a drop of water.
void WaterBalance::solve(std::span<const double> b, std::span<double> x) {
    for (std::size_t v = 0; v < vessels_; ++v) level_change_[v] = b[v] / gamma_;
    linear_.solve(level_change_, fixed_gives_);
    std::copy(b.begin(), b.end(), x.begin());
    for (std::size_t v = 0; v < vessels_; ++v) {
        x[v] = area_[v] * level_change_[v];
        x[spilled_at(v)] += gamma_ * spill_slope_[v] * x[v];
    }
    for (std::size_t f = 0; f < fixed_; ++f) x[given_at(f)] += gamma_ * fixed_gives_[f];
    for (std::size_t u = 0; u < uptakes_; ++u) x[uptake_at(u)] += gamma_ * uptake_slope_[u] * x[at(plan_->routine.uptakes[u].from.index)];
    for (std::size_t h = 0; h < hose_slope_.size(); ++h) x[poured_at(h)] += gamma_ * hose_slope_[h] * x[at(plan_->hoses[h].vessel)];
    for (std::size_t d = 0; d < draws_; ++d) {
        if (draw_slope_[d] == 0.0) continue;
        const layout::Draw& draw = plan_->routine.draws[d];
        const double more = gamma_ * draw_slope_[d] * area_[at(draw.from.index)] * level_change_[at(draw.from.index)];
        x[draw_at(d)] += more;
        if (const std::int32_t into = vessel_into(draw); into >= 0) x[at(into)] += more;
    }
}

bool WaterBalance::passed_kink(std::span<const double> state) {
    bool passed = false;
    const auto look = [&](std::uint8_t& side, bool now) {
        passed = passed || (side != 0) != now;
        side = now;
    };
    for (std::size_t v = 0; v < vessels_; ++v) {
        look(over_rim_[v], state[v] > rim_volume_m3_[v]);
        look(in_film_[v], depth_m(v, state) < kLastFilm_m);
    }
    return passed;
}

double WaterBalance::total_m3(std::span<const double> state) const {
    double total = 0.0;
    for (std::size_t v = 0; v < vessels_; ++v) total += state[v] + state[spilled_at(v)];
    for (std::size_t f = 0; f < fixed_; ++f) total -= state[given_at(f)];
    for (std::size_t d = 0; d < draws_; ++d)
        if (vessel_into(plan_->routine.draws[d]) < 0) total += state[draw_at(d)];
    for (std::size_t u = 0; u < uptakes_; ++u) total += state[uptake_at(u)];
    for (std::size_t h = 0; h < plan_->hoses.size(); ++h) total -= state[poured_at(h)];
    for (std::size_t tap = 0; tap < tapped_tees_.size(); ++tap) total += state[tapped_at(tap)];
    return total;
}

}  // namespace ebb::time
