// A second solve on the same pattern allocates nothing: every operator new of the program is counted, and there must be none.

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "solver/network/newton.h"
#include "tests/counted_allocations.h"
#include "tests/network/small_farm.h"

using namespace ebb;

TEST_CASE("the counter counts") {
    const long before = allocations;
    const auto* const text = new std::string(100, 'x');
    delete text;
    CHECK(allocations - before == 2);
}

TEST_CASE("a second solve on the same pattern allocates nothing") {
    layout::Layout layout = test::small_farm();
    REQUIRE(layout::validate(layout).empty());
    const network::Network net = network::compile(layout);
    network::Solver solver(net);
    const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
    const std::vector<double> levels{-0.3, 1.02, 1.03}, volumes{1.4, 0.62, 0.63};
    for (const bool with_levels : {false, true}) {
        CAPTURE(with_levels);
        network::Levels asked;
        if (with_levels) asked = {.unknown = true, .tau_s = 60.0, .start_volume_m3 = volumes};
        network::Point first = solver.cold_point(levels), point = first, warm = first;
        REQUIRE(solver.solve(settings, asked, {}, false, first).converged);
        warm = first;
        const long before = allocations;
        const network::Outcome outcome = solver.solve(settings, asked, {}, true, warm);
        CHECK(allocations - before == 0);
        CHECK(outcome.converged);
        // cold again, in memory that a solve has shaped
        point = first;
        const long before_cold = allocations;
        const network::Outcome again = solver.solve(settings, asked, {}, false, point);
        CHECK(allocations - before_cold == 0);
        CHECK(again.converged);
        CHECK(again.fallbacks == 0);  // the safeguarded path may take memory; it is not the usual one
        CHECK(again.steps > 0);
    }
}
