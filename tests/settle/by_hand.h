#pragma once
// Layouts made by hand, small enough to be solved on paper.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/layout/validate.h"
#include "solver/settle/farm.h"

namespace ebb::test {

inline layout::Vessel prism(const std::string& id, double floor_m, double height_m, double area_m2, double start_depth_m,
                            layout::VesselKind kind = layout::VesselKind::tank) {
    layout::Vessel vessel;
    vessel.id = id;
    vessel.kind = kind;
    vessel.floor_m = floor_m;
    vessel.rim_m = floor_m + height_m;
    vessel.plan_area_m2 = area_m2;
    vessel.start_depth_m = start_depth_m;
    vessel.volume = layout::prism_volume(area_m2, height_m);
    return vessel;
}

inline layout::Pipe pipe(const std::string& id, const std::string& from, const std::string& to, double length_m, double bore_m) {
    layout::Pipe pipe;
    pipe.id = id;
    pipe.from.id = from;
    pipe.to.id = to;
    pipe.length_m = length_m;
    pipe.bore_m = bore_m;
    pipe.roughness_m = 1.5e-6;
    pipe.hazen_williams_c = 150.0;
    pipe.manning_n = 0.010;
    return pipe;
}

/// A pipe whose only loss worth speaking of is `heads` velocity heads: next to no length.
inline layout::Pipe loss_only(const std::string& id, const std::string& from, const std::string& to, double bore_m, double heads) {
    layout::Pipe short_pipe = pipe(id, from, to, 1e-6, bore_m);
    short_pipe.roughness_m = 0.0;
    short_pipe.entry_loss = 0.0;
    short_pipe.exit_loss = 0.0;
    short_pipe.fittings.push_back({.kind = "", .count = 1, .loss = heads});
    return short_pipe;
}

inline layout::Pipe drain(const std::string& id, const std::string& from, const std::string& to, double length_m, double bore_m) {
    layout::Pipe drain = pipe(id, from, to, length_m, bore_m);
    drain.gravity = true;
    return drain;
}

inline layout::Valve& add_valve(layout::Layout& layout, const std::string& pipe_id, const std::string& id,
                                physics::ValveKind kind = physics::ValveKind::ball, double loss = 0.0) {
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].id == pipe_id) {
            layout::Valve valve;
            valve.id = id;
            valve.kind = kind;
            valve.loss = loss;
            valve.pipe = static_cast<std::int32_t>(p);
            layout.pipes[p].valves.push_back(static_cast<std::int32_t>(layout.valves.size()));
            layout.valves.push_back(valve);
        }
    return layout.valves.back();
}

inline constexpr double kSteadyHead_m = 10000.0;

/// A pump that gives nearly the same flow at any head it will meet here: straight from `flow` at no head to nothing at 10 km.
inline void add_steady_pump(layout::Layout& layout, const std::string& id, const std::string& in, double flow_m3_s, double intake_m = 0.0) {
    layout::PumpModel model;
    model.name = "steady " + id;
    model.curve =
        physics::PumpCurve(std::vector<physics::PumpPoint>{{.flow_m3_s = 0.0, .head_m = kSteadyHead_m}, {.flow_m3_s = flow_m3_s, .head_m = 0.0}});
    layout.pump_models.push_back(model);
    layout::Pump pump;
    pump.id = id;
    pump.model_name = model.name;
    pump.in_id = in;
    pump.intake_height_m = intake_m;
    layout.pumps.push_back(pump);
}

inline void add_standpipe(layout::Layout& layout, const std::string& id, const std::string& in, double bore_m, double lip_m) {
    layout::Standpipe standpipe;
    standpipe.id = id;
    standpipe.in_id = in;
    standpipe.bore_m = bore_m;
    layout::Insert insert;
    insert.name = "only";
    insert.lip_m = lip_m;
    standpipe.inserts.push_back(insert);
    layout.standpipes.push_back(standpipe);
}

/// Validates and solves the first arrangement.
inline settle::Answer solve(layout::Layout& layout, bool ledgers = false) {
    const auto problems = layout::validate(layout);
    for (const auto& problem : problems) FAIL_CHECK(problem.says);
    REQUIRE(problems.empty());
    settle::Options options;
    options.ledgers = ledgers;
    settle::Farm farm(layout, options);
    return farm.solve(0);
}

}  // namespace ebb::test
