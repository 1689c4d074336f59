#pragma once
// The farm's response made linear at a solved point: which change of levels goes with which change of water, for an implicit step.
//
//        (storage - J) u = b,      J = how the net inflow of each vessel follows each level (network solve in between eliminated)
//
// J itself is never formed: the heads of the plain nodes stay in the system as unknowns, so that the matrix is the sparse one of the levels
// solve (factor.h) and cost and memory are linear in the size of the farm. Kept apart from the solver's own systems, since network solves
// go on between the corrections that one linearisation serves.

#include <cstdint>
#include <span>
#include <vector>

#include "solver/network/assembly.h"
#include "solver/network/laws.h"
#include "solver/network/newton.h"

namespace ebb::network {

class LevelSystem {
public:
    explicit LevelSystem(const Network& network);

    /// Keeps the slopes of every link at `point`, solved at given levels.
    void take(Solver& solver, const Settings& settings, Point& point);

    /// Factorises with these storages: m3/s per m of each vessel (plan area over the step's length, and what else follows its own level).
    bool factorise(std::span<const double> storage_m2_s);

    /// Solves for the changes of level `u` (in place of `b`, m3/s per vessel), and what each fixed node then gives more, m3/s.
    void solve(std::span<double> b_then_u, std::span<double> fixed_gives);

private:
    struct Slope {
        double a = 0.0, b = 0.0;  ///< dQ = a dH_from - b dH_to, by unknowns; 0 for what is known
    };
    const Network* network_;
    Factor factor_;
    std::vector<std::int32_t> slot_;
    std::vector<Slope> slopes_;
    std::vector<std::uint8_t> air_;
    std::vector<double> storage_, rhs_, left_;
};

}  // namespace ebb::network
