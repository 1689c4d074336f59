// The farm that tests and benchmarks of large farms stand on is what its head says: it settles without spilling, whatever bed valves are open.

#include <doctest/doctest.h>

#include <random>

#include "netfiles/reader.h"
#include "solver/settle/farm.h"
#include "tests/farm_of_beds.h"

using namespace ebb;

TEST_CASE("a farm of beds settles and spills nothing with any of its bed valves open") {
    constexpr int kBeds = 20, kDrawn = 24;
    const netfiles::ReadResult read = netfiles::read_layout_text(tests::farm_of_beds(kBeds), "farm of beds");
    REQUIRE(read.good());
    CHECK(read.layout.pipes.size() == 115);
    settle::Farm farm(read.layout);
    const layout::Conditions all_open = layout::conditions_of(read.layout, 0);
    std::mt19937 random(20);
    for (int combination = 0; combination < kDrawn; ++combination) {
        const auto open = combination == 0 ? 0U : combination == 1 ? ~0U : static_cast<unsigned>(random());
        layout::Conditions conditions = all_open;
        int beds = 0;
        for (std::size_t v = 0; v < read.layout.valves.size(); ++v)
            if (read.layout.valves[v].id.starts_with("VB") && (open >> beds++ & 1U) == 0U) conditions.valve_opening[v] = 0.0;
        REQUIRE(beds == kBeds);
        const settle::Answer answer = farm.solve(conditions, false);
        CAPTURE(open);
        CHECK(answer.state == settle::State::settled);
        for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
            CAPTURE(read.layout.vessels[v].id);
            CHECK(answer.vessels[v].spill_m3_s == 0.0);
            CHECK(answer.vessels[v].spilled_m3 == 0.0);
            CHECK(answer.vessels[v].freeboard_m > 0.05);
        }
    }
}
