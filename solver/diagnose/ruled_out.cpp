// Why the others are not it: of every fault that would move what is odd the right way, the reading it leaves unexplained even at its best size.

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr double kOdd = 2.0;  ///< standard deviations from the sound farm
constexpr double kLeavesUnexplained = 3.0;
constexpr double kBelieved = 0.001;  ///< probability from which a fault is not ruled out

/// Readings that the sound farm does not explain, with the sign of what is missing.
std::vector<double> odd_readings(const Investigation& in) {
    std::vector<double> pulls;
    for (std::size_t i = 0; i < in.columns.size(); ++i) {
        const double pull = in.scales.pull(i, in.signatures.sound()[in.columns[i]]);
        pulls.push_back(std::isnan(pull) || std::abs(pull) < kOdd ? 0.0 : pull);
    }
    return pulls;
}

/// Whether some size of the fault moves an odd reading the way it is odd.
bool is_suspect(const Investigation& in, std::size_t fault, std::span<const double> odd) {
    for (const Signatures::Node& node : in.signatures.nodes(fault)) {
        if (!node.solved) continue;
        for (std::size_t i = 0; i < odd.size(); ++i) {
            if (odd[i] == 0.0) continue;
            const double moved = node.predicted[in.columns[i]].value - in.signatures.sound()[in.columns[i]].value;
            const double unit = is_glance(in.scales.reading(i).what.quantity) ? 0.5 : in.scales.sigma(i);
            const double way =
                is_glance(in.scales.reading(i).what.quantity) ? in.scales.reading(i).value - in.signatures.sound()[in.columns[i]].value : odd[i];
            if (moved * way > 0.0 && std::abs(moved) > unit) return true;
        }
    }
    return false;
}

}  // namespace

std::vector<RuledOut> ruled_out(const Investigation& in, const Diagnosis& diagnosis) {
    std::vector<RuledOut> list;
    const std::vector<double> odd = odd_readings(in);
    for (std::size_t f = 0; f < in.signatures.faults().size(); ++f) {
        if (in.shows[f] == 0 || !in.weights[f].solved || !is_suspect(in, f, odd)) continue;
        const bool believed = std::any_of(diagnosis.explanations.begin(), diagnosis.explanations.end(), [&](const Explanation& one) {
            return one.probability > kBelieved && std::find(one.faults.begin(), one.faults.end(), f) != one.faults.end();
        });
        if (believed) continue;
        const Fault& fault = in.signatures.faults()[f];
        RuledOut out{.fault = f, .best = fault.size_at(in.weights[f].best_u)};
        for (std::size_t i = 0; i < in.columns.size(); ++i) {
            const Predicted predicted = in.signatures.at(f, in.weights[f].best_u, in.columns[i]);
            const double pull = in.scales.pull(i, predicted);
            if (std::isnan(pull) || std::abs(pull) <= std::abs(out.pull)) continue;
            out.reading = static_cast<std::int32_t>(i);
            out.predicted = predicted.value;
            out.pull = pull;
        }
        if (std::abs(out.pull) > kLeavesUnexplained) list.push_back(out);
    }
    std::stable_sort(list.begin(), list.end(), [&](const RuledOut& x, const RuledOut& y) {
        return in.signatures.faults()[x.fault].chance > in.signatures.faults()[y.fault].chance;
    });
    return list;
}

}  // namespace ebb::diagnose
