// A program on the solver alone: no layout file. A pump lifts water from a sump to a tee, which shares it between a tank and a bed; both
// overflow and drain home. The program shuts the tank's valve step by step and prints what each then gets: less for the tank, more for the
// bed, and a pump that moves back along its curve.
//
// The four steps are those of every program on this library:
//   1. build a layout::Layout: plain structs, SI units, things named by id, as in a layout file;
//   2. layout::validate(): resolves the names, and says everything that is wrong at once;
//   3. settle::Farm: the workspace, made once for the layout;
//   4. Farm::solve() with the conditions of the moment, as often as you like.
#include <array>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/layout/validate.h"
#include "solver/settle/farm.h"

using namespace ebb;

namespace {

constexpr double kLitresPerMinute = 60000.0;  // of one m3/s

struct Heights {
    double floor_m, rim_m;
};

/// A vessel with straight walls. Its volume table ends at the rim.
layout::Vessel vessel(const char* id, layout::VesselKind kind, Heights heights, double plan_area_m2) {
    layout::Vessel made;
    made.id = id;
    made.kind = kind;
    made.floor_m = heights.floor_m;
    made.rim_m = heights.rim_m;
    made.plan_area_m2 = plan_area_m2;
    made.volume = layout::prism_volume(plan_area_m2, heights.rim_m - heights.floor_m);
    return made;
}

/// A pump of four points: flow, head, electrical power.
layout::PumpModel pump_model() {
    constexpr double kPerHour = 1.0 / 3600.0;
    const std::array<physics::PumpPoint, 4> points = {{
        {.flow_m3_s = 0.0, .head_m = 3.4, .power_w = 28.0},
        {.flow_m3_s = 1.5 * kPerHour, .head_m = 3.0, .power_w = 36.0},
        {.flow_m3_s = 3.0 * kPerHour, .head_m = 1.9, .power_w = 43.0},
        {.flow_m3_s = 4.5 * kPerHour, .head_m = 0.2, .power_w = 45.0},
    }};
    layout::PumpModel model;
    model.name = "small";
    model.curve = physics::PumpCurve(points);
    return model;
}

/// A pipe of smooth plastic between two things. `to_height_m` counts only where it ends at a vessel.
layout::Pipe pipe(const char* id, const char* from, const char* to, double to_height_m) {
    layout::Pipe made;
    made.id = id;
    made.from.id = from;
    made.to.id = to;
    made.to.height_m = to_height_m;
    made.roughness_m = 1.5e-6;
    return made;
}

/// An overflow in `in`, and the drain that brings its water to the sump.
void add_overflow(layout::Layout& farm, const char* in, double lip_m) {
    layout::Standpipe standpipe;
    standpipe.id = std::string("overflow-") + in;
    standpipe.in_id = in;
    standpipe.bore_m = 0.057;
    standpipe.inserts = {{.name = "only", .lip_m = lip_m}};
    layout::Pipe drain = pipe("", standpipe.id.c_str(), "S1", 0.80);
    drain.id = std::string("home-") + in;
    drain.gravity = true;  // may run part full
    drain.length_m = 2.5;
    drain.bore_m = 0.057;
    drain.manning_n = 0.010;
    farm.standpipes.push_back(standpipe);
    farm.pipes.push_back(drain);
}

std::vector<layout::Vessel> vessels() {
    layout::Vessel tank = vessel("T1", layout::VesselKind::tank, {0.2, 1.2}, std::numbers::pi / 4.0 * 1.4 * 1.4);
    tank.start_depth_m = 0.85;
    layout::Vessel bed = vessel("B1", layout::VesselKind::bed, {0.6, 0.95}, 2.0);
    bed.void_fraction = 0.42;
    bed.media_depth_m = 0.30;
    bed.volume = layout::prism_volume(bed.plan_area_m2, bed.rim_m - bed.floor_m, bed.media_depth_m, bed.void_fraction);
    bed.start_depth_m = 0.0;
    layout::Vessel sump = vessel("S1", layout::VesselKind::sump, {-0.8, 0.05}, 1.2);
    sump.start_depth_m = 0.62;
    return {tank, bed, sump};
}

/// From the pump to the tee, and on to the tank and to the bed; the pipe to the tank has a gate valve.
void add_supply_pipes(layout::Layout& farm) {
    layout::Tee tee;
    tee.id = "J1";
    tee.elevation_m = 0.3;
    farm.tees = {tee};

    layout::Pipe rise = pipe("rise", "P1", "J1", layout::kNotSaid);
    rise.length_m = 2.2;
    rise.bore_m = 0.0362;
    layout::Pipe feed_tank = pipe("feed-T1", "J1", "T1", 0.95);
    feed_tank.length_m = 2.5;
    feed_tank.bore_m = 0.0272;
    feed_tank.valves = {0};  // the first of farm.valves stands in this pipe
    layout::Pipe feed_bed = pipe("feed-B1", "J1", "B1", 0.32);
    feed_bed.length_m = 3.0;
    feed_bed.bore_m = 0.0170;
    farm.pipes = {rise, feed_tank, feed_bed};

    layout::Valve valve;
    valve.id = "VT";
    valve.kind = physics::ValveKind::gate;
    valve.loss = physics::default_valve_loss(valve.kind).value;
    farm.valves = {valve};
}

layout::Layout small_farm() {
    layout::Layout farm;
    farm.name = "one tank, one bed";
    farm.vessels = vessels();

    farm.pump_models = {pump_model()};
    layout::Pump pump;
    pump.id = "P1";
    pump.model_name = "small";
    pump.in_id = "S1";
    pump.intake_height_m = 0.06;
    pump.check_valve = true;
    farm.pumps = {pump};

    add_supply_pipes(farm);
    add_overflow(farm, "T1", 0.85);
    add_overflow(farm, "B1", 0.26);
    return farm;
}

}  // namespace

int main() {
    layout::Layout farm_layout = small_farm();
    const std::vector<layout::Problem> problems = layout::validate(farm_layout);
    for (const layout::Problem& problem : problems) {
        std::printf("%s: %s; %s\n", problem.about.c_str(), problem.says.c_str(), problem.advice.c_str());
    }
    if (!problems.empty()) {
        return 1;
    }

    settle::Farm farm(farm_layout);
    layout::Conditions conditions = layout::conditions_of(farm_layout, 0);  // of "as drawn": all open, the pump at full speed

    std::printf("VT open   tank l/min   bed l/min   pump head m   power W\n");
    double earlier_tank_m3_s = 1.0, earlier_bed_m3_s = 0.0;
    for (const int percent : {100, 80, 60, 40, 30, 20, 10, 5, 0}) {
        conditions.valve_opening.at(0) = percent / 100.0;
        const settle::Answer answer = farm.solve(conditions, /*at_start_levels=*/false);
        if (!settle::solved(answer.state)) {
            std::printf("%3d %%: %s: %s\n", percent, settle::name_of(answer.state), answer.why.c_str());
            return 1;
        }
        // Entries of an answer stand in the order of the layout.
        const double tank_m3_s = answer.vessels.at(0).inflow_m3_s;
        const double bed_m3_s = answer.vessels.at(1).inflow_m3_s;
        const settle::PumpAnswer& pump = answer.pumps.at(0);
        std::printf("%5d %%   %10.1f   %9.1f   %11.2f   %7.1f\n", percent, tank_m3_s * kLitresPerMinute, bed_m3_s * kLitresPerMinute, pump.head_m,
                    pump.power_w);

        // What must hold: what the pump moves arrives, and a valve turned down takes from its own pipe and gives to the other.
        const bool arrives = std::abs(tank_m3_s + bed_m3_s - pump.flow_m3_s) < 1e-9;
        if (!arrives || tank_m3_s >= earlier_tank_m3_s || bed_m3_s <= earlier_bed_m3_s) {
            std::printf("this cannot be right\n");
            return 1;
        }
        earlier_tank_m3_s = tank_m3_s;
        earlier_bed_m3_s = bed_m3_s;
    }
    return earlier_tank_m3_s == 0.0 ? 0 : 1;  // a shut valve lets exactly nothing through
}
