// Nanoseconds per call of the laws the network's inner loop lives on. Each benchmark checks its answer before it is timed.
// Run: bench_friction_bench (Release). The flows walk over a table of 4096 so that no branch is learnt by heart.

#include "solver/physics/friction.h"
#include "solver/physics/opening.h"
#include "solver/physics/pump_curve.h"

#include <benchmark/benchmark.h>

#include <array>
#include <cmath>
#include <cstddef>
#include <random>
#include <vector>

namespace {

using namespace ebb::physics;

constexpr std::size_t kCount = 4096;

std::vector<double> log_uniform(double low, double high) {
    std::mt19937 random(1);
    std::uniform_real_distribution<double> part(std::log(low), std::log(high));
    std::vector<double> values(kCount);
    for (double& value : values) {
        value = std::exp(part(random));
    }
    return values;
}

DarcyPipe pipe_50mm() { return make_darcy_pipe({.length_m = 10.0, .bore_m = 0.05, .roughness_m = 1.5e-6, .kinematic_viscosity_m2_s = 1.003e-6}); }

/// Colebrook's own equation must hold at the factor before anything is timed.
bool holds(double reynolds, double roughness) {
    const double X = 1.0 / std::sqrt(colebrook_friction_factor(reynolds, roughness));
    return std::abs(X + 2.0 * std::log10(roughness / 3.7 + 2.51 * X / reynolds)) < 1e-13;
}

void colebrook(benchmark::State& state) {
    const std::vector<double> reynolds = log_uniform(4e3, 1e7);
    const std::vector<double> roughness = log_uniform(1e-6, 1e-2);
    for (std::size_t i = 0; i < kCount; ++i) {
        if (!holds(reynolds[i], roughness[i])) {
            state.SkipWithError("the factor does not satisfy Colebrook's equation");
            return;
        }
    }
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(colebrook_friction_factor(reynolds[i], roughness[i]));
        i = (i + 1) % kCount;
    }
}
BENCHMARK(colebrook);

/// Flows of one pipe from Re 100 (low) or 4000 (turbulent only) to 1e6.
void darcy_cold(benchmark::State& state) {
    const DarcyPipe pipe = pipe_50mm();
    const std::vector<double> reynolds = log_uniform(static_cast<double>(state.range(0)), 1e6);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(darcy_loss(pipe, reynolds[i] / pipe.reynolds_per_flow));
        i = (i + 1) % kCount;
    }
}
BENCHMARK(darcy_cold)->Arg(100)->Arg(4000);

/// Each pipe's flow moves by up to 2 % from one Newton step to the next.
void darcy_cached(benchmark::State& state) {
    const DarcyPipe pipe = pipe_50mm();
    const std::vector<double> reynolds = log_uniform(4.1e3, 1e6);
    std::vector<double> cache(kCount, 0.0);
    double share = 1.0;
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(darcy_loss(pipe, share * reynolds[i] / pipe.reynolds_per_flow, cache[i]));
        if (++i == kCount) {
            i = 0;
            share = share > 1.0 ? 1.0 : 1.02;
        }
    }
}
BENCHMARK(darcy_cached);

void hazen(benchmark::State& state) {
    const HazenPipe pipe = make_hazen_pipe({.length_m = 10.0, .bore_m = 0.05, .coefficient = 150.0});
    const std::vector<double> flows = log_uniform(1e-5, 1e-2);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(hazen_williams_loss(pipe, flows[i]));
        i = (i + 1) % kCount;
    }
}
BENCHMARK(hazen);

void opening(benchmark::State& state) {
    const std::vector<double> depths = log_uniform(1e-3, 0.2);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(opening_flow(0.05, depths[i]));
        i = (i + 1) % kCount;
    }
}
BENCHMARK(opening);

void pump_head(benchmark::State& state) {
    std::array<PumpPoint, 12> points{};
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double x = static_cast<double>(i) / 11.0;
        points[i] = {.flow_m3_s = 3e-3 * x, .head_m = 6.0 * (1.0 - x * x)};
    }
    const PumpCurve pump(points);
    const std::vector<double> flows = log_uniform(1e-4, 3e-3);
    std::size_t i = 0;
    for (auto _ : state) {
        benchmark::DoNotOptimize(pump.head(flows[i], {.speed = 0.9, .count = 2}));
        i = (i + 1) % kCount;
    }
}
BENCHMARK(pump_head);

}  // namespace

BENCHMARK_MAIN();
