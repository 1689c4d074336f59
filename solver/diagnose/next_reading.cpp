// What to read next: the reading that is expected to tell the leading explanations apart best, for the least of a person's time.
//
// Two explanations with probabilities p and q are told apart by a reading as far as the distributions they predict of it do not overlap: 1 - BC, with
// Bhattacharyya's coefficient BC = integral of sqrt(f g) (A. Bhattacharyya, 1943). Of normal distributions with deviations s, t at distance d
//        BC = sqrt(2 s t / (s^2 + t^2)) exp(-d^2 / (4 (s^2 + t^2))).
// A reading separates the share sum p q (1 - BC) / sum p q of the doubt there is. Of those that separate at least seven tenths of what the best does,
// the cheapest comes first: a glance before a gauge, a gauge before a tape, a tape before a bucket (common practice).

#include <algorithm>
#include <cmath>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr double kGoodEnough = 0.7;
constexpr double kNotWorthReading = 0.02;
constexpr std::size_t kMostTold = 5;
constexpr double kWorthDoubting = 0.02;  ///< probability of an explanation by a blunder

double cost_of(Instrument by, Quantity quantity) {
    if (quantity == Quantity::moves) return 180.0;
    switch (by) {
        case Instrument::glance: return 5.0;
        case Instrument::gauge: return 10.0;
        case Instrument::tape: return 20.0;
        case Instrument::meter: return 30.0;
        case Instrument::bucket: return 90.0;
        case Instrument::watch: return 900.0;
    }
    return 900.0;
}

struct Expected {
    double value = 0.0, deviation = 0.0;
    bool told = false;
};

double likeness(const Expected& x, const Expected& y, Quantity quantity) {
    if (!x.told || !y.told) return 1.0;
    if (is_glance(quantity)) {
        if (x.value == y.value && x.deviation == y.deviation) return 1.0;
        if (x.deviation > 0.0 && y.value != 0.0) return std::sqrt(0.5);
        if (y.deviation > 0.0 && x.value != 0.0) return std::sqrt(0.5);
        return 2.0 * std::sqrt(kMisread * (1.0 - kMisread));
    }
    const double s = x.deviation, t = y.deviation, both = s * s + t * t, away = x.value - y.value;
    return std::sqrt(2.0 * s * t / both) * std::exp(-0.25 * away * away / both);
}

class Asking {
public:
    Asking(Investigation& in, const Diagnosis& diagnosis)
        : in_(in), diagnosis_(diagnosis), leaders_(std::min(kLeaders, diagnosis.explanations.size())) {}

    std::vector<NextReading> ask() {
        std::vector<NextReading> list;
        const double doubt = doubt_among_leaders();
        if (leaders_ < 2 || doubt <= 0.0) return list;
        for (std::size_t o = 0; o < in_.signatures.observables().size(); ++o) {
            if (is_read(o)) continue;
            NextReading next = look(o, doubt);
            if (next.separates > kNotWorthReading) list.push_back(std::move(next));
        }
        std::stable_sort(list.begin(), list.end(), [](const NextReading& x, const NextReading& y) { return x.separates > y.separates; });
        if (list.empty()) return list;
        const double enough = kGoodEnough * list.front().separates;
        std::stable_sort(list.begin(), list.end(), [&](const NextReading& x, const NextReading& y) {
            const bool good = x.separates >= enough, other_good = y.separates >= enough;
            if (good != other_good) return good;
            return good && x.cost_s != y.cost_s ? x.cost_s < y.cost_s : x.separates > y.separates;
        });
        if (list.size() > kMostTold) list.resize(kMostTold);
        return list;
    }

private:
    /// Read already, and taken for right by those in the lead. What one of them takes for misread is worth reading again.
    bool is_read(std::size_t observable) const {
        bool read = false;
        for (std::size_t i = 0; i < in_.columns.size(); ++i) {
            if (in_.columns[i] != observable) continue;
            read = true;
            for (std::size_t e = 0; e < leaders_; ++e)
                if (diagnosis_.explanations[e].misread == static_cast<std::int32_t>(i) && probability(e) > kWorthDoubting) return false;
        }
        return read;
    }

    double probability(std::size_t e) const { return diagnosis_.explanations[e].probability; }

    double doubt_among_leaders() const {
        double sum = 0.0;
        for (std::size_t i = 0; i < leaders_; ++i)
            for (std::size_t j = i + 1; j < leaders_; ++j) sum += probability(i) * probability(j);
        return sum;
    }

    Expected expect(std::size_t e, std::size_t observable, Predicted& told) const {
        const Explanation& one = diagnosis_.explanations[e];
        const Quantity quantity = in_.signatures.observables()[observable].quantity;
        told = one.all[observable];
        if (std::isnan(told.value)) return {};
        Expected expected{told.value, 0.0, true};
        if (is_glance(quantity)) {
            expected.deviation = told.spread;  // falls or rises
            return expected;
        }
        double open = told.spread;
        if (one.faults.size() == 1) {
            const Fault& fault = in_.signatures.faults()[one.faults[0]];
            if (fault.sized()) {
                const Predicted low = in_.signatures.at(one.faults[0], fault.u_of(one.sizes[0].low), observable);
                const Predicted high = in_.signatures.at(one.faults[0], fault.u_of(one.sizes[0].high), observable);
                if (!std::isnan(low.value) && !std::isnan(high.value)) open = std::hypot(open, (high.value - low.value) / 3.29);
            }
        }
        double sum = open * open;
        for (const std::vector<double>& unknown : in_.doubt) sum += unknown[observable] * unknown[observable];
        const double read = usual_sigma(quantity, told.value);
        expected.deviation = std::sqrt(sum + read * read);
        told.spread = open;
        return expected;
    }

    NextReading look(std::size_t observable, double doubt) const {
        NextReading next;
        const Observable& what = in_.signatures.observables()[observable];
        next.observable = observable;
        next.by = usual_instrument(what.quantity);
        next.cost_s = cost_of(next.by, what.quantity);
        next.predicted.resize(leaders_);
        std::vector<Expected> expected;
        for (std::size_t e = 0; e < leaders_; ++e) expected.push_back(expect(e, observable, next.predicted[e]));
        for (std::size_t i = 0; i < leaders_; ++i)
            for (std::size_t j = i + 1; j < leaders_; ++j)
                next.separates += probability(i) * probability(j) * (1.0 - likeness(expected[i], expected[j], what.quantity));
        next.separates /= doubt;
        return next;
    }

    Investigation& in_;
    const Diagnosis& diagnosis_;
    std::size_t leaders_;
};

}  // namespace

std::vector<NextReading> next_readings(Investigation& investigation, const Diagnosis& diagnosis) { return Asking(investigation, diagnosis).ask(); }

}  // namespace ebb::diagnose
