#include "solver/settle/march.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace ebb::settle {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kGamma = 1.0 - 1.0 / std::numbers::sqrt2;
constexpr double kShortest_s = 1e-6;

}  // namespace

March::March(network::Solver& solver, const network::Settings& settings, const network::Tolerances& tolerances, double level_tolerance_m, bool coarse)
    : solver_(&solver), settings_(&settings), tolerances_(tolerances), level_tolerance_m_(level_tolerance_m), coarse_(coarse) {
    const auto vessels = at(solver.network().vessel_count);
    for (auto* list : {&rate1_, &rate2_, &spill1_, &spill2_, &base_}) list->assign(vessels, 0.0);
}

void March::start(std::span<const double> volume_m3) {
    const network::Network& net = solver_->network();
    state_ = {};
    state_.volume_m3.assign(volume_m3.begin(), volume_m3.end());
    state_.rate_m3_s.assign(volume_m3.size(), 0.0);
    state_.spilled_m3.assign(volume_m3.size(), 0.0);
    std::vector<double> levels;
    for (std::size_t v = 0; v < volume_m3.size(); ++v) levels.push_back(network::level_at_volume(net.storage[v], volume_m3[v]));
    state_.point = solver_->cold_point(levels);
    const network::Outcome outcome = solver_->solve(*settings_, {}, tolerances_, false, state_.point);
    state_.network_solves = 1;
    state_.newton_steps = std::max(0, outcome.steps);
    next_step_s_ = 1.0;
}

double March::level_m(std::int32_t vessel) const { return state_.point.head_m[at(solver_->network().vessel_node(vessel))]; }

/// Solves V = base + tau f(V) from the trial point; f and the spill at its end.
bool March::stage(std::span<const double> base, double tau, std::vector<double>& rate, std::vector<double>& spill) {
    const network::Network& net = solver_->network();
    const network::Outcome outcome =
        solver_->solve(*settings_, {.unknown = true, .tau_s = tau, .start_volume_m3 = base}, tolerances_, true, trial_, false);
    ++state_.network_solves;
    state_.newton_steps += std::max(0, outcome.steps);
    if (!outcome.converged) return false;
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const double level = trial_.head_m[at(net.vessel_node(v))];
        rate[at(v)] = (network::volume_at_level(net.storage[at(v)], level).value - base[at(v)]) / tau;
        spill[at(v)] = trial_.spill_m3_s[at(v)];
    }
    return true;
}

double March::worst_change(std::span<const double> first, std::span<const double> second, double factor) const {
    const network::Network& net = solver_->network();
    double worst = 0.0;
    for (std::size_t v = 0; v < first.size(); ++v) {
        const double area = network::volume_at_level(net.storage[v], trial_.head_m[at(net.plain_count) + v]).slope;
        worst = std::max(worst, std::abs(first[v] - second[v]) * factor / area);
    }
    return worst;
}

/// One first-order step of the whole length; its rate against that of the step before tells the error.
bool March::attempt_euler(double h) {
    euler_ = true;
    rate1_ = state_.rate_m3_s;
    trial_ = state_.point;
    if (!stage(state_.volume_m3, h, rate2_, spill2_)) return false;
    error_ = 0.5 * worst_change(rate1_, rate2_, h);
    return true;
}

bool March::attempt(double h) {
    if (coarse_) return attempt_euler(h);
    const auto vessels = state_.volume_m3.size();
    trial_ = state_.point;
    euler_ = false;
    if (!stage(state_.volume_m3, kGamma * h, rate1_, spill1_)) return false;
    for (std::size_t v = 0; v < vessels; ++v) {
        base_[v] = state_.volume_m3[v] + (1.0 - kGamma) * h * rate1_[v];
        euler_ = euler_ || base_[v] < -1e-12;
    }
    if (euler_) return attempt_euler(h);
    if (!stage(base_, kGamma * h, rate2_, spill2_)) return false;
    error_ = 0.25 * worst_change(rate1_, rate2_, h);
    return true;
}

bool March::step(double longest_s) {
    double h = std::min(next_step_s_, longest_s);
    while (true) {
        // where the two stages do not arrive, the one of the implicit Euler method may
        const bool made = attempt(h) || (!coarse_ && attempt_euler(h));
        const bool tiny = h <= 0.05;
        if (made && (error_ <= level_tolerance_m_ || tiny)) break;
        h *= made ? std::clamp(0.8 * level_tolerance_m_ / error_, 0.1, 0.5) : 0.25;
        if (h < kShortest_s) return false;
    }
    const double first = euler_ ? 0.0 : 1.0 - kGamma, second = euler_ ? 1.0 : kGamma;
    for (std::size_t v = 0; v < state_.volume_m3.size(); ++v) {
        state_.volume_m3[v] += h * (first * rate1_[v] + second * rate2_[v]);
        state_.spilled_m3[v] += h * (first * spill1_[v] + second * spill2_[v]);
        state_.rate_m3_s[v] = rate2_[v];
    }
    std::swap(state_.point, trial_);
    state_.time_s += h;
    last_step_s_ = h;
    next_step_s_ = h * std::clamp(0.8 * std::sqrt(level_tolerance_m_ / std::max(error_, 1e-12)), 0.3, 4.0);
    return true;
}

}  // namespace ebb::settle
