// Branch and bound over sizes and flows.
//
// A queue of boxes (relaxation.h) that together hold every design that could still be the cheapest; the box of least bound is taken first, narrowed,
// bounded by its linear program and parted in two: a flow at the point where the program breaks a law most dearly, or the sizes of a choice that the
// program shares out. A box goes when nothing in it is allowed or when it cannot be cheaper than the best design known; few designs left are solved
// one by one by the judge of designs itself, and so are designs rounded from the shares of the program. The least bound in the queue bounds all.
// (Best-first branch and bound: A. H. Land and A. G. Doig, Econometrica 28, 1960; over flows too: spatial branch and bound, as H. D. Sherali,
// S. Subramanian and G. V. Loganathan, J. Global Optimization 19, 2001, did for split pipes.)
//
// Where all costs are multiples of one amount (prices per metre often are, and lengths), nothing costs between two multiples, and a bound is lifted
// to the next.
//
// It ends: flows are not parted for ever where it does not help, and parting sizes comes down to single designs. Work is counted in boxes. Two boxes
// are worked on at a time, by one thread or two, always the same ones in the same workspaces, so that the number of threads changes nothing.
//
// Designs count as allowed as Evaluator::evaluate says; farms with vessels are walked from the start depths for it, since the direct state may be
// another. A design that the solver cannot finish may be allowed for all that is known: the bound then rests on the cost of its pipes. A design
// within a billionth of the best cost is not looked for.

#include "solver/choose/bound.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <numeric>
#include <queue>
#include <string>
#include <utility>

#include "solver/choose/relaxation.h"
#include "solver/settle/crew.h"

namespace ebb::choose {

namespace {

constexpr double kInfinity = HUGE_VAL;
constexpr double kSameCost = 1e-9;            // share by which a design must be cheaper to count
constexpr std::int64_t kFewDesigns = 6;       // so few are solved one by one
constexpr std::int64_t kWorthSqueezing = 50;  // boxes to come for which squeezing the flows first pays
constexpr int kSqueezes = 2;
constexpr double kRise = 1e-3;  // share by which a bound must rise to be worth parting flows for
constexpr int kMostIdle = 3;
constexpr std::size_t kSlots = 2;

/// All pipe costs are `base` plus a multiple of `step`, to `slack`; step 0: nothing of the kind is known.
struct CostSteps {
    double base = 0.0, step = 0.0, slack = 0.0;
};

CostSteps steps_of(const SizingProblem& problem) {
    constexpr double kCent = 0.01, kAlike = 1e-6, kGreatest = 1e15;  // kAlike: of a cent, whatever the cost
    constexpr double kMostSlack = 2e-4;                              // of the step: less than what cutoff() and lifted() leave
    CostSteps steps;
    const Costing& costing = problem.costing;
    const bool energy = costing.price_per_kwh * costing.worth_of_a_year > 0.0 &&
                        std::any_of(costing.hours_a_year.begin(), costing.hours_a_year.end(), [](double hours) { return hours > 0.0; });
    if (energy && !problem.layout->pumps.empty()) return steps;
    std::int64_t divisor = 0;
    for (const Choice& choice : problem.choices) {
        steps.base += choice.cost.front();
        for (const double cost : choice.cost) {
            const double cents = (cost - choice.cost.front()) / kCent;
            if (!(std::abs(cents) < kGreatest) || std::abs(cents - std::round(cents)) > kAlike) return steps;
            divisor = std::gcd(divisor, static_cast<std::int64_t>(std::abs(std::round(cents))));
        }
    }
    steps.slack = static_cast<double>(problem.choices.size()) * kAlike * kCent;
    const double step = static_cast<double>(divisor) * kCent;
    if (steps.slack <= kMostSlack * step) steps.step = step;
    return steps;
}

/// A box's part of the work, and what came of it.
struct Task {
    Box box;
    double cutoff = kInfinity;
    std::vector<Box> children;
    Design best;
    double best_cost = kInfinity;
    double unfinished_cost = kInfinity;  ///< least cost of the pipes of a design that the solver could not finish
    std::int64_t programs = 0, evaluations = 0;
};

/// One workspace.
class Worker {
public:
    Worker(const SizingProblem& problem, std::stop_token stop)
        : problem_(problem), relaxation_(problem), evaluator_(problem), stop_(std::move(stop)) {
        if (!problem.layout->vessels.empty()) evaluator_.walk_from_now_on();  // what the way decides only the way can tell
    }

    /// When it is stopped in the midst of it the box stays open, as it was.
    void work(Task& task) {
        const Box as_it_was = task.box;
        work_on(task);
        if (!stop_.stop_requested()) return;
        task.children.assign(1, as_it_was);
    }

    bool squeeze(Box& box, double cutoff, std::int64_t& programs) { return relaxation_.squeeze(box, cutoff, programs, stop_); }
    double root_bound(Box& box) { return relaxation_.tighten(box) ? relaxation_.solve(box, kInfinity).bound : kInfinity; }
    Box root() const { return relaxation_.root(); }

private:
    void work_on(Task& task) {
        if (!relaxation_.tighten(task.box) || stop_.stop_requested()) return;
        if (designs_left(task.box, kFewDesigns + 1) <= kFewDesigns) {
            each_design(task);
            return;
        }
        const Relaxed relaxed = relaxation_.solve(task.box, task.cutoff);
        ++task.programs;
        const double before = task.box.bound;
        task.box.bound = std::max(before, relaxed.bound);
        if (task.box.bound >= task.cutoff) return;
        if (task.box.bound - before > kRise * std::abs(before)) task.box.idle = 0;
        if (relaxed.solved) round(relaxed, task);
        part(relaxed, task);
    }

    void try_design(const Design& design, Task& task) {
        const double least = std::min(task.cutoff, task.best_cost);
        if (stop_.stop_requested() || pipes_cost(problem_, design) >= least) return;
        const auto [known, fresh] =
            cost_of_.try_emplace(std::string(design.begin(), design.end()), kInfinity);  // boxes that differ by flows alone hold the same designs
        if (fresh) {
            const Verdict verdict = evaluator_.evaluate(design);
            if (verdict.allowed) known->second = verdict.total_cost;
            if (verdict.unfinished) task.unfinished_cost = std::min(task.unfinished_cost, verdict.pipes_cost);
            ++task.evaluations;
        }
        if (known->second >= least) return;
        task.best = design;
        task.best_cost = known->second;
    }

    void each_design(Task& task) {
        const auto& may = task.box.may;
        Design design(may.size(), 0);
        const std::function<void(std::size_t)> choose = [&](std::size_t c) {
            if (c == may.size()) return try_design(design, task);
            for (std::size_t s = 0; s < may[c].size(); ++s)
                if (may[c][s] != 0) {
                    design[c] = static_cast<std::uint8_t>(s);
                    choose(c + 1);
                }
        };
        choose(0);
    }

    /// The sizes of greatest share, and the largest that have some.
    void round(const Relaxed& relaxed, Task& task) {
        constexpr double kSome = 0.01;
        Design nearest, largest;
        for (const std::vector<double>& share : relaxed.share) {
            nearest.push_back(static_cast<std::uint8_t>(std::max_element(share.begin(), share.end()) - share.begin()));
            largest.push_back(nearest.back());
            for (std::size_t s = nearest.back(); s < share.size(); ++s)
                if (share[s] > kSome) largest.back() = static_cast<std::uint8_t>(s);
        }
        try_design(nearest, task);
        if (largest != nearest) try_design(largest, task);
    }

    static Split halves(const Box& box) {
        std::size_t most = 0;
        for (std::size_t c = 1; c < box.may.size(); ++c)
            if (sizes_left(box, c) > sizes_left(box, most)) most = c;
        std::size_t seen = 0, s = 0;
        const std::size_t half = sizes_left(box, most) / 2;
        while (seen < half) seen += box.may[most][s++];
        return {.of_flow = false, .place = most, .at = static_cast<double>(s - 1), .worth = 0.0};
    }

    /// Flows parted d times make 2^d boxes, in each of which the designs are still to be told apart: beyond one for each design it cannot pay.
    static bool more_boxes_than_designs(const Box& box) {
        constexpr int kBits = 62;
        return box.parted < kBits && designs_left(box, std::int64_t{1} << kBits) <= std::int64_t{1} << box.parted;
    }

    static void part(const Relaxed& relaxed, Task& task) {
        const Box& box = task.box;
        const bool sizes = !relaxed.split || (relaxed.split->of_flow && (box.idle >= kMostIdle || more_boxes_than_designs(box)));
        const Split split = sizes ? halves(task.box) : *relaxed.split;
        task.box.idle = split.of_flow ? task.box.idle + 1 : 0;
        task.box.parted += split.of_flow ? 1 : 0;
        for (const bool lower : {true, false}) {
            Box child = task.box;
            if (split.of_flow) {
                (lower ? child.flow[split.place].high : child.flow[split.place].low) = split.at;
            } else {
                for (std::size_t s = 0; s < child.may[split.place].size(); ++s)
                    if ((static_cast<double>(s) <= split.at) != lower) child.may[split.place][s] = 0;
            }
            task.children.push_back(std::move(child));
        }
    }

    const SizingProblem& problem_;
    Relaxation relaxation_;
    Evaluator evaluator_;
    std::stop_token stop_;
    std::map<std::string, double> cost_of_;  ///< of every design judged: +infinity where it is not allowed
};

/// The whole tree.
class Tree {
public:
    Tree(const SizingProblem& problem, const BoundOptions& options, BoundResult& result, std::stop_token stop)
        : options_(options), result_(result), steps_(steps_of(problem)), stop_(std::move(stop)) {
        for (std::size_t s = 0; s < kSlots; ++s) workers_.push_back(std::make_unique<Worker>(problem, stop_));
    }

    void grow(const BoundCallback& progress) {
        plant();
        while (!boxes_.empty() && result_.nodes < options_.most_nodes && result_.gap() > options_.wanted_gap) {
            if (stop_.stop_requested()) break;
            std::vector<Task> tasks = take();
            work(tasks);
            for (Task& task : tasks) merge(task);
            update();
            if (progress)
                progress({.nodes = result_.nodes,
                          .open = static_cast<std::int64_t>(boxes_.size()),
                          .lower_bound = result_.lower_bound,
                          .best_cost = result_.best_cost});
        }
        result_.stopped = stop_.stop_requested() && !boxes_.empty();
        update();
    }

private:
    struct Open {
        Box box;
        std::int64_t number;
        bool operator<(const Open& other) const {  // the queue gives its greatest first
            return box.bound != other.box.bound ? box.bound > other.box.bound : number > other.number;
        }
    };

    /// What a design must cost less than to be looked for.
    double cutoff() const {
        if (result_.best_cost == kInfinity) return kInfinity;
        constexpr double kShort = 1e-3;  // of a step
        return result_.best_cost - std::max(kSameCost * std::abs(result_.best_cost), steps_.step * (1.0 - kShort));
    }

    void plant() {
        Box root = workers_.front()->root();
        if (stop_.stop_requested()) {
            root.bound = 0.0;
            boxes_.push({std::move(root), 0});
            return;
        }
        root.bound = workers_.front()->root_bound(root);
        result_.programs = 1;
        result_.nodes = 1;
        result_.root_bound = lifted(root.bound);
        result_.lower_bound = result_.root_bound;
        const bool squeeze = options_.squeeze && options_.most_nodes >= kWorthSqueezing && cutoff() < kInfinity;
        for (int round = 0; squeeze && round < kSqueezes && root.bound < cutoff(); ++round)
            if (!workers_.front()->squeeze(root, cutoff(), result_.programs)) root.bound = kInfinity;
        if (root.bound < cutoff()) boxes_.push({std::move(root), 0});
        update();
    }

    std::vector<Task> take() {
        std::vector<Task> tasks;
        while (tasks.size() < kSlots && !boxes_.empty()) {
            Task task;
            task.box = boxes_.top().box;
            boxes_.pop();
            task.cutoff = cutoff();
            if (task.box.bound >= task.cutoff) continue;
            tasks.push_back(std::move(task));
        }
        result_.nodes += static_cast<std::int64_t>(tasks.size());
        return tasks;
    }

    void work(std::vector<Task>& tasks) {
        if (options_.threads < 2 || tasks.size() < 2) {
            for (std::size_t i = 0; i < tasks.size(); ++i) workers_[i]->work(tasks[i]);
            return;
        }
        settle::Crew crew;
        std::size_t begun = 1;
        while (begun < tasks.size() && crew.start([this, &tasks, begun] { workers_[begun]->work(tasks[begun]); })) ++begun;
        workers_.front()->work(tasks.front());
        for (; begun < tasks.size(); ++begun) workers_[begun]->work(tasks[begun]);
        crew.join();
    }

    void merge(Task& task) {
        result_.programs += task.programs;
        result_.evaluations += task.evaluations;
        unfinished_cost_ = std::min(unfinished_cost_, task.unfinished_cost);
        if (task.best_cost < cutoff()) {
            result_.best = task.best;
            result_.best_cost = task.best_cost;
            result_.found_better = true;
        }
        for (Box& child : task.children) boxes_.push({std::move(child), ++number_});
    }

    /// No design costs between two steps.
    double lifted(double bound) const {
        if (steps_.step <= 0.0 || !(std::abs(bound) < kInfinity)) return bound;
        constexpr double kShort = 1e-6;
        const double below = steps_.slack + kShort * steps_.step;
        return std::max(bound, steps_.base + steps_.step * std::ceil((bound - below - steps_.base) / steps_.step) - below);
    }

    void update() {
        if (!boxes_.empty() && boxes_.top().box.bound >= cutoff()) boxes_ = {};
        const double open = boxes_.empty() ? kInfinity : lifted(boxes_.top().box.bound);
        result_.lower_bound = std::max(result_.lower_bound, std::min({open, result_.best_cost, unfinished_cost_}));
        result_.proven = boxes_.empty() && unfinished_cost_ >= cutoff();
    }

    const BoundOptions options_;
    BoundResult& result_;
    CostSteps steps_;
    std::stop_token stop_;
    double unfinished_cost_ = kInfinity;  ///< below which nothing is bounded: of designs that the solver could not finish
    std::vector<std::unique_ptr<Worker>> workers_;
    std::priority_queue<Open> boxes_;
    std::int64_t number_ = 0;
};

}  // namespace

double BoundResult::gap() const {
    if (proven || lower_bound >= best_cost) return 0.0;
    if (best_cost == kInfinity || best_cost <= 0.0) return 1.0;
    return (best_cost - lower_bound) / best_cost;
}

BoundResult bound(const SizingProblem& problem, const Design* incumbent, double incumbent_cost, const BoundOptions& options,
                  const BoundCallback& progress, const std::stop_token& stop) {
    BoundResult result;
    result.best_cost = kInfinity;
    if (incumbent != nullptr) {
        result.best = *incumbent;
        result.best_cost = incumbent_cost;
    }
    Tree(problem, options, result, stop).grow(progress);
    return result;
}

}  // namespace ebb::choose
