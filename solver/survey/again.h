#pragma once
// The combinations that a survey names, each solved once more by the ordinary single solve: what holds the quick way of many to the slow way of one.

#include <cstdint>
#include <functional>
#include <map>
#include <stop_token>

#include "solver/settle/farm.h"
#include "solver/survey/statistics.h"
#include "solver/survey/survey.h"

namespace ebb::survey {

/// The named combinations solved once more, one by one, and how far the quick way was off.
struct Again {
    std::map<std::uint64_t, settle::Answer> answers;  ///< by combination
    std::size_t figures = 0;                          ///< compared
    double worst_difference = 0.0;                    ///< share of the figure, which counts as 1 l/min or 10 mm at the least
    std::uint64_t worst_combination = kNoCombination;
    bool whole = true;  ///< false: it was asked to stop

    /// Solves of one combination agree far better than this.
    static constexpr double kAgrees = 1e-6;
    /// Whether the quick way was right.
    bool agrees() const { return worst_difference <= kAgrees; }
};

/// Solves every combination that has an extreme of a vessel, a pump or a target, is the first of a trouble or is among the worst, and compares the
/// figures. `progress`: called before every solve with the share that is done.
Again solve_again(const layout::Layout& layout, const Question& question, const Statistics& statistics, const settle::Options& options,
                  const std::function<void(double)>& progress, const std::stop_token& stop);

}  // namespace ebb::survey
