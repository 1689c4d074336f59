#include "solver/diagnose/calibrate.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include "solver/diagnose/dense.h"
#include "solver/diagnose/scales.h"
#include "solver/survey/uncertainty.h"

namespace ebb::diagnose {

namespace {

using layout::Conditions;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kTold = 0.25;          ///< share of what was open before that may be left
constexpr double kMovesNothing = 0.97;  ///< where so much is left with everything else known, it moves nothing that was read
constexpr double kTogether = 0.6;       ///< correlation from which a coefficient has a partner
constexpr int kMostRounds = 40;
constexpr double kStep = 0.02;        ///< of differences, in w
constexpr double kSmallStep = 1e-5;   ///< in w: there
constexpr double kLittleGain = 1e-9;  ///< of chi-squared
constexpr double kNormal90 = 1.6449;  ///< two-sided 90 % of a normal variable

/// How far a coefficient may plausibly be off, in its coordinate: a slimed or a new pipe, a handle, an impeller, a cloth (common practice).
double width_of(Coefficient what) {
    switch (what) {
        case Coefficient::roughness: return 1.0;
        case Coefficient::hazen_williams: return 0.10;
        case Coefficient::opening: return 0.15;
        case Coefficient::wear: return 0.15;
        case Coefficient::filter_load: return 0.30;
    }
    return 1.0;
}

bool is_factor(Coefficient what) { return what == Coefficient::roughness || what == Coefficient::hazen_williams; }

struct Range {
    double low, high;
};
/// Of the coordinate.
Range range_of(const FittedCoefficient& one) {
    switch (one.what) {
        case Coefficient::roughness: return {std::log(1e-7 / one.drawn), std::max(0.0, std::log(5e-3 / one.drawn))};
        case Coefficient::hazen_williams: return {std::log(40.0 / one.drawn), std::max(0.0, std::log(160.0 / one.drawn))};
        case Coefficient::opening: return {0.01, 1.0};
        case Coefficient::wear: return {0.0, 0.95};
        case Coefficient::filter_load: return {0.0, 1.0};
    }
    return {0.0, 0.0};
}

double coordinate_of(const FittedCoefficient& one, double value) { return is_factor(one.what) ? std::log(value / one.drawn) : value; }
double value_at(const FittedCoefficient& one, double x) { return is_factor(one.what) ? one.drawn * std::exp(x) : x; }

void put(const FittedCoefficient& one, double x, Layout& layout, std::vector<Conditions>& conditions) {
    const double value = value_at(one, x);
    for (const std::int32_t thing : one.things) {
        switch (one.what) {
            case Coefficient::roughness: layout.pipes[at(thing)].roughness_m = value; break;
            case Coefficient::hazen_williams: layout.pipes[at(thing)].hazen_williams_c = value; break;
            case Coefficient::wear: layout.pumps[at(thing)].wear = value; break;
            case Coefficient::opening:
                for (const std::int32_t visit : one.visits) conditions[at(visit)].valve_opening[at(thing)] = value;
                break;
            case Coefficient::filter_load:
                for (const std::int32_t visit : one.visits) conditions[at(visit)].filter_load[at(thing)] = value;
                break;
        }
    }
}

/// One coefficient for each figure that a thing stands at in the visits.
template <typename Figure, typename Wanted>
void by_visit(std::vector<FittedCoefficient>& list, Coefficient what, std::size_t things, const std::vector<Conditions>& conditions,
              const Figure& figure, const Wanted& wanted) {
    for (std::size_t i = 0; i < things; ++i) {
        const std::size_t first = list.size();
        for (std::size_t v = 0; v < conditions.size(); ++v) {
            const double drawn = figure(conditions[v], i);
            if (!wanted(i, drawn)) continue;
            const auto same =
                std::find_if(list.begin() + static_cast<std::ptrdiff_t>(first), list.end(), [&](const auto& one) { return one.drawn == drawn; });
            if (same != list.end())
                same->visits.push_back(static_cast<std::int32_t>(v));
            else
                list.push_back({.what = what, .things = {static_cast<std::int32_t>(i)}, .visits = {static_cast<std::int32_t>(v)}, .drawn = drawn});
        }
    }
}

class Fit {
public:
    Fit(Signatures& signatures, std::span<const Reading> readings, const CalibrationOptions& options, Calibration& calibration)
        : signatures_(signatures), readings_(readings), options_(options), calibration_(calibration) {
        for (const Reading& reading : readings) columns_.push_back(signatures.column_of(reading.what));
        for (std::size_t i = 0; i < readings.size(); ++i)
            if (!is_glance(readings[i].what.quantity)) used_.push_back(i);
        calibration_.used = used_.size();
    }

    void run() {
        std::vector<FittedCoefficient>& all = calibration_.coefficients;
        std::vector<double> start;
        for (const FittedCoefficient& one : all) start.push_back(coordinate_of(one, one.drawn));
        x_ = start;
        Look here;
        if (!look(x_, here)) return;
        note(here, calibration_.before, calibration_.pulls_before, calibration_.chi_squared_before);
        note(here, calibration_.after, calibration_.pulls_after, calibration_.chi_squared_after);
        if (all.empty() || used_.empty()) {
            calibration_.outcome = all.empty() ? Calibration::Outcome::nothing_to_fit : Calibration::Outcome::nothing_told;
            return;
        }
        // with what is plausible beside, to see what the readings tell
        std::vector<std::size_t> free(all.size());
        for (std::size_t j = 0; j < free.size(); ++j) free[j] = j;
        descend(free, true, start);
        std::vector<std::size_t> told;
        for (;;) {
            if (options_.stop.stop_requested()) break;
            told = judge(free);
            for (std::size_t j = 0; j < all.size(); ++j)
                if (std::find(told.begin(), told.end(), j) == told.end()) x_[j] = start[j];
            descend(told, false, start);
            if (told.empty() || !drop_weak(told)) break;
            std::erase_if(free, [&](std::size_t j) { return all[j].told == Told::too_weakly; });
        }
        finish(told, start);
    }

private:
    struct Look {
        std::vector<Predicted> predicted;  ///< of each reading
        std::vector<double> residual;      ///< of the used ones, over sigma
        double chi_squared = std::numeric_limits<double>::infinity();
    };

    Signatures::Elsewhere elsewhere(const std::vector<double>& x) const {
        Signatures::Elsewhere one;
        one.layout = signatures_.layout();
        one.conditions = signatures_.conditions();
        for (std::size_t j = 0; j < x.size(); ++j) put(calibration_.coefficients[j], x[j], one.layout, one.conditions);
        return one;
    }

    bool take(const Signatures::Elsewhere& solved, Look& look) const {
        if (!solved.solved) return false;
        look.predicted.clear();
        look.residual.clear();
        look.chi_squared = 0.0;
        for (const std::size_t column : columns_) look.predicted.push_back(solved.predicted[column]);
        for (const std::size_t i : used_) {
            const Predicted& predicted = look.predicted[i];
            const double away = readings_[i].value - predicted.value;
            const double residual =
                std::isnan(away) ? 0.0 : std::copysign(std::max(0.0, std::abs(away) - predicted.spread), away) / readings_[i].sigma;
            look.residual.push_back(residual);
            look.chi_squared += residual * residual;
        }
        return true;
    }

    bool look(const std::vector<double>& x, Look& here) {
        std::vector<Signatures::Elsewhere> one = {elsewhere(x)};
        signatures_.elsewhere(one, false, options_.stop);
        return take(one[0], here);
    }

    void note(const Look& here, std::vector<Predicted>& predicted, std::vector<double>& pulls, double& chi_squared) const {
        predicted = here.predicted;
        chi_squared = here.chi_squared;
        pulls.assign(readings_.size(), 0.0);
        for (std::size_t i = 0; i < readings_.size(); ++i)
            if (is_glance(readings_[i].what.quantity) && !agrees(readings_[i].value, predicted[i]))
                pulls[i] = std::numeric_limits<double>::infinity();
        for (std::size_t k = 0; k < used_.size(); ++k) pulls[used_[k]] = here.residual[k];
    }

    /// Derivatives of the predictions over sigma by coordinates over w, row by row; central differences within the limits.
    std::vector<double> derivatives(const std::vector<std::size_t>& free) {
        std::vector<Signatures::Elsewhere> wanted;
        std::vector<std::pair<double, double>> places;
        for (const std::size_t j : free) {
            const FittedCoefficient& one = calibration_.coefficients[j];
            const Range range = range_of(one);
            const double h = kStep * width_of(one.what);
            places.emplace_back(std::max(range.low, x_[j] - h), std::min(range.high, x_[j] + h));
            for (const double place : {places.back().first, places.back().second}) {
                std::vector<double> x = x_;
                x[j] = place;
                wanted.push_back(elsewhere(x));
            }
        }
        signatures_.elsewhere(wanted, false, options_.stop);
        std::vector<double> jacobian(used_.size() * free.size(), 0.0);
        Look low, high;
        for (std::size_t k = 0; k < free.size(); ++k) {
            if (!take(wanted[2 * k], low) || !take(wanted[2 * k + 1], high)) continue;
            const double apart = (places[k].second - places[k].first) / width_of(calibration_.coefficients[free[k]].what);
            for (std::size_t i = 0; i < used_.size() && apart > 0.0; ++i) {
                const double change = high.predicted[used_[i]].value - low.predicted[used_[i]].value;
                jacobian[i * free.size() + k] = std::isnan(change) ? 0.0 : change / readings_[used_[i]].sigma / apart;
            }
        }
        return jacobian;
    }

    /// Sum of squares with what is plausible beside.
    double with_prior(double chi_squared, const std::vector<double>& x, const std::vector<std::size_t>& free, bool prior,
                      const std::vector<double>& start) const {
        double sum = chi_squared;
        for (const std::size_t j : free) {
            const double off = (x[j] - start[j]) / width_of(calibration_.coefficients[j].what);
            if (prior) sum += off * off;
        }
        return sum;
    }

    void descend(const std::vector<std::size_t>& free, bool prior, const std::vector<double>& start) {
        Look here;
        if (!look(x_, here)) return;
        const std::size_t n = free.size();
        double damping = 0.01, now = with_prior(here.chi_squared, x_, free, prior, start);
        calibration_.converged = n == 0;
        for (int round = 0; round < kMostRounds && n > 0 && !options_.stop.stop_requested(); ++round) {
            ++calibration_.rounds;
            if (options_.progress) options_.progress(static_cast<double>(calibration_.rounds) / (3.0 * kMostRounds));
            const std::vector<double> jacobian = derivatives(free);
            bool better = false;
            double moved = 0.0, gained = 0.0;
            for (int attempt = 0; attempt < 12 && !better; ++attempt, damping *= 5.0) {
                std::vector<double> x = step(jacobian, here, free, prior, start, damping, moved);
                Look there;
                if (!look(x, there)) continue;
                const double then = with_prior(there.chi_squared, x, free, prior, start);
                if (then > now) continue;
                gained = now - then;
                x_ = std::move(x);
                here = std::move(there);
                now = then;
                better = true;
                damping *= 0.02;  // five times is taken back by the loop
            }
            if (!better || moved < kSmallStep || gained <= kLittleGain * (1.0 + now)) {
                calibration_.converged = true;
                break;
            }
        }
        note(here, calibration_.after, calibration_.pulls_after, calibration_.chi_squared_after);
    }

    /// One damped step, cut off at the limits; what stands at a limit and would go on is held there.
    std::vector<double> step(const std::vector<double>& jacobian, const Look& here, const std::vector<std::size_t>& free, bool prior,
                             const std::vector<double>& start, double damping, double& moved) const {
        const std::size_t n = free.size(), m = used_.size();
        std::vector<std::uint8_t> held(n, 0);
        std::vector<double> x = x_;
        for (int pass = 0; pass < 3; ++pass) {
            const std::size_t rows = m + (prior ? n : 0);
            std::vector<double> matrix(rows * n, 0.0), right(rows, 0.0), diagonal(n, 0.0);
            for (std::size_t i = 0; i < m; ++i) {
                right[i] = here.residual[i];
                for (std::size_t k = 0; k < n; ++k) matrix[i * n + k] = held[k] != 0 ? 0.0 : jacobian[i * n + k];
            }
            for (std::size_t k = 0; k < n; ++k) {
                double size = prior ? 1.0 : 1e-6;
                for (std::size_t i = 0; i < m; ++i) size += matrix[i * n + k] * matrix[i * n + k];
                diagonal[k] = held[k] != 0 ? 1.0 : std::sqrt(damping * size);
                if (!prior || held[k] != 0) continue;
                matrix[(m + k) * n + k] = 1.0;
                right[m + k] = -(x_[free[k]] - start[free[k]]) / width_of(calibration_.coefficients[free[k]].what);
            }
            const std::vector<double> by = damped_step(rows, n, matrix, right, diagonal);
            moved = 0.0;
            bool again = false;
            for (std::size_t k = 0; k < n; ++k) {
                const FittedCoefficient& one = calibration_.coefficients[free[k]];
                const Range range = range_of(one);
                const double wanted = x_[free[k]] + by[k] * width_of(one.what);
                x[free[k]] = std::clamp(wanted, range.low, range.high);
                moved = std::max(moved, std::abs(x[free[k]] - x_[free[k]]) / width_of(one.what));
                if (held[k] != 0 || wanted == x[free[k]] || x[free[k]] != x_[free[k]]) continue;
                held[k] = 1;
                again = true;
            }
            if (!again) break;
        }
        return x;
    }

    /// Which of `free` the readings tell, where it stands now; of the others why not.
    std::vector<std::size_t> judge(const std::vector<std::size_t>& free) {
        const std::size_t n = free.size(), m = used_.size();
        const std::vector<double> jacobian = derivatives(free);
        const std::vector<double> inverse = inverse_of_normal(m, n, jacobian, std::vector<double>(n, 1.0));
        std::vector<std::size_t> told;
        for (std::size_t k = 0; k < n && !inverse.empty(); ++k) {
            FittedCoefficient& one = calibration_.coefficients[free[k]];
            const double left = std::sqrt(inverse[k * n + k]);
            double own = 0.0, most = 0.0;
            for (std::size_t i = 0; i < m; ++i) own += jacobian[i * n + k] * jacobian[i * n + k];
            const double alone = 1.0 / std::sqrt(1.0 + own);
            one.partner = -1;
            for (std::size_t other = 0; other < n; ++other) {
                const double together = std::abs(inverse[k * n + other]) / std::sqrt(inverse[k * n + k] * inverse[other * n + other]);
                if (other == k || together <= std::max(most, kTogether)) continue;
                most = together;
                one.partner = static_cast<std::int32_t>(free[other]);
            }
            if (left < kTold) {
                one.told = Told::yes;
                told.push_back(free[k]);
            } else if (alone > kMovesNothing) {
                one.told = Told::moves_nothing;
            } else if (alone < kTold) {
                one.told = Told::not_apart;
            } else {
                one.told = Told::too_weakly;
            }
        }
        return told;
    }

    /// Intervals of those fitted, with what is plausible of the others; one that is no narrower than what was open before is dropped. True when one
    /// was.
    bool drop_weak(const std::vector<std::size_t>& told) {
        const std::size_t n = calibration_.coefficients.size(), m = used_.size();
        std::vector<std::size_t> all(n);
        std::vector<double> known(n, 1.0);
        for (std::size_t j = 0; j < n; ++j) all[j] = j;
        for (const std::size_t j : told) known[j] = 1e-6;
        const std::vector<double> inverse = inverse_of_normal(m, n, derivatives(all), known);
        const double degrees = m > told.size() ? static_cast<double>(m - told.size()) : 1.0;
        const double wider = m > told.size() ? std::sqrt(std::max(1.0, calibration_.chi_squared_after / degrees)) : 1.0;
        deviations_.assign(n, 0.0);
        std::size_t worst = n;
        double most = 1.0;
        for (const std::size_t j : told) {
            const double deviation = inverse.empty() ? 1e3 : std::sqrt(inverse[j * n + j]);
            deviations_[j] = deviation * wider * width_of(calibration_.coefficients[j].what);
            if (deviation > most) {
                most = deviation;
                worst = j;
            }
        }
        if (worst == n) return false;
        calibration_.coefficients[worst].told = Told::too_weakly;
        return true;
    }

    /// For those that cannot be told apart: what would fit if one alone were to blame.
    void each_alone(const std::vector<double>& start, const std::vector<double>& best) {
        for (std::size_t j = 0; j < calibration_.coefficients.size(); ++j) {
            FittedCoefficient& one = calibration_.coefficients[j];
            if (one.told != Told::not_apart || options_.stop.stop_requested()) continue;
            x_ = start;
            const Calibration kept = calibration_;
            descend({j}, false, start);
            const double alone = value_at(one, x_[j]);
            calibration_ = kept;
            calibration_.coefficients[j].alone = alone;
        }
        x_ = best;
    }

    void finish(const std::vector<std::size_t>& told, const std::vector<double>& start) {
        calibration_.told = told.size();
        for (std::size_t j = 0; j < calibration_.coefficients.size(); ++j) {
            FittedCoefficient& one = calibration_.coefficients[j];
            one.fitted = one.low = one.high = one.drawn;
            if (std::find(told.begin(), told.end(), j) == told.end()) {
                if (one.told == Told::yes) one.told = Told::too_weakly;
                continue;
            }
            const Range range = range_of(one);
            const double reach = kNormal90 * (j < deviations_.size() ? deviations_[j] : 0.0);
            one.partner = -1;
            one.fitted = value_at(one, x_[j]);
            one.low = value_at(one, std::max(range.low, x_[j] - reach));
            one.high = value_at(one, std::min(range.high, x_[j] + reach));
            one.at_limit = x_[j] <= range.low || x_[j] >= range.high;
        }
        if (options_.stop.stop_requested()) {
            calibration_.outcome = Calibration::Outcome::stopped;
            return;
        }
        each_alone(start, x_);
        calibration_.outcome = told.empty() ? Calibration::Outcome::nothing_told : Calibration::Outcome::fitted;
        const std::size_t degrees = used_.size() > told.size() ? used_.size() - told.size() : 1;
        calibration_.fits = calibration_.chi_squared_after <= chi_squared_quantile(degrees, 0.001);
    }

    Signatures& signatures_;
    std::span<const Reading> readings_;
    const CalibrationOptions& options_;
    Calibration& calibration_;
    std::vector<std::size_t> columns_, used_;
    std::vector<double> x_, deviations_;
};

}  // namespace

std::vector<FittedCoefficient> coefficients_of(const Signatures& signatures) {
    const Layout& layout = signatures.layout();
    const std::vector<Conditions>& conditions = signatures.conditions();
    std::vector<FittedCoefficient> list;
    for (const survey::Uncertainty& one : survey::uncertainties_of(layout)) {
        const bool roughness = one.what == survey::Unsure::roughness;
        if (!roughness && one.what != survey::Unsure::hazen_williams) continue;
        const layout::Pipe& first = layout.pipes[at(one.things.front())];
        list.push_back({.what = roughness ? Coefficient::roughness : Coefficient::hazen_williams,
                        .things = one.things,
                        .visits = {},
                        .drawn = roughness ? first.roughness_m : first.hazen_williams_c});
    }
    by_visit(
        list, Coefficient::opening, layout.valves.size(), conditions, [](const Conditions& now, std::size_t i) { return now.valve_opening[i]; },
        [](std::size_t, double drawn) { return drawn > 0.0 && drawn < 1.0; });
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        const bool runs = std::any_of(conditions.begin(), conditions.end(), [p](const Conditions& now) { return now.pump_speed[p] > 0.0; });
        if (runs) list.push_back({.what = Coefficient::wear, .things = {static_cast<std::int32_t>(p)}, .visits = {}, .drawn = layout.pumps[p].wear});
    }
    by_visit(
        list, Coefficient::filter_load, layout.filters.size(), conditions, [](const Conditions& now, std::size_t i) { return now.filter_load[i]; },
        [&](std::size_t i, double) { return !layout.filters[i].dirty.empty(); });
    for (FittedCoefficient& one : list) one.fitted = one.low = one.high = one.drawn;
    return list;
}

Calibration calibrate(Signatures& signatures, std::span<const Reading> readings, const CalibrationOptions& options) {
    Calibration calibration;
    const std::size_t before = signatures.solves();
    std::vector<FittedCoefficient> all = coefficients_of(signatures);
    if (options.only.empty()) calibration.coefficients = std::move(all);
    for (const std::int32_t index : options.only) calibration.coefficients.push_back(all[at(index)]);
    if (signatures.sound_is_solved()) Fit(signatures, readings, options, calibration).run();
    calibration.solves = signatures.solves() - before;
    return calibration;
}

}  // namespace ebb::diagnose
