// What the unknowns of a layout do to what is read, in the sound farm and with a fault in it.

#include <cmath>

#include "solver/diagnose/diagnosis.h"
#include "solver/survey/uncertainty.h"

namespace ebb::diagnose {

namespace {

constexpr std::size_t kMostSolves = 20000;  ///< network solves for the doubts of one fault

/// For each unknown, the change of every observable from `base` by one standard deviation of it, with `faults` in the farm.
std::vector<std::vector<double>> changes_by(Signatures& signatures, std::span<const survey::Uncertainty> unknowns, std::span<const Injected> faults,
                                            std::span<const Predicted> base, bool quick) {
    const layout::Layout& layout = signatures.layout();
    std::vector<Signatures::Elsewhere> wanted;
    std::vector<double> z(unknowns.size(), 0.0);
    for (std::size_t k = 0; k < unknowns.size(); ++k) {
        Signatures::Elsewhere& one = wanted.emplace_back();
        one.layout = layout;
        one.conditions = signatures.conditions();
        z[k] = 1.0;
        for (std::size_t visit = 0; visit < one.conditions.size(); ++visit)
            survey::vary(layout, signatures.conditions()[visit], unknowns, z, one.layout, one.conditions[visit]);
        z[k] = 0.0;
        inject(faults, one.layout, one.conditions);
    }
    signatures.elsewhere(wanted, quick);
    std::vector<std::vector<double>> changes;
    for (const Signatures::Elsewhere& one : wanted) {
        std::vector<double>& row = changes.emplace_back(base.size(), 0.0);
        for (std::size_t o = 0; o < base.size() && one.solved; ++o) {
            const bool measured = !is_glance(signatures.observables()[o].quantity) && (one.predicted[o].spread > 0.0) == (base[o].spread > 0.0);
            const double change = one.predicted[o].value - base[o].value;
            if (measured && !std::isnan(change)) row[o] = change;
        }
    }
    return changes;
}

}  // namespace

std::vector<std::vector<double>> doubt_of(Signatures& signatures) {
    return changes_by(signatures, survey::uncertainties_of(signatures.layout()), {}, signatures.sound(), false);
}

std::vector<std::vector<double>> doubt_with(Signatures& signatures, const Injected& fault) {
    std::vector<Signatures::Together> base(1);
    base[0].faults = {fault};
    signatures.together(base, true);
    const std::vector<survey::Uncertainty> unknowns = survey::uncertainties_of(signatures.layout());
    if (!base[0].solved || base[0].solves * unknowns.size() > kMostSolves) return {};
    return changes_by(signatures, unknowns, base[0].faults, base[0].predicted, true);
}

}  // namespace ebb::diagnose
