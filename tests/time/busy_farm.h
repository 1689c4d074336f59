#pragma once
// A farm with one of everything that moves water in time: a sump with two pumps, two timed beds that drain by a hole, a siphon bed, a raft that
// overflows home, a float valve on the mains, a small cup that runs over, plants that take up, a draw each day. Every number is invented.

#include "tests/time/in_time.h"

namespace ebb::test {

inline void add_pump(layout::Layout& layout, const std::string& id, const std::string& in, double flow_m3_s, double head_m, double intake_m) {
    layout::PumpModel model;
    model.name = "of " + id;
    model.curve = physics::PumpCurve(std::vector<physics::PumpPoint>{
        {.flow_m3_s = 0.0, .head_m = head_m}, {.flow_m3_s = 0.5 * flow_m3_s, .head_m = 0.8 * head_m}, {.flow_m3_s = flow_m3_s, .head_m = 0.0}});
    layout.pump_models.push_back(model);
    layout::Pump pump;
    pump.id = id;
    pump.model_name = model.name;
    pump.in_id = in;
    pump.intake_height_m = intake_m;
    pump.check_valve = true;
    layout.pumps.push_back(pump);
}

inline void add_siphon(layout::Layout& layout, const std::string& id, const std::string& in, double bore_m, double crest_m, double breaks_at_m,
                       double starts_with_m3_s) {
    layout::Siphon siphon;
    siphon.id = id;
    siphon.in_id = in;
    siphon.bore_m = bore_m;
    siphon.crest_m = crest_m;
    siphon.breaks_at_m = breaks_at_m;
    siphon.starts_with_m3_s = starts_with_m3_s;
    layout.siphons.push_back(siphon);
}

inline void add_float_valve(layout::Layout& layout, const std::string& id, const std::string& supply, const std::string& into, double opens_at_m,
                            double closes_at_m) {
    layout.supplies.push_back({.id = supply, .place = {}, .head_m = 25.0, .elevation_m = 0.0});
    layout::FloatValve valve;
    valve.id = id;
    valve.into_id = into;
    valve.opens_at_m = opens_at_m;
    valve.closes_at_m = closes_at_m;
    valve.rated_flow_m3_s = 1.5e-4;
    valve.rated_head_m = 20.0;
    layout.float_valves.push_back(valve);
    layout.pipes.push_back(pipe("of " + id, supply, id, 8.0, 0.02));
}

/// The elements; `top_up`: with the float valve.
inline layout::Layout busy_farm(bool top_up = true) {
    using layout::VesselKind;
    layout::Layout farm;
    farm.vessels = {prism("SUMP", -0.9, 1.0, 2.5, 0.70, VesselKind::sump),  prism("B1", 0.5, 0.35, 0.9, 0.0, VesselKind::bed),
                    prism("B2", 0.5, 0.35, 0.7, 0.0, VesselKind::bed),      prism("B3", 0.6, 0.35, 0.5, 0.1, VesselKind::bed),
                    prism("RAFT", 0.2, 0.4, 4.0, 0.25, VesselKind::trough), prism("CUP", 0.9, 0.1, 0.2, 0.02)};
    farm.vessels[0].least_depth_m = 0.15;
    add_pump(farm, "P", "SUMP", 2.4e-3, 5.0, 0.08);
    add_pump(farm, "Q", "SUMP", 2e-4, 4.0, 0.10);
    farm.tees.resize(1);
    farm.tees[0].id = "J";
    farm.tees[0].elevation_m = 0.4;
    farm.pipes = {pipe("RISE", "P", "J", 2.0, 0.05), pipe("FB1", "J", "B1", 2.0, 0.02),   pipe("FB2", "J", "B2", 3.0, 0.02),
                  pipe("FB3", "J", "B3", 4.0, 0.02), pipe("FR", "J", "RAFT", 2.0, 0.025), pipe("FC", "Q", "CUP", 2.5, 0.016)};
    for (const std::size_t feed : {1U, 2U, 3U}) farm.pipes[feed].to.height_m = 0.34;
    farm.pipes[4].to.height_m = 0.38;
    farm.pipes[5].to.height_m = 0.12;
    add_valve(farm, "FB1", "V1");
    add_valve(farm, "FB2", "V2");
    add_valve(farm, "FB3", "V3");
    add_standpipe(farm, "S1", "B1", 0.05, 0.25);
    add_standpipe(farm, "S2", "B2", 0.05, 0.22);
    add_standpipe(farm, "SR", "RAFT", 0.05, 0.25);
    for (const std::size_t bed : {0U, 1U})
        farm.standpipes[bed].holes.push_back({.height_m = 0.0, .diameter_m = 0.012, .count = 1, .discharge_coefficient = 0.61, .place = {}});
    add_siphon(farm, "SI", "B3", 0.03, 0.22, 0.04, 8e-5);
    farm.pipes.push_back(drain("H1", "S1", "SUMP", 1.5, 0.07));
    farm.pipes.push_back(drain("H2", "S2", "SUMP", 2.0, 0.07));
    farm.pipes.push_back(pipe("H3", "SI", "SUMP", 2.0, 0.035));
    farm.pipes.push_back(drain("HR", "SR", "SUMP", 1.0, 0.07));
    for (std::size_t home = farm.pipes.size() - 4; home < farm.pipes.size(); ++home) farm.pipes[home].to.height_m = 0.95;
    if (top_up) add_float_valve(farm, "FV", "MAINS", "SUMP", 0.45, 0.50);
    return farm;
}

/// Its day. The cup runs over while its pump runs: water that is lost and that the mains bring back.
inline layout::Routine busy_day() {
    layout::Routine day;
    day.timers = {timer("V1", 5400.0, 1800.0), timer("V2", 5400.0, 1500.0, 1800.0), timer("Q", 43200.0, 600.0, 7200.0)};
    day.level_switches = {level_switch("SUMP", "P", 0.16, 0.28)};
    day.uptakes = {uptake("RAFT", 2e-7), uptake("B3", 1e-7)};
    day.draws = {draw("RAFT", "", 0.03, 28800.0, 300.0, kDay_s), draw("SUMP", "RAFT", 0.02, 36000.0, 200.0, kDay_s)};
    return day;
}

}  // namespace ebb::test
