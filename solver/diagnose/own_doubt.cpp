// What the layout leaves open, once a fault is there.
//
// The doubt of the sound farm is not that of the faulty one: a bed that stands at its lip hardly feels how much its pump gives, the same bed that
// drains through a hole at its foot stands as high as the square of it. So the few faults in the lead are weighed again with the changes that one
// standard deviation of each unknown makes with the fault in the farm, at the size that fits best. Likelihoods under different covariances are
// densities with different heights: exp(-chi2/2) / sqrt(det C), so half the logarithm of det C is taken off (scales.h, log_thinner).
//
// What is more in doubt than in the sound farm is so because the readings hang on the fault: where they do not (a bed at its lip, or at its rim) that
// part is not there. So at another size u it is taken in proportion to the slope of the reading by u, and no larger than where it was found. The
// height of the densities is that at the size where it was found: else sizes on which nothing hangs would be favoured for that alone.

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr std::size_t kMostAgain = 6;  ///< faults
constexpr double kWorthwhile = 0.01;   ///< probability
constexpr double kNear = 0.04;         ///< in u: doubts of one size serve another
constexpr double kSlopeOver_u = 0.01;

/// The scales of the readings when a fault is there, at any size.
class OwnScales {
public:
    OwnScales(const Investigation& in, std::span<const Reading> readings, const Signatures::OwnDoubt& own) : in_(in), readings_(readings), own_(own) {
        const std::size_t n = in.columns.size();
        for (std::size_t i = 0; i < n; ++i) steepest_.push_back(slope(own.u, i));
        sound_.assign(n * n, 0.0);
        both_ = more_ = sound_;
        std::vector<double> sound(n), more(n);
        for (std::size_t k = 0; k < own.doubt.size(); ++k) {
            for (std::size_t i = 0; i < n; ++i) {
                sound[i] = in.doubt[k][in.columns[i]];
                more[i] = own.doubt[k][in.columns[i]] - sound[i];
            }
            for (std::size_t i = 0; i < n; ++i)
                for (std::size_t j = 0; j < n; ++j) {
                    sound_[i * n + j] += sound[i] * sound[j];
                    both_[i * n + j] += sound[i] * more[j];
                    more_[i * n + j] += more[i] * more[j];
                }
        }
    }

    Scales at(double u) const {
        const std::size_t n = in_.columns.size();
        std::vector<double> share(n, 1.0), squares(n * n);
        for (std::size_t i = 0; i < n; ++i)
            if (steepest_[i] > 0.0) share[i] = std::min(1.0, slope(u, i) / steepest_[i]);
        for (std::size_t i = 0; i < n; ++i)
            for (std::size_t j = 0; j < n; ++j)
                squares[i * n + j] =
                    sound_[i * n + j] + share[j] * both_[i * n + j] + share[i] * both_[j * n + i] + share[i] * share[j] * more_[i * n + j];
        return {readings_, squares};
    }

private:
    double slope(double u, std::size_t i) const {
        if (!in_.signatures.faults()[own_.fault].sized()) return 0.0;
        const double low = std::max(0.0, u - kSlopeOver_u), high = std::min(1.0, u + kSlopeOver_u);
        const double change = in_.signatures.at(own_.fault, high, in_.columns[i]).value - in_.signatures.at(own_.fault, low, in_.columns[i]).value;
        return std::isnan(change) ? 0.0 : std::abs(change) / (high - low);
    }

    const Investigation& in_;
    std::span<const Reading> readings_;
    const Signatures::OwnDoubt& own_;
    std::vector<double> steepest_;
    std::vector<double> sound_, both_, more_;  ///< sums over the unknowns of products of the sound farm's doubt, and of what is more, row by row
};

}  // namespace

void weigh_with_own_doubt(Investigation& in, std::span<const Reading> readings, std::span<Explanation> explanations) {
    std::size_t done = 0;
    std::vector<Signatures::OwnDoubt>& known = in.signatures.own_doubts();
    for (Explanation& one : explanations) {
        if (one.faults.size() != 1 || one.probability < kWorthwhile || in.own_scales.contains(one.faults[0])) continue;
        if (done++ >= kMostAgain || in.options.stop.stop_requested()) return;
        const std::size_t f = one.faults[0];
        const auto near = [&](const Signatures::OwnDoubt& kept) { return kept.fault == f && std::abs(kept.u - one.u[0]) < kNear; };
        auto kept = std::find_if(known.begin(), known.end(), near);
        if (kept == known.end()) {
            known.push_back({f, one.u[0], doubt_with(in.signatures, {in.signatures.faults()[f], one.u[0]})});
            kept = known.end() - 1;
        }
        if (kept->doubt.size() != in.doubt.size()) continue;  // too hard to solve
        const OwnScales own(in, readings, *kept);
        const double thinner = own.at(kept->u).log_thinner() - in.scales.log_thinner();
        const Weight weight =
            weigh(in.signatures, f, in.scales, in.columns, in.options.credible, [&](double u, std::span<const Predicted> predicted) {
                Judgement judgement = own.at(u).judge(predicted);
                judgement.log_likelihood -= thinner;
                return judgement;
            });
        in.own_scales.emplace(f, own.at(weight.best_u));
        in.weights[f] = weight;
        const Fault& fault = in.signatures.faults()[f];
        one.u = {weight.best_u};
        one.sizes = {{fault.size_at(weight.best_u), fault.size_at(weight.low_u), fault.size_at(weight.high_u)}};
        one.log_evidence = weight.log_evidence;
        one.log_likelihood = weight.log_likelihood;
        one.chi_squared = weight.chi_squared;
        one.misread = weight.misread;
    }
}

}  // namespace ebb::diagnose
