#pragma once
// How well what a hypothesis predicts agrees with what was read.
//
// Readings r, predictions p, e = r - p. The errors are normal with the covariance
//        C = diag(sigma^2) + sum over the layout's unknowns of d d^T,
// where d is what one standard deviation of an unknown (a roughness, a pump's head: whatever the layout says is known to a plus-minus only) does to
// the predictions of the sound farm: readings are not independent when the same pump stands behind them. chi2 = e^T C^-1 e.
//
// People misread: a tape by ten centimetres, a bucket not emptied. One reading in a hundred is taken to be ten times as wrong as it is said to be
// (a contaminated normal distribution: J. W. Tukey, A survey of sampling from contaminated distributions, 1960), and at most one of the readings:
//        L = (1 - n q) N(e; C) + sum over i of q N(e; C + (100 - 1) sigma_i^2 u_i u_i^T),      q = 1/100,
// each term by the formula of Sherman and Morrison from C^-1. So one bad reading does not throw out the right hypothesis, and it is known which.
//
// A level that comes and goes between two marks (Predicted::spread) is anywhere between them alike: its residual is what lies beyond them.
// Glances (yes or no) are right but for kMisread of times. A reading that nothing determines under a hypothesis says little about it: the density of
// an error ten times as large.
//
// All likelihoods are in one unit: the density over that of a perfect fit with every reading right. Cost: n^2 for each judgement.

#include <cstdint>
#include <span>
#include <vector>

#include "solver/diagnose/predict.h"
#include "solver/diagnose/reading.h"

namespace ebb::diagnose {

/// Whether a glance is as predicted. A level that comes and goes either falls or rises, but does not stay.
inline bool agrees(double read, const Predicted& predicted) { return predicted.spread > 0.0 ? read != predicted.value : read == predicted.value; }

inline constexpr double kBlunder = 0.01, kBlunderFactor = 10.0;

struct Judgement {
    double log_likelihood = 0.0;
    double chi_squared = 0.0;         ///< glances that disagree count 2 ln((1 - kMisread) / kMisread) each
    std::int32_t misread = -1;        ///< the reading that is taken for a blunder, where that is likelier than not
    double chi_squared_but_it = 0.0;  ///< with that one left out
};

class Scales {
public:
    /// `doubt`: for each unknown of the layout, what one standard deviation of it does to each reading (empty: the layout is exact).
    Scales(std::span<const Reading> readings, std::span<const std::vector<double>> doubt);
    /// The same by the matrix sum d d^T, of all readings, row by row.
    Scales(std::span<const Reading> readings, const std::vector<double>& doubt_squares);

    std::size_t size() const { return readings_.size(); }
    std::size_t measured() const { return measured_.size(); }
    const Reading& reading(std::size_t i) const { return readings_[i]; }
    /// Standard deviation of a reading about its prediction, the layout's unknowns included; of a glance 0.
    double sigma(std::size_t i) const { return whole_sigma_[i]; }

    /// `predicted`: one for each reading. `slack`: how much nearer to what was read each may be (what is not known of the prediction); empty: none.
    Judgement judge(std::span<const Predicted> predicted, std::span<const double> slack = {}) const;

    /// (r - p) / sigma of one reading, spread taken off; of a glance 0 or infinity. NaN where nothing is predicted.
    double pull(std::size_t i, const Predicted& predicted) const;

    /// C^-1 v, of the measured readings (those that are no glances) in their order.
    std::vector<double> times_inverse(std::span<const double> v) const;

    /// Logarithm of the root of det C over the product of the sigmas: how much thinner likelihoods are spread than by the readings' errors alone.
    /// What is judged by different scales is compared after this has been taken off.
    double log_thinner() const { return log_thinner_; }

private:
    void take(std::span<const double> doubt_squares);
    double residual(std::size_t i, const Predicted& predicted, double slack) const;
    std::vector<Reading> readings_;
    std::vector<std::size_t> measured_;  ///< readings that are no glances
    std::vector<double> whole_sigma_, inverse_;
    double log_thinner_ = 0.0;
    std::vector<double> wider_, log_root_;  ///< of a blunder in each: a_i / (1 + a_i c_ii) and half the logarithm of the growth of the determinant
};

/// The value that chi-squared of `degrees` exceeds with the given probability (E. B. Wilson and M. M. Hilferty, 1931).
double chi_squared_quantile(std::size_t degrees, double exceeded_with);

}  // namespace ebb::diagnose
