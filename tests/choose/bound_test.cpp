// What `pipes` proves: lower bounds against published optima and against enumeration.
//
// The two-loop problem: the design of 419,000 is the published best (Savic and Walters 1997; Cunha and Sousa 1999), and the only optimum by an
// exhaustive enumeration made apart. Small mains, trees and loops, are enumerated here, design by design.

#include "solver/choose/bound.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>
#include <random>

#include "solver/choose/law_lines.h"
#include "solver/choose/relaxation.h"
#include "tests/choose/published_networks.h"
#include "tests/near.h"

namespace {

using namespace ebb;
using choose::BoundOptions;
using choose::BoundResult;
using choose::Design;

choose::SizingProblem problem_of(const layout::Layout& layout) {
    const std::vector<std::int32_t> only{0};
    return choose::sizing_problem_of(layout, only);
}

/// A small main of one pond and three to four tees, a tree with up to two more pipes that close loops, and five or six pipes to choose.
published::Network small_main(std::mt19937& dice) {
    const auto any = [&dice](double low, double high) { return low + (high - low) * static_cast<double>(dice() % 10001) / 10000.0; };
    published::Network net{"small", 60.0, 20.0, {}, {}, {2, 3, 4, 6}, {3, 5, 8, 14}};
    const int tees = 3 + static_cast<int>(dice() % 2);
    for (int n = 0; n < tees; ++n) {
        net.nodes.push_back({any(0.0, 15.0), any(5.0, 40.0)});
        net.lines.push_back({1 + static_cast<int>(dice() % static_cast<unsigned>(n + 1)), n + 2, 10.0 * std::round(any(5.0, 40.0))});
    }
    for (int extra = static_cast<int>(dice() % 3); extra > 0; --extra) {
        const int from = 1 + static_cast<int>(dice() % static_cast<unsigned>(tees)), to = from % (tees + 1) + 1;
        net.lines.push_back({from, to, 10.0 * std::round(any(5.0, 40.0))});
    }
    return net;
}

struct Best {
    double cost = HUGE_VAL;
    long designs = 0;
};

Best enumerated(const choose::SizingProblem& problem) {
    Best best;
    choose::Evaluator evaluator(problem);
    Design design(problem.choices.size(), 0);
    for (;;) {
        ++best.designs;
        if (choose::pipes_cost(problem, design) < best.cost) {
            const choose::Verdict verdict = evaluator.evaluate(design);
            if (verdict.allowed) best.cost = std::min(best.cost, verdict.total_cost);
        }
        std::size_t c = 0;
        while (c < design.size() && ++design[c] == problem.choices[c].cost.size()) design[c++] = 0;
        if (c == design.size()) return best;
    }
}

}  // namespace

TEST_CASE("two loops: the published design is proven the cheapest") {
    const published::Network net = published::two_loops();
    layout::Layout layout = published::layout_of(net, {10.667});
    REQUIRE(layout::validate(layout).empty());
    const choose::SizingProblem problem = problem_of(layout);
    const Design best = published::two_loops_419(net);

    const BoundResult root = choose::bound(problem, &best, 419000.0, {.most_nodes = 1});
    CHECK(root.lower_bound > 0.0);
    CHECK(root.lower_bound <= 419000.0);
    CHECK(root.programs == 1);
    CHECK_FALSE(root.proven);

    const BoundResult known = choose::bound(problem, &best, 419000.0, {.most_nodes = 2000});
    CHECK(known.proven);
    CHECK(known.lower_bound == ebb::test::near(419000.0).epsilon(1e-9));
    CHECK_FALSE(known.found_better);

    // a worse design of the literature to begin with: 420,000, by the same authors; the better one is found
    const Design second = published::design_of(net, {20, 10, 16, 1, 14, 10, 10, 1});
    const BoundResult better = choose::bound(problem, &second, 420000.0, {.most_nodes = 2000});
    CHECK(better.proven);
    CHECK(better.found_better);
    CHECK(better.best == best);
    CHECK(better.best_cost == ebb::test::near(419000.0));

    // were 419,000 dearer by a thousand than what one has, nothing would be found, and that would be proven
    const BoundResult nothing = choose::bound(problem, &best, 418500.0, {.most_nodes = 2000});
    CHECK(nothing.proven);
    CHECK_FALSE(nothing.found_better);
}

TEST_CASE("two loops: no design costs between two thousands, and a bound is never left there") {
    // eight pipes of 1000 m at whole prices a metre: every design costs a whole multiple of 1000
    const published::Network net = published::two_loops();
    layout::Layout layout = published::layout_of(net, {10.667});
    REQUIRE(layout::validate(layout).empty());
    const choose::SizingProblem problem = problem_of(layout);
    const Design best = published::two_loops_419(net);
    for (const std::int64_t boxes : {1, 10, 60}) {
        const BoundResult result = choose::bound(problem, &best, 419000.0, {.most_nodes = boxes});
        for (const double bound : {result.root_bound, result.lower_bound}) {
            CHECK(bound > 0.0);
            CHECK(std::ceil(bound / 1000.0) * 1000.0 - bound < 0.01);
        }
    }
}

TEST_CASE("the bound never passes published optima, and rises") {
    // 6,081,087: the best published for these constants (from 2006 on, by several authors)
    const published::Network net = published::hanoi();
    layout::Layout layout = published::layout_of(net, {10.667});
    REQUIRE(layout::validate(layout).empty());
    const choose::SizingProblem problem = problem_of(layout);
    const Design best = published::hanoi_6081(net);
    double last = 0.0;
    const BoundResult result = choose::bound(problem, &best, 6081087.0, {.most_nodes = 60}, [&](const choose::BoundProgress& now) {
        CHECK(now.lower_bound >= last);
        last = now.lower_bound;
    });
    CHECK(result.root_bound <= result.lower_bound);
    CHECK(result.lower_bound <= 6081087.0);
    CHECK(result.gap() < 0.2);
}

TEST_CASE("threads change nothing, a stop leaves a bound") {
    const published::Network net = published::two_loops();
    layout::Layout layout = published::layout_of(net, {10.5088});
    REQUIRE(layout::validate(layout).empty());
    const choose::SizingProblem problem = problem_of(layout);
    const Design best = published::two_loops_419(net);
    const BoundResult one = choose::bound(problem, &best, 419000.0, {.most_nodes = 100, .threads = 1});
    const BoundResult two = choose::bound(problem, &best, 419000.0, {.most_nodes = 100, .threads = 2});
    CHECK(one.lower_bound == two.lower_bound);
    CHECK(one.nodes == two.nodes);
    CHECK(one.programs == two.programs);
    CHECK(one.evaluations == two.evaluations);

    std::stop_source stop;
    const BoundResult stopped = choose::bound(
        problem, &best, 419000.0, {.most_nodes = 2000},
        [&](const choose::BoundProgress& now) {
            if (now.nodes > 20) stop.request_stop();
        },
        stop.get_token());
    CHECK(stopped.stopped);
    CHECK_FALSE(stopped.proven);
    CHECK(stopped.lower_bound > 0.0);
    CHECK(stopped.lower_bound <= 419000.0);
}

TEST_CASE("small mains: what is proven is what enumeration finds") {
    std::mt19937 dice(4711);
    int allowed = 0, without = 0;
    for (int repeat = 0; repeat < 40; ++repeat) {
        CAPTURE(repeat);
        const published::Network net = small_main(dice);
        layout::Layout layout = published::layout_of(net, {10.667});
        if (repeat % 2 == 1) layout.friction = layout::FrictionLaw::darcy_weisbach;
        if (repeat % 5 == 2) layout.limits.greatest_velocity_m_s = 1.5;
        REQUIRE(layout::validate(layout).empty());
        const choose::SizingProblem problem = problem_of(layout);
        const Best best = enumerated(problem);
        const BoundResult root = choose::bound(problem, nullptr, 0.0, {.most_nodes = 1});
        CHECK(root.lower_bound <= best.cost * (1.0 + 1e-9));
        const BoundResult tree = choose::bound(problem, nullptr, 0.0, {.most_nodes = 5000});
        CHECK(tree.proven);
        CHECK(tree.nodes < best.designs);
        if (best.cost < HUGE_VAL) {
            ++allowed;
            CHECK(tree.best_cost == ebb::test::near(best.cost).epsilon(1e-9));
        } else {
            ++without;
            CHECK(tree.best.empty());
            CHECK(tree.lower_bound == HUGE_VAL);
        }
    }
    CHECK(allowed > 15);
    CHECK(without > 0);
}

TEST_CASE("lines keep to their side of the law") {
    // pipes by both friction laws with losses that differ by direction, a filter, a pump: many flows, none on the wrong side
    layout::Layout layout = published::layout_of(published::two_loops(), {10.667});
    for (const auto law : {layout::FrictionLaw::hazen_williams, layout::FrictionLaw::darcy_weisbach}) {
        layout.friction = law;
        for (auto& pipe : layout.pipes) pipe.bore_m = 0.05;
        layout.pipes.front().exit_loss = 3.0;
        REQUIRE(layout::validate(layout).empty());
        const network::Network net = network::compile(layout);
        const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
        for (const std::size_t l : {std::size_t{0}, std::size_t{3}}) {
            const choose::LinkLaw pipe(net, settings.links[l], net.links[l]);
            for (const auto& [low, high] : {std::pair{1e-4, 2e-3}, {-3e-3, 1e-3}, {-2e-5, 9e-5}, {-4e-3, -1e-3}, {0.0, 5e-3}}) {
                const auto under = choose::lines_under(pipe, low, high), over = choose::lines_over(pipe, low, high);
                double nearest_under = HUGE_VAL, nearest_over = HUGE_VAL;
                for (int i = 0; i <= 2000; ++i) {
                    const double q = low + (high - low) * i / 2000.0, loss = pipe.loss_m(q);
                    for (std::size_t k = 0; k < choose::kLines; ++k) {
                        const double below = loss - under[k].slope * q - under[k].offset, above = over[k].slope * q + over[k].offset - loss;
                        CHECK(below >= 0.0);
                        CHECK(above >= 0.0);
                        nearest_under = std::min(nearest_under, below);
                        nearest_over = std::min(nearest_over, above);
                    }
                }
                const double rise = pipe.loss_m(high) - pipe.loss_m(low);
                CHECK(nearest_under < 0.04 * rise);  // and they touch it, or nearly
                CHECK(nearest_over < 0.04 * rise);
                const double wanted = pipe.loss_m(0.7 * low + 0.3 * high);
                CHECK(pipe.greatest_flow_m3_s(wanted, low, high) >= 0.7 * low + 0.3 * high - 1e-15);
                CHECK(pipe.greatest_flow_m3_s(wanted, low, high) <= 0.7 * low + 0.3 * high + 1e-6 * (high - low));
                CHECK(pipe.least_flow_m3_s(wanted, low, high) <= 0.7 * low + 0.3 * high + 1e-15);
                CHECK(pipe.greatest_flow_m3_s(pipe.loss_m(low) - 1.0, low, high) == -HUGE_VAL);
                CHECK(pipe.least_flow_m3_s(pipe.loss_m(high) + 1.0, low, high) == HUGE_VAL);
            }
        }
    }
}

TEST_SUITE("slow bound of Hanoi") {
    TEST_CASE("the best published design of Hanoi is proven the cheapest") {
        // by 3,000 to 4,000 boxes, half a minute; not in the literature as far as we know, so nothing outside stands behind it but the search's
        // published figures, which it does not beat
        const published::Network net = published::hanoi();
        layout::Layout layout = published::layout_of(net, {10.667});
        REQUIRE(layout::validate(layout).empty());
        const choose::SizingProblem problem = problem_of(layout);
        const Design best = published::hanoi_6081(net);
        const double cost = choose::pipes_cost(problem, best);
        CHECK(cost == ebb::test::near(6081087.0).epsilon(1e-7));
        const char* share = std::getenv("EBB_SLOW_SHARE");
        const bool whole = share == nullptr || std::atof(share) >= 0.5;
        const BoundResult result = choose::bound(problem, &best, cost, {.most_nodes = whole ? 10000 : 200, .threads = 2});
        CHECK(result.lower_bound > 0.85 * cost);
        CHECK(result.lower_bound <= cost);
        if (whole) CHECK(result.proven);
        CHECK_FALSE(result.found_better);
    }
}

TEST_CASE("the gap is the share of the best cost that a cheaper design might yet save") {
    choose::BoundResult result;
    result.best_cost = 200.0;
    result.lower_bound = 150.0;
    CHECK(result.gap() == 0.25);
    result.lower_bound = 200.0;
    CHECK(result.gap() == 0.0);
}
