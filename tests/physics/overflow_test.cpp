#include "solver/physics/constants.h"
#include "solver/physics/overflow.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("overflow against the riser ratings of a stormwater manual") {
    // tests/reference/weirs_orifices.csv block C2: King County Surface Water Design Manual ch. 5 (recalled): weir coefficient 0.580 where the
    // model has 0.62, orifice 0.600 against 0.62: the model must lie between 3 % and 7 % above, never below.
    int weirs = 0;
    for (const Row& row : table("weirs_orifices.csv", "D_m,h_m")) {
        const double bore = number(row[0]);
        const double depth = number(row[1]);
        const double ratio = overflow_flow(bore, depth).value / number(row[5]);
        CAPTURE(bore);
        CAPTURE(depth);
        CHECK(ratio > 1.03);
        CHECK(ratio < 1.075);
        weirs += overflow_regime(bore, depth) == OverflowRegime::weir ? 1 : 0;
    }
    CHECK(weirs == 12);  // h/D 0.1, 0.2, 0.3 in four bores; 0.388 is an orifice already
}

TEST_CASE("the weir's coefficient is Francis'") {
    // Francis 1883: Q = 1.838 L h^1.5 (SI) over a straight sharp crest of length L.
    const double bore = 0.1;
    const double length = 3.14159265358979 * bore;
    CHECK(overflow_flow(bore, 0.02).value / (length * std::pow(0.02, 1.5)) == ebb::test::near(1.838).epsilon(0.005));
}

TEST_CASE("weir and orifice meet at 3/8 of the bore, and the depth is the inverse of the flow") {
    for (const double bore : {0.02, 0.056, 0.105}) {
        const double joint = 0.375 * bore;
        CHECK(relative(overflow_flow(bore, joint * (1.0 + 1e-14)).value, overflow_flow(bore, joint).value) < 1e-13);
        CHECK(overflow_flow(bore, 0.0).value == 0.0);
        CHECK(overflow_flow(bore, -0.1).value == 0.0);
        CHECK(overflow_regime(bore, 0.0) == OverflowRegime::dry);
        CHECK(overflow_regime(bore, 0.9999 * joint) == OverflowRegime::weir);
        CHECK(overflow_regime(bore, 1.0001 * joint) == OverflowRegime::orifice);
        double last = 0.0;
        double worst = 0.0;
        for (const double depth : spread(1e-7, 10.0, 700)) {
            const ValueSlope flow = overflow_flow(bore, depth);
            REQUIRE(flow.value > last);
            last = flow.value;
            REQUIRE(flow.value <= crest_weir_flow(bore, depth).value * (1.0 + 1e-14));
            REQUIRE(relative(overflow_depth_m(bore, flow.value), depth) < 1e-13);
            if (std::abs(depth / joint - 1.0) > 3e-3) {
                worst = std::max(worst, slope_error([&](double h) { return overflow_flow(bore, h); }, depth));
            }
        }
        CHECK(worst < 1e-9);
    }
    CHECK(overflow_depth_m(0.05, 0.0) == 0.0);
}

TEST_CASE("drain-holes give, and take nothing back") {
    const double area = 2.0 * bore_area_m2(0.012);
    CHECK(drain_hole_flow(area, -0.2).value == 0.0);
    CHECK(drain_hole_flow(area, 0.0).value == 0.0);
    CHECK(relative(drain_hole_flow(area, 0.24).value, 0.61 * area * std::sqrt(2.0 * kGravity_m_s2 * 0.24)) < 2e-8);
    CHECK(relative(drain_hole_flow(area, 0.24, 0.8).value, 0.8 * area * std::sqrt(2.0 * kGravity_m_s2 * 0.24)) < 2e-8);  // a short tube
    CHECK(slope_error([&](double h) { return drain_hole_flow(area, h); }, 0.1) < 1e-9);
}

TEST_CASE("the self-venting limit") {
    // A public summary of Hills (Chem. Eng. 1983): 36 m3/h in 180 mm is 0.296 of A sqrt(g D) against the limit of 0.3.
    CHECK(0.3 * (36.0 / 3600.0) / self_venting_limit_m3_s(0.180) == ebb::test::near(0.296).epsilon(0.002));
}
