// What is made of the rows of a survey while others are being solved: the counting of a block of 1024 combinations of the example farm, in rows a
// second.

#include <benchmark/benchmark.h>

#include <memory>
#include <stop_token>

#include "netfiles/reader.h"
#include "solver/survey/counter.h"
#include "solver/survey/survey.h"

namespace {

using namespace ebb;

struct Keep final : survey::Consumer {
    mutable survey::Block block;
    std::unique_ptr<survey::Digest> digest(const survey::Block& solved) const override {
        block = solved;
        return std::make_unique<survey::Digest>();
    }
    void take(std::unique_ptr<survey::Digest> /*digest*/) override {}
};

void count_block(benchmark::State& state) {
    const netfiles::ReadResult read = netfiles::read_layout(EBB_SOURCE_DIR "/examples/farm.xml");
    survey::Question question{.arrangement = layout::conditions_of(read.layout, 0), .at_start_levels = false, .switches = {}, .at_most_off = -1};
    for (int v = 0; v < 20; ++v) question.switches.push_back({.thing = {layout::Kind::valve, v}});
    const survey::Survey survey(read.layout, question);
    Keep keep;
    survey.run(0, survey::Survey::kBlock, 1, std::stop_token(), keep);
    const survey::Counter counter(read.layout, question, survey.targets(), 10);
    survey::Statistics all = counter.none();
    for (auto _ : state) all.merge(counter.of(keep.block));
    state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(keep.block.rows));
    benchmark::DoNotOptimize(all);
}
BENCHMARK(count_block);

}  // namespace

BENCHMARK_MAIN();
