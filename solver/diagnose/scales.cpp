#include "solver/diagnose/scales.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "solver/diagnose/dense.h"

namespace ebb::diagnose {

namespace {

constexpr std::size_t kMostOnStack = 64;

/// How many answers a glance has.
double answers(Quantity quantity) {
    switch (quantity) {
        case Quantity::siphon: return 4.0;
        case Quantity::moves: return 3.0;
        default: return 2.0;
    }
}

const double kGlanceDisagrees = 2.0 * std::log((1.0 - kMisread) / kMisread);

}  // namespace

Scales::Scales(std::span<const Reading> readings, std::span<const std::vector<double>> doubt) : readings_(readings.begin(), readings.end()) {
    const std::size_t n = readings_.size();
    std::vector<double> squares(n * n, 0.0);
    for (const std::vector<double>& one : doubt)
        for (std::size_t i = 0; i < n; ++i)
            for (std::size_t j = 0; j < n; ++j) squares[i * n + j] += one[i] * one[j];
    take(squares);
}

Scales::Scales(std::span<const Reading> readings, const std::vector<double>& doubt_squares) : readings_(readings.begin(), readings.end()) {
    take(doubt_squares);
}

void Scales::take(std::span<const double> doubt_squares) {
    whole_sigma_.assign(readings_.size(), 0.0);
    for (std::size_t i = 0; i < readings_.size(); ++i)
        if (!is_glance(readings_[i].what.quantity)) measured_.push_back(i);
    const std::size_t n = measured_.size();
    std::vector<double> covariance(n * n, 0.0);
    for (std::size_t a = 0; a < n; ++a) {
        const double sigma = readings_[measured_[a]].sigma;
        for (std::size_t b = 0; b < n; ++b) covariance[a * n + b] = doubt_squares[measured_[a] * readings_.size() + measured_[b]];
        covariance[a * n + a] += sigma * sigma;
        whole_sigma_[measured_[a]] = std::sqrt(covariance[a * n + a]);
    }
    double log_determinant = 0.0;
    if (n > 0) invert_definite(n, covariance, inverse_, log_determinant);
    log_thinner_ = 0.5 * log_determinant;
    for (const std::size_t i : measured_) log_thinner_ -= std::log(readings_[i].sigma);
    for (std::size_t a = 0; a < n; ++a) {
        const double sigma = readings_[measured_[a]].sigma, more = (kBlunderFactor * kBlunderFactor - 1.0) * sigma * sigma;
        const double grows = 1.0 + more * inverse_[a * n + a];
        wider_.push_back(more / grows);
        log_root_.push_back(0.5 * std::log(grows));
    }
}

double Scales::residual(std::size_t i, const Predicted& predicted, double slack) const {
    const double away = readings_[i].value - predicted.value;
    return std::copysign(std::max(0.0, std::abs(away) - predicted.spread - slack), away);
}

double Scales::pull(std::size_t i, const Predicted& predicted) const {
    if (std::isnan(predicted.value)) return predicted.value;
    if (is_glance(readings_[i].what.quantity)) return agrees(readings_[i].value, predicted) ? 0.0 : std::numeric_limits<double>::infinity();
    return residual(i, predicted, 0.0) / whole_sigma_[i];
}

std::vector<double> Scales::times_inverse(std::span<const double> v) const {
    const std::size_t n = measured_.size();
    std::vector<double> product(n, 0.0);
    for (std::size_t a = 0; a < n; ++a)
        for (std::size_t b = 0; b < n; ++b) product[a] += inverse_[a * n + b] * v[b];
    return product;
}

Judgement Scales::judge(std::span<const Predicted> predicted, std::span<const double> slack) const {
    Judgement judgement;
    const std::size_t n = measured_.size();
    std::array<double, kMostOnStack> on_stack_e, on_stack_y;
    std::vector<double> on_heap;
    double *e = on_stack_e.data(), *y = on_stack_y.data();
    if (n > kMostOnStack) {
        on_heap.resize(2 * n);
        e = on_heap.data();
        y = e + n;
    }
    double logs = 0.0;
    for (std::size_t i = 0; i < readings_.size(); ++i) {
        if (!is_glance(readings_[i].what.quantity)) continue;
        const double may_differ = slack.empty() ? 0.0 : slack[i];
        if (std::isnan(predicted[i].value)) {
            logs -= std::log(answers(readings_[i].what.quantity));
        } else if (predicted[i].spread > 0.0 && agrees(readings_[i].value, predicted[i])) {
            logs -= std::log(2.0);  // falls or rises
        } else if (!agrees(readings_[i].value, predicted[i]) &&
                   std::abs(readings_[i].value - predicted[i].value) + predicted[i].spread > may_differ) {
            logs += std::log(kMisread / (answers(readings_[i].what.quantity) - 1.0) / (1.0 - kMisread));
            judgement.chi_squared += kGlanceDisagrees;
        }
    }
    for (std::size_t a = 0; a < n; ++a) {
        const std::size_t i = measured_[a];
        const bool told = !std::isnan(predicted[i].value);
        e[a] = told ? residual(i, predicted[i], slack.empty() ? 0.0 : slack[i]) : 0.0;
        if (!told) logs -= std::log(kBlunderFactor);
        if (told && predicted[i].spread > 0.0) logs -= std::log1p(2.0 * predicted[i].spread / (whole_sigma_[i] * std::sqrt(2.0 * M_PI)));
    }
    double chi_squared = 0.0;
    for (std::size_t a = 0; a < n; ++a) {
        y[a] = 0.0;
        for (std::size_t b = 0; b < n; ++b) y[a] += inverse_[a * n + b] * e[b];
        chi_squared += e[a] * y[a];
    }
    // the sum of the terms, from the largest exponent down
    const double all_right = std::log(1.0 - kBlunder * static_cast<double>(std::min<std::size_t>(n, 50))) - 0.5 * chi_squared;
    const auto blunder = [&](std::size_t a) { return std::log(kBlunder) - 0.5 * (chi_squared - wider_[a] * y[a] * y[a]) - log_root_[a]; };
    double largest = all_right;
    for (std::size_t a = 0; a < n; ++a) largest = std::max(largest, blunder(a));
    double sum = std::exp(all_right - largest);
    for (std::size_t a = 0; a < n; ++a) {
        const double term = blunder(a);
        sum += std::exp(term - largest);
        if (term == largest && term > all_right) judgement.misread = static_cast<std::int32_t>(measured_[a]);
    }
    judgement.log_likelihood = logs + largest + std::log(sum);
    judgement.chi_squared_but_it = judgement.chi_squared += chi_squared;
    for (std::size_t a = 0; a < n && judgement.misread >= 0; ++a)
        if (measured_[a] == static_cast<std::size_t>(judgement.misread)) judgement.chi_squared_but_it -= y[a] * y[a] / inverse_[a * n + a];
    return judgement;
}

double chi_squared_quantile(std::size_t degrees, double exceeded_with) {
    // the normal quantile by Abramowitz and Stegun, 26.2.23 (error below 4.5e-4)
    const double p = std::min(exceeded_with, 1.0 - exceeded_with), t = std::sqrt(-2.0 * std::log(p));
    double z = t - (2.515517 + t * (0.802853 + t * 0.010328)) / (1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
    if (exceeded_with > 0.5) z = -z;
    const double k = static_cast<double>(std::max<std::size_t>(degrees, 1)), part = 2.0 / (9.0 * k);
    return k * std::pow(1.0 - part + z * std::sqrt(part), 3.0);
}

}  // namespace ebb::diagnose
