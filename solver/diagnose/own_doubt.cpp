// What the layout leaves open, once a fault is there.
//
// The doubt of the sound farm is not that of the faulty one: a bed that stands at its lip hardly feels how much its pump gives, the same bed that
// drains through a hole at its foot stands as high as the square of it. So the few faults in the lead are weighed again with the changes that one
// standard deviation of each unknown makes with the fault in the farm, at the size that fits best. Likelihoods under different covariances are
// densities with different heights: exp(-chi2/2) / sqrt(det C), so half the logarithm of det C is taken off (scales.h, log_thinner).

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"
#include "solver/survey/uncertainty.h"

namespace ebb::diagnose {

namespace {

constexpr std::size_t kMostAgain = 6;       ///< faults
constexpr double kWorthwhile = 0.01;        ///< probability
constexpr double kNear = 0.04;              ///< in u: doubts of one size serve another
constexpr std::size_t kMostSolves = 20000;  ///< network solves for the doubts of one fault

}  // namespace

std::vector<std::vector<double>> doubt_with(Signatures& signatures, const Injected& fault) {
    std::vector<Signatures::Together> base(1);
    base[0].faults = {fault};
    signatures.together(base, true);
    const layout::Layout& layout = signatures.layout();
    const std::vector<survey::Uncertainty> unknowns = survey::uncertainties_of(layout);
    if (!base[0].solved || base[0].solves * unknowns.size() > kMostSolves) return {};
    std::vector<Signatures::Elsewhere> wanted;
    std::vector<double> z(unknowns.size(), 0.0);
    for (std::size_t k = 0; k < unknowns.size(); ++k) {
        Signatures::Elsewhere& one = wanted.emplace_back();
        one.layout = layout;
        z[k] = 1.0;
        for (std::size_t visit = 0; visit < signatures.conditions().size(); ++visit) {
            layout::Conditions conditions = signatures.conditions()[visit];
            layout::Layout changed = layout;
            survey::vary(layout, signatures.conditions()[visit], unknowns, z, changed, conditions);
            inject(fault, changed, conditions);
            if (visit == 0) one.layout = std::move(changed);
            one.conditions.push_back(std::move(conditions));
        }
        z[k] = 0.0;
    }
    signatures.elsewhere(wanted, true);
    std::vector<std::vector<double>> doubt;
    for (const Signatures::Elsewhere& one : wanted) {
        if (!one.solved) continue;
        std::vector<double>& row = doubt.emplace_back();
        for (std::size_t o = 0; o < one.predicted.size(); ++o) {
            const Predicted &there = one.predicted[o], &here = base[0].predicted[o];
            const bool measured = !is_glance(signatures.observables()[o].quantity) && (there.spread > 0.0) == (here.spread > 0.0);
            const double change = there.value - here.value;
            row.push_back(measured && !std::isnan(change) ? change : 0.0);
        }
    }
    return doubt;
}

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
        if (kept->doubt.empty()) continue;
        const Scales& scales = in.own_scales.emplace(f, scales_with(readings, kept->doubt, in.columns)).first->second;
        Weight weight = weigh(in.signatures, f, scales, in.columns, in.options.credible);
        weight.log_evidence -= scales.log_thinner() - in.scales.log_thinner();
        weight.log_likelihood -= scales.log_thinner() - in.scales.log_thinner();
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
