// Where an answer stands in a block of many: at its own row, and nowhere else.

#include "solver/survey/row.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "tests/settle/by_hand.h"

using namespace ebb;

namespace {

/// A pump into a tank from which another, that stands higher in it, takes what comes; what is wanted of the tank is met only while it runs.
layout::Layout farm() {
    layout::Layout layout;
    layout.ponds.resize(1);
    layout.ponds[0].id = "POND";
    layout.ponds[0].level_m = -1.0;
    layout.vessels = {test::prism("IDLE", 0.0, 1.0, 1.0, 0.2), test::prism("TANK", 0.0, 1.0, 2.0, 0.5)};
    test::add_steady_pump(layout, "P", "POND", 1e-3);
    test::add_steady_pump(layout, "Q", "TANK", 2e-3, 0.5);
    layout.pipes = {test::pipe("UP", "P", "TANK", 3.0, 0.05), test::pipe("AWAY", "Q", "POND", 3.0, 0.05)};
    layout.pipes[0].to.height_m = 0.9;
    layout.vessels[0].inflow_m3_s = 1e-4;
    layout.vessels[1].turnover_s = 2000.0;
    layout.vessels[1].inflow_m3_s = 5e-4;
    layout::Arrangement on, off;
    on.name = "on";
    off.name = "off";
    layout::Setting stop;
    stop.act = layout::Act::stop;
    stop.about_id = "P";
    off.settings = {stop};
    layout.arrangements = {on, off};
    return layout;
}

bool same(const std::vector<double>& a, const std::vector<double>& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(), [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
}

}  // namespace

TEST_CASE("an answer is written into its own row of a block, and no other row is touched") {
    layout::Layout layout = farm();
    for (const auto& problem : layout::validate(layout)) FAIL(problem.says);
    settle::Options options;
    options.bands = options.ledgers = false;
    settle::Farm solves(layout, options);
    const settle::Answer on = solves.solve(0), off = solves.solve(1);
    REQUIRE(on.targets.size() == 3);
    survey::Block block;
    survey::resize(layout, on.targets.size(), 5, block);
    for (const std::size_t row : {4U, 1U, 3U, 0U, 2U}) survey::write_row(layout, row % 2 == 0 ? on : off, row, block);
    for (std::size_t row = 0; row < block.rows; ++row) {
        const settle::Answer& answer = row % 2 == 0 ? on : off;
        survey::Block alone;
        survey::resize(layout, on.targets.size(), 1, alone);
        survey::write_row(layout, answer, 0, alone);
        const survey::Block part = survey::part_of(block, row, row + 1);
        CAPTURE(row);
        CHECK(part.state == alone.state);
        CHECK(part.alarms == alone.alarms);
        CHECK(part.target_state == alone.target_state);
        CHECK(same(part.target_got, alone.target_got));
        CHECK(same(part.depth_m, alone.depth_m));
        CHECK(same(part.inflow_m3_s, alone.inflow_m3_s));
        CHECK(same(part.pump_power_w, alone.pump_power_w));
        CHECK(same(part.pump_flow_m3_s, alone.pump_flow_m3_s));
        for (std::size_t t = 0; t < answer.targets.size(); ++t)
            CHECK((block.target_state[row * block.targets + t] == survey::TargetState::met) == answer.targets[t].met);
        CHECK(block.depth_m[row * block.vessels + 1] == answer.vessels[1].depth_m);
        CHECK(block.pump_flow_m3_s[row * block.pumps] == answer.pumps[0].flow_m3_s);
    }
    CHECK(block.target_state[0 * 3 + 1] == survey::TargetState::met);
    CHECK(block.target_state[1 * 3 + 1] != survey::TargetState::met);
}
