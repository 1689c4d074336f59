// What validate() refuses of a layout that is made in C++, where no reader of files has looked first: one sound farm, bent in one place at a time.
// The code and the thing told of were written down from what was bent.
#include <doctest/doctest.h>

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/layout/validate.h"

using namespace ebb::layout;

namespace {

Vessel vessel(std::string id, VesselKind kind, double floor_m) {
    Vessel made;
    made.id = std::move(id);
    made.kind = kind;
    made.floor_m = floor_m;
    made.rim_m = floor_m + 1.0;
    made.start_depth_m = kind == VesselKind::bed ? kNotSaid : 0.5;
    made.void_fraction = kind == VesselKind::bed ? 0.4 : kNotSaid;
    made.plan_area_m2 = 2.0;
    made.volume = prism_volume(2.0, 1.0);
    return made;
}

Pipe pipe(std::string id, std::string from, std::string to, double to_height_m = kNotSaid) {
    Pipe made;
    made.id = std::move(id);
    made.from.id = std::move(from);
    made.to.id = std::move(to);
    made.to.height_m = to_height_m;
    made.length_m = 3.0;
    made.bore_m = 0.03;
    made.roughness_m = 1.5e-6;
    return made;
}

/// A pump lifts from a sump through a filter to a tee, which feeds a tank, a bed and a nozzle; standpipe and siphon lead home; a supply tops up.
Layout farm() {
    Layout layout;
    layout.name = "bent";
    layout.vessels = {vessel("TANK", VesselKind::tank, 1.0), vessel("SUMP", VesselKind::sump, 0.0), vessel("BED", VesselKind::bed, 1.2)};
    PumpModel model;
    model.name = "M";
    model.curve = ebb::physics::PumpCurve(std::vector<ebb::physics::PumpPoint>{
        {.flow_m3_s = 0.0, .head_m = 6.0}, {.flow_m3_s = 1e-3, .head_m = 4.0}, {.flow_m3_s = 2e-3, .head_m = 1.0}});
    layout.pump_models = {model};
    Pump pump;
    pump.id = "PUMP", pump.model_name = "M", pump.in_id = "SUMP", pump.intake_height_m = 0.1;
    layout.pumps = {pump};
    Filter filter;
    filter.id = "FILTER";
    filter.clean = {{1e-3, 0.2}, {2e-3, 0.7}};
    layout.filters = {filter};
    Tee tee;
    tee.id = "TEE", tee.elevation_m = 0.5;
    layout.tees = {tee};
    Nozzle nozzle;
    nozzle.id = "NOZZLE", nozzle.into_id = "TANK", nozzle.height_m = 1.2, nozzle.holes = 4, nozzle.hole_diameter_m = 0.003;
    layout.nozzles = {nozzle};
    Supply supply;
    supply.id = "MAINS", supply.head_m = 20.0, supply.elevation_m = 0.0;
    layout.supplies = {supply};
    FloatValve top_up;
    top_up.id = "TOP-UP", top_up.into_id = "SUMP", top_up.opens_at_m = 0.3, top_up.closes_at_m = 0.4, top_up.rated_flow_m3_s = 1e-4;
    top_up.rated_head_m = 10.0;
    layout.float_valves = {top_up};
    Standpipe standpipe;
    standpipe.id = "STANDPIPE", standpipe.in_id = "TANK", standpipe.bore_m = 0.05, standpipe.inserts = {{"tall", 0.9}};
    layout.standpipes = {standpipe};
    Siphon siphon;
    siphon.id = "SIPHON", siphon.in_id = "BED", siphon.bore_m = 0.027, siphon.crest_m = 0.3, siphon.breaks_at_m = 0.05;
    siphon.starts_with_m3_s = 5e-5;
    layout.siphons = {siphon};
    layout.pipes = {pipe("RISE", "PUMP", "FILTER"),          pipe("ON", "FILTER", "TEE"),        pipe("TO-TANK", "TEE", "TANK", 0.95),
                    pipe("TO-BED", "TEE", "BED", 0.4),       pipe("TO-NOZZLE", "TEE", "NOZZLE"), pipe("HOME", "STANDPIPE", "SUMP", 0.6),
                    pipe("BED-HOME", "SIPHON", "SUMP", 0.6), pipe("FRESH", "MAINS", "TOP-UP")};
    layout.pipes[5].gravity = true;
    layout.pipes[5].manning_n = 0.011;
    Valve valve;
    valve.id = "VALVE", valve.loss = 0.1;
    layout.valves = {valve};
    layout.pipes[3].valves = {0};
    Arrangement both;
    both.name = "both";
    layout.arrangements = {both};
    Routine day;
    day.name = "day", day.arrangement_name = "both";
    layout.routines = {day};
    return layout;
}

struct Bent {
    const char* code;
    const char* about;
    std::function<void(Layout&)> bend;
};

Pipe& named(Layout& layout, const char* id) { return *std::ranges::find(layout.pipes, id, &Pipe::id); }

}  // namespace

TEST_CASE("a farm made in C++ is sound, and each thing bent in it is refused by name") {
    Layout sound = farm();
    for (const Problem& problem : validate(sound)) {
        CAPTURE(problem.says);
        CHECK(problem.code == "none");
    }
    const std::vector<Bent> all = {
        // choices and money
        {"out-of-bounds", "both", [](Layout& l) { l.economy.hours = {{.arrangement_name = "both", .hours = -1.0}}; }},
        {"out-of-bounds", "M",
         [](Layout& l) { l.economy.candidates.resize(1), l.economy.candidates[0].model_name = "M", l.economy.candidates[0].most = 0; }},
        {"out-of-bounds", "economy", [](Layout& l) { l.economy.price_per_kwh = -0.1; }},
        {"out-of-bounds", "economy", [](Layout& l) { l.economy.years = 0.0; }},
        {"out-of-bounds", "economy", [](Layout& l) { l.economy.interest = -0.01; }},
        {"out-of-bounds", "TEE", [](Layout& l) { l.tees[0].takes_m3_s = -1e-4; }},
        {"out-of-bounds", "TEE", [](Layout& l) { l.tees[0].least_pressure_m = -1.0; }},
        {"out-of-bounds", "bent", [](Layout& l) { l.hazen.factor = 0.0; }},
        {"out-of-bounds", "bent", [](Layout& l) { l.hazen.flow_power = 1.0; }},
        {"missing", "ON", [](Layout& l) { named(l, "ON").choose = true; }},
        // devices
        {"filter-curve", "FILTER",
         [](Layout& l) {
             l.filters[0].clean = {{1e-3, 0.2}, {1e-3, 0.7}};
         }},
        {"filter-curve", "FILTER",
         [](Layout& l) {
             l.filters[0].dirty = {{1e-3, 0.2}, {2e-3, 0.1}};
         }},
        {"nozzle-rating", "NOZZLE", [](Layout& l) { l.nozzles[0].rated_flow_m3_s = 1e-4; }},
        {"nozzle-rating", "NOZZLE", [](Layout& l) { l.nozzles[0].hole_diameter_m = kNotSaid; }},
        {"missing", "NOZZLE", [](Layout& l) { l.nozzles[0].into_id.clear(); }},
        {"missing", "TOP-UP", [](Layout& l) { l.float_valves[0].into_id.clear(); }},
        {"missing", "SIPHON", [](Layout& l) { l.siphons[0].in_id.clear(); }},
        {"siphon-order", "SIPHON", [](Layout& l) { l.siphons[0].breaks_at_m = 0.3; }},
        {"siphon-outlets", "SIPHON", [](Layout& l) { l.pipes.push_back(pipe("SECOND", "SIPHON", "SUMP", 0.6)); }},
        {"standpipe-no-insert", "STANDPIPE", [](Layout& l) { l.standpipes[0].inserts.clear(); }},
        {"name-twice", "STANDPIPE",
         [](Layout& l) {
             l.standpipes[0].inserts.push_back({"tall", 0.5});
         }},
        {"missing", "PUMP", [](Layout& l) { l.pumps[0].count = 0; }},
        {"missing", "PUMP", [](Layout& l) { l.pumps[0].wear = 1.0; }},
        {"missing", "PUMP", [](Layout& l) { l.pumps[0].wear = kNotSaid; }},
        {"pump-two-inlets", "PUMP",
         [](Layout& l) {
             l.pumps[0].in_id.clear();
             l.pumps[0].elevation_m = 0.0;
             l.pipes.push_back(pipe("SUCTION", "SUMP", "PUMP"));
             l.pipes.push_back(pipe("SUCTION-TOO", "SUMP", "PUMP"));
         }},
        {"pump-no-inlet", "PUMP",
         [](Layout& l) {
             l.pumps[0].in_id.clear();
             l.pumps[0].elevation_m = 0.0;
         }},
        // pipes
        {"port-below-floor", "TO-TANK", [](Layout& l) { named(l, "TO-TANK").to.height_m = -0.1; }},
        {"air-hole-nowhere", "ON", [](Layout& l) { named(l, "ON").air_hole_m = 0.1; }},
        {"air-hole-low", "TO-TANK", [](Layout& l) { named(l, "TO-TANK").air_hole_m = 0.1; }},
        {"not-positive", "ON", [](Layout& l) { named(l, "ON").length_m = 0.0; }},
        {"not-positive", "ON", [](Layout& l) { named(l, "ON").bore_m = -0.03; }},
        {"roughness-large", "ON", [](Layout& l) { named(l, "ON").roughness_m = 0.004; }},
        {"height-nowhere", "ON", [](Layout& l) { named(l, "ON").to.height_m = 0.4; }},
        // routines
        {"timer-longer-than-period", "day",
         [](Layout& l) { l.routines[0].timers = {{.place = {}, .about_id = "VALVE", .about = {}, .every_s = 60.0, .for_s = 61.0}}; }},
        {"missing", "day", [](Layout& l) { l.routines[0].rotations = {{.place = {}, .valve_ids = {}, .valves = {}, .each_s = 60.0}}; }},
        {"out-of-bounds", "day",
         [](Layout& l) {
             LevelSwitch made;
             made.watches_id = "SUMP", made.about_id = "PUMP", made.below_m = -0.1, made.above_m = 0.3;
             l.routines[0].level_switches = {made};
         }},
        {"draw-to-itself", "day",
         [](Layout& l) {
             Draw made;
             made.from_id = "SUMP", made.into_id = "SUMP", made.volume_m3 = 0.1, made.at_s = 0.0, made.over_s = 60.0;
             l.routines[0].draws = {made};
         }},
        {"draw-longer-than-period", "day",
         [](Layout& l) {
             Draw made;
             made.from_id = "SUMP", made.volume_m3 = 0.1, made.at_s = 0.0, made.over_s = 61.0, made.every_s = 60.0;
             l.routines[0].draws = {made};
         }},
        {"missing", "day",
         [](Layout& l) {
             l.routines[0].changes = {{{}, 60.0, {}}};
         }},
        {"name-twice", "day", [](Layout& l) { l.routines.push_back(l.routines[0]); }},
    };
    for (const Bent& one : all) {
        CAPTURE(one.code);
        CAPTURE(one.about);
        Layout layout = farm();
        one.bend(layout);
        const std::vector<Problem> problems = validate(layout);
        const auto told = std::ranges::find_if(problems, [&](const Problem& p) { return p.code == one.code && p.about == one.about; });
        REQUIRE(told != problems.end());
        CHECK(told->severity == Severity::error);
        CHECK_FALSE(told->says.empty());
        CHECK_FALSE(told->advice.empty());
    }
}
