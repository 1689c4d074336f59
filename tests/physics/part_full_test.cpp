#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/friction.h"
#include "solver/physics/part_full.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>
#include <array>
#include <numbers>

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("part-full ratios of a circle") {
    // tests/reference/partial_pipe.csv block A: exact geometry, ten decimals.
    for (const Row& row : table("partial_pipe.csv", "y_over_D,theta_rad")) {
        const double fill = number(row[0]);
        CAPTURE(fill);
        const CircleSection section = circle_section(fill);
        CHECK(std::abs(section.angle_rad - number(row[1])) < 1e-9);
        CHECK(std::abs(section.area * 4.0 / std::numbers::pi - number(row[2])) < 1e-10);
        CHECK(std::abs(section.wetted_perimeter / std::numbers::pi - number(row[3])) < 1e-10);
        CHECK(std::abs(section.hydraulic_radius * 4.0 - number(row[4])) < 1e-10);
        CHECK(std::abs(section.surface_width - number(row[5])) < 1e-10);
        CHECK(std::abs(uniform_flow_ratio(fill) - number(row[7])) < 1e-9);
        if (fill < 0.938) {  // the lower of the two depths
            CHECK(std::abs(uniform_fill_ratio(number(row[7])) - fill) < 2e-8);
        }
    }
}

TEST_CASE("greatest uniform flow") {
    // Chow 1959 fig. 6-5 (from memory): 1.076 at 0.938; half full carries half; 0.82 carries all. Block C has the exact figures.
    for (const Row& row : table("partial_pipe.csv", "quantity,handbook")) {
        const double exact = number(row[2]);
        if (row[0] == "y/D of maximum Q") {
            CHECK(kGreatestFlowFill == ebb::test::near(exact).epsilon(1e-6));
        } else if (row[0] == "max Q/Qfull") {
            CHECK(kGreatestFlowRatio == ebb::test::near(exact).epsilon(1e-6));
        } else if (row[0] == "y/D (below the maximum) where Q/Qfull=1") {
            CHECK(uniform_fill_ratio(1.0) == ebb::test::near(exact).epsilon(1e-6));
        }
    }
    CHECK(uniform_fill_ratio(0.5) == ebb::test::near(0.5).epsilon(1e-12));
    CHECK(uniform_flow_ratio(kGreatestFlowFill) == ebb::test::near(kGreatestFlowRatio).epsilon(1e-14));
    CHECK(uniform_fill_ratio(1.08) == 1.0);
    CHECK(uniform_fill_ratio(0.0) == 0.0);
}

TEST_CASE("fill ratio and flow ratio are inverse, from a trickle to the greatest flow") {
    double last = 0.0;
    for (const double ratio : spread(1e-10, 1.0757, 500)) {
        const double fill = uniform_fill_ratio(ratio);
        REQUIRE(fill > last);
        last = fill;
        REQUIRE(relative(uniform_flow_ratio(fill), ratio) < 1e-11);
    }
}

TEST_CASE("critical depth of a circle") {
    // tests/reference/partial_pipe.csv block B.
    for (const Row& row : table("partial_pipe.csv", "yc_over_D,Zc")) {
        const double fill = number(row[0]);
        CAPTURE(fill);
        const double bore = 0.1;
        const double flow = number(row[1]) * std::sqrt(kGravity_m_s2) * std::pow(bore, 2.5);
        CHECK(std::abs(critical_fill_ratio(bore, flow) - fill) < 1e-8);
        CHECK(std::abs(critical_energy_m(bore, flow) / bore - number(row[2])) < 3e-8);
    }
    CHECK(critical_fill_ratio(0.1, 0.0) == 0.0);
    CHECK(critical_energy_m(0.1, 0.0) == 0.0);
    CHECK(critical_fill_ratio(0.1, 1.0) < 1.0);
}

TEST_CASE("full-bore flow against a published friction table") {
    // USDA NRCS form NE-ENG-76 (rev. May 2004): ft lost per 100 ft at 250, 500, 750 gpm; 8 to 12 in agree with n = 0.010 (the form names no
    // formula) to the last digit but one. The 6 in row differs by 0.36 % and is left out.
    struct Entry {
        double bore_in, gpm, loss_ft;
    };
    const std::array<Entry, 9> entries{{{8, 250, 0.1257},
                                        {8, 500, 0.5027},
                                        {8, 750, 1.131},
                                        {10, 250, 0.0382},
                                        {10, 500, 0.1530},
                                        {10, 750, 0.344},
                                        {12, 250, 0.0145},
                                        {12, 500, 0.0578},
                                        {12, 750, 0.130}}};
    for (const Entry& entry : entries) {
        const DrainFacts drain{.bore_m = entry.bore_in * kInch_m, .slope = entry.loss_ft / 100.0};
        CHECK(full_bore_flow_m3_s(drain) / kGpm_m3_s == ebb::test::near(entry.gpm).epsilon(0.003));
    }
}

TEST_CASE("a large pipe two thirds full, by its hydraulic radius") {
    // Crane TP-410 ex. 7-26 (by library fluids 1.3.1): 24 in, slope 0.75 in per ft, e/D 0.00036 of the hydraulic diameter, water at 60 degF
    // (nu 1.217e-5 ft2/s): 24,500 gpm. The section is ours, the friction factor ours on four times its hydraulic radius.
    const double bore = 24.0 * kInch_m;
    const CircleSection section = circle_section(2.0 / 3.0);
    const double diameter = 4.0 * section.hydraulic_radius * bore;
    const double nu = 1.217e-5 * kFoot_m * kFoot_m;
    double v = 5.0;
    for (int i = 0; i < 50; ++i) {
        v = std::sqrt(2.0 * kGravity_m_s2 * diameter * (0.75 / 12.0) / colebrook_friction_factor(v * diameter / nu, 0.00036));
    }
    CHECK(v * section.area * bore * bore / kGpm_m3_s == ebb::test::near(24500.0).epsilon(0.005));
}

TEST_CASE("how a drain carries a flow") {
    const DrainFacts drain{.bore_m = 0.0714, .slope = 0.02};
    const double full = full_bore_flow_m3_s(drain);
    const DrainFlow half = drain_flow(drain, 0.5 * full);
    CHECK(half.part_full);
    CHECK(half.fill_ratio == ebb::test::near(0.5).epsilon(1e-12));
    CHECK(half.depth_m == ebb::test::near(0.0357).epsilon(1e-12));
    CHECK(half.capacity_used == ebb::test::near(0.5).epsilon(1e-14));
    CHECK(half.velocity_m_s == ebb::test::near(full / bore_area_m2(0.0714)).epsilon(1e-12));  // half full runs as fast as full
    const DrainFlow over = drain_flow(drain, 1.2 * full);
    CHECK_FALSE(over.part_full);
    CHECK(over.fill_ratio == 1.0);
    CHECK(over.capacity_used == ebb::test::near(1.2));
    CHECK(over.velocity_m_s == ebb::test::near(1.2 * full / bore_area_m2(0.0714)));
    const DrainFlow still = drain_flow(drain, 0.0);
    CHECK(still.fill_ratio == 0.0);
    CHECK(still.velocity_m_s == 0.0);
    const DrainFlow level = drain_flow({.bore_m = 0.05, .slope = 0.0}, 1e-3);
    CHECK_FALSE(level.part_full);
    CHECK(level.fill_ratio == 1.0);
    CHECK(std::isinf(level.capacity_used));
}
