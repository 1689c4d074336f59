#pragma once
// One fault against the readings: how likely they are when it is there, of any size, and which sizes they allow.
//
// The likelihood is taken over the fault's coordinate u from 0 to 1, on which every size is alike before anything is read (fault.h). The evidence is
// its mean; the sizes allowed are the equal-tailed interval of its distribution. Between the sizes that were solved the predictions are straight
// lines (signatures.h): the grid is fine enough that no reading moves more than a quarter of its standard deviation between two points where the
// segment is narrow, and the segments are made narrow where it matters (`refine`).
//
// Optimism. A segment between two solved sizes that has not been found straight may hide sizes that fit better. Its optimistic likelihood lets every
// reading lie nearer by a quarter of what its prediction changes over the segment; where even that is out of the running, the segment need not be
// halved.

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "solver/diagnose/scales.h"
#include "solver/diagnose/signatures.h"

namespace ebb::diagnose {

struct Weight {
    double log_evidence = -1e300;                         ///< logarithm of the mean likelihood over the sizes
    double log_likelihood = -1e300, chi_squared = 1e300;  ///< at the size that fits best
    std::int32_t misread = -1;                            ///< there
    double best_u = 1.0, low_u = 1.0, high_u = 1.0;       ///< that size, and the interval
    bool solved = false;                                  ///< at some size
};

struct Segment {
    std::size_t fault = 0;
    double low_u = 0.0, high_u = 1.0;
    double log_mass = -1e300;  ///< logarithm of its optimistic likelihood times its length
    bool straight = false;     ///< or so short that it does not matter
};

/// `columns`: index of the observable of each reading. `credible`: of the interval.
Weight weigh(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double credible);

/// The same with likelihoods by `judge`, which may look at sizes differently; `scales` for how fine the grid must be.
using Judge = std::function<Judgement(double u, std::span<const Predicted> predicted)>;
Weight weigh(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double credible,
             const Judge& judge);

/// The segments between the solved sizes, with their optimistic likelihood.
std::vector<Segment> segments_of(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns);

/// What is predicted of the readings at a size.
void predicted_at(const Signatures& signatures, std::size_t fault, double u, std::span<const std::size_t> columns, std::span<Predicted> predicted);

/// Whether the fault, at the sizes solved so far, moves any of the readings from what the sound farm gives by more than `share` of its deviation.
bool shows(const Signatures& signatures, std::size_t fault, const Scales& scales, std::span<const std::size_t> columns, double share = 0.05);

}  // namespace ebb::diagnose
