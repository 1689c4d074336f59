// Two faults at once.
//
// Screening. What each fault does alone, at a dozen sizes, is added up: prediction = sound + (A - sound) + (B - sound). With e = r - sound and the
// inverse C' of the covariance, chi2(A, B) = (e - a)^T C' (e - a) - 2 b^T C' (e - a) + b^T C' b, so that a pair of signatures costs one product of
// length n. Of every two faults the best sizes are kept, of all pairs the best few.
//
// What may stand in for one of a pair, because it moves the readings much alike, is tried in its place: ties are told as ties.
//
// Solving. From there Gauss-Newton steps in the two coordinates u, with differences; every point solved with both faults in the farm, by direct
// steps alone; the best few again along the whole way. Evidence by
// Laplace's approximation in the unit square: likelihood at the best x sqrt((2 pi)^d / det(H + 2 pi I)), where H is the curvature; the second term
// keeps it below the likelihood where the readings say nothing of a size. Intervals by the same curvature with the variance 1/12 of a size anywhere.

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <map>
#include <utility>

#include "solver/diagnose/investigation.h"

namespace ebb::diagnose {

namespace {

constexpr std::size_t kSizes = 13;  ///< of one fault, in the screening
constexpr double kStep_u = 0.02;    ///< of differences
constexpr int kRounds = 7;
constexpr std::array<double, kRounds + 1> kBehind = {200.0, 100.0, 60.0, 40.0, 30.0,
                                                     25.0,  25.0,  25.0};  ///< logarithm: what is so far behind after so many rounds stays there
constexpr std::size_t kTooHard = 250;                                      ///< network solves of one look

constexpr double kGain = 0.02;         ///< logarithm of the likelihood: less is none
constexpr int kInVain = 3;             ///< steps
constexpr std::size_t kAlike = 3;      ///< that stand in for one fault of a good pair
constexpr std::size_t kConfirmed = 6;  ///< of the pairs solved, those that are solved without a short cut too

/// What one fault of one size does to the readings.
struct Mark {
    std::size_t fault = 0;
    double u = 1.0;
    std::vector<double> moved = {};        ///< of the measured readings, from the sound farm
    std::vector<double> answer = {};       ///< C' (e - moved)
    double own = 0.0, alone = 0.0;         ///< moved^T C' moved; (e - moved)^T C' (e - moved)
    std::uint64_t wrong = 0, changed = 0;  ///< of the glances: not as read; not as in the sound farm
};

struct Screened {
    std::size_t one = 0, other = 0;  ///< faults
    double one_u = 1.0, other_u = 1.0;
    double log_weight = -1e300;
};

class Screening {
public:
    explicit Screening(const Investigation& investigation) : in_(investigation) {
        for (std::size_t i = 0; i < in_.columns.size(); ++i) (is_glance(in_.scales.reading(i).what.quantity) ? glances_ : measured_).push_back(i);
        alone_.assign(in_.signatures.faults().size(), -1e300);
        for (std::size_t f = 0; f < in_.signatures.faults().size(); ++f)
            if (in_.shows[f] != 0) mark(f);
    }

    std::vector<Screened> best(std::size_t most) const {
        std::map<std::pair<std::size_t, std::size_t>, Screened> pairs;
        for (std::size_t a = 0; a < marks_.size(); ++a)
            for (std::size_t b = a + 1; b < marks_.size(); ++b) {
                const Mark &one = marks_[a], &other = marks_[b];
                if (one.fault == other.fault) continue;
                double cross = 0.0;
                for (std::size_t i = 0; i < measured_.size(); ++i) cross += other.moved[i] * one.answer[i];
                const std::uint64_t wrong = (one.wrong & one.changed) | (other.wrong & ~one.changed);
                const double log_likelihood = -0.5 * (one.alone - 2.0 * cross + other.own) - kGlance * std::popcount(wrong);
                const double weight = log_likelihood + log_chance_[one.fault] + log_chance_[other.fault];
                if (weight < floor_) continue;
                Screened& kept = pairs[{one.fault, other.fault}];
                if (weight > kept.log_weight) kept = {one.fault, other.fault, one.u, other.u, weight};
            }
        std::vector<Screened> list;
        for (const auto& [key, screened] : pairs)
            if (gains(screened)) list.push_back(screened);
        std::stable_sort(list.begin(), list.end(), [](const Screened& x, const Screened& y) { return x.log_weight > y.log_weight; });
        if (list.size() > most) list.resize(most);
        return list;
    }

    /// The pair with one of its faults exchanged for another that moves the readings much alike: the nearest few for either.
    std::vector<Screened> alike(const Screened& pair, std::size_t most) const {
        std::vector<Screened> list;
        for (const bool first : {true, false}) {
            const Mark* stays = nearest(first ? pair.other : pair.one, first ? pair.other_u : pair.one_u);
            const Mark* goes = nearest(first ? pair.one : pair.other, first ? pair.one_u : pair.other_u);
            if (stays == nullptr || goes == nullptr) continue;
            std::map<std::size_t, Screened> best;
            for (const Mark& mark : marks_) {
                if (mark.fault == stays->fault || mark.fault == goes->fault) continue;
                double apart = 0.0;  // (a - b)^T C' (a - b), with C' a = C' e - answer
                for (std::size_t i = 0; i < measured_.size(); ++i) apart += (mark.moved[i] - goes->moved[i]) * (goes->answer[i] - mark.answer[i]);
                const double weight = -0.5 * apart - kGlance * std::popcount(mark.changed ^ goes->changed) + log_chance_[mark.fault];
                Screened& kept = best[mark.fault];
                if (weight > kept.log_weight) kept = {std::min(stays->fault, mark.fault), std::max(stays->fault, mark.fault), 0.0, 0.0, weight};
                if (weight >= kept.log_weight) {
                    kept.one_u = kept.one == mark.fault ? mark.u : stays->u;
                    kept.other_u = kept.other == mark.fault ? mark.u : stays->u;
                }
            }
            std::vector<Screened> some;
            for (const auto& [fault, screened] : best) some.push_back(screened);
            std::stable_sort(some.begin(), some.end(), [](const Screened& x, const Screened& y) { return x.log_weight > y.log_weight; });
            if (some.size() > most) some.resize(most);
            list.insert(list.end(), some.begin(), some.end());
        }
        return list;
    }

private:
    /// Whether the two together fit better than either alone, at the sizes of the screening: else the second one is no explanation.
    bool gains(const Screened& pair) const {
        const double together = pair.log_weight - log_chance_[pair.one] - log_chance_[pair.other];
        return together > std::max(alone_[pair.one], alone_[pair.other]) + kWorthASecond;
    }

    static constexpr double kGlance = 3.9;  ///< ln((1 - kMisread) / kMisread)

    const Mark* nearest(std::size_t fault, double u) const {
        const Mark* found = nullptr;
        for (const Mark& mark : marks_)
            if (mark.fault == fault && (found == nullptr || std::abs(mark.u - u) < std::abs(found->u - u))) found = &mark;
        return found;
    }

    void mark(std::size_t fault) {
        if (log_chance_.empty()) {
            for (const Fault& each : in_.signatures.faults()) log_chance_.push_back(std::log(each.chance));
        }
        const bool sized = in_.signatures.faults()[fault].sized();
        for (std::size_t k = sized ? 0 : kSizes - 1; k < kSizes; ++k) {
            Mark mark{.fault = fault, .u = static_cast<double>(k) / static_cast<double>(kSizes - 1)};
            if (!fill(mark)) continue;
            alone_[fault] = std::max(alone_[fault], -0.5 * mark.alone - kGlance * std::popcount(mark.wrong));
            marks_.push_back(std::move(mark));
        }
    }

    bool fill(Mark& mark) const {
        const std::vector<Predicted>& sound = in_.signatures.sound();
        std::vector<double> left;
        for (const std::size_t i : measured_) {
            const double value = in_.signatures.at(mark.fault, mark.u, in_.columns[i]).value, drawn = sound[in_.columns[i]].value;
            if (std::isnan(value) || std::isnan(drawn)) return false;
            mark.moved.push_back(value - drawn);
            left.push_back(in_.scales.reading(i).value - value);
        }
        mark.answer = in_.scales.times_inverse(left);
        const std::vector<double> own = in_.scales.times_inverse(mark.moved);
        for (std::size_t i = 0; i < left.size(); ++i) {
            mark.alone += left[i] * mark.answer[i];
            mark.own += mark.moved[i] * own[i];
        }
        for (std::size_t g = 0; g < glances_.size() && g < 64; ++g) {
            const std::size_t i = glances_[g];
            const Predicted there = in_.signatures.at(mark.fault, mark.u, in_.columns[i]), &here = sound[in_.columns[i]];
            if (!agrees(in_.scales.reading(i).value, there)) mark.wrong |= std::uint64_t{1} << g;
            if (there.value != here.value || there.spread != here.spread) mark.changed |= std::uint64_t{1} << g;
        }
        return true;
    }

    const Investigation& in_;
    std::vector<std::size_t> measured_, glances_;
    std::vector<Mark> marks_;
    std::vector<double> log_chance_;
    std::vector<double> alone_;  ///< of each fault: logarithm of its likelihood at the best of its sizes here
    double floor_ = -400.0;
};

/// A pair on its way to its best sizes.
struct Climb {
    Screened pair;
    std::array<double, 2> u = {1.0, 1.0};
    std::vector<std::size_t> free = {};               ///< which of the two have a size
    std::vector<Predicted> predicted = {}, all = {};  ///< at u: of the readings; of every observable
    Judgement here = {};
    std::array<std::vector<double>, 2> slope = {};  ///< of the measured readings, per u
    double damping = 0.01;
    bool has_slopes = false;
    bool out = false;     ///< no solution
    bool stands = false;  ///< goes no further: it is there, too far behind, or too hard to solve
    bool behind = false;  ///< too far for its slopes to matter
    int in_vain = 0;      ///< rounds of steps that gained next to nothing
};

class Climbing {
public:
    explicit Climbing(Investigation& investigation) : in_(investigation) {
        for (std::size_t i = 0; i < in_.columns.size(); ++i)
            if (!is_glance(in_.scales.reading(i).what.quantity)) measured_.push_back(i);
    }

    std::vector<Climb> go(std::span<const Screened> pairs) {
        std::vector<Climb> climbs;
        for (const Screened& pair : pairs) {
            Climb climb{.pair = pair, .u = {pair.one_u, pair.other_u}};
            if (in_.signatures.faults()[pair.one].sized()) climb.free.push_back(0);
            if (in_.signatures.faults()[pair.other].sized()) climb.free.push_back(1);
            climbs.push_back(std::move(climb));
        }
        start(climbs);
        for (int round = 0; round < kRounds && !in_.options.stop.stop_requested(); ++round) {
            slopes(climbs);
            if (round + 1 < kRounds) steps(climbs);
            leave_behind(climbs, kBehind[static_cast<std::size_t>(round) + 1]);
        }
        return climbs;
    }

    std::vector<Explanation> explain(std::vector<Climb>& climbs) {
        confirm(climbs);
        std::vector<Explanation> found;
        for (const Climb& climb : climbs)
            if (!climb.out) found.push_back(explain(climb));
        return found;
    }

    double log_weight(const Climb& climb) const {
        if (climb.out) return -1e300;
        const auto& faults = in_.signatures.faults();
        return climb.here.log_likelihood + std::log(faults[climb.pair.one].chance * faults[climb.pair.other].chance);
    }

private:
    Signatures::Together wish(const Climb& climb, std::array<double, 2> u) const {
        const auto& faults = in_.signatures.faults();
        Signatures::Together together;
        together.faults = {{faults[climb.pair.one], u[0]}, {faults[climb.pair.other], u[1]}};
        return together;
    }

    bool take(const Signatures::Together& solved, std::vector<Predicted>& predicted, Judgement& judgement) const {
        if (!solved.solved) return false;
        predicted.resize(in_.columns.size());
        for (std::size_t i = 0; i < predicted.size(); ++i) predicted[i] = solved.predicted[in_.columns[i]];
        judgement = in_.scales.judge(predicted);
        return true;
    }

    void start(std::vector<Climb>& climbs) {
        std::vector<Signatures::Together> wanted;
        for (const Climb& climb : climbs) wanted.push_back(wish(climb, climb.u));
        in_.signatures.together(wanted, true, in_.options.stop);
        for (std::size_t c = 0; c < climbs.size(); ++c) {
            climbs[c].out = !take(wanted[c], climbs[c].predicted, climbs[c].here);
            climbs[c].all = std::move(wanted[c].predicted);
            climbs[c].stands = wanted[c].solves > kTooHard;
        }
        leave_behind(climbs, kBehind[0]);
    }

    void leave_behind(std::vector<Climb>& climbs, double behind) const {
        double best = -1e300;
        for (const Climb& climb : climbs) best = std::max(best, log_weight(climb));
        for (Climb& climb : climbs) {
            climb.behind = log_weight(climb) < best - behind;
            climb.stands = climb.stands || climb.behind;
        }
    }

    /// Differences at where each stands; a point of them that fits better is where it stands next.
    void slopes(std::vector<Climb>& climbs) {
        std::vector<Signatures::Together> wanted;
        std::vector<std::array<std::size_t, 2>> whose;
        std::vector<std::array<double, 2>> places;
        for (std::size_t c = 0; c < climbs.size(); ++c) {
            if (climbs[c].out || climbs[c].behind || (climbs[c].stands && climbs[c].has_slopes)) continue;
            climbs[c].has_slopes = true;
            if (climbs[c].stands) {
                for (const std::size_t d : climbs[c].free) slope_alone(climbs[c], d);
                continue;
            }
            for (const std::size_t d : climbs[c].free) {
                std::array<double, 2> u = climbs[c].u;
                u[d] += u[d] < 0.5 ? kStep_u : -kStep_u;
                wanted.push_back(wish(climbs[c], u));
                whose.push_back({c, d});
                places.push_back(u);
            }
        }
        in_.signatures.together(wanted, true, in_.options.stop);
        std::vector<Predicted> predicted;
        for (std::size_t w = 0; w < wanted.size(); ++w) {
            Climb& climb = climbs[whose[w][0]];
            const std::size_t d = whose[w][1];
            climb.slope[d].assign(measured_.size(), 0.0);
            Judgement judgement;
            if (!take(wanted[w], predicted, judgement)) continue;
            for (std::size_t i = 0; i < measured_.size(); ++i) {
                const double change = predicted[measured_[i]].value - climb.predicted[measured_[i]].value;
                climb.slope[d][i] = std::isnan(change) ? 0.0 : change / (places[w][d] - climb.u[d]);
            }
        }
    }

    /// What the fault does alone, for what is too hard to solve once more.
    void slope_alone(Climb& climb, std::size_t d) const {
        const std::size_t fault = d == 0 ? climb.pair.one : climb.pair.other;
        const double low = std::max(0.0, climb.u[d] - kStep_u), high = std::min(1.0, climb.u[d] + kStep_u);
        climb.slope[d].assign(measured_.size(), 0.0);
        for (std::size_t i = 0; i < measured_.size(); ++i) {
            const std::size_t column = in_.columns[measured_[i]];
            const double change = in_.signatures.at(fault, high, column).value - in_.signatures.at(fault, low, column).value;
            climb.slope[d][i] = std::isnan(change) ? 0.0 : change / (high - low);
        }
    }

    /// H = slope^T C' slope, and its right side slope^T C' e.
    std::array<double, 5> curvature(const Climb& climb) const {
        std::vector<double> left(measured_.size());
        for (std::size_t i = 0; i < left.size(); ++i) {
            const double away = in_.scales.reading(measured_[i]).value - climb.predicted[measured_[i]].value;
            left[i] = std::isnan(away) ? 0.0 : away;
        }
        std::array<double, 5> sums{};  // H00, H01, H11, g0, g1
        for (const std::size_t d : climb.free) {
            if (climb.slope[d].empty()) continue;
            const std::vector<double> answer = in_.scales.times_inverse(climb.slope[d]);
            for (std::size_t i = 0; i < left.size(); ++i) {
                sums[3 + d] += answer[i] * left[i];
                for (const std::size_t other : climb.free)
                    if (other >= d && !climb.slope[other].empty()) sums[d + other] += answer[i] * climb.slope[other][i];
            }
        }
        return sums;
    }

    void steps(std::vector<Climb>& climbs) {
        std::vector<Signatures::Together> wanted;
        std::vector<std::size_t> whose;
        std::vector<std::array<double, 2>> places;
        for (std::size_t c = 0; c < climbs.size(); ++c) {
            Climb& climb = climbs[c];
            if (climb.out || climb.stands || climb.free.empty()) continue;
            const auto [h00, h01, h11, g0, g1] = curvature(climb);
            for (const double damping : {climb.damping, 30.0 * climb.damping}) {
                const double a = h00 * (1.0 + damping) + 1.0, b = h01, d = h11 * (1.0 + damping) + 1.0, det = a * d - b * b;
                const std::array<double, 2> step = {(d * g0 - b * g1) / det, (a * g1 - b * g0) / det};
                std::array<double, 2> u = climb.u;
                for (const std::size_t k : climb.free) u[k] = std::clamp(u[k] + step[k], 0.0, 1.0);
                wanted.push_back(wish(climb, u));
                whose.push_back(c);
                places.push_back(u);
            }
        }
        in_.signatures.together(wanted, true, in_.options.stop);
        std::vector<Predicted> predicted;
        std::vector<double> before;
        for (const Climb& climb : climbs) before.push_back(climb.here.log_likelihood);
        for (const std::size_t c : whose) climbs[c].damping *= 10.0;  // twice for each, and back where a step is taken
        for (std::size_t w = 0; w < wanted.size(); ++w) {
            Climb& climb = climbs[whose[w]];
            Judgement judgement;
            if (!take(wanted[w], predicted, judgement) || judgement.log_likelihood <= climb.here.log_likelihood) continue;
            climb.u = places[w];
            climb.damping = std::max(1e-3, climb.damping * (w % 2 == 0 ? 1e-3 : 3e-2));
            climb.here = judgement;
            climb.stands = wanted[w].solves > kTooHard;
            climb.predicted = predicted;
            climb.all = std::move(wanted[w].predicted);
        }
        for (const std::size_t c : whose) {
            Climb& climb = climbs[c];
            if (climb.here.log_likelihood > before[c] + kGain) climb.in_vain = 0;
            // each has two steps here, and is met twice
            climb.stands = climb.stands || (climb.here.log_likelihood <= before[c] + kGain && ++climb.in_vain > kInVain);
        }
    }

    /// The best few along the whole way of the water: where that ends elsewhere, it is what counts.
    void confirm(std::vector<Climb>& climbs) {
        std::stable_sort(climbs.begin(), climbs.end(), [this](const Climb& x, const Climb& y) { return log_weight(x) > log_weight(y); });
        std::vector<Signatures::Together> wanted;
        for (std::size_t c = 0; c < std::min(kConfirmed, climbs.size()); ++c) wanted.push_back(wish(climbs[c], climbs[c].u));
        in_.signatures.together(wanted, false, in_.options.stop);
        for (std::size_t c = 0; c < wanted.size(); ++c) {
            climbs[c].out = climbs[c].out || !take(wanted[c], climbs[c].predicted, climbs[c].here);
            climbs[c].all = std::move(wanted[c].predicted);
        }
    }

    Explanation explain(const Climb& climb) const {
        const auto& faults = in_.signatures.faults();
        Explanation found;
        found.faults = {climb.pair.one, climb.pair.other};
        found.chance = faults[climb.pair.one].chance * faults[climb.pair.other].chance;
        found.log_likelihood = climb.here.log_likelihood;
        found.chi_squared = climb.here.chi_squared;
        found.misread = climb.here.misread;
        found.predicted = climb.predicted;
        found.all = climb.all;
        found.u = {climb.u[0], climb.u[1]};
        const auto [h00, h01, h11, g0, g1] = curvature(climb);
        double grows = 1.0;
        if (climb.free.size() == 1) grows = (climb.free.front() == 0 ? h00 : h11) / (2.0 * M_PI) + 1.0;
        if (climb.free.size() == 2) grows = (h00 / (2.0 * M_PI) + 1.0) * (h11 / (2.0 * M_PI) + 1.0) - (h01 / (2.0 * M_PI)) * (h01 / (2.0 * M_PI));
        found.log_evidence = found.log_likelihood - 0.5 * std::log(grows);
        const double a = h00 + 12.0, d = h11 + 12.0, det = a * d - h01 * h01;
        const std::array<double, 2> deviation = {std::sqrt((climb.free.size() == 2 ? d / det : 1.0 / a)),
                                                 std::sqrt(climb.free.size() == 2 ? a / det : 1.0 / d)};
        for (std::size_t k = 0; k < 2; ++k) {
            const Fault& fault = faults[found.faults[k]];
            SizeRange range{fault.size_at(climb.u[k]), fault.size_at(climb.u[k]), fault.size_at(climb.u[k])};
            if (fault.sized()) {
                range.low = fault.size_at(std::clamp(climb.u[k] - 1.645 * deviation[k], 0.0, 1.0));
                range.high = fault.size_at(std::clamp(climb.u[k] + 1.645 * deviation[k], 0.0, 1.0));
            }
            found.sizes.push_back(range);
        }
        return found;
    }

    Investigation& in_;
    std::vector<std::size_t> measured_;
};

}  // namespace

std::vector<Explanation> weigh_pairs(Investigation& investigation) {
    const Screening screening(investigation);
    const std::vector<Screened> screened = screening.best(investigation.options.most_pairs);
    Climbing climbing(investigation);
    std::vector<Climb> climbs = climbing.go(screened);
    const auto by_weight = [&](const Climb& x, const Climb& y) { return climbing.log_weight(x) > climbing.log_weight(y); };
    for (int round = 0; round < 2 && !climbs.empty(); ++round) {
        // what may stand in for either of the best two
        std::stable_sort(climbs.begin(), climbs.end(), by_weight);
        std::vector<Screened> more;
        for (std::size_t c = 0; c < std::min<std::size_t>(2, climbs.size()); ++c) {
            const Screened best{climbs[c].pair.one, climbs[c].pair.other, climbs[c].u[0], climbs[c].u[1], 0.0};
            for (const Screened& pair : screening.alike(best, kAlike)) {
                const auto same = [&](const Screened& known) { return known.one == pair.one && known.other == pair.other; };
                if (std::any_of(climbs.begin(), climbs.end(), [&](const Climb& known) { return same(known.pair); })) continue;
                if (std::none_of(more.begin(), more.end(), same)) more.push_back(pair);
            }
        }
        if (more.empty()) break;
        for (Climb& climb : climbing.go(more)) climbs.push_back(std::move(climb));
    }
    return climbing.explain(climbs);
}

}  // namespace ebb::diagnose
