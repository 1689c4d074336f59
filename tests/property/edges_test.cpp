// Layouts at the edges: bores of 1 mm to 10 m, pumps of a nanolitre to a thousand cubic metres a second, valves opened by a millionth, levels a
// femtometre apart, losses a million times apart, vessels of a square centimetre to a hectare. What is promised of every layout (promise.h) holds
// there too, or the answer says in a sentence which of it does not:
//   no balance found     state no-solution, and `why` names where the iteration went to and fro
//   a head that is off   warning "recomputed-apart": the check of the answer says it of itself
//   a balance not kept   warning "still-creeps" at the vessel: water that passes a way all but shut takes years
// How many of the first there may be is a figure of this test: none of the ordinary layouts (promises_test.cpp), few of these.
//
// "slow edges" takes 20,000 seeds of each edge; EBB_SLOW_SHARE in the environment takes a share of them.

#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "tests/property/edges.h"
#include "tests/property/promise.h"

namespace {

using namespace ebb;

struct Tally {
    long solves = 0, unsolved = 0, creep = 0;
    std::vector<std::string> broken;
};

Tally run(test::Edge edge, std::uint64_t seeds) {
    Tally tally;
    for (std::uint64_t seed = 0; seed < seeds; ++seed) {
        layout::Layout layout = test::farm_at_the_edge(seed, edge);
        const std::string where = std::string(test::name_of(edge)) + ", seed " + std::to_string(seed);
        if (const auto problems = layout::validate(layout); !problems.empty()) {
            tally.broken.push_back(where + " is not valid: " + problems.front().says);
            continue;
        }
        settle::Options options;
        options.ledgers = false;
        settle::Farm farm(layout, options);
        for (std::int32_t a = 0; a < static_cast<std::int32_t>(layout.arrangements.size()); ++a) {
            const settle::Answer answer = farm.solve(a);
            ++tally.solves;
            tally.unsolved += answer.state == settle::State::no_solution ? 1 : 0;
            tally.creep +=
                std::any_of(answer.warnings.begin(), answer.warnings.end(), [](const auto& w) { return w.code == "still-creeps"; }) ? 1 : 0;
            const bool start_levels = layout.arrangements[static_cast<std::size_t>(a)].at_start_levels;
            const std::string broken = test::broken_in_silence(layout, layout::conditions_of(layout, a), start_levels, answer);
            if (!broken.empty()) tally.broken.push_back(where + ", arrangement " + std::to_string(a) + ": " + broken);
        }
    }
    return tally;
}

void hold_at_every_edge(std::uint64_t seeds, double most_unsolved) {
    for (int e = 0; e < test::kEdges; ++e) {
        const auto edge = static_cast<test::Edge>(e);
        const Tally tally = run(edge, seeds);
        std::printf("%s: %ld solves, %ld without a balance and saying where, %ld that still creep and say so, %zu broken in silence\n",
                    test::name_of(edge), tally.solves, tally.unsolved, tally.creep, tally.broken.size());
        CHECK(tally.solves >= static_cast<long>(seeds));
        CHECK(static_cast<double>(tally.unsolved) <= most_unsolved * static_cast<double>(tally.solves));
        constexpr std::size_t kShown = 10;
        for (std::size_t i = 0; i < std::min(kShown, tally.broken.size()); ++i) FAIL_CHECK(tally.broken[i]);
    }
    std::fflush(stdout);
}

}  // namespace

TEST_CASE("at every edge the promises hold, or a sentence says which does not") {
    constexpr std::uint64_t kSeeds = 60;
    hold_at_every_edge(kSeeds, 0.04);
}

TEST_SUITE("slow edges") {
    TEST_CASE("at every edge the promises hold, or a sentence says which does not: many") {
        double share = 1.0;
        if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
        hold_at_every_edge(static_cast<std::uint64_t>(20000.0 * share), 0.03);
    }
}
