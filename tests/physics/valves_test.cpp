#include "solver/physics/valves.h"
#include "tests/near.h"
#include "tests/physics/support.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <string>

using namespace ebb::physics;
using namespace ebb::physics::test;

TEST_CASE("every kind has its word, and every word its kind") {
    CHECK(valve_kinds().size() == 10);
    for (const ValveKind kind : valve_kinds()) {
        CHECK(valve_kind_named(valve_kind_name(kind)) == kind);
        const StatedCoefficient loss = default_valve_loss(kind);
        CHECK(loss.low <= loss.value);
        CHECK(loss.value <= loss.high);
        CHECK_FALSE(loss.source.empty());
        CHECK_FALSE(valve_characteristic_source(kind).empty());
    }
    CHECK_FALSE(valve_kind_named("Ball").has_value());
    CHECK_FALSE(valve_kind_named("").has_value());
}

TEST_CASE("fully open losses are the handbook's multiples of its friction factor") {
    // tests/reference/fittings.csv block B (Crane TP-410 pages ), at fT = 0.020, the 2009 figure for 1-1/2 in (block A).
    const double fT = 0.020;
    const auto is = [&](const std::string& item, ValveKind kind) {
        for (const Row& row : table("fittings.csv", "item,multiplier_of_fT")) {
            if (row[0] == item) {
                CHECK(default_valve_loss(kind).value == ebb::test::near(number(row[1]) * fT).epsilon(0.01));
                return;
            }
        }
        FAIL(item);
    };
    is("ball valve full bore", ValveKind::ball);
    is("gate valve full bore", ValveKind::gate);
    is("globe valve straight", ValveKind::globe);
    is("butterfly valve centric; 2-8 in", ValveKind::butterfly);
    is("diaphragm valve weir", ValveKind::diaphragm);
    is("plug cock straight-way", ValveKind::plug);
    is("swing check valve (angled seat)", ValveKind::check);
    is("foot valve with strainer poppet disc", ValveKind::foot);
}

TEST_CASE("a valve loses more the further it is shut, without bound, and what it is said to lose fully open") {
    for (const ValveKind kind : valve_kinds()) {
        CAPTURE(std::string(valve_kind_name(kind)));
        CHECK(valve_loss_coefficient(kind, 1.0, 0.7) == 0.7);
        if (valve_is_one_way(kind)) {
            CHECK(valve_loss_coefficient(kind, 0.2, 0.7) == 0.7);
            continue;
        }
        double last = 0.7;
        for (const double shut : spread(1e-6, 1.0 - 1e-6, 3000)) {
            const double K = valve_loss_coefficient(kind, 1.0 - shut, 0.7);
            REQUIRE(K >= last - 1e-12);
            last = K;
        }
        CHECK(last > 1e6);
        CHECK(valve_loss_coefficient(kind, 1e-30, 0.7) > 1e30);
        // No jump at the open end.
        CHECK(valve_loss_coefficient(kind, 1.0 - 1e-9, 0.7) == ebb::test::near(0.7).epsilon(1e-6));
    }
}

TEST_CASE("throttled losses against neighbours of the tables") {
    // White, Fluid Mechanics, fig. 6.18 (from memory): K over K fully open: gate half shut 12 to 22, three quarters shut 70 to 120; globe
    // three quarters shut 6 to 8 for common patterns, the plug disc taken here being the steeper kind: within a factor of three.
    const double gate = default_valve_loss(ValveKind::gate).value;
    const double gate_half = valve_loss_coefficient(ValveKind::gate, 0.5, gate) / gate;
    CHECK(gate_half > 12.0);
    CHECK(gate_half < 22.0);
    const double gate_quarter = valve_loss_coefficient(ValveKind::gate, 0.25, gate) / gate;
    CHECK(gate_quarter > 70.0);
    CHECK(gate_quarter < 120.0);
    const double globe = default_valve_loss(ValveKind::globe).value;
    const double globe_quarter = valve_loss_coefficient(ValveKind::globe, 0.25, globe) / globe;
    CHECK(globe_quarter > 6.0);
    CHECK(globe_quarter < 24.0);
    // A gate leaves free the lens outside a circle lowered over the bore: Weisbach's own theory, K = (1/(Cc a) - 1)^2 with his contraction
    // Cc = 0.63 + 0.37 a^3, must give the table within a factor of two.
    for (const double lift : {0.25, 0.375, 0.5, 0.625}) {
        const double half = std::acos(lift);  // half angle of the lens that still covers the bore
        const double covered = 2.0 / std::numbers::pi * (half - lift * std::sqrt(1.0 - lift * lift));
        const double a = 1.0 - covered;
        const double K = std::pow(1.0 / ((0.63 + 0.37 * a * a * a) * a) - 1.0, 2.0);
        const double ratio = valve_loss_coefficient(ValveKind::gate, lift, 0.0) / K;
        CAPTURE(lift);
        CHECK(ratio > 0.5);
        CHECK(ratio < 2.0);
    }
    // The tables' own points (Weisbach 1855; Lapple 1949; both from memory).
    CHECK(valve_loss_coefficient(ValveKind::butterfly, 1.0 - 40.0 / 90.0, 0.0) == ebb::test::near(10.8));
    CHECK(valve_loss_coefficient(ValveKind::ball, 1.0 - 40.0 / 82.0, 0.0) == ebb::test::near(17.3));
    CHECK(valve_loss_coefficient(ValveKind::globe, 0.5, 9.0) == ebb::test::near(36.0));
    CHECK(valve_loss_coefficient(ValveKind::diaphragm, 0.25, 2.3) == ebb::test::near(21.0));
}

TEST_CASE("throttled losses at every point of the published tables") {
    // Weisbach's experiments as the handbooks repeat them: gate by eighths of its lift, cock and disc by every five degrees from open.
    const std::array<double, 7> gate{97.8, 17.0, 5.52, 2.06, 0.81, 0.26, 0.07};
    const std::array<double, 13> cock{0.05, 0.29, 0.75, 1.56, 3.10, 5.47, 9.68, 17.3, 31.2, 52.6, 106.0, 206.0, 486.0};
    const std::array<double, 14> disc{0.24, 0.52, 0.90, 1.54, 2.51, 3.91, 6.22, 10.8, 18.7, 32.6, 58.8, 118.0, 256.0, 751.0};
    const auto is = [](ValveKind kind, double opening, double open_loss, double loss) {
        CAPTURE(opening);
        CHECK(relative(valve_loss_coefficient(kind, opening, open_loss), loss) < 1e-12);
    };
    for (std::size_t i = 0; i < gate.size(); ++i) is(ValveKind::gate, static_cast<double>(i + 1) / 8.0, 0.0, gate[i]);
    for (std::size_t i = 0; i < cock.size(); ++i)
        for (const ValveKind kind : {ValveKind::ball, ValveKind::plug}) is(kind, 1.0 - 5.0 * static_cast<double>(i + 1) / 82.0, 0.0, cock[i]);
    for (std::size_t i = 0; i < disc.size(); ++i) is(ValveKind::butterfly, 1.0 - 5.0 * static_cast<double>(i + 1) / 90.0, 0.0, disc[i]);
    // Lapple: 9.0, 13, 36, 112 of the globe and 2.3, 2.6, 4.3, 21 of the diaphragm at full, three quarters, half and a quarter.
    const std::array<double, 3> globe{112.0, 36.0, 13.0}, diaphragm{21.0, 4.3, 2.6};
    for (std::size_t i = 0; i < globe.size(); ++i) {
        const double opening = 0.25 * static_cast<double>(i + 1);
        for (const ValveKind kind : {ValveKind::globe, ValveKind::angle, ValveKind::needle}) is(kind, opening, 9.0, globe[i]);
        is(ValveKind::diaphragm, opening, 2.3, diaphragm[i]);
    }
    // Above the least opening ln(1 + extra) is what goes with ln x: no further from either neighbour than they are apart.
    const double between = valve_loss_coefficient(ValveKind::gate, std::sqrt(0.25 * 0.375), 0.0);
    CHECK(std::log1p(between) == ebb::test::near(0.5 * (std::log1p(17.0) + std::log1p(5.52))).epsilon(0.02));
    CHECK(valve_is_one_way(ValveKind::check));
    CHECK(valve_is_one_way(ValveKind::foot));
    CHECK_FALSE(valve_is_one_way(ValveKind::gate));
}
