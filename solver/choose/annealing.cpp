// The walk: see sizing_search.h.
//
// A move is judged against a threshold drawn beforehand (the Metropolis rule, turned round): since nothing missed costs less than nothing, a design
// whose pipes alone cost more than the threshold is turned down without being solved. A table of the designs seen lately saves the rest of the
// repeats. Temperatures fall geometrically from the mean step of cost to a part of it; the price of what is missed starts at all the
// pipes at their largest for the whole of one target, and rises while the walk is mostly outside what is allowed, and falls while it is inside.

#include "solver/choose/annealing.h"

#include <algorithm>
#include <cmath>

namespace ebb::choose {

namespace {

constexpr std::size_t kMemoSize = std::size_t{1} << 15U;
constexpr double kHotShare = 1.0, kColdShare = 0.1;  ///< of the mean step of cost
constexpr double kOnlyOne = 0.5, kAnySize = 0.1;     ///< shares of the moves
constexpr int kLook = 50;                            ///< accepted moves between two looks at the price
constexpr double kDearest = 1e9;  ///< price of what is missed, in mean steps of cost: where nothing is allowed it would rise for ever
constexpr double kLead = 1.15, kMostlyAllowed = 0.6, kMostlyNot = 0.3;
constexpr std::int64_t kMovesAnEvaluation = 10;  ///< at most, in the mean: most moves are turned down unsolved
constexpr double kExchangeShare = 0.2;           ///< of the effort kept for the exchanges

}  // namespace

Annealing::Annealing(const SizingProblem& problem, const Effort& effort, std::function<bool(std::int64_t)> goes_on,
                     std::function<void(const Judged&)> found)
    : problem_(problem), effort_(effort), goes_on_(std::move(goes_on)), found_(std::move(found)), evaluator_(problem), random_(effort.seed),
      memo_(kMemoSize) {
    if (effort.walk_from_start) evaluator_.walk_from_now_on();
    Random marks(0x5eed);
    for (const Choice& choice : problem.choices) {
        marks_.emplace_back();
        for (std::size_t option = 0; option < choice.cost.size(); ++option) marks_.back().push_back(marks.bits());
    }
    scale_temperatures();
}

void Annealing::scale_temperatures() {
    double sum = 0.0, most = 0.0;
    std::size_t steps = 0;
    for (const Choice& choice : problem_.choices) {
        most += *std::max_element(choice.cost.begin(), choice.cost.end());
        for (std::size_t option = 1; option < choice.cost.size(); ++option) {
            sum += std::abs(choice.cost[option] - choice.cost[option - 1]);
            ++steps;
        }
    }
    hot_ = kHotShare * (steps > 0 ? sum / static_cast<double>(steps) : 1.0);
    cold_ = kColdShare * hot_;
    price_ = most > 0.0 ? most : 1.0;
}

void Annealing::remember(const Design& design, const Verdict& verdict) {
    const bool first = best_.design.empty();
    const bool better_one = verdict.allowed ? !has_allowed_ || better(verdict, design, best_.verdict, best_.design)
                                            : !has_allowed_ && (first || verdict.missed < best_.verdict.missed);
    if (!better_one) return;
    best_.design = design;
    best_.verdict = verdict;
    has_allowed_ = verdict.allowed;
    if (has_allowed_) found_(best_);
}

/// What a design is worth, from memory or solved; false when the walk has ended.
bool Annealing::judge(const Design& design, double pipes_cost, Verdict& verdict) {
    std::uint64_t key = 0;
    for (std::size_t c = 0; c < design.size(); ++c) key ^= marks_[c][design[c]];
    Memo& memo = memo_[key % kMemoSize];
    if (memo.full && memo.key == key) {
        verdict.solved = memo.solved;
        verdict.allowed = memo.allowed;
        verdict.missed = memo.missed;
        verdict.energy_a_year_kwh = memo.energy_kwh;
        verdict.pipes_cost = pipes_cost;
        verdict.total_cost = pipes_cost + memo.energy_kwh * problem_.costing.price_per_kwh * problem_.costing.worth_of_a_year;
        return true;
    }
    if (!goes_on_(evaluations_)) {
        ended_ = true;
        return false;
    }
    verdict = evaluator_.evaluate(design);
    ++evaluations_;
    memo = {.key = key,
            .energy_kwh = verdict.energy_a_year_kwh,
            .missed = verdict.missed,
            .full = true,
            .allowed = verdict.allowed,
            .solved = verdict.solved};
    remember(design, verdict);
    return true;
}

Annealing::Move Annealing::draw_move(const Design& design) {
    const auto options = [this](std::size_t c) { return problem_.choices[c].cost.size(); };
    Move move;
    move.one = move.other = random_.below(design.size());
    const double kind = random_.share();
    const auto step = [&](std::size_t c, bool up) {
        const auto now = design[c];
        if (up) return static_cast<std::uint8_t>(now + 1U < options(c) ? now + 1U : now);
        return static_cast<std::uint8_t>(now > 0U ? now - 1U : now);
    };
    if (kind < kAnySize) {
        move.one_to = static_cast<std::uint8_t>(random_.below(options(move.one)));
    } else if (kind < kAnySize + kOnlyOne || design.size() < 2) {
        move.one_to = step(move.one, random_.share() < 0.5);
    } else {
        move.other = random_.below(design.size() - 1);
        if (move.other >= move.one) ++move.other;
        move.one_to = step(move.one, true);
        move.other_to = step(move.other, false);
    }
    if (move.one == move.other) move.other_to = move.one_to;
    return move;
}

double Annealing::cost_after(const Design& design, double cost, const Move& move) const {
    const auto change = [&](std::size_t c, std::uint8_t to) { return problem_.choices[c].cost[to] - problem_.choices[c].cost[design[c]]; };
    return cost + change(move.one, move.one_to) + (move.other != move.one ? change(move.other, move.other_to) : 0.0);
}

void Annealing::lead_price(bool allowed) {
    ++recent_;
    if (allowed) ++recent_allowed_;
    if (recent_ < kLook) return;
    const double share = static_cast<double>(recent_allowed_) / recent_;
    if (share > kMostlyAllowed) price_ /= kLead;
    if (share < kMostlyNot) price_ = std::min(price_ * kLead, kDearest * hot_);
    recent_ = recent_allowed_ = 0;
}

void Annealing::anneal(const Design& start) {
    Design now = start, next;
    double cost = pipes_cost(problem_, now);
    Verdict verdict;
    if (!judge(now, cost, verdict)) return;
    double worth = verdict.total_cost + price_ * std::min(verdict.missed, 1e9), missed = verdict.missed, total = verdict.total_cost;
    const auto budget = static_cast<std::int64_t>((1.0 - kExchangeShare) * static_cast<double>(effort_.evaluations));
    for (std::int64_t moves = 0; evaluations_ < budget && moves < kMovesAnEvaluation * budget; ++moves) {
        const double done = std::max(static_cast<double>(evaluations_) / static_cast<double>(budget),
                                     static_cast<double>(moves) / static_cast<double>(kMovesAnEvaluation * budget));
        const double temperature = hot_ * std::pow(cold_ / hot_, done);
        const Move move = draw_move(now);
        if (move.one_to == now[move.one] && move.other_to == now[move.other]) continue;
        const double threshold = worth - temperature * std::log(1.0 - random_.share());
        const double next_cost = cost_after(now, cost, move);
        if (next_cost > threshold) continue;
        next = now;
        next[move.one] = move.one_to;
        if (move.other != move.one) next[move.other] = move.other_to;
        if (!judge(next, next_cost, verdict)) return;
        if (!(verdict.total_cost + price_ * verdict.missed <= threshold)) continue;
        now.swap(next);
        cost = next_cost;
        missed = verdict.missed;
        total = verdict.total_cost;
        lead_price(verdict.allowed);
        worth = total + price_ * missed;
    }
}

/// The cheapest of the designs one or two sizes away from the best, if it is cheaper and allowed; looked at in the order of their cost.
bool Annealing::exchange_once() {
    struct Candidate {
        double cost;
        Move move;
    };
    const Design base = best_.design;
    const double cost = pipes_cost(problem_, base), to_beat = best_.verdict.total_cost;
    std::vector<Candidate> candidates;
    for (std::size_t one = 0; one < base.size(); ++one)
        for (std::size_t to = 0; to < problem_.choices[one].cost.size(); ++to) {
            if (to == base[one]) continue;
            Move move{.one = one, .other = one, .one_to = static_cast<std::uint8_t>(to), .other_to = static_cast<std::uint8_t>(to)};
            const double alone = cost_after(base, cost, move);
            if (alone < to_beat) candidates.push_back({alone, move});
            for (move.other = one + 1; move.other < base.size(); ++move.other)
                for (std::size_t other_to = 0; other_to < problem_.choices[move.other].cost.size(); ++other_to) {
                    move.other_to = static_cast<std::uint8_t>(other_to);
                    const double both = cost_after(base, cost, move);
                    if (other_to != base[move.other] && both < to_beat) candidates.push_back({both, move});
                }
        }
    std::stable_sort(candidates.begin(), candidates.end(), [](const Candidate& one, const Candidate& other) { return one.cost > other.cost; });
    Design next;
    Verdict verdict;
    for (const Candidate& candidate : candidates) {
        if (evaluations_ >= effort_.evaluations) return false;
        next = base;
        next[candidate.move.one] = candidate.move.one_to;
        next[candidate.move.other] = candidate.move.other_to;
        if (!judge(next, candidate.cost, verdict)) return false;
        if (verdict.allowed && verdict.total_cost < to_beat) return true;
    }
    return false;
}

void Annealing::exchange() {
    while (has_allowed_ && !ended_ && evaluations_ < effort_.evaluations && exchange_once()) {
    }
}

void Annealing::run(const Design& start) {
    anneal(start);
    if (!ended_) exchange();
}

}  // namespace ebb::choose
