// The question as a whole: search, then bound, then what the design is like.

#include "solver/choose/sizing_answer.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/sizing_in_time.h"
#include "solver/settle/farm.h"

namespace ebb::choose {

namespace {

using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kTradeOffMargins[] = {-0.10, -0.05, 0.0, 0.05, 0.10, 0.15, 0.20, 0.30, 0.50};
constexpr double kTradeOffEffort = 0.35;  ///< of that of the search, each
constexpr double kFirstLook = 0.125;      ///< effort before the bound, where the search then goes on until stopped
constexpr double kShareOfSearch = 0.6, kShareOfBound = 0.2;

class Sizing {
public:
    Sizing(const layout::Layout& layout, const SizingQuestion& question) : question_(question) {
        const std::vector<std::int32_t> arrangements = question.arrangements.empty() ? arrangements_that_count(layout) : question.arrangements;
        answer_.problem = sizing_problem_of(layout, arrangements, question.said);
    }

    SizingAnswer run() {
        if (answer_.problem.choices.empty()) return std::move(answer_);
        {
            Evaluator evaluator(answer_.problem);
            answer_.drawn = evaluator.explain_drawn();
            answer_.largest = evaluator.explain(largest());
        }
        answer_.result = search(answer_.problem, question_.until_stopped ? kFirstLook : 1.0, {}, 0.0,
                                question_.trade_off || question_.bound_nodes > 0 ? kShareOfSearch : 1.0);
        if (!answer_.result.stopped) prove();
        if (question_.until_stopped) search_on();
        if (!answer_.result.found && !question_.stop.stop_requested()) drop_limits();
        if (answer_.result.found) {
            if (question_.routines) keep_times();
            describe();
            if (!answer_.result.stopped) enlarge();
            if (question_.trade_off && !answer_.result.stopped) trade_off();
        }
        answer_.times.asked = std::any_of(layout().vessels.begin(), layout().vessels.end(), has_time_to_keep);
        answer_.stopped = question_.stop.stop_requested();
        return std::move(answer_);
    }

private:
    Design largest() const {
        Design design;
        for (const Choice& choice : answer_.problem.choices) design.push_back(static_cast<std::uint8_t>(choice.cost.size() - 1));
        return design;
    }

    void tell(double share) const {
        if (question_.progress) question_.progress(std::min(1.0, share));
    }

    /// From seed after seed, until stopped or nothing is left to find.
    void search_on() {
        SizingResult& best = answer_.result;
        while (!answer_.proven && !question_.stop.stop_requested()) {
            ++seed_;
            SizingResult next = search(answer_.problem, 1.0, {}, 0.0, 1.0);
            next.evaluations += best.evaluations;
            if (next.found && (!best.found || better(next.verdict, next.design, best.verdict, best.design))) {
                best = std::move(next);
            } else {
                best.evaluations = next.evaluations;
                best.stopped = next.stopped;
            }
            answer_.proven = best.found && answer_.bounded && answer_.lower_bound >= best.verdict.total_cost;
        }
    }

    /// Is it the limits that stand in the way?
    void drop_limits() {
        SizingProblem problem = answer_.problem;
        constexpr double kNone = layout::kNotSaid;
        problem.limits = {kNone, kNone, kNone, kNone, kNone};
        answer_.without_limits = search(problem, 1.0, {}, kShareOfSearch + kShareOfBound, 1.0 - kShareOfSearch - kShareOfBound);
        // seen with the limits on, so that the words can name those that are broken
        if (answer_.without_limits.found) answer_.without_limits.verdict = Evaluator(answer_.problem).explain(answer_.without_limits.design);
    }

    SizingResult search(const SizingProblem& problem, double effort, const std::vector<Design>& known, double begin, double width) const {
        SizingOptions options;
        options.evaluations = std::max<std::int64_t>(1, std::llround(effort * question_.effort * static_cast<double>(normal_effort(problem))));
        options.threads = question_.threads;
        options.stop = question_.stop;
        options.seed = seed_;
        options.known = known;
        if (question_.trade_off && problem.least_margin == 0.0) options.margins.assign(std::begin(kTradeOffMargins), std::end(kTradeOffMargins));
        options.progress = [&](const SizingProgress& progress) {
            tell(begin + width * static_cast<double>(progress.evaluations) / static_cast<double>(std::max<std::int64_t>(1, progress.of_evaluations)));
        };
        return search_sizes(problem, options);
    }

    /// What no design can cost less than. The bound may find a cheaper design on its way.
    void prove() {
        SizingResult& result = answer_.result;
        if (result.exact) {
            answer_.proven = true;
            answer_.lower_bound = result.found ? result.verdict.total_cost : HUGE_VAL;
            return;
        }
        if (question_.bound_nodes <= 0) return;
        BoundOptions options;
        options.most_nodes = question_.bound_nodes;
        options.threads = static_cast<int>(question_.threads);
        const auto progress = [this](const BoundProgress& now) {
            tell(kShareOfSearch + kShareOfBound * static_cast<double>(now.nodes) / static_cast<double>(question_.bound_nodes));
        };
        answer_.bound = bound(answer_.problem, result.found ? &result.design : nullptr, result.found ? result.verdict.total_cost : HUGE_VAL, options,
                              progress, question_.stop);
        answer_.bounded = true;
        answer_.lower_bound = answer_.bound.lower_bound;
        answer_.proven = answer_.bound.proven;
        if (!answer_.bound.found_better || answer_.bound.best.empty()) return;
        const Verdict verdict = Evaluator(answer_.problem).explain(answer_.bound.best);
        if (!verdict.allowed) {
            answer_.proven = false;  // the full solve would not have it
            return;
        }
        result.found = true;
        result.design = answer_.bound.best;
        result.verdict = verdict;
    }

    const layout::Layout& layout() const { return *answer_.problem.layout; }

    std::vector<settle::Answer> solved(const layout::Layout& sized) const {
        settle::Options options;
        options.bands = options.ledgers = false;
        settle::Farm farm(sized, options);
        std::vector<settle::Answer> answers;
        for (const std::int32_t arrangement : answer_.problem.arrangements) answers.push_back(farm.solve(arrangement));
        return answers;
    }

    /// Follows the routines; where a bed fills too late, chooses anew with more water asked for it. The bound stays that of the layout's own targets:
    /// what is asked besides can only make the cheapest dearer.
    void keep_times() {
        constexpr int kRounds = 4;
        TimesKept& times = answer_.times;
        const std::vector<std::int32_t> routines = routines_that_tell(layout());
        if (routines.empty()) return;
        times.followed = true;
        times.drawn = beds_in_time(layout(), routines, question_.stop);
        times.chosen = beds_in_time(layout_with(answer_.problem, answer_.result.design), routines, question_.stop);
        const double before = answer_.result.verdict.total_cost;
        const auto late = [](const std::vector<BedInTime>& all) {
            return std::any_of(all.begin(), all.end(), [](const BedInTime& bed) { return bed.fills && !bed.met; });
        };
        SizingProblem problem = answer_.problem;
        SizingResult result = answer_.result;
        std::vector<BedInTime> kept = times.chosen;
        while (times.rounds < kRounds && late(kept) && !question_.stop.stop_requested()) {
            if (!ask_more(problem, solved(layout_with(problem, result.design)), kept, problem.feeds)) break;
            ++times.rounds;
            result = search(problem, kTradeOffEffort, {result.design, largest()}, kShareOfSearch + kShareOfBound, 0.0);
            if (!result.found) break;
            kept = beds_in_time(layout_with(problem, result.design), routines, question_.stop);
        }
        if (result.found && times.rounds > 0 && !late(kept) && !kept.empty())
            take_in_time(std::move(problem), std::move(result), std::move(kept), before);
        times.not_seen = beds_not_seen(layout(), times.chosen);
    }

    void take_in_time(SizingProblem problem, SizingResult result, std::vector<BedInTime> kept, double before) {
        if (result.verdict.total_cost > before) {
            answer_.bounded = answer_.bounded || answer_.proven;
            answer_.proven = false;
        }
        result.evaluations += answer_.result.evaluations;
        answer_.result = std::move(result);
        answer_.problem = std::move(problem);
        answer_.times.chosen = std::move(kept);
        answer_.times.cost_without = before;
    }

    /// What flows in the chosen pipes, at its worst.
    void describe() {
        const SizingProblem& problem = answer_.problem;
        answer_.sized = layout_with(problem, answer_.result.design);
        for (std::size_t c = 0; c < problem.choices.size(); ++c) {
            const Choice& choice = problem.choices[c];
            ChosenSize size{.choice = c, .option = answer_.result.design[c], .cost = choice.cost[answer_.result.design[c]]};
            for (const std::int32_t p : choice.pipes) {
                const layout::Pipe& drawn = problem.layout->pipes[at(p)];
                size.length_m += drawn.length_m;
                if (said(size.drawn_bore_m) && drawn.bore_m <= size.drawn_bore_m) continue;
                size.drawn_bore_m = drawn.bore_m;
                size.drawn_size = drawn.size;
            }
            constexpr double kSame_m = 1e-6;
            size.changed = std::abs(choice.bore_m(*problem.layout, size.option) - size.drawn_bore_m) > kSame_m;
            answer_.sizes.push_back(size);
        }
        answer_.solved = solved(answer_.sized);
        answer_.narrow = narrow_drains(problem, answer_.sized);
        for (const settle::Answer& one : answer_.solved)
            for (ChosenSize& size : answer_.sizes)
                for (const std::int32_t p : problem.choices[size.choice].pipes) look_at(one, p, size);
    }

    static void look_at(const settle::Answer& solved, std::int32_t p, ChosenSize& size) {
        const settle::PipeAnswer& pipe = solved.pipes[at(p)];
        if (!(std::abs(pipe.velocity_m_s) <= size.velocity_m_s)) {
            size.velocity_m_s = std::abs(pipe.velocity_m_s);
            size.flow_m3_s = std::abs(pipe.flow_m3_s);
            size.quickest_pipe = p;
            size.quickest_in = solved.arrangement;
        }
        if (said(pipe.fill_ratio) && !(pipe.fill_ratio <= size.fill_ratio)) {
            size.fill_ratio = pipe.fill_ratio;
            size.fullest_pipe = p;
            size.fullest_in = solved.arrangement;
        }
    }

    void enlarge() {
        const double base = answer_.result.verdict.targets_margin;
        if (!std::isfinite(base)) return;
        Evaluator evaluator(answer_.problem);
        const Design& design = answer_.result.design;
        for (std::size_t c = 0; c < design.size(); ++c) {
            if (design[c] + 1U >= answer_.problem.choices[c].cost.size()) continue;
            Design larger = design;
            ++larger[c];
            const Verdict verdict = evaluator.evaluate(larger);
            constexpr double kSeen = 1e-4;  // less is no reason to buy
            if (!verdict.allowed || verdict.targets_margin <= base + kSeen) continue;
            answer_.enlargements.push_back({.choice = c,
                                            .option = larger[c],
                                            .more_cost = verdict.total_cost - answer_.result.verdict.total_cost,
                                            .more_margin = verdict.targets_margin - base});
        }
        const auto for_the_money = [](const Enlargement& e) { return e.more_cost > 0.0 ? e.more_margin / e.more_cost : HUGE_VAL; };
        std::stable_sort(answer_.enlargements.begin(), answer_.enlargements.end(),
                         [&](const Enlargement& one, const Enlargement& other) { return for_the_money(one) > for_the_money(other); });
    }

    void trade_off() {
        if (!std::isfinite(answer_.result.verdict.targets_margin)) return;
        std::vector<Design> known = {answer_.result.design, largest()};
        const double begin = kShareOfSearch + kShareOfBound, width = (1.0 - begin) / static_cast<double>(std::size(kTradeOffMargins));
        double done = begin;
        for (const double margin : kTradeOffMargins) {
            if (question_.stop.stop_requested()) break;
            if (take_enumerated(margin)) continue;
            SizingProblem problem = answer_.problem;
            problem.least_margin = margin;
            const SizingResult found = margin == 0.0 ? answer_.result : search(problem, kTradeOffEffort, known, done, width);
            done += width;
            answer_.trade_off.push_back({.margin = margin, .found = found.found, .design = found.design, .verdict = found.verdict});
            if (found.found) known.push_back(found.design);
        }
        keep_cheaper_of_stricter();
    }

    /// The point of a margin where the search has looked at all designs and the full solve agrees.
    bool take_enumerated(double margin) {
        const std::size_t point = answer_.trade_off.size();
        if (!answer_.result.exact || answer_.result.by_margin.size() <= point) return false;
        const Design& design = answer_.result.by_margin[point];
        Verdict verdict;
        if (!design.empty()) {
            SizingProblem problem = answer_.problem;
            problem.least_margin = margin;
            verdict = Evaluator(problem).explain(design);
            if (!verdict.allowed) return false;
        }
        answer_.trade_off.push_back({.margin = margin, .found = !design.empty(), .design = design, .verdict = verdict});
        return true;
    }

    /// A design that has more to spare and costs less stands for those that have less.
    void keep_cheaper_of_stricter() {
        auto& points = answer_.trade_off;
        for (std::size_t i = points.size(); i-- > 1;)
            if (points[i].found && (!points[i - 1].found || points[i].verdict.total_cost < points[i - 1].verdict.total_cost)) {
                const double margin = points[i - 1].margin;
                points[i - 1] = points[i];
                points[i - 1].margin = margin;
            }
    }

    const SizingQuestion& question_;
    SizingAnswer answer_;
    std::uint64_t seed_ = 1;
};

}  // namespace

SizingAnswer size_pipes(const layout::Layout& layout, const SizingQuestion& question) { return Sizing(layout, question).run(); }

}  // namespace ebb::choose
