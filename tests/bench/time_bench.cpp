// The course in time, timed: a day of the example farm with its beds by turns, a power cut, and a day of one siphon bed. Counters: steps of the
// integration, restarts, network solves and Newton steps per simulated day.
//
//     build/tests/bench_time_bench --benchmark_min_time=0.5

#include <benchmark/benchmark.h>

#include <cstdio>
#include <cstdlib>
#include <string>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/time/simulation.h"

#ifndef EBB_SOURCE_DIR
#define EBB_SOURCE_DIR "."
#endif

namespace {

using namespace ebb;

constexpr double kDay_s = 86400.0;

void count(benchmark::State& state, const time::Course& course) {
    const double days = course.lasted_s / kDay_s;
    state.counters["steps"] = static_cast<double>(course.counts.steps) / days;
    state.counters["restarts"] = static_cast<double>(course.counts.restarts) / days;
    state.counters["solves"] = static_cast<double>(course.counts.network_solves) / days;
    state.counters["newton"] = static_cast<double>(course.counts.newton_steps) / days;
    state.counters["events"] = static_cast<double>(course.events.size()) / days;
    state.counters["water_error"] = course.worst_water_error_m3 / course.water_m3;
}

void follow(benchmark::State& state, const layout::Layout& layout, const time::Plan& plan) {
    time::Simulation simulation(layout);
    time::Course course;
    for (auto _ : state) {
        course = simulation.run(plan);
        benchmark::ClobberMemory();
    }
    if (course.ending != time::Ending::time_over) state.SkipWithError("the run did not get to its end");
    count(state, course);
}

const layout::Layout& example_farm() {
    static const auto read = netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/farm.xml");
    if (!read.good()) {
        std::fputs("examples/farm.xml cannot be read\n", stderr);
        std::exit(1);
    }
    return read.layout;
}

void of_the_example(benchmark::State& state, const std::string& routine, double lasts_s) {
    const layout::Layout& farm = example_farm();
    for (std::size_t i = 0; i < farm.routines.size(); ++i) {
        if (farm.routines[i].name != routine) continue;
        time::Plan plan = time::plan_of_routine(farm, static_cast<std::int32_t>(i));
        plan.lasts_s = lasts_s;
        follow(state, farm, plan);
        return;
    }
    state.SkipWithError("the example farm has no such routine");
}

void beds_by_turns(benchmark::State& state) { of_the_example(state, "beds by turns", kDay_s); }
void power_cut(benchmark::State& state) { of_the_example(state, "two hours without power", kDay_s / 3.0); }

/// A sump, a pump and a bed with a siphon; every number invented.
layout::Layout siphon_bed() {
    layout::Layout farm;
    farm.vessels.resize(2);
    layout::Vessel& sump = farm.vessels[0];
    layout::Vessel& bed = farm.vessels[1];
    sump.id = "SUMP";
    sump.kind = layout::VesselKind::sump;
    sump.floor_m = -0.9;
    sump.rim_m = -0.1;
    sump.start_depth_m = 0.5;
    sump.volume = layout::prism_volume(1.5, 0.8);
    bed.id = "BED";
    bed.kind = layout::VesselKind::bed;
    bed.floor_m = 0.3;
    bed.rim_m = 0.65;
    bed.start_depth_m = 0.0;
    bed.volume = layout::prism_volume(1.2, 0.35, 0.3, 0.45);
    layout::PumpModel model;
    model.name = "small";
    model.curve = physics::PumpCurve(std::vector<physics::PumpPoint>{{0.0, 3.0}, {3e-4, 2.2}, {6e-4, 0.0}});
    farm.pump_models = {model};
    farm.pumps.resize(1);
    farm.pumps[0].id = "P";
    farm.pumps[0].model_name = "small";
    farm.pumps[0].in_id = "SUMP";
    farm.pumps[0].intake_height_m = 0.05;
    farm.siphons.resize(1);
    farm.siphons[0].id = "SI";
    farm.siphons[0].in_id = "BED";
    farm.siphons[0].bore_m = 0.03;
    farm.siphons[0].crest_m = 0.25;
    farm.siphons[0].breaks_at_m = 0.04;
    farm.siphons[0].starts_with_m3_s = 1e-4;
    struct Ends {
        const char *from, *to;
    };
    for (const Ends& ends : {Ends{"P", "BED"}, Ends{"SI", "SUMP"}}) {
        layout::Pipe pipe;
        pipe.id = std::string("from ") + ends.from;
        pipe.from.id = ends.from;
        pipe.to.id = ends.to;
        pipe.to.height_m = farm.pipes.empty() ? 0.34 : 0.75;
        pipe.length_m = 2.0;
        pipe.bore_m = farm.pipes.empty() ? 0.02 : 0.035;
        pipe.roughness_m = 1.5e-6;
        pipe.hazen_williams_c = 150.0;
        farm.pipes.push_back(pipe);
    }
    layout::Arrangement drawn;
    drawn.name = "drawn";
    farm.arrangements = {drawn};
    layout::Routine day;
    day.name = "a day";
    day.arrangement_name = "drawn";
    farm.routines = {day};
    return farm;
}

void siphon_day(benchmark::State& state) {
    layout::Layout farm = siphon_bed();
    if (!layout::validate(farm).empty()) {
        state.SkipWithError("the layout is not valid");
        return;
    }
    follow(state, farm, time::plan_of_routine(farm, 0));
}

BENCHMARK(beds_by_turns)->Unit(benchmark::kMillisecond);
BENCHMARK(power_cut)->Unit(benchmark::kMillisecond);
BENCHMARK(siphon_day)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
