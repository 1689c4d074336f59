#pragma once
// The way to the settled state: levels in time, for one fixed set of settings.
//
// Volumes V are stepped by the two-stage, second-order, L-stable diagonally implicit Runge-Kutta method (Alexander 1977, gamma = 1 - 1/sqrt 2):
//        V1 = Vn + gamma h f(V1),     V(n+1) = Vn + (1 - gamma) h f(V1) + gamma h f(V(n+1)),
// each stage the implicit water balance of newton.h, so that every step keeps the water of closed loops to rounding. A step that
// would leave a vessel with less than nothing is made by the implicit Euler method instead, which cannot. The step length follows
// the difference of the two stages' rates, in metres of level.

#include <functional>
#include <span>
#include <vector>

#include "solver/network/newton.h"

namespace ebb::settle {

struct MarchState {
    double time_s = 0.0;
    std::vector<double> volume_m3;
    std::vector<double> rate_m3_s;   ///< of the last step, per vessel
    std::vector<double> spilled_m3;  ///< so far, per vessel
    network::Point point;
    int network_solves = 0, newton_steps = 0;
};

class March {
public:
    /// `coarse`: every step by the implicit Euler method, one solve instead of two, for a look at the way rather than its measure.
    March(network::Solver& solver, const network::Settings& settings, const network::Tolerances& tolerances, double level_tolerance_m,
          bool coarse = false);

    /// Begins at these volumes.
    void start(std::span<const double> volume_m3);

    /// One accepted step, not longer than `longest_s`. False when no step however short could be made.
    bool step(double longest_s);

    const MarchState& state() const { return state_; }
    double level_m(std::int32_t vessel) const;
    double last_step_s() const { return last_step_s_; }

private:
    bool stage(std::span<const double> base, double tau, std::vector<double>& rate, std::vector<double>& spill);
    bool attempt(double h);
    bool attempt_euler(double h);
    double worst_change(std::span<const double> first, std::span<const double> second, double factor) const;

    network::Solver* solver_;
    const network::Settings* settings_;
    network::Tolerances tolerances_;
    double level_tolerance_m_;
    bool coarse_;
    double next_step_s_ = 1.0, last_step_s_ = 0.0, error_ = 0.0;
    MarchState state_;
    network::Point trial_;
    std::vector<double> rate1_, rate2_, spill1_, spill2_, base_;
    bool euler_ = false;
};

}  // namespace ebb::settle
