#pragma once
// The farm as a differential equation: how fast every volume changes, given all volumes.
//
// States, all in m3, one after the other:
//     volume   per vessel         V' = what flows in - out - spill - draws and uptakes + hoses
//     spilled  per vessel         what went over its rim
//     given    per fixed node     what a pond or supply gave (minus what it got)
//     drawn    per draw, then per uptake
//     poured   per hose
//     tapped   per tee that takes water
// The last five are carried along so that the sum  volume + spilled + drawn (where it leaves the farm) + tapped - given - poured  is a linear
// invariant of the equation: a linear multistep method with a consistent Jacobian keeps it to rounding, whatever its steps and tolerances.
//
// Between volumes and rates stands the network solve at given levels, warm from the one before. Everything in it is continuous in the
// levels. So are the two limits made here: over a rim goes what stands above it within 20 ms (a film of Q times 20 ms over the plan: a tenth
// of a millimetre), and a draw or an uptake fades over the last 2 mm of depth.

#include <cstdint>
#include <span>
#include <vector>

#include "solver/network/level_system.h"
#include "solver/time/plan.h"

namespace ebb::time {

class WaterBalance {
public:
    static constexpr double kLastFilm_m = 0.002;  ///< depth over which draws and uptakes fade

    WaterBalance(const layout::Layout& layout, const network::Network& network, network::Solver& solver, const network::Tolerances& tolerances,
                 const Plan& plan);

    // where each state is
    std::size_t size() const { return poured_at(plan_->hoses.size()) + tapped_tees_.size(); }
    std::size_t spilled_at(std::size_t vessel) const { return vessels_ + vessel; }
    std::size_t given_at(std::size_t fixed) const { return 2 * vessels_ + fixed; }
    std::size_t draw_at(std::size_t draw) const { return 2 * vessels_ + fixed_ + draw; }
    std::size_t uptake_at(std::size_t uptake) const { return draw_at(draws_) + uptake; }
    std::size_t poured_at(std::size_t hose) const { return uptake_at(uptakes_) + hose; }
    std::size_t tapped_at(std::size_t tap) const { return poured_at(plan_->hoses.size()) + tap; }

    /// The tees that take water, in the order of their states.
    const std::vector<std::size_t>& tapped_tees() const { return tapped_tees_; }

    /// Settings that stand from now on; the next evaluation starts cold.
    void stand(network::Settings settings, std::span<const std::uint8_t> draw_runs);
    const network::Settings& settings() const { return settings_; }

    /// A hose that has poured its whole amount.
    void close_hose(std::size_t hose) { hose_open_[hose] = 0; }
    bool hose_open(std::size_t hose) const { return hose_open_[hose] != 0; }

    /// Rates at these states, m3/s. False when the network found no solution.
    bool rates(std::span<const double> state, std::span<double> rate);

    /// Prepares the linear system I - gamma d rate / d state at these states (`keep`: with the slopes of last time). False as above.
    bool prepare(std::span<const double> state, double gamma, bool keep);

    /// Solves the system prepared: x from b. The sum of total_m3() over x is that over b, to rounding.
    void solve(std::span<const double> b, std::span<double> x);

    /// Heads and flows of the last evaluation (of `rates`, `prepare` or `solve_at`).
    const network::Point& point() const { return point_; }
    double level_m(std::size_t vessel, std::span<const double> state) const;
    double depth_m(std::size_t vessel, std::span<const double> state) const;

    /// Adds to `net_m3_s`, per vessel, what comes and goes besides pipes and rims: draws, uptakes, hoses.
    void add_what_comes_by_hand(std::span<const double> state, std::span<double> net_m3_s) const;

    /// Makes point() that of exactly these states.
    bool solve_at(std::span<const double> state);

    /// Whether a vessel has passed its rim, or the depth where draws and uptakes fade, since the last call: there the slopes jump.
    bool passed_kink(std::span<const double> state);

    /// Water in the vessels and through every boundary: constant.
    double total_m3(std::span<const double> state) const;

    /// Plan area of water at the mean, m2: scale of a vessel's volume.
    double mean_area_m2(std::size_t vessel) const;

    double draw_rate_m3_s(std::size_t draw) const;  ///< asked for, 0 outside its window

    Counts& counts() { return counts_; }

private:
    double share_left(std::size_t vessel, std::span<const double> state, double* slope_per_m3 = nullptr) const;
    double hose_share(std::size_t hose, std::span<const double> state, double* slope_per_m3 = nullptr) const;
    std::int32_t vessel_into(const layout::Draw& draw) const;

    const network::Network* network_;
    network::Solver* solver_;
    network::Tolerances tolerances_;
    const Plan* plan_;
    std::size_t vessels_, fixed_, draws_, uptakes_;
    std::vector<std::size_t> tapped_tees_;
    network::Settings settings_;
    std::vector<std::uint8_t> draw_runs_, hose_open_;
    network::Point point_, good_;  ///< now; and before the settings were last changed
    bool has_good_ = false;
    std::vector<double> solved_for_;  ///< volumes of point_
    std::vector<double> rim_volume_m3_;
    std::vector<std::uint8_t> over_rim_, in_film_;  ///< per vessel, for passed_kink()

    // the system made linear: see prepare()
    network::LevelSystem linear_;
    double gamma_ = 0.0;
    std::vector<double> area_, spill_slope_, own_slope_, draw_slope_, uptake_slope_, hose_slope_;  ///< slopes per m3 of the vessel's volume, 1/s
    std::vector<double> storage_, level_change_, fixed_gives_;
    bool warm_ = false, failed_before_ = false;
    Counts counts_;
};

}  // namespace ebb::time
