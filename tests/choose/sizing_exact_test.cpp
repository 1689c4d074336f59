// The search against brute force written apart: on small random problems the optimum is the same, by looking at all designs and by the walks alone.

#include <doctest/doctest.h>

#include <cstdlib>
#include <string>

#include "solver/choose/sizing_search.h"
#include "tests/choose/random_sizing.h"
#include "tests/near.h"

using namespace ebb;

namespace {

struct Tally {
    int cases = 0, feasible = 0, bordering = 0;
};

void hold_to_brute_force(const std::string& text, std::uint64_t seed, bool walks_too, Tally& tally) {
    CAPTURE(seed);
    const netfiles::ReadResult read = netfiles::read_layout_text(text, "random.xml");
    for (const layout::Problem& problem : read.problems) MESSAGE(problem.says);
    REQUIRE(read.good());
    const choose::SizingProblem problem = choose::sizing_problem_of(read.layout, choose::arrangements_that_count(read.layout));
    const sizing_test::Brute brute = sizing_test::brute_force(problem);
    CHECK(choose::number_of_designs(problem) == brute.designs);
    for (const bool enumerate : {true, false}) {
        if (!enumerate && !walks_too) continue;
        CAPTURE(enumerate);
        choose::SizingOptions options;
        options.enumerate = enumerate;
        options.seed = seed;
        options.evaluations = enumerate ? 0 : 4000;
        const choose::SizingResult result = choose::search_sizes(problem, options);
        CHECK(result.found == brute.found);
        CHECK(result.exact == enumerate);
        if (!brute.found || !result.found) continue;
        CHECK(result.design == brute.design);
        CHECK(result.verdict.total_cost == ebb::test::near(brute.cost).epsilon(1e-9));
    }
    ++tally.cases;
    if (brute.found) ++tally.feasible;
    if (brute.found && brute.allowed < brute.designs) ++tally.bordering;
}

int share_of(int cases) {
    const char* share = std::getenv("EBB_SLOW_SHARE");
    return std::max(1, static_cast<int>(cases * (share == nullptr ? 1.0 : std::atof(share))));
}

}  // namespace

TEST_SUITE("sizing against brute force") {
    TEST_CASE("mains: trees and loops of tees that take water") {
        Tally tally;
        for (std::uint64_t seed = 1; seed <= 20; ++seed) hold_to_brute_force(sizing_test::mains(seed, 4, 3), seed, true, tally);
        CHECK(tally.feasible >= 5);
        CHECK(tally.bordering >= 5);
    }

    TEST_CASE("farms: pump, tanks, overflows and drains, day and night") {
        Tally tally;
        for (std::uint64_t seed = 1; seed <= 5; ++seed) hold_to_brute_force(sizing_test::farm(seed, 3), seed, true, tally);
        CHECK(tally.bordering >= 2);
    }
}

TEST_SUITE("slow sizing against brute force") {
    TEST_CASE("a hundred mains and fifty farms") {
        Tally tally;
        for (int seed = 1; seed <= share_of(100); ++seed) {
            const auto number = static_cast<std::uint64_t>(1000 + seed);
            hold_to_brute_force(sizing_test::mains(number, 3 + seed % 4, 3 + seed % 3), number, true, tally);
        }
        for (int seed = 1; seed <= share_of(50); ++seed) {
            const auto number = static_cast<std::uint64_t>(2000 + seed);
            hold_to_brute_force(sizing_test::farm(number, 3 + seed % 3), number, true, tally);
        }
        MESSAGE("of " << tally.cases << " cases " << tally.feasible << " had an allowed design, " << tally.bordering << " forbidden ones too");
        CHECK(tally.bordering >= tally.cases / 4);
    }
}
