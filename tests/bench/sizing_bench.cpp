// Choosing pipe sizes: one design solved warm; and the search's cost against time, as CSV:
//
//     bench_sizing                              the time of one design
//     bench_sizing --curve LAYOUT [SEED]        seconds,designs,cost of every improvement, with two threads

#include <benchmark/benchmark.h>

#include <chrono>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>

#include "netfiles/reader.h"
#include "solver/choose/random.h"
#include "solver/choose/sizing_search.h"

namespace {

using namespace ebb;

netfiles::ReadResult read(const std::string& file) {
    netfiles::ReadResult result = netfiles::read_layout(file);
    if (!result.good()) {
        std::fprintf(stderr, "%s cannot be read\n", file.c_str());
        std::exit(1);
    }
    return result;
}

/// Designs one or two sizes away from a good one, as the search asks for them.
void one_design(benchmark::State& state, const char* name) {
    const netfiles::ReadResult layout = read(std::string(EBB_SOURCE_DIR "/tests/reference/layouts/") + name);
    const choose::SizingProblem problem = choose::sizing_problem_of(layout.layout, choose::arrangements_that_count(layout.layout));
    choose::SizingOptions options;
    options.evaluations = 8000;
    const choose::SizingResult good = choose::search_sizes(problem, options);
    choose::Evaluator evaluator(problem);
    choose::Random random(1);
    choose::Design design = good.design;
    for (auto _ : state) {
        const std::size_t c = random.below(design.size());
        design[c] = static_cast<std::uint8_t>(random.below(problem.choices[c].cost.size()));
        benchmark::DoNotOptimize(evaluator.evaluate(design).missed);
        design[c] = good.design[c];
    }
    if (!evaluator.evaluate(good.design).allowed) state.SkipWithError("the design is not allowed any more");
}

void draw_curve(const std::string& file, std::uint64_t seed) {
    const netfiles::ReadResult layout = read(file);
    const choose::SizingProblem problem = choose::sizing_problem_of(layout.layout, choose::arrangements_that_count(layout.layout));
    choose::SizingOptions options;
    options.threads = 2;
    options.seed = seed;
    const auto begin = std::chrono::steady_clock::now();
    const auto seconds = [&] { return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count(); };
    double best = HUGE_VAL;
    std::printf("seconds,designs,cost\n");
    options.progress = [&](const choose::SizingProgress& progress) {
        if (!progress.found || progress.cost >= best) return;
        best = progress.cost;
        std::printf("%.3f,%lld,%.0f\n", seconds(), static_cast<long long>(progress.evaluations), best);
    };
    const choose::SizingResult result = choose::search_sizes(problem, options);
    std::printf("%.3f,%lld,%.0f\n", seconds(), static_cast<long long>(result.evaluations), result.verdict.total_cost);
}

}  // namespace

BENCHMARK_CAPTURE(one_design, two_loops, "two-loop.xml")->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(one_design, trunk_mains, "hanoi.xml")->Unit(benchmark::kMicrosecond);

int main(int count, char** arguments) {
    if (count > 2 && std::strcmp(arguments[1], "--curve") == 0) {
        draw_curve(arguments[2], count > 3 ? std::strtoull(arguments[3], nullptr, 10) : 1);
        return 0;
    }
    benchmark::Initialize(&count, arguments);
    benchmark::RunSpecifiedBenchmarks();
    return 0;
}
