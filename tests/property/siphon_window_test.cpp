// The window of the siphons of a farm that uses every word of the language. Levels turn in it so evenly that the cubic between two steps is a
// parabola (recorder.cpp): where nothing may be divided by the coefficient that is then 0, this stops (floating_point_traps.cpp).

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <string>

#include "netfiles/reader.h"
#include "solver/time/siphon_window.h"
#include "tests/near.h"

TEST_CASE("a siphon among every word of the language: it starts with what the layout says, and breaks below what gravity can do") {
    const auto read = ebb::netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/tests/netfiles/good/every-word.xml");
    REQUIRE(read.good());
    REQUIRE(read.layout.siphons.size() == 1);
    ebb::time::Simulation simulation(read.layout);
    const auto window = ebb::time::siphon_window(simulation, {.siphon = 0, .arrangement = 0, .table_rows = 0});
    REQUIRE(window.lower == ebb::time::WindowEnd::found);
    REQUIRE(window.upper == ebb::time::WindowEnd::found);
    CHECK(window.starts_from_m3_s == ebb::test::near(3e-3 / 60.0).epsilon(1e-3));  // starts-with="3 l/min"
    CHECK(window.breaks_to_m3_s > window.starts_from_m3_s);
    const double area_m2 = std::numbers::pi / 4.0 * 0.032 * 0.032, rim_above_datum_m = 1.05;
    CHECK(window.breaks_to_m3_s < area_m2 * std::sqrt(2.0 * 9.81 * rim_above_datum_m));
}
