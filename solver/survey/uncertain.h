#pragma once
// How sure are the figures of an arrangement? It is solved many times, each time with everything that is not known exactly a little different
// (uncertainty.h), at points that fill the space of what may be (normal_points.h); what comes out is told in percentiles.
//
// Which uncertainty moves a figure most: the square of the correlation between the figure and the variable, the share of the figure's variance that a
// straight line through that variable explains (the squared standardised regression coefficient: A. Saltelli et al., Global Sensitivity Analysis: The
// Primer, 2008, 1.2.5), the stronger ones taken out before the weaker are looked for. Knowing it exactly would leave the square root of the rest of
// the spread.
//
// Samples are solved eight at a time (lane_settle.h), blocks of them over threads; what the lanes leave alone is solved singly. Nothing depends on
// the threads. Percentiles are by the seventh definition of R. J. Hyndman and Y. Fan (Amer. Statistician 50 (1996) 361), of the samples with a
// solution.

#include <array>
#include <cstddef>
#include <functional>
#include <stop_token>
#include <vector>

#include "solver/settle/farm.h"
#include "solver/survey/survey.h"
#include "solver/survey/uncertainty.h"

namespace ebb::survey {

/// An uncertainty's part in the spread of a figure.
struct Cause {
    std::size_t uncertainty = 0;  ///< index into UncertainAnswer::uncertainties
    double share = 0.0;           ///< of the variance
    bool rises = false;           ///< the figure grows with it
};

/// A figure that is not sure: 90 of 100 samples lie between low and high. NaN: no sample has it. A turnover without flow is infinite.
struct Spread {
    double low = settle::kUnknown, middle = settle::kUnknown, high = settle::kUnknown;
    std::vector<Cause> causes;  ///< the greatest first, at most kMostCauses
};
inline constexpr std::size_t kMostCauses = 3;

/// How sure the figures of a vessel are.
struct VesselSpread {
    Spread depth_m, inflow_m3_s, turnover_s;
};
/// How sure the figures of a pump are.
struct PumpSpread {
    Spread flow_m3_s, head_m, power_w;
};
/// Samples in which the water at a tee hangs below the pressure of the air (row.h).
struct TeeSpread {
    std::size_t breaks = 0, vacuum = 0;  ///< beyond the vapour pressure; short of it
};
/// In how many samples a target is met, and how sure what it gets is.
struct TargetSpread {
    std::size_t asked = 0, met = 0;  ///< samples
    Spread got;
};

/// Options of solve_uncertain().
struct UncertainOptions {
    std::size_t samples = 1024;
    unsigned threads = 1;
    settle::Options settle = {};
};

/// What many samples of the unknowns of a layout say together.
struct UncertainAnswer {
    std::vector<Uncertainty> uncertainties;
    std::size_t samples = 0, solved = 0;
    std::size_t alone = 0;                              ///< samples left to the single solve
    std::array<std::size_t, 6> states = {};             ///< samples by settle::State
    std::size_t spills = 0, bare = 0, below_least = 0;  ///< samples, of those with a solution
    std::size_t breaks = 0, vacuum = 0;                 ///< of them: at any tee
    std::vector<VesselSpread> vessels;
    std::vector<PumpSpread> pumps;
    std::vector<TeeSpread> tees;
    std::vector<Spread> pipe_flow_m3_s;  ///< without causes; empty when there are too many pipes to keep
    std::vector<TargetSpread> targets;   ///< in the order of targets_of()
    std::vector<Cause> measure;          ///< what is worth measuring: mean share over the targets' figures (no targets: inflows), the greatest first
    bool whole = true;                   ///< false: it was asked to stop, and nothing else is filled
};

/// `layout` must have passed validate(). `progress` is called now and then, in this thread, with the share that is done.
UncertainAnswer solve_uncertain(const layout::Layout& layout, const layout::Conditions& arrangement, bool at_start_levels,
                                const UncertainOptions& options, const std::function<void(double)>& progress = {}, const std::stop_token& stop = {});

/// The value below which `share` of `sorted` lies.
double percentile(const std::vector<double>& sorted, double share);

}  // namespace ebb::survey
