// The network solve, timed: the example farm cold and warm, its settled state, and looped networks of 1,000, 100,000 and 1,000,000 pipes.
// Each large case checks its answer first, then reports ns per pipe and the ratio of the whole solve to
// (Newton steps x one numeric factorisation and solve of the same matrix): what is left above 1 is laws, assembly and checking.
//
//     build/tests/bench_network_bench --benchmark_filter=. --benchmark_min_time=0.5

#include <benchmark/benchmark.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/network/newton.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"

#ifndef EBB_SOURCE_DIR
#define EBB_SOURCE_DIR "."
#endif

namespace {

using namespace ebb;
using Clock = std::chrono::steady_clock;

/// A square grid of tees fed by a pond at each corner: rows x columns tees, about twice as many pipes, bores and lengths varied by a fixed rule,
/// a tree hanging from every fourth tee so that the shape is as tree-like as farms and towns are.
layout::Layout grid(int side) {
    layout::Layout farm;
    farm.name = "grid";
    const auto tee = [&](int row, int column) { return "J" + std::to_string(row) + "-" + std::to_string(column); };
    std::uint32_t state = 12345;
    const auto vary = [&](double low, double high) {
        state = state * 1664525U + 1013904223U;
        return low + (high - low) * static_cast<double>(state >> 8) / 16777216.0;
    };
    const auto pipe = [&](const std::string& from, const std::string& to) {
        layout::Pipe p;
        p.id = "p" + std::to_string(farm.pipes.size());
        p.from.id = from;
        p.to.id = to;
        p.length_m = vary(2.0, 40.0);
        p.bore_m = vary(0.03, 0.12);
        p.roughness_m = 1.5e-6;
        p.hazen_williams_c = 150.0;
        farm.pipes.push_back(p);
    };
    for (int row = 0; row < side; ++row)
        for (int column = 0; column < side; ++column) {
            layout::Tee t;
            t.id = tee(row, column);
            t.elevation_m = 0.0;
            farm.tees.push_back(t);
            if (column > 0) pipe(tee(row, column - 1), tee(row, column));
            // loops every fourth column only: what hangs between is tree
            if (row > 0 && (column % 4 == 0 || column == side - 1)) pipe(tee(row - 1, column), tee(row, column));
        }
    const double levels[] = {12.0, 3.0, 5.0, 1.0};
    const int ends[] = {0, side - 1};
    int corner = 0;
    for (const int row : ends)
        for (const int column : ends) {
            farm.ponds.push_back({.id = "W" + std::to_string(corner), .place = {}, .level_m = levels[corner]});
            pipe("W" + std::to_string(corner), tee(row, column));
            ++corner;
        }
    return farm;
}

struct Case {
    layout::Layout layout;
    network::Network network;
    network::Settings settings;
    std::vector<double> levels;
};

Case made(layout::Layout layout) {
    Case c;
    c.layout = std::move(layout);
    if (!layout::validate(c.layout).empty()) std::abort();
    c.network = network::compile(c.layout);
    c.settings =
        network::settings_for(c.network, c.layout, layout::conditions_of(c.layout, 0), std::vector<std::uint8_t>(c.layout.siphons.size(), 0));
    c.levels = settle::start_of(c.layout).level_m;
    return c;
}

layout::Layout example_farm() {
    netfiles::ReadResult read = netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/farm.xml");
    if (read.layout.pipes.empty()) std::abort();
    return std::move(read.layout);
}

void farm_cold(benchmark::State& state) {
    const Case c = made(example_farm());
    network::Solver solver(c.network);
    const network::Point start = solver.cold_point(c.levels);
    network::Point point = start;
    network::Outcome outcome;
    for (auto _ : state) {
        point = start;
        outcome = solver.solve(c.settings, {}, {}, false, point);
        benchmark::DoNotOptimize(point.flow_m3_s.data());
    }
    if (!outcome.converged) state.SkipWithError("did not converge");
    state.counters["newton_steps"] = outcome.steps;
}

void farm_warm(benchmark::State& state) {
    const Case c = made(example_farm());
    network::Solver solver(c.network);
    network::Point solved = solver.cold_point(c.levels);
    solver.solve(c.settings, {}, {}, false, solved);
    // every level a centimetre higher, as after a step in time
    for (std::int32_t v = 0; v < c.network.vessel_count; ++v) solved.head_m[static_cast<std::size_t>(c.network.vessel_node(v))] += 0.01;
    network::Point point = solved;
    network::Outcome outcome;
    for (auto _ : state) {
        point = solved;
        outcome = solver.solve(c.settings, {}, {}, true, point);
        benchmark::DoNotOptimize(point.flow_m3_s.data());
    }
    if (!outcome.converged) state.SkipWithError("did not converge");
    state.counters["newton_steps"] = outcome.steps;
}

/// One arrangement answered whole: direct step, walk, verification, warnings, ledger.
void farm_answer(benchmark::State& state) {
    layout::Layout layout = example_farm();
    settle::Farm farm(layout);
    settle::Answer answer;
    for (auto _ : state) {
        answer = farm.solve(0);
        benchmark::DoNotOptimize(answer.pipes.data());
    }
    if (!settle::solved(answer.state)) state.SkipWithError("did not settle");
    state.counters["newton_steps_of_the_direct_step"] = answer.counts.newton_steps;
    state.counters["newton_steps_in_all"] = answer.counts.newton_steps_total;
}

void looped_network(benchmark::State& state) {
    const Case c = made(grid(static_cast<int>(state.range(0))));
    network::Solver solver(c.network);
    const network::Point start = solver.cold_point(c.levels);
    network::Point point = start;
    network::Outcome outcome = solver.solve(c.settings, {}, {}, false, point);  // sets the pattern up
    if (!outcome.converged) {
        state.SkipWithError("did not converge");
        return;
    }
    double solve_s = 0.0;
    for (auto _ : state) {
        point = start;
        const auto begin = Clock::now();
        outcome = solver.solve(c.settings, {}, {}, false, point);
        const double took = std::chrono::duration<double>(Clock::now() - begin).count();
        state.SetIterationTime(took);
        solve_s = solve_s == 0.0 ? took : std::min(solve_s, took);
    }
    network::Factor factor = solver.factor_of_levels(false);
    std::vector<double> rhs(static_cast<std::size_t>(factor.size()), 1.0);
    double algebra_s = 1e9;
    for (int i = 0; i < 7; ++i) {
        const auto begin = Clock::now();
        if (!factor.factorise(true)) state.SkipWithError("the matrix of the answer does not factorise");
        factor.solve(rhs);
        algebra_s = std::min(algebra_s, std::chrono::duration<double>(Clock::now() - begin).count());
    }
    const auto pipes = static_cast<double>(c.layout.pipes.size());
    state.counters["pipes"] = pipes;
    state.counters["newton_steps"] = outcome.steps;
    state.counters["ns_per_pipe"] = 1e9 * solve_s / pipes;
    state.counters["algebra_ms_per_step"] = 1e3 * algebra_s;
    state.counters["factor_entries_per_node"] = static_cast<double>(factor.factor_entries()) / factor.size();
    state.counters["ratio_to_algebra"] = solve_s / (outcome.steps * algebra_s);
}

BENCHMARK(farm_cold)->Unit(benchmark::kMicrosecond);
BENCHMARK(farm_warm)->Unit(benchmark::kMicrosecond);
BENCHMARK(farm_answer)->Unit(benchmark::kMillisecond);
BENCHMARK(looped_network)->Arg(28)->Arg(283)->Arg(895)->UseManualTime()->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
