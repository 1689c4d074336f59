#pragma once
// The few coefficients that explain the readings: roughness (or C) by series, openings of throttled valves, wear of pumps, load of filters.
//
// Damped least squares (K. Levenberg 1944, D. W. Marquardt 1963): of the coordinates x, within limits, is made least
//        sum ((r_i - p_i(x)) / sigma_i)^2 [+ sum (x_j / w_j)^2 while it is not yet known which can be told],
// p by settled solves, derivatives by central differences. Coordinates: logarithm of the factor on roughness or C; opening; wear; load.
//
// What the readings can tell. w_j is how far a coefficient may plausibly be off. With J the derivatives over sigma, in units of w, the covariance
// with that knowledge alone for the rest is P = (J^T J + I)^-1. A coefficient whose deviation sqrt(P_jj) stays above kTold of what it was is not
// told: it moves nothing, or another moves the same readings the same way (its partner: the largest |P_jk| / sqrt(P_jj P_kk)). Those stay as drawn;
// the others are fitted again without w. Intervals: from the inverse of J^T J with 1 added for those that are not told, so that what is plausible of
// them is in it; widened by the root of chi-squared over its degrees of freedom where that is above 1.
//
// Looks (yes or no) are not used. A reading that nothing determines, or that comes and goes, counts as far as it lies outside of what is predicted.

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <stop_token>
#include <vector>

#include "solver/diagnose/reading.h"
#include "solver/diagnose/signatures.h"

namespace ebb::diagnose {

/// What can be fitted: roughness of a series, m; its Hazen-Williams C; opening of a valve, wear of a pump, load of a filter, shares.
enum class Coefficient : std::uint8_t { roughness, hazen_williams, opening, wear, filter_load };

/// Whether the readings tell a coefficient, and why not.
enum class Told : std::uint8_t {
    yes,
    moves_nothing,  ///< that was read
    too_weakly,     ///< less than what was known before
    not_apart,      ///< from its partner
};

/// One coefficient: as drawn, as it fits best, and how well it is known.
struct FittedCoefficient {
    Coefficient what = Coefficient::wear;
    std::vector<std::int32_t> things;            ///< pipes of one series; one valve, pump or filter
    std::vector<std::int32_t> visits;            ///< of openings and loads: those in which it stands as `drawn`
    double drawn = 0.0;                          ///< m, C, or a share
    double fitted = 0.0, low = 0.0, high = 0.0;  ///< 90 %; as drawn where it is not told
    Told told = Told::moves_nothing;
    std::int32_t partner = -1;  ///< of not_apart: index into Calibration::coefficients
    double alone = 0.0;         ///< of not_apart: what would fit best if it alone were to blame
    bool at_limit = false;      ///< wants further than what can be
};

/// Options of calibrate().
struct CalibrationOptions {
    std::vector<std::int32_t> only = {};  ///< indices into coefficients_of(); empty: all
    std::function<void(double)> progress = {};
    std::stop_token stop = {};
};

/// The fit: coefficients, and every reading before and after. Chi-squared is the sum of squared pulls.
struct Calibration {
    /// What came of it; `nothing_told`: there are some, and these readings tell none of them.
    enum class Outcome : std::uint8_t { fitted, nothing_to_fit, nothing_told, no_solution, stopped } outcome = Outcome::no_solution;
    std::vector<FittedCoefficient> coefficients;
    std::vector<Predicted> before, after;  ///< of each reading
    std::vector<double> pulls_before, pulls_after;
    double chi_squared_before = 0.0, chi_squared_after = 0.0;
    std::size_t used = 0;  ///< readings that count
    std::size_t told = 0;  ///< coefficients
    bool fits = false;     ///< chi-squared after, within what one in a thousand exceeds
    bool converged = false;
    int rounds = 0;
    std::size_t solves = 0;  ///< network solves
};

/// What could be fitted, as drawn: every series' roughness (or C), every valve that stands throttled in a visit, every pump that runs in one, every
/// filter whose load matters.
std::vector<FittedCoefficient> coefficients_of(const Signatures& signatures);

/// Fits coefficients to readings (nothing wrong besides). The observables of the readings must be among those of the signatures.
Calibration calibrate(Signatures& signatures, std::span<const Reading> readings, const CalibrationOptions& options = {});

}  // namespace ebb::diagnose
