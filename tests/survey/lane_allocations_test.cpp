// Lanes allocate nothing once they are made: every operator new of the program is counted, and there must be none while lanes are loaded, begun and
// advanced, cold and warm, at given levels and over a step.

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/survey/lane_solver.h"
#include "tests/counted_allocations.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;

/// A sump, a pump, a tee with a branch to each of two tanks, standpipes and a vented collector home.
layout::Layout farm() {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 2.0, 0.7, layout::VesselKind::sump), test::prism("A", 0.4, 1.0, 1.0, 0.6),
                      test::prism("B", 0.4, 1.0, 1.0, 0.6)};
    layout::Tee header, collector;
    header.id = "H";
    header.elevation_m = 0.2;
    collector.id = "C";
    collector.elevation_m = 0.1;
    collector.vented = true;
    layout.tees = {header, collector};
    test::add_steady_pump(layout, "P", "SUMP", 2.5e-3, 0.1);
    layout.pump_models[0].curve =
        physics::PumpCurve(std::vector<physics::PumpPoint>{{.flow_m3_s = 0.0, .head_m = 5.0}, {.flow_m3_s = 2.5e-3, .head_m = 0.0}});
    test::add_standpipe(layout, "SA", "A", 0.05, 0.6);
    test::add_standpipe(layout, "SB", "B", 0.05, 0.6);
    layout.pipes = {test::pipe("PH", "P", "H", 2.0, 0.04),   test::pipe("HA", "H", "A", 2.0, 0.03),   test::pipe("HB", "H", "B", 4.0, 0.03),
                    test::drain("DA", "SA", "C", 2.0, 0.05), test::drain("DB", "SB", "C", 2.0, 0.05), test::drain("DC", "C", "SUMP", 2.0, 0.075)};
    layout.pipes[1].to.height_m = 0.9;
    layout.pipes[2].to.height_m = 0.9;
    layout.pipes[5].to.height_m = 0.9;
    return layout;
}

}  // namespace

TEST_CASE("the counter counts") {
    const long before = allocations;
    const auto* const text = new std::string(100, 'x');
    delete text;
    CHECK(allocations - before == 2);
}

TEST_CASE("lanes allocate nothing once they are made") {
    layout::Layout layout = farm();
    REQUIRE(layout::validate(layout).empty());
    const network::Network net = network::compile(layout);
    const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
    const std::vector<double> levels{-0.3, 1.02, 1.03}, volumes{1.4, 0.62, 0.63};
    survey::LaneSolver lanes(net);
    survey::LaneBits arrived = 0;
    int advances = 0;
    const long before = allocations;
    for (const bool warm : {false, true}) {
        for (int lane = 0; lane < survey::kLanes; ++lane) {
            lanes.load(lane, settings);
            lanes.put_levels(lane, levels);
            if (lane % 2 == 0)
                lanes.give_levels(lane);
            else
                lanes.set_step(lane, 60.0, volumes);
            lanes.begin(lane, warm);
        }
        arrived = 0;
        for (; lanes.active() != 0; ++advances) arrived = static_cast<survey::LaneBits>(arrived | lanes.advance().arrived);
    }
    CHECK(allocations - before == 0);
    CHECK(arrived == survey::kAllLanes);
    CHECK(advances > 4);
}
