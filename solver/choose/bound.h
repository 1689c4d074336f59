#pragma once
// What no choice of pipe sizes can cost less than, and whether a design is proven the cheapest: branch and bound on the relaxation.

#include <cstdint>
#include <functional>
#include <stop_token>

#include "solver/choose/sizing.h"

namespace ebb::choose {

struct BoundOptions {
    std::int64_t most_nodes = 2000;  ///< boxes bounded by a linear program; 1: the root alone, in milliseconds
    double wanted_gap = 0.0;         ///< share of the best cost: stop when the gap is not more
    int threads = 1;                 ///< the result does not depend on it
    bool squeeze = true;             ///< first narrow the flows by linear programs; worth it from some hundred nodes on
};

struct BoundProgress {
    std::int64_t nodes = 0, open = 0;
    double lower_bound = 0.0, best_cost = 0.0;
};
using BoundCallback = std::function<void(const BoundProgress&)>;

struct BoundResult {
    double root_bound = 0.0;    ///< of the first linear program
    double lower_bound = 0.0;   ///< no allowed design costs less; +infinity: no design is allowed
    Design best;                ///< the incumbent, or a cheaper one found on the way; empty: none
    double best_cost = 0.0;     ///< its total cost; +infinity without one
    bool found_better = false;  ///< `best` is not the incumbent that was given
    bool proven = false;        ///< no allowed design costs less than `best_cost` (or, without one, none is allowed)
    bool stopped = false;       ///< by the stop token
    std::int64_t nodes = 0, programs = 0, evaluations = 0;
    double gap() const;  ///< (best_cost - lower_bound)/best_cost; 0 when proven, 1 without a design
};

/// Bounds the cost of every allowed design from below. `incumbent`: an allowed design of `incumbent_cost` (total), or null. Work is counted in nodes;
/// same input, same result. A stop gives the bound reached so far.
BoundResult bound(const SizingProblem& problem, const Design* incumbent, double incumbent_cost, const BoundOptions& options = {},
                  const BoundCallback& progress = {}, const std::stop_token& stop = {});

}  // namespace ebb::choose
