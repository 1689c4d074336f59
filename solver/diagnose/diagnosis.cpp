#include "solver/diagnose/diagnosis.h"

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr double kHardlyExceeded = 0.001;  ///< chi-squared beyond this is no fit
constexpr double kSeldomExceeded = 0.01;   ///< beyond this two faults are tried
constexpr double kSame = 1.0;              ///< chi-squared between the predictions of two that are tied
constexpr double kNotWorthTelling = 1e-4;  ///< probability
constexpr double kBeyondAll = 5.0;         ///< standard deviations
constexpr double kContradicts = 4.0;

void fill_pulls(const Investigation& in, Explanation& explanation) {
    explanation.pulls.clear();
    for (std::size_t i = 0; i < in.columns.size(); ++i) explanation.pulls.push_back(in.scales_of(explanation).pull(i, explanation.predicted[i]));
}

Explanation nothing_wrong(const Investigation& in) {
    Explanation explanation;
    explanation.all = in.signatures.sound();
    for (const std::size_t column : in.columns) explanation.predicted.push_back(explanation.all[column]);
    const Judgement judgement = in.scales.judge(explanation.predicted);
    explanation.log_evidence = explanation.log_likelihood = judgement.log_likelihood;
    explanation.chi_squared = judgement.chi_squared;
    explanation.misread = judgement.misread;
    // those that show in no reading are part of it
    for (std::size_t f = 0; f < in.shows.size(); ++f)
        if (in.shows[f] == 0) explanation.chance += in.signatures.faults()[f].chance;
    return explanation;
}

Explanation one_fault(const Investigation& in, std::size_t f) {
    const Weight& weight = in.weights[f];
    const Fault& fault = in.signatures.faults()[f];
    Explanation explanation;
    explanation.faults = {f};
    explanation.u = {weight.best_u};
    explanation.sizes = {{fault.size_at(weight.best_u), fault.size_at(weight.low_u), fault.size_at(weight.high_u)}};
    explanation.chance = fault.chance;
    explanation.log_evidence = weight.log_evidence;
    explanation.log_likelihood = weight.log_likelihood;
    explanation.chi_squared = weight.chi_squared;
    explanation.misread = weight.misread;
    return explanation;
}

void predict_all(const Investigation& in, Explanation& explanation) {
    if (explanation.faults.size() != 1) return;
    explanation.all.resize(in.signatures.observables().size());
    for (std::size_t o = 0; o < explanation.all.size(); ++o) explanation.all[o] = in.signatures.at(explanation.faults[0], explanation.u[0], o);
    explanation.predicted.clear();
    for (const std::size_t column : in.columns) explanation.predicted.push_back(explanation.all[column]);
}

/// Whether neither of two faults alone explains the readings about as well: a second one that changes nothing is no explanation.
bool needs_both(const Investigation& in, const Explanation& pair) {
    return std::all_of(pair.faults.begin(), pair.faults.end(),
                       [&](std::size_t fault) { return pair.log_likelihood > in.weights[fault].log_likelihood + kWorthASecond; });
}

/// By falling probability; those not worth telling left out.
void rank(Diagnosis& diagnosis) {
    double largest = -1e300, sum = 0.0;
    std::vector<Explanation>& list = diagnosis.explanations;
    const auto weight = [](const Explanation& one) { return std::log(one.chance) + one.log_evidence; };
    for (const Explanation& one : list) largest = std::max(largest, weight(one));
    for (Explanation& one : list) sum += one.probability = std::exp(weight(one) - largest);
    for (Explanation& one : list) one.probability /= sum;
    std::stable_sort(list.begin(), list.end(), [](const Explanation& x, const Explanation& y) { return x.probability > y.probability; });
    std::erase_if(list, [](const Explanation& one) { return one.probability < kNotWorthTelling && !one.faults.empty(); });
    const auto sound = std::find_if(list.begin(), list.end(), [](const Explanation& one) { return one.faults.empty(); });
    diagnosis.sound = static_cast<std::size_t>(sound - list.begin());
}

/// Chi-squared between what two predict of the readings.
double apart(const Investigation& in, const Explanation& x, const Explanation& y) {
    std::vector<double> away;
    for (std::size_t i = 0; i < in.columns.size(); ++i) {
        const Predicted &p = x.predicted[i], &q = y.predicted[i];
        if (std::isnan(p.value) || std::isnan(q.value)) {
            if (std::isnan(p.value) != std::isnan(q.value)) return 1e9;
            if (!is_glance(in.scales.reading(i).what.quantity)) away.push_back(0.0);
        } else if (is_glance(in.scales.reading(i).what.quantity)) {
            if (p.value != q.value || p.spread != q.spread) return 1e9;
        } else {
            away.push_back(std::abs(p.value - q.value) + std::abs(p.spread - q.spread));
        }
    }
    double sum = 0.0;
    for (std::size_t a = 0, i = 0; i < in.columns.size(); ++i) {
        if (is_glance(in.scales.reading(i).what.quantity)) continue;
        const double sigma = in.scales.reading(i).sigma;
        sum += away[a] * away[a] / (sigma * sigma);
        ++a;
    }
    return sum;
}

void tie(const Investigation& in, Diagnosis& diagnosis) {
    for (std::size_t e = 0; e < diagnosis.explanations.size(); ++e) {
        const auto same = std::find_if(diagnosis.ties.begin(), diagnosis.ties.end(), [&](const Tie& tie) {
            return apart(in, diagnosis.explanations[tie.explanations.front()], diagnosis.explanations[e]) < kSame;
        });
        Tie& to = same == diagnosis.ties.end() ? diagnosis.ties.emplace_back() : *same;
        to.explanations.push_back(e);
        to.probability += diagnosis.explanations[e].probability;
    }
    std::stable_sort(diagnosis.ties.begin(), diagnosis.ties.end(), [](const Tie& x, const Tie& y) { return x.probability > y.probability; });
}

void find_contradictions(std::span<const Reading> readings, Diagnosis& diagnosis) {
    for (std::size_t i = 0; i < readings.size(); ++i)
        for (std::size_t j = i + 1; j < readings.size(); ++j) {
            if (!(readings[i].what == readings[j].what)) continue;
            const bool disagree = is_glance(readings[i].what.quantity) ? readings[i].value != readings[j].value
                                                                       : std::abs(readings[i].value - readings[j].value) >
                                                                             kContradicts * std::hypot(readings[i].sigma, readings[j].sigma);
            if (disagree) diagnosis.contradictions.push_back({i, j});
        }
}

/// Readings that neither the sound farm nor any fault of any solved size, nor a pair comes near.
void find_impossible(const Investigation& in, Diagnosis& diagnosis) {
    for (std::size_t i = 0; i < in.columns.size(); ++i) {
        if (is_glance(in.scales.reading(i).what.quantity)) continue;
        const auto near = [&](const Predicted& predicted) {
            const double pull = in.scales.pull(i, predicted);
            return std::isnan(pull) || std::abs(pull) < kBeyondAll;
        };
        bool some = near(in.signatures.sound()[in.columns[i]]);
        double low = in.signatures.sound()[in.columns[i]].value, high = low;
        for (std::size_t f = 0; f < in.shows.size() && !some; ++f) {
            for (const Signatures::Node& node : in.signatures.nodes(f)) {
                if (!node.solved) continue;
                const Predicted& predicted = node.predicted[in.columns[i]];
                some = some || near(predicted);
                if (std::isnan(predicted.value)) continue;
                low = std::min(low, predicted.value);
                high = std::max(high, predicted.value);
            }
        }
        some = some || (in.scales.reading(i).value > low && in.scales.reading(i).value < high);
        for (const Explanation& explanation : diagnosis.explanations) some = some || near(explanation.predicted[i]);
        if (!some) diagnosis.impossible.push_back(i);
    }
}

Verdict verdict_of(const Diagnosis& diagnosis) {
    const Explanation &first = diagnosis.explanations.front(), &sound = diagnosis.explanations[diagnosis.sound];
    const Tie& leaders = diagnosis.ties.front();
    const bool sound_leads =
        first.faults.empty() || std::find(leaders.explanations.begin(), leaders.explanations.end(), diagnosis.sound) != leaders.explanations.end();
    if (sound_leads && sound.fits) return sound.misread >= 0 ? Verdict::read_again : Verdict::nothing_needed;
    const Explanation& best = diagnosis.explanations[leaders.explanations.front()];
    if (!best.fits) return Verdict::none_of_these;
    return best.faults.size() == 2 ? Verdict::two : Verdict::one;
}

}  // namespace

Scales scales_with(std::span<const Reading> readings, std::span<const std::vector<double>> doubt, std::span<const std::size_t> columns) {
    std::vector<std::vector<double>> of_readings;
    for (const std::vector<double>& one : doubt) {
        std::vector<double>& row = of_readings.emplace_back();
        for (const std::size_t column : columns) row.push_back(one[column]);
    }
    return {readings, of_readings};
}

const Scales& Investigation::scales_of(const Explanation& explanation) const {
    const auto own = explanation.faults.size() == 1 ? own_scales.find(explanation.faults[0]) : own_scales.end();
    return own == own_scales.end() ? scales : own->second;
}

Diagnosis diagnose(Signatures& signatures, std::span<const Reading> readings, std::span<const std::vector<double>> doubt,
                   const DiagnosisOptions& options) {
    Diagnosis diagnosis;
    const std::size_t solves_before = signatures.solves();
    diagnosis.considered = signatures.faults().size();
    find_contradictions(readings, diagnosis);
    if (!signatures.sound_is_solved()) return diagnosis;
    std::vector<std::size_t> columns;
    for (const Reading& reading : readings) columns.push_back(signatures.column_of(reading.what));
    Investigation in{.signatures = signatures,
                     .doubt = doubt,
                     .options = options,
                     .columns = columns,
                     .scales = scales_with(readings, doubt, columns),
                     .shows = {},
                     .weights = {}};
    weigh_singles(in);
    diagnosis.explanations.push_back(nothing_wrong(in));
    for (std::size_t f = 0; f < signatures.faults().size(); ++f) {
        if (in.shows[f] == 0) ++diagnosis.silent;
        if (in.shows[f] != 0 && in.weights[f].solved) diagnosis.explanations.push_back(one_fault(in, f));
    }
    double least = 1e300;
    for (const Explanation& one : diagnosis.explanations) least = std::min(least, one.chi_squared);
    diagnosis.interrupted = options.stop.stop_requested();
    if (options.pairs && !diagnosis.interrupted && least > chi_squared_quantile(readings.size(), kSeldomExceeded)) {
        diagnosis.pairs_tried = true;
        for (Explanation& pair : weigh_pairs(in))
            if (needs_both(in, pair)) diagnosis.explanations.push_back(std::move(pair));
    }
    rank(diagnosis);
    if (!doubt.empty()) {
        weigh_with_own_doubt(in, readings, diagnosis.explanations);
        rank(diagnosis);
    }
    for (Explanation& one : diagnosis.explanations) {
        predict_all(in, one);
        const Judgement judgement = in.scales_of(one).judge(one.predicted);
        one.fits = judgement.chi_squared_but_it <= chi_squared_quantile(readings.size(), kHardlyExceeded);
        fill_pulls(in, one);
    }
    tie(in, diagnosis);
    if (!diagnosis.interrupted) find_impossible(in, diagnosis);
    diagnosis.verdict = verdict_of(diagnosis);
    diagnosis.ruled_out = ruled_out(in, diagnosis);
    diagnosis.next = next_readings(in, diagnosis);
    diagnosis.interrupted = options.stop.stop_requested();
    diagnosis.solves = signatures.solves() - solves_before;
    return diagnosis;
}

}  // namespace ebb::diagnose
