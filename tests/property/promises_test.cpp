// The promises of the solver on random valid layouts, by seed: it converges, it balances, closed loops keep their water. The layouts are
// those of random_farm.h; what must hold, and to which figure, is in promise.h. Every answer is judged by verify(), which recomputes each
// loss from length, bore and fittings and shares no code with the solve, and by the sums of water made here.
//
// "slow promises" takes 100,000 seeds; EBB_SLOW_SHARE in the environment takes a share of them. What it prints is the published figure:
// how many converge, how many steps they take, and which seeds are the hardest.

#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <charconv>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "solver/layout/validate.h"
#include "tests/property/promise.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

/// One arrangement solved.
struct Case {
    std::uint64_t seed = 0;
    int arrangement = 0, steps = 0, steps_total = 0;
    double seconds = 0.0;
    std::string broken;
};

const char* name_of(test::FarmStyle style) { return style == test::FarmStyle::mesh ? "mesh" : style == test::FarmStyle::farm ? "farm" : "heap"; }

/// What is known of all cases of one question (at given levels, settled).
struct Tally {
    long cases = 0, fallbacks = 0;
    std::map<int, long> by_steps;
    std::vector<Case> hardest;  ///< most steps first

    void note(const Case& one, bool fell_back) {
        ++cases;
        fallbacks += fell_back ? 1 : 0;
        ++by_steps[one.steps];
        hardest.push_back(one);
        if (hardest.size() > 200) keep_hardest();
    }
    void keep_hardest() {
        std::sort(hardest.begin(), hardest.end(),
                  [](const Case& a, const Case& b) { return a.steps_total != b.steps_total ? a.steps_total > b.steps_total : a.seed < b.seed; });
        if (hardest.size() > 10) hardest.resize(10);
    }
    void add(const Tally& other) {
        cases += other.cases;
        fallbacks += other.fallbacks;
        for (const auto& [steps, count] : other.by_steps) by_steps[steps] += count;
        hardest.insert(hardest.end(), other.hardest.begin(), other.hardest.end());
        keep_hardest();
    }
    int quantile(double share) const {
        long seen = 0;
        for (const auto& [steps, count] : by_steps)
            if (static_cast<double>(seen += count) >= share * static_cast<double>(cases)) return steps;
        return -1;
    }
    void print(const char* title) const {
        std::printf(
            "%s: %ld solves, %ld by the safeguarded path; Newton steps of the last solve: median %d, 90 %% %d, 99 %% %d, most %d\n  steps:count",
            title, cases, fallbacks, quantile(0.5), quantile(0.9), quantile(0.99), by_steps.empty() ? -1 : by_steps.rbegin()->first);
        for (const auto& [steps, count] : by_steps) std::printf(" %d:%ld", steps, count);
        std::printf("\n  hardest (seed/arrangement: steps in all, seconds):");
        for (const auto& one : hardest)
            std::printf(" %llu/%d: %d, %.2f;", static_cast<unsigned long long>(one.seed), one.arrangement, one.steps_total, one.seconds);
        std::printf("\n");
    }
};

struct Campaign {
    Tally given, settled;
    std::map<std::string, long> states;
    std::vector<Case> broken;

    void solve(std::uint64_t seed) {
        layout::Layout layout = test::random_farm(seed);
        if (const auto problems = layout::validate(layout); !problems.empty()) {
            Case invalid;
            invalid.seed = seed;
            invalid.broken = "the layout is not valid: " + problems.front().says;
            broken.push_back(invalid);
            return;
        }
        settle::Options options;
        options.ledgers = false;
        settle::Farm farm(layout, options);
        for (std::int32_t a = 0; a < static_cast<std::int32_t>(layout.arrangements.size()); ++a) {
            const auto begin = std::chrono::steady_clock::now();
            const settle::Answer answer = farm.solve(a);
            const bool start_levels = layout.arrangements[static_cast<std::size_t>(a)].at_start_levels;
            Case one;
            one.seed = seed;
            one.arrangement = a;
            one.steps = answer.counts.newton_steps;
            one.steps_total = answer.counts.newton_steps_total;
            one.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
            one.broken = test::broken_promise(layout, layout::conditions_of(layout, a), start_levels, answer);
            ++states[settle::name_of(answer.state)];
            (start_levels ? given : settled).note(one, answer.counts.fallbacks > 0);
            if (!one.broken.empty()) broken.push_back(one);
        }
    }
    void add(const Campaign& other) {
        given.add(other.given);
        settled.add(other.settled);
        for (const auto& [state, count] : other.states) states[state] += count;
        broken.insert(broken.end(), other.broken.begin(), other.broken.end());
    }
};

/// Seeds first .. first + count - 1 on two threads.
Campaign run(std::uint64_t first, std::uint64_t count) {
    Campaign whole;
    std::atomic<std::uint64_t> next{first};
    std::mutex adding;
    const auto work = [&] {
        Campaign part;
        for (std::uint64_t seed = next++; seed < first + count; seed = next++) part.solve(seed);
        const std::lock_guard lock(adding);
        whole.add(part);
    };
    std::thread other(work);
    work();
    other.join();
    std::sort(whole.broken.begin(), whole.broken.end(),
              [](const Case& a, const Case& b) { return a.seed != b.seed ? a.seed < b.seed : a.arrangement < b.arrangement; });
    return whole;
}

void print(const Campaign& whole, std::uint64_t count) {
    const long solves = whole.given.cases + whole.settled.cases;
    long unsolved = 0;
    std::printf("%llu random valid layouts, %ld solves:", static_cast<unsigned long long>(count), solves);
    for (const auto& [state, cases] : whole.states) {
        std::printf(" %s %ld", state.c_str(), cases);
        if (state == settle::name_of(settle::State::no_solution)) unsolved = cases;
    }
    std::printf("\n%.6f %% converge; %zu break a promise\n",
                100.0 * static_cast<double>(solves - unsolved) / static_cast<double>(std::max(1L, solves)), whole.broken.size());
    whole.given.print("at given levels");
    whole.settled.print("settled");
    std::fflush(stdout);
}

void hold(const Campaign& whole) {
    constexpr std::size_t kShown = 40;
    CHECK(whole.broken.empty());
    for (std::size_t i = 0; i < std::min(kShown, whole.broken.size()); ++i) {
        const Case& one = whole.broken[i];
        const std::string where = "seed " + std::to_string(one.seed) + " (" + name_of(test::style_of(one.seed)) + ") arrangement " +
                                  std::to_string(one.arrangement) + ": " + one.broken;
        FAIL_CHECK(where);
    }
}

double slow_share() {
    double share = 1.0;
    if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
    return share;
}

}  // namespace

TEST_CASE("four hundred random layouts keep every promise") {
    constexpr std::uint64_t kSeeds = 400;
    const Campaign whole = run(0, kSeeds);
    print(whole, kSeeds);
    CHECK(whole.given.cases > 50);  // both questions are asked
    CHECK(whole.settled.cases > 200);
    hold(whole);
}

TEST_SUITE("slow promises") {
    TEST_CASE("a hundred thousand random layouts keep every promise") {
        const auto seeds = static_cast<std::uint64_t>(100000.0 * slow_share());
        const Campaign whole = run(0, seeds);
        print(whole, seeds);
        hold(whole);
    }
}
