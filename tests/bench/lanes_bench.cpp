// How long a step of Newton's method takes in eight lanes and in the single solve: the combinations of the bed valves of a farm of twenty beds
// (tests/farm_of_beds.h), levels unknown, warm from all beds open. Counters: ns per step of one lane, steps per combination, and combinations per
// second of this one solve (a settled answer needs more than one).

#include <benchmark/benchmark.h>

#include <chrono>
#include <cstdlib>
#include <string>
#include <vector>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/network/newton.h"
#include "solver/settle/model.h"
#include "solver/survey/lane_solver.h"
#include "tests/farm_of_beds.h"

namespace {

using namespace ebb;
using survey::kLanes;
using survey::LaneSolver;

constexpr double kTau_s = 1e7;

struct Farm {
    layout::Layout layout;
    network::Network net;
    std::vector<network::Settings> settings;  ///< of 64 combinations
    settle::Start start;
    network::Point all_open;
    std::vector<std::int32_t> switched;  ///< links that differ between combinations
};

Farm farm() {
    Farm farm;
    netfiles::ReadResult read = netfiles::read_layout_text(tests::farm_of_beds(20), "farm");
    farm.layout = std::move(read.layout);
    if (farm.layout.pipes.empty() || !layout::validate(farm.layout).empty()) std::abort();
    farm.net = network::compile(farm.layout);
    farm.start = settle::start_of(farm.layout);
    const layout::Conditions all = layout::conditions_of(farm.layout, 0);
    std::uint64_t state = 1;
    for (int c = 0; c < 64; ++c) {
        layout::Conditions conditions = all;
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        for (std::size_t v = 0; v < 20; ++v)
            if ((state >> (v + 20) & 1U) != 0 && c > 0) conditions.valve_opening[v] = 0.0;
        farm.settings.push_back(network::settings_for(farm.net, farm.layout, conditions, {}));
    }
    for (std::size_t p = 0; p < farm.layout.pipes.size(); ++p)
        for (const std::int32_t valve : farm.layout.pipes[p].valves)
            if (valve < 20) farm.switched.push_back(farm.net.pipe_link[p]);
    network::Solver solver(farm.net);
    farm.all_open = solver.cold_point(farm.start.level_m);
    if (!solver.solve(farm.settings[0], {.unknown = true, .tau_s = kTau_s, .start_volume_m3 = farm.start.volume_m3}, {}, false, farm.all_open)
             .converged)
        std::abort();
    return farm;
}

const Farm& the_farm() {
    static const Farm made = farm();
    return made;
}

void report(benchmark::State& state, double steps, double solves, double elapsed_s) {
    state.counters["ns_per_step"] = 1e9 * elapsed_s / steps;
    state.counters["steps_per_solve"] = steps / solves;
    state.counters["solves_per_s"] = solves / elapsed_s;
    state.counters["links"] = static_cast<double>(the_farm().net.links.size());
}

double seconds_since(std::chrono::steady_clock::time_point begin) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

void single(benchmark::State& state) {
    const Farm& farm = the_farm();
    network::Solver solver(farm.net);
    double steps = 0.0, solves = 0.0;
    network::Point point = farm.all_open;
    const auto begin = std::chrono::steady_clock::now();
    for (auto _ : state)
        for (const network::Settings& settings : farm.settings) {
            point = farm.all_open;
            const network::Outcome outcome =
                solver.solve(settings, {.unknown = true, .tau_s = kTau_s, .start_volume_m3 = farm.start.volume_m3}, {}, true, point, false);
            steps += outcome.steps;
            solves += outcome.converged ? 1.0 : 0.0;
        }
    report(state, steps, solves, seconds_since(begin));
}

void lanes(benchmark::State& state, LaneSolver::Instructions instructions, LaneSolver::Pipes pipes) {
    if (!LaneSolver::has(instructions)) {
        state.SkipWithError("this processor has not got them");
        return;
    }
    const Farm& farm = the_farm();
    LaneSolver lanes(farm.net, pipes, instructions);
    double steps = 0.0, solves = 0.0, failed = 0.0;
    for (int lane = 0; lane < kLanes; ++lane) {
        lanes.load(lane, farm.settings[0]);
        lanes.set_step(lane, kTau_s, farm.start.volume_m3);
    }
    const auto begin = std::chrono::steady_clock::now();
    for (auto _ : state) {
        std::size_t next = 0;
        const auto load = [&](int lane) {
            if (next == farm.settings.size()) return;
            for (const std::int32_t link : farm.switched) lanes.set_link(lane, link, farm.settings[next].links[static_cast<std::size_t>(link)]);
            ++next;
            lanes.take(lane, farm.all_open);
            lanes.begin(lane, true);
        };
        for (int lane = 0; lane < kLanes; ++lane) load(lane);
        while (lanes.active() != 0) {
            const LaneSolver::Masks ended = lanes.advance();
            for (int lane = 0; lane < kLanes; ++lane) {
                if (((ended.arrived | ended.failed) >> lane & 1) == 0) continue;
                steps += lanes.steps(lane);
                (ended.arrived >> lane & 1) != 0 ? ++solves : ++failed;
                load(lane);
            }
        }
    }
    report(state, steps, solves, seconds_since(begin));
    state.counters["failed"] = failed;
}

BENCHMARK(single)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(lanes, baseline, LaneSolver::Instructions::baseline, LaneSolver::Pipes::shared)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(lanes, avx2, LaneSolver::Instructions::avx2, LaneSolver::Pipes::shared)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(lanes, avx512, LaneSolver::Instructions::avx512, LaneSolver::Pipes::shared)->Unit(benchmark::kMillisecond);
BENCHMARK_CAPTURE(lanes, avx512_own_pipes, LaneSolver::Instructions::avx512, LaneSolver::Pipes::own)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
