// The search as a whole: all designs where they are few, else walks over the threads; and the proof of what is handed out by the full solve.
//
// The search looks at the direct settled state alone. Whether that is where the water really goes, only the walk from the start depths can tell
// (settle/levels.h): so the design handed out is solved in full, and so are the sizes drawn and the largest before the search begins. Where the two
// ways disagree, on what is allowed or on what it costs, the search is made with every design walked. Where all designs of a farm are looked at,
// every one is walked if they are few; of more, some hundred evenly spread over those that were looked at are walked afterwards.

#include "solver/choose/sizing_search.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <numeric>
#include <optional>

#include "solver/choose/annealing.h"
#include "solver/settle/crew.h"

namespace ebb::choose {

namespace {

constexpr double kFewDesigns = 50'000.0;
constexpr std::int64_t kLeastWalk = 2'000, kWalkPerStep = 5, kMostWalk = 50'000, kOrdinaryWalks = 8;
constexpr std::int64_t kTellEvery = 500;
constexpr double kFewWalked = 2'000.0;       ///< so few designs are all walked
constexpr std::size_t kSample = 200;         ///< of more
constexpr double kSameCost = 1e-9;           ///< share by which costs of the same state may differ
constexpr std::size_t kOrdinaryLinks = 400;  ///< in larger networks a design takes longer, and fewer are solved

/// Do two solves of one design tell the same?
bool same(const Verdict& one, const Verdict& other) {
    if (one.solved != other.solved || one.allowed != other.allowed) return false;
    return !one.solved || std::abs(one.total_cost - other.total_cost) <= kSameCost * std::abs(other.total_cost);
}

Design largest(const SizingProblem& problem) {
    Design design;
    for (const Choice& choice : problem.choices) design.push_back(static_cast<std::uint8_t>(choice.cost.size() - 1));
    return design;
}

/// What is told on the way, by all threads.
class Teller {
public:
    Teller(const SizingOptions& options, std::int64_t of_evaluations) : options_(options) { progress_.of_evaluations = of_evaluations; }

    /// So many designs will be looked at.
    void expect(double designs) { progress_.of_evaluations = static_cast<std::int64_t>(designs); }

    bool stop() const { return options_.stop.stop_requested(); }

    void solved(std::int64_t more) {
        const std::scoped_lock lock(mutex_);
        progress_.evaluations += more;
        tell();
    }

    void found(double cost) {
        const std::scoped_lock lock(mutex_);
        if (progress_.found && progress_.cost <= cost) return;
        progress_.found = true;
        progress_.cost = cost;
        tell();
    }

private:
    void tell() {
        if (options_.progress) options_.progress(progress_);
    }

    const SizingOptions& options_;
    SizingProgress progress_;
    std::mutex mutex_;
};

/// The best of all that were looked at: the cheapest allowed, or the one that misses least.
class Best {
public:
    bool take(const Design& design, const Verdict& verdict) {
        const bool less_missed = !verdict.allowed && !best_.verdict.allowed && verdict.missed < best_.verdict.missed;
        if (!best_.design.empty() && !less_missed && !(verdict.allowed && better(verdict, design, best_.verdict, best_.design))) return false;
        best_ = {design, verdict};
        return true;
    }
    const Judged& judged() const { return best_; }
    bool allowed() const { return !best_.design.empty() && best_.verdict.allowed; }

private:
    Judged best_;
};

class Search {
public:
    Search(const SizingProblem& problem, const SizingOptions& options)
        : problem_(problem), options_(options), evaluations_(options.evaluations > 0 ? options.evaluations : normal_effort(problem)),
          teller_(options, evaluations_), full_(problem) {}

    SizingResult run() {
        result_.walked = ways_disagree();
        walk_from_start_ = result_.walked || (enumerates() && has_levels() && number_of_designs(problem_) <= kFewWalked);
        std::vector<Judged> candidates = look();
        if (!walk_from_start_ && !result_.stopped && !confirmed(candidates)) {
            result_.walked = walk_from_start_ = true;
            candidates = look();
        }
        choose_from(candidates);
        return std::move(result_);
    }

private:
    /// Does the direct state of some plain designs say other than the full solve?
    bool ways_disagree() {
        if (!has_levels()) return false;
        Evaluator direct(problem_);
        for (const Design& design : {largest(problem_), design_as_drawn(problem_)}) {
            if (teller_.stop()) return false;
            direct.evaluate(design);  // the first is solved in full; the second time it is warm
            if (!same(direct.evaluate(design), full_.explain(design))) return true;
        }
        return false;
    }

    bool has_levels() const { return !problem_.layout->vessels.empty(); }
    bool enumerates() const { return options_.enumerate && number_of_designs(problem_) <= kFewDesigns; }

    /// The allowed ends of the walks, and a sample of what was looked at, by the full solve.
    bool confirmed(const std::vector<Judged>& candidates) {
        const auto agrees = [&](const Judged& one) { return same(one.verdict, full_.explain(one.design)); };
        for (const Judged& one : candidates) {
            if (teller_.stop()) return true;
            if (one.verdict.allowed && !agrees(one)) return false;
            if (!has_levels()) break;
        }
        for (const Judged& one : sample_)
            if (!teller_.stop() && !agrees(one)) return false;
        if (teller_.stop()) result_.exact = false;
        return true;
    }

    /// Candidates, the best first.
    std::vector<Judged> look() {
        result_.exact = false;
        if (enumerates()) return enumerate();
        return walk();
    }

    // ------------------------------------------------------------------------------------------------ all designs

    /// Designs as numbers in mixed radix, the first choice counting most, so that equal costs stand in the order of the choices.
    std::vector<std::uint32_t> designs_by_cost(std::vector<double>& cost) const {
        cost.assign(1, 0.0);
        for (const Choice& choice : problem_.choices) {
            std::vector<double> longer;
            longer.reserve(cost.size() * choice.cost.size());
            for (const double so_far : cost)
                for (const double option : choice.cost) longer.push_back(so_far + option);
            cost.swap(longer);
        }
        std::vector<std::uint32_t> order(cost.size());
        std::iota(order.begin(), order.end(), 0U);
        std::stable_sort(order.begin(), order.end(), [&cost](std::uint32_t one, std::uint32_t other) { return cost[one] < cost[other]; });
        return order;
    }

    Design design_of(std::uint32_t number) const {
        Design design(problem_.choices.size());
        for (std::size_t c = design.size(); c-- > 0;) {
            const auto options = static_cast<std::uint32_t>(problem_.choices[c].cost.size());
            design[c] = static_cast<std::uint8_t>(number % options);
            number /= options;
        }
        return design;
    }

    /// In the order of their cost, until no design can be cheaper with its energy than the best.
    std::vector<Judged> enumerate() {
        constexpr double kNoDearer = 1.0 + 2e-9;  // equal costs must all be seen
        teller_.expect(number_of_designs(problem_));
        std::vector<double> cost;
        const std::vector<std::uint32_t> order = designs_by_cost(cost);
        Evaluator evaluator(problem_);
        if (walk_from_start_) evaluator.walk_from_now_on();
        Best best;
        std::vector<Best> of_margin(options_.margins.size());
        const auto nothing_cheaper = [&](double pipes) {
            const auto beaten = [&](const Best& one) { return one.allowed() && pipes > one.judged().verdict.total_cost * kNoDearer; };
            return beaten(best) && std::all_of(of_margin.begin(), of_margin.end(), beaten);
        };
        std::int64_t untold = 0;
        bool all_finished = true;
        const std::size_t apart = std::max<std::size_t>(1, order.size() / kSample);
        sample_.clear();
        for (const std::uint32_t number : order) {
            if (nothing_cheaper(cost[number])) break;
            if (teller_.stop()) {
                result_.stopped = true;
                break;
            }
            const Design design = design_of(number);
            Verdict verdict = evaluator.evaluate(design);
            ++result_.evaluations;
            if (++untold == kTellEvery) {
                teller_.solved(untold);
                untold = 0;
            }
            all_finished = all_finished && !verdict.unfinished;
            if (!walk_from_start_ && has_levels() && static_cast<std::size_t>(result_.evaluations) % apart == 0) sample_.push_back({design, verdict});
            if (verdict.allowed && walk_from_start_) verdict.allowed = full_.explain(design).allowed;
            if (best.take(design, verdict) && verdict.allowed) teller_.found(verdict.total_cost);
            for (std::size_t m = 0; m < of_margin.size(); ++m) {
                constexpr double kSame = 1e-9;
                verdict.allowed = verdict.limits_kept && verdict.targets_margin >= options_.margins[m] - kSame;
                if (verdict.allowed) of_margin[m].take(design, verdict);
            }
        }
        result_.exact = !result_.stopped && all_finished;
        result_.by_margin.clear();
        for (const Best& one : of_margin) result_.by_margin.push_back(one.judged().design);
        return {best.judged()};
    }

    // ------------------------------------------------------------------------------------------------ walks

    std::vector<Judged> walk() {
        const auto walks = static_cast<std::size_t>(std::max(1, options_.walks));
        std::vector<std::optional<Judged>> ends(walks);
        std::atomic<std::size_t> next{0};
        std::atomic<std::int64_t> solved{0};
        std::atomic<bool> stopped{false};
        settle::Crew crew;
        const auto work = [&] {
            for (std::size_t w = next++; w < walks && !crew.over(); w = next++) {
                if (w > 0 && teller_.stop()) stopped = true;
                if (w > 0 && stopped) return;
                ends[w] = one_walk(w, walks, solved, stopped);
            }
        };
        const std::size_t helpers = std::min<std::size_t>(std::max(1U, options_.threads), walks);
        for (std::size_t t = 1; t < helpers && crew.start(work); ++t) {
        }
        work();
        crew.join();
        result_.evaluations += solved;
        result_.stopped = stopped;
        std::vector<Judged> candidates;
        for (auto& end : ends)
            if (end && !end->design.empty()) candidates.push_back(std::move(*end));
        std::stable_sort(candidates.begin(), candidates.end(), [](const Judged& one, const Judged& other) {
            if (!one.verdict.allowed && !other.verdict.allowed) return one.verdict.missed < other.verdict.missed;
            return better(one.verdict, one.design, other.verdict, other.design);
        });
        return candidates;
    }

    Judged one_walk(std::size_t index, std::size_t walks, std::atomic<std::int64_t>& solved, std::atomic<bool>& stopped) {
        std::int64_t told = 0;
        const auto goes_on = [&](std::int64_t so_far) {
            if (so_far - told >= kTellEvery) {
                teller_.solved(so_far - told);
                told = so_far;
            }
            const bool stop = so_far > 0 && teller_.stop();
            if (stop) stopped = true;
            return !stop;
        };
        Random seeds(options_.seed * walks + index);
        Annealing annealing(problem_,
                            {.evaluations = std::max<std::int64_t>(1, evaluations_ / static_cast<std::int64_t>(walks)),
                             .seed = seeds.bits(),
                             .walk_from_start = walk_from_start_},
                            goes_on, [this](const Judged& judged) { teller_.found(judged.verdict.total_cost); });
        annealing.run(index < options_.known.size() ? options_.known[index] : largest(problem_));
        teller_.solved(annealing.evaluations() - told);
        solved += annealing.evaluations();
        return annealing.best();
    }

    // ------------------------------------------------------------------------------------------------ the result

    void choose_from(const std::vector<Judged>& candidates) {
        std::vector<Judged> known = candidates;
        for (const Design& design : options_.known)
            if (!teller_.stop()) known.push_back({design, full_.explain(design)});
        Best best;
        bool first = true;
        for (const Judged& candidate : known) {
            if (!first && teller_.stop()) break;
            const bool could_be = candidate.verdict.allowed || first || !best.allowed();
            first = false;
            if (!could_be || candidate.design.empty()) continue;
            best.take(candidate.design, full_.explain(candidate.design));
        }
        result_.design = best.judged().design;
        result_.verdict = best.judged().verdict;
        result_.found = best.allowed();
    }

    const SizingProblem& problem_;
    const SizingOptions& options_;
    std::int64_t evaluations_;
    Teller teller_;
    Evaluator full_;
    bool walk_from_start_ = false;
    std::vector<Judged> sample_;  ///< of the designs that were looked at without the walk
    SizingResult result_;
};

}  // namespace

double number_of_designs(const SizingProblem& problem) {
    double number = 1.0;
    for (const Choice& choice : problem.choices) number *= static_cast<double>(choice.cost.size());
    return number;
}

std::int64_t normal_effort(const SizingProblem& problem) {
    std::int64_t steps = 0;
    for (const Choice& choice : problem.choices) steps += static_cast<std::int64_t>(choice.cost.size()) - 1;
    const auto choices = static_cast<std::int64_t>(problem.choices.size());
    const auto links = std::max(kOrdinaryLinks, problem.layout->pipes.size());
    const std::int64_t walk = std::min(kMostWalk, kLeastWalk + kWalkPerStep * choices * steps);
    return kOrdinaryWalks * std::max<std::int64_t>(1, walk * static_cast<std::int64_t>(kOrdinaryLinks) / static_cast<std::int64_t>(links));
}

SizingResult search_sizes(const SizingProblem& problem, const SizingOptions& options) { return Search(problem, options).run(); }

}  // namespace ebb::choose
