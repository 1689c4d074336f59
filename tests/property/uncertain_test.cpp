// The percentiles of a random farm are those of its samples solved one by one, each as a layout of its own.

#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/survey/normal_points.h"
#include "solver/survey/uncertain.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

struct Tally {
    std::size_t samples = 0, alone = 0;
};

/// All figures of all samples by Farm::solve, sorted, against what solve_uncertain() says.
void hold_farm(const layout::Layout& layout, std::size_t samples, Tally& tally) {
    const layout::Conditions arrangement = layout::conditions_of(layout, 0);
    survey::UncertainOptions options;
    options.samples = samples;
    const survey::UncertainAnswer answer = survey::solve_uncertain(layout, arrangement, false, options);
    tally.samples += samples;
    tally.alone += answer.alone;
    const std::vector<survey::Uncertainty> list = survey::uncertainties_of(layout);
    const survey::NormalPoints points(samples, list.size());
    std::vector<std::vector<double>> flows(layout.pipes.size()), depths(layout.vessels.size()), heads(layout.pumps.size());
    double largest = 1e-5;
    std::size_t solved = 0;
    settle::Options plain;
    plain.bands = plain.ledgers = false;
    for (std::size_t i = 0; i < samples; ++i) {
        layout::Layout varied = layout;
        layout::Conditions conditions = arrangement;
        survey::vary(layout, arrangement, list, points.at(i), varied, conditions);
        const settle::Answer single = settle::Farm(varied, plain).solve(conditions, false);
        if (!settle::solved(single.state)) continue;
        ++solved;
        for (std::size_t p = 0; p < flows.size(); ++p) {
            flows[p].push_back(single.pipes[p].flow_m3_s);
            largest = std::max(largest, std::abs(single.pipes[p].flow_m3_s));
        }
        for (std::size_t v = 0; v < depths.size(); ++v) depths[v].push_back(single.vessels[v].depth_m);
        for (std::size_t p = 0; p < heads.size(); ++p)
            if (single.pumps[p].running) heads[p].push_back(single.pumps[p].head_m);
        CHECK(single.worst_head_error_m < 1e-6);
    }
    CHECK(answer.solved == solved);
    const auto hold = [](std::vector<double>& values, const survey::Spread& spread, double within) {
        if (values.empty()) {
            CHECK(std::isnan(spread.middle));
            return;
        }
        std::sort(values.begin(), values.end());
        CHECK(std::abs(spread.low - survey::percentile(values, 0.05)) <= within);
        CHECK(std::abs(spread.middle - survey::percentile(values, 0.50)) <= within);
        CHECK(std::abs(spread.high - survey::percentile(values, 0.95)) <= within);
    };
    for (std::size_t p = 0; p < flows.size(); ++p) hold(flows[p], answer.pipe_flow_m3_s[p], 1e-9 * largest);
    for (std::size_t v = 0; v < depths.size(); ++v) hold(depths[v], answer.vessels[v].depth_m, 1e-8);
    for (std::size_t p = 0; p < heads.size(); ++p) hold(heads[p], answer.pumps[p].head_m, 1e-8);
}

void hold_random_farms(std::uint64_t first, std::uint64_t count, std::size_t samples) {
    Tally tally;
    for (std::uint64_t seed = first; seed < first + count; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        CAPTURE(seed);
        hold_farm(layout, samples, tally);
    }
    MESSAGE(tally.samples << " samples, " << tally.alone << " of them by the single solve");
    CHECK(tally.alone < tally.samples);
}

}  // namespace

TEST_CASE("samples on lanes are those of the single solve") { hold_random_farms(1, 12, 8); }

TEST_SUITE("slow uncertain") {
    TEST_CASE("samples on lanes are those of the single solve, on many farms") {
        double share = 1.0;
        if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
        hold_random_farms(1000, static_cast<std::uint64_t>(std::max(4.0, share * 400.0)), 16);
    }
}
