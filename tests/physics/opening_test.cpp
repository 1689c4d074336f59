#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/opening.h"
#include "solver/physics/part_full.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("an opening in its last bore passes critical flow") {
    // tests/reference/partial_pipe.csv block B (definition, e.g. Chow 1959 section 4-4): eight decimals of E/D, ten of Z, so that at the
    // shallowest row E/D itself is known to 2e-7 and the flow, its square, to 4e-7.
    int seen = 0;
    for (const Row& row : table("partial_pipe.csv", "yc_over_D,Zc")) {
        const double energy = number(row[2]);
        if (energy < 1.0868) {
            CAPTURE(energy);
            const double bore = 0.1;
            const double wanted = number(row[1]) * std::sqrt(kGravity_m_s2) * std::pow(bore, 2.5);
            CHECK(relative(opening_flow(bore, energy * bore).value, wanted) < 5e-7);
            CHECK(std::abs(opening_flow(bore, energy * bore).value * 1e3 - number(row[4])) < 1e-6);
            ++seen;
        }
    }
    CHECK(seen > 30);
}

TEST_CASE("opening and critical depth are inverse to each other") {
    // Two ways to one number: the polynomial against the exact section solved by iteration.
    double worst = 0.0;
    for (const double share : spread(1e-4, 1.0868, 400)) {
        const double flow = opening_flow(0.07, share * 0.07).value;
        worst = std::max(worst, relative(critical_energy_m(0.07, flow), share * 0.07));
    }
    CHECK(worst < 1e-10);
}

TEST_CASE("above the crossing it is an orifice of 0.61, then lifted until the mouth is drowned") {
    const double bore = 0.05;
    const double area = bore_area_m2(bore);
    const double joint = 1.086845609875289 * bore;
    const double orifice = 0.61 * area * std::sqrt(2.0 * kGravity_m_s2 * (joint - 0.5 * bore));
    CHECK(relative(opening_flow(bore, joint).value, orifice) < 1e-10);
    CHECK(relative(opening_flow(bore, joint * (1 - 1e-13)).value, opening_flow(bore, joint * (1 + 1e-13)).value) < 1e-12);
    for (const double depth : {1.2 * bore, 1.9 * bore, 2.0 * bore, 3.0 * bore, 40.0 * bore}) {
        const double open = 0.61 * area * std::sqrt(2.0 * kGravity_m_s2 * (depth - 0.5 * bore));
        const double lift = opening_flow(bore, depth).value / open;
        CHECK(lift >= 1.0);
        CHECK(lift <= 10.0 + 1e-9);
        if (depth >= 2.0 * bore) {
            CHECK(lift == ebb::test::near(10.0));
        }
    }
}

TEST_CASE("an opening passes nothing at its invert and ever more above it, with the slope it says") {
    for (const double bore : {0.02, 0.1, 0.3}) {
        CHECK(opening_flow(bore, 0.0).value == 0.0);
        CHECK(opening_flow(bore, -1.0).value == 0.0);
        CHECK(opening_flow(bore, -1.0).slope == 0.0);
        double last = 0.0;
        double worst = 0.0;
        for (const double share : spread(1e-6, 1e3, 3000)) {
            const ValueSlope flow = opening_flow(bore, share * bore);
            REQUIRE(flow.value > last);
            REQUIRE(flow.slope > 0.0);
            last = flow.value;
            if (std::abs(share / 1.086845609875289 - 1.0) > 3e-3 && std::abs(share / 2.0 - 1.0) > 3e-3) {
                worst = std::max(worst, slope_error([&](double h) { return opening_flow(bore, h); }, share * bore));
            }
        }
        CHECK(worst < 1e-7);
    }
}
