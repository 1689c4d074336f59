// Every single fault, solved as finely as the readings ask for.

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr double kOutOfTheRunning = 7.0;  ///< logarithm: a thousandth of what the best weighs
constexpr double kHopeless = -45.0;       ///< logarithm of a likelihood that no size comes back from: two faults at once are tried instead
constexpr std::size_t kMostAtOnce = 96;   ///< middles solved in one round
constexpr int kMostRounds = 14;

double log_weight_of_sound(const Investigation& investigation) {
    std::vector<Predicted> predicted(investigation.columns.size());
    for (std::size_t i = 0; i < predicted.size(); ++i) predicted[i] = investigation.signatures.sound()[investigation.columns[i]];
    return investigation.scales.judge(predicted).log_likelihood;
}

void weigh_some(Investigation& investigation, std::span<const std::size_t> faults) {
    for (const std::size_t f : faults)
        investigation.weights[f] = weigh(investigation.signatures, f, investigation.scales, investigation.columns, investigation.options.credible);
}

/// Halves segments in which an optimist sees a size that is in the running, until none is left.
void refine(Investigation& investigation, std::span<const std::size_t> faults) {
    Signatures& signatures = investigation.signatures;
    std::vector<std::size_t> busy(faults.begin(), faults.end());
    double best = log_weight_of_sound(investigation);
    for (int round = 0; round < kMostRounds && !busy.empty(); ++round) {
        for (const std::size_t f : busy) best = std::max(best, investigation.log_weight(f));
        std::vector<Segment> open;
        for (const std::size_t f : busy)
            for (Segment& segment : segments_of(signatures, f, investigation.scales, investigation.columns)) {
                if (segment.straight || segment.log_mass < kHopeless) continue;
                segment.log_mass += std::log(signatures.faults()[f].chance);
                if (segment.log_mass > best - kOutOfTheRunning) open.push_back(segment);
            }
        if (open.empty()) return;
        std::stable_sort(open.begin(), open.end(), [](const Segment& x, const Segment& y) { return x.log_mass > y.log_mass; });
        if (open.size() > kMostAtOnce) open.resize(kMostAtOnce);
        std::vector<Signatures::Want> wants;
        busy.clear();
        for (const Segment& segment : open) {
            wants.push_back({segment.fault, 0.5 * (segment.low_u + segment.high_u)});
            if (std::find(busy.begin(), busy.end(), segment.fault) == busy.end()) busy.push_back(segment.fault);
        }
        signatures.ensure(wants, {}, investigation.options.stop);
        if (investigation.options.stop.stop_requested()) return;
        weigh_some(investigation, busy);
        busy.assign(faults.begin(), faults.end());
    }
}

}  // namespace

double Investigation::log_weight(std::size_t fault) const { return std::log(signatures.faults()[fault].chance) + weights[fault].log_evidence; }

void weigh_singles(Investigation& investigation) {
    Signatures& signatures = investigation.signatures;
    const std::vector<Fault>& faults = signatures.faults();
    const DiagnosisOptions& options = investigation.options;
    std::vector<Signatures::Want> wants;
    for (std::size_t f = 0; f < faults.size(); ++f) {
        if (faults[f].sized()) wants.push_back({f, 0.0});
        wants.push_back({f, 1.0});
    }
    const auto share_of_work = [&](double from, double to) {
        return options.progress ? std::function<void(double)>([&options, from, to](double share) { options.progress(from + share * (to - from)); })
                                : std::function<void(double)>();
    };
    signatures.ensure(wants, share_of_work(0.0, 0.4), options.stop);
    investigation.shows.assign(faults.size(), 0);
    investigation.weights.assign(faults.size(), {});
    wants.clear();
    std::vector<std::size_t> showing;
    for (std::size_t f = 0; f < faults.size(); ++f) {
        const auto& ends = signatures.nodes(f);
        const bool unsolved = std::any_of(ends.begin(), ends.end(), [](const Signatures::Node& node) { return !node.solved; });
        if (!unsolved && !shows(signatures, f, investigation.scales, investigation.columns)) continue;
        investigation.shows[f] = 1;
        showing.push_back(f);
        if (!faults[f].sized()) continue;
        for (const double u : {0.25, 0.5, 0.75}) wants.push_back({f, u});
    }
    signatures.ensure(wants, share_of_work(0.4, 0.8), options.stop);
    weigh_some(investigation, showing);
    if (!options.stop.stop_requested()) refine(investigation, showing);
}

}  // namespace ebb::diagnose
