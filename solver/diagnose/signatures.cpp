#include "solver/diagnose/signatures.h"

#include <algorithm>
#include <atomic>
#include <cassert>
#include <cmath>

#include "solver/settle/crew.h"

namespace ebb::diagnose {

namespace {

std::vector<layout::Conditions> conditions_by_visit(const layout::Layout& layout, const std::vector<Visit>& visits) {
    std::vector<layout::Conditions> conditions;
    conditions.reserve(visits.size());
    for (const Visit& visit : visits) conditions.push_back(layout::conditions_of(layout, visit.arrangement));
    return conditions;
}

/// Sizes nearer than this are one.
constexpr double kSameSize = 1e-6;

}  // namespace

Signatures::Signatures(const layout::Layout& layout, std::vector<Visit> visits, std::vector<Observable> observables, std::span<const double> chances,
                       unsigned threads)
    : layout_(&layout), visits_(std::move(visits)), observables_(std::move(observables)),
      faults_(faults_of(layout, conditions_by_visit(layout, visits_), chances)) {
    for (unsigned t = 0; t < std::max(1U, threads); ++t) predictors_.emplace_back(layout, visits_, observables_);
    sound_.resize(observables_.size());
    sound_solved_ = predictors_.front().predict({}, sound_);
    const std::vector<std::vector<double>> depths = predictors_.front().depths();
    for (Predictor& predictor : predictors_)
        if (sound_solved_) predictor.run_in(depths);
    nodes_.resize(faults_.size());
}

std::size_t Signatures::column_of(const Observable& what) const {
    const auto found = std::find(observables_.begin(), observables_.end(), what);
    assert(found != observables_.end());
    return static_cast<std::size_t>(found - observables_.begin());
}

std::size_t Signatures::solves() const {
    std::size_t sum = 0;
    for (const Predictor& predictor : predictors_) sum += predictor.solves();
    return sum;
}

void Signatures::over_threads(std::size_t jobs, const std::stop_token& stop, const std::function<void(Predictor&, std::size_t)>& work) {
    std::atomic<std::size_t> next{0};
    settle::Crew crew;
    const auto run = [&](Predictor& predictor) {
        for (std::size_t i = next++; i < jobs && !stop.stop_requested() && !crew.over(); i = next++) work(predictor, i);
    };
    for (std::size_t t = 1; t < predictors_.size() && t < jobs && crew.start([this, run, t] { run(predictors_[t]); }); ++t) {
    }
    run(predictors_.front());
    crew.join();
}

void Signatures::ensure(std::span<const Want> wants, const std::function<void(double)>& progress, const std::stop_token& stop) {
    std::vector<Want> missing;
    for (const Want& want : wants) {
        const double u = faults_[want.fault].sized() ? want.u : 1.0;
        const auto near = [&](const auto& other) { return std::abs(other.u - u) < kSameSize; };
        const auto& known = nodes_[want.fault];
        if (std::any_of(known.begin(), known.end(), near)) continue;
        if (std::any_of(missing.begin(), missing.end(), [&](const Want& other) { return other.fault == want.fault && near(other); })) continue;
        missing.push_back({want.fault, u});
    }
    std::vector<Node> found(missing.size());
    std::vector<std::uint8_t> done(missing.size(), 0);
    std::atomic<std::size_t> finished{0};
    over_threads(missing.size(), stop, [&](Predictor& predictor, std::size_t i) {
        found[i].u = missing[i].u;
        found[i].predicted.resize(observables_.size());
        const Injected fault{faults_[missing[i].fault], missing[i].u};
        found[i].solved = predictor.predict({&fault, 1}, found[i].predicted);
        done[i] = 1;
        ++finished;
        if (&predictor == &predictors_.front() && progress) progress(static_cast<double>(finished) / static_cast<double>(missing.size()));
    });
    for (std::size_t i = 0; i < missing.size(); ++i) {
        if (done[i] == 0) continue;
        std::vector<Node>& known = nodes_[missing[i].fault];
        const auto place = std::upper_bound(known.begin(), known.end(), found[i].u, [](double u, const Node& node) { return u < node.u; });
        known.insert(place, std::move(found[i]));
    }
}

Predicted Signatures::at(std::size_t fault, double u, std::size_t observable) const {
    const std::vector<Node>& known = nodes_[fault];
    if (known.empty()) return {};
    if (!faults_[fault].sized() || known.size() == 1) return known.front().predicted[observable];
    auto after = std::upper_bound(known.begin(), known.end(), u, [](double value, const Node& node) { return value < node.u; });
    if (after == known.begin()) ++after;
    if (after == known.end()) --after;
    const Node &low = *(after - 1), &high = *after;
    const double share = std::clamp((u - low.u) / (high.u - low.u), 0.0, 1.0);
    const Predicted &x = low.predicted[observable], &y = high.predicted[observable];
    if (is_glance(observables_[observable].quantity)) return share < 0.5 ? x : y;
    // no way between a level that stands and one that comes and goes
    if ((x.spread > 0.0) != (y.spread > 0.0)) return share < 0.5 ? x : y;
    return {x.value + share * (y.value - x.value), x.spread + share * (y.spread - x.spread)};
}

void Signatures::together(std::span<Together> wanted, bool quick, const std::stop_token& stop) {
    over_threads(wanted.size(), stop, [&](Predictor& predictor, std::size_t i) {
        const std::size_t before = predictor.solves();
        wanted[i].predicted.resize(observables_.size());
        wanted[i].solved = predictor.predict(wanted[i].faults, wanted[i].predicted, quick);
        wanted[i].solves = predictor.solves() - before;
    });
}

void Signatures::elsewhere(std::span<Elsewhere> wanted, bool quick, const std::stop_token& stop) {
    over_threads(wanted.size(), stop, [&](Predictor& predictor, std::size_t i) {
        wanted[i].predicted.resize(observables_.size());
        wanted[i].solved = predictor.predict_in(wanted[i].layout, wanted[i].conditions, wanted[i].predicted, quick);
    });
}

}  // namespace ebb::diagnose
