#pragma once
// A small farm with one of most things, for tests of the network solve by itself.

#include "solver/layout/validate.h"
#include "tests/settle/by_hand.h"

namespace ebb::test {

/// A sump, a pump, a header with a branch to each of two tanks, standpipes and a vented collector home.
inline layout::Layout small_farm() {
    layout::Layout layout;
    layout.vessels = {prism("SUMP", -1.0, 1.0, 2.0, 0.7, layout::VesselKind::sump), prism("A", 0.4, 1.0, 1.0, 0.6), prism("B", 0.4, 1.0, 1.0, 0.6)};
    layout::Tee header, collector;
    header.id = "H";
    header.elevation_m = 0.2;
    header.loss = layout::TeeLoss::header;
    header.branch_id = "HA";
    collector.id = "C";
    collector.elevation_m = 0.1;
    collector.vented = true;
    layout.tees = {header, collector};
    add_steady_pump(layout, "P", "SUMP", 2.5e-3, 0.1);
    layout.pump_models[0].curve =
        physics::PumpCurve(std::vector<physics::PumpPoint>{{.flow_m3_s = 0.0, .head_m = 5.0}, {.flow_m3_s = 2.5e-3, .head_m = 0.0}});
    add_standpipe(layout, "SA", "A", 0.05, 0.6);
    add_standpipe(layout, "SB", "B", 0.05, 0.6);
    layout.pipes = {pipe("PH", "P", "H", 2.0, 0.04),   pipe("HA", "H", "A", 2.0, 0.03),   pipe("HB", "H", "B", 4.0, 0.03),
                    drain("DA", "SA", "C", 2.0, 0.05), drain("DB", "SB", "C", 2.0, 0.05), drain("DC", "C", "SUMP", 2.0, 0.075)};
    layout.pipes[1].to.height_m = 0.9;
    layout.pipes[2].to.height_m = 0.9;
    layout.pipes[5].to.height_m = 0.9;
    return layout;
}

}  // namespace ebb::test
