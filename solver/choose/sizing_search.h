#pragma once
// The search for the least-cost choice of pipe sizes.
//
// Where the designs are few they are all looked at, in the order of their cost (sizing_enumeration.h): the first that is allowed is the optimum.
// Else: simulated annealing (S. Kirkpatrick, C. D. Gelatt and M. P. Vecchi, Optimization by simulated annealing, Science 220, 1983, 671-680) on
//        cost + price * missed,
// the price of what is missed led so that the walk crosses the border of what is allowed to and fro, for that is where the cheapest designs lie;
// moves are one size up or down, one up and another down, or any size. Each walk ends with the exchange of any one or two sizes until none is
// cheaper. Several walks from their own seeds share nothing, so that the result is the same whatever the number of threads. It is a heuristic: what
// is proved about its result comes from the lower bound (bound.h).

#include <cstdint>
#include <functional>
#include <stop_token>

#include "solver/choose/sizing.h"

namespace ebb::choose {

struct SizingProgress {
    std::int64_t evaluations = 0, of_evaluations = 0;  ///< designs solved so far, in all walks
    bool found = false;
    double cost = 0.0;  ///< of the cheapest allowed design so far
};

struct SizingOptions {
    std::int64_t evaluations = 0;  ///< designs to solve in all; 0: normal_effort()
    int walks = 8;
    unsigned threads = 1;
    std::uint64_t seed = 1;
    bool enumerate = true;  ///< look at all designs where they are few
    std::stop_token stop;
    /// Told when a cheaper design is found and now and then between; from any thread, one at a time.
    std::function<void(const SizingProgress&)> progress;
    std::vector<Design> known;  ///< designs to start from and to beat
    /// Where all designs are looked at: also the cheapest within the limits whose targets have so much to spare, for each.
    std::vector<double> margins;
};

struct SizingResult {
    bool found = false;    ///< an allowed design
    Design design;         ///< the cheapest allowed one; when none was found, the one that misses least
    Verdict verdict;       ///< of it, as Evaluator::explain has it
    bool exact = false;    ///< every design was looked at (or is dearer) and could be solved: this is the optimum
    bool stopped = false;  ///< by the stop token: the best so far
    bool walked = false;   ///< what spills on the way decides here: every design was walked from the start
    std::int64_t evaluations = 0;
    /// One for each of SizingOptions::margins, where the result is exact: the cheapest design, or an empty one where there is none.
    std::vector<Design> by_margin;
};

/// Designs that a search of ordinary care solves.
std::int64_t normal_effort(const SizingProblem& problem);

/// Number of designs; infinite when there are too many to count.
double number_of_designs(const SizingProblem& problem);

SizingResult search_sizes(const SizingProblem& problem, const SizingOptions& options);

}  // namespace ebb::choose
