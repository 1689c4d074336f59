// From the text of a layout to its answer nothing grows faster than the layout: counted, not timed, at 1,000 and 10,000 pipes of three families
// (tests/bench/large_layouts.h). What the counts cannot see, passes over everything for each of something, tests/bench/large_bench.cpp times.
//
// Two of the bounds are theory: elimination of a tree from its leaves fills nothing in, so its factor has one entry fewer than nodes (Parter 1961;
// George and Liu, Computer Solution of Large Sparse Positive Definite Systems, 1981); and streets both ways eliminated row by row take the square
// root of n entries for each of n nodes, against some logarithms of n in a good order (George 1973), so at 70 x 70 a quarter is not much to ask.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "netfiles/reader.h"
#include "solver/network/newton.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"
#include "tests/bench/large_layouts.h"
#include "tests/counted_allocations.h"

namespace {

using namespace ebb;

struct Counted {
    double pipes = 0.0, nodes = 0.0;
    double of_reading = 0.0, of_answering = 0.0;  ///< allocations
    double entries = 0.0;                         ///< of the factor
    std::int64_t factorisations = 0, steps = 0;   ///< of one cold solve at the levels drawn
    settle::Answer answer;
};

Counted count(bench::Family family, std::size_t pipes, bool at_start_levels) {
    Counted counted;
    std::string text = bench::large_layout(family, pipes, at_start_levels);
    long before = allocations;
    const netfiles::ReadResult read = netfiles::read_layout_text(std::move(text), "large.xml");
    counted.of_reading = static_cast<double>(allocations - before);
    REQUIRE(read.good());
    counted.pipes = static_cast<double>(read.layout.pipes.size());
    before = allocations;
    settle::Options options;
    options.ledgers = false;
    counted.answer = settle::Farm(read.layout, options).solve(0);
    counted.of_answering = static_cast<double>(allocations - before);
    settle::Model model(network::compile(read.layout));
    const network::Settings settings = network::settings_for(model.network, read.layout, layout::conditions_of(read.layout, 0), {});
    network::Point point = model.solver.cold_point(settle::start_of(read.layout).level_m);
    const network::Outcome outcome = model.solver.solve(settings, {}, {}, false, point);
    CHECK(outcome.converged);
    const network::Factor& factor = model.solver.factor_of_levels(false);
    counted.nodes = factor.size();
    counted.entries = static_cast<double>(factor.factor_entries());
    counted.factorisations = factor.factorisations();
    counted.steps = outcome.steps;
    return counted;
}

/// The answer held against the layout by the code that checks every answer, and did not make it.
void check_promises(const settle::Answer& answer) {
    CHECK(settle::solved(answer.state));
    double largest = 0.0;
    for (const settle::PipeAnswer& pipe : answer.pipes) largest = std::max(largest, std::abs(pipe.flow_m3_s));
    CHECK(answer.worst_flow_imbalance_m3_s <= 1e-9 * largest);
    CHECK(answer.worst_head_error_m <= 1e-6);
}

}  // namespace

TEST_CASE("Allocations from text to answer grow as the layout does") {
    struct Row {
        bench::Family family;
        bool at_start_levels;
    };
    for (const Row& row :
         {Row{bench::Family::trees, true}, Row{bench::Family::grids, true}, Row{bench::Family::farms, true}, Row{bench::Family::farms, false}}) {
        CAPTURE(bench::name_of(row.family));
        CAPTURE(row.at_start_levels);
        const Counted small = count(row.family, 1'000, row.at_start_levels), large = count(row.family, 10'000, row.at_start_levels);
        const double times = large.pipes / small.pipes;
        CHECK(times > 9.0);
        CHECK(large.of_reading <= 1.05 * times * small.of_reading);
        CHECK(large.of_answering <= 1.05 * times * small.of_answering);
        CHECK(large.answer.counts.network_solves <= small.answer.counts.network_solves + 2);
        CHECK(large.answer.counts.newton_steps_total <= small.answer.counts.newton_steps_total + 10);
        check_promises(small.answer);
        check_promises(large.answer);
    }
}

TEST_CASE("The factor of trees and farms is as large as the network, that of streets both ways a quarter of what row by row would take") {
    for (const std::size_t pipes : {std::size_t{1'000}, std::size_t{10'000}}) {
        const Counted tree = count(bench::Family::trees, pipes, true);
        CHECK(tree.entries == tree.nodes - 1.0);
        const Counted farms = count(bench::Family::farms, pipes, true);
        CHECK(farms.entries <= 1.5 * farms.nodes);
    }
    const Counted grid = count(bench::Family::grids, 10'000, true);
    CHECK(grid.entries <= 0.25 * grid.nodes * std::sqrt(grid.nodes));
}

TEST_CASE("In streets both ways the factor of an early step serves the later ones") {
    const Counted grid = count(bench::Family::grids, 40'000, true);
    CHECK(grid.factorisations < grid.steps);
    CHECK(grid.factorisations > 0);
    check_promises(grid.answer);
}
