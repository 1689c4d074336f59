// What the solve falls back on when Newton's method does not arrive: a pseudo-time that is let run out. The balances of a network have one answer
// (docs/theory.md), so creeping to it must end where the straight way ends; here Newton is given too few steps, so that it must creep.

#include <doctest/doctest.h>

#include <vector>

#include "solver/network/newton.h"
#include "tests/near.h"
#include "tests/network/small_farm.h"

using namespace ebb;

TEST_CASE("creeping ends where the straight way ends, and counts every step of it") {
    layout::Layout layout = test::small_farm();
    REQUIRE(layout::validate(layout).empty());
    const network::Network net = network::compile(layout);
    network::Solver solver(net);
    const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
    const std::vector<double> levels{-0.3, 1.02, 1.03}, volumes{1.4, 0.62, 0.63};
    for (const double tau_s : {0.0, 5.0, 60.0, 3600.0}) {
        CAPTURE(tau_s);
        network::Levels asked;
        if (tau_s > 0.0) asked = {.unknown = true, .tau_s = tau_s, .start_volume_m3 = volumes};
        network::Point straight = solver.cold_point(levels), crept = straight;
        const network::Outcome direct = solver.solve(settings, asked, {}, false, straight);
        REQUIRE(direct.converged);
        REQUIRE(direct.fallbacks == 0);
        REQUIRE(direct.steps > 3);
        network::Tolerances few;
        few.greatest_steps = 3;
        CHECK_FALSE(solver.solve(settings, asked, few, false, crept, false).converged);
        const network::Outcome slow = solver.solve(settings, asked, few, false, crept);
        REQUIRE(slow.converged);
        CHECK(slow.fallbacks == 1);
        CHECK(slow.steps > few.greatest_steps + direct.steps);  // no shorter way than Newton's own, and the three in vain before it
        for (std::size_t n = 0; n < straight.head_m.size(); ++n) CHECK(std::abs(crept.head_m[n] - straight.head_m[n]) < 1e-8);
        for (std::size_t l = 0; l < straight.flow_m3_s.size(); ++l) CHECK(std::abs(crept.flow_m3_s[l] - straight.flow_m3_s[l]) < 1e-11);
    }
}
