// Faults put into a layout and its conditions. Nothing is taken away, so that every index stays what it was.

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "solver/diagnose/fault.h"
#include "solver/diagnose/places.h"

namespace ebb::diagnose {

namespace {

using layout::Conditions;
using layout::Kind;
using layout::Layout;
using layout::Ref;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kLipAtFloor_m = 0.001;  ///< of a standpipe that is gone: water leaves at the floor
constexpr double kNeverStarts_m3_s = 10.0;
constexpr double kCheckLoss = 2.0;     ///< velocity heads of a swing check that hangs open, in the outlet pipe (common practice)
constexpr double kLeakStub_m = 0.01;   ///< a leak is a hole in the wall: its stub loses nothing
constexpr double kLeakStubBore = 4.0;  ///< bores of the hole

/// Flow and head of every point times a factor; labels stay labels.
layout::PumpModel scaled(const layout::PumpModel& drawn, CurveFactors factors) {
    layout::PumpModel model = drawn;
    model.curve = drawn.curve.scaled(factors.flow, factors.head);
    if (drawn.from_label) {
        model.curve_low = drawn.curve_low.scaled(factors.flow, factors.head);
        model.curve_high = drawn.curve_high.scaled(factors.flow, factors.head);
    }
    return model;
}

void give_curve(Layout& layout, layout::Pump& pump, CurveFactors factors) {
    layout.pump_models.push_back(scaled(layout.pump_models[at(pump.model)], factors));
    pump.model = static_cast<std::int32_t>(layout.pump_models.size()) - 1;
}

void add_loss(layout::Pipe& pipe, double velocity_heads) {
    pipe.fittings.push_back({.kind = "", .count = 1, .loss = velocity_heads / pipe.loss_factor});
}

/// A valve more in a pipe, shut.
void shut(Layout& layout, Conditions& conditions, std::int32_t pipe) {
    layout::Valve valve;
    valve.id = "stuck";
    valve.kind = physics::ValveKind::gate;
    valve.loss = 0.0;
    valve.pipe = pipe;
    layout.pipes[at(pipe)].valves.push_back(static_cast<std::int32_t>(layout.valves.size()));
    layout.valves.push_back(valve);
    conditions.valve_opening.push_back(0.0);
}

/// A pipe of no loss from `from` to a round hole that lets water out into `sump`, at the height of where it comes from.
void add_hole(Layout& layout, const layout::End& from, double elevation_m, double bore_m, std::int32_t sump) {
    const layout::Vessel& into = layout.vessels[at(sump)];
    layout::Nozzle hole;
    hole.id = "leak";
    hole.into_id = into.id;
    hole.into = {Kind::vessel, sump};
    hole.height_m = elevation_m - into.floor_m;
    hole.holes = 1;
    hole.hole_diameter_m = bore_m;
    layout.nozzles.push_back(hole);
    layout::Pipe stub;
    stub.id = "leak-stub";
    stub.from = from;
    stub.to.id = hole.id;
    stub.to.ref = {Kind::nozzle, static_cast<std::int32_t>(layout.nozzles.size()) - 1};
    stub.length_m = kLeakStub_m;
    stub.bore_m = kLeakStubBore * bore_m;
    stub.roughness_m = 0.0;
    stub.hazen_williams_c = 150.0;
    stub.entry_loss = stub.exit_loss = 0.0;
    layout.pipes.push_back(stub);
}

void leak(const Fault& fault, double bore_m, Layout& layout) {
    const std::int32_t sump = missed_in(layout, fault.at);
    if (sump < 0 || leaks_out_of_sump(layout, fault)) return;
    layout::End from;
    from.ref = fault.at;
    if (fault.at.kind == Kind::tee) {
        from.id = layout.tees[at(fault.at.index)].id;
        add_hole(layout, from, layout.tees[at(fault.at.index)].elevation_m, bore_m, sump);
    } else {
        const layout::Vessel& vessel = layout.vessels[at(fault.at.index)];
        from.id = vessel.id;
        from.height_m = 0.0;
        add_hole(layout, from, vessel.floor_m, bore_m, sump);
    }
}

void at_pipe(const Fault& fault, double size, Layout& layout) {
    layout::Pipe& pipe = layout.pipes[at(fault.at.index)];
    switch (fault.kind) {
        case FaultKind::blocked_pipe:
        case FaultKind::blocked_drain: add_loss(pipe, blockage_loss(size)); break;
        case FaultKind::trapped_air: pipe.trapped_air_m += size; break;
        case FaultKind::outfall_low: pipe.to.height_m = pipe.to.height() - size; break;
        case FaultKind::swapped_ends: std::swap(pipe.to, layout.pipes[at(fault.other.index)].to); break;
        default: assert(false);
    }
}

void at_overflow(const Fault& fault, double size, Layout& layout, Conditions& conditions) {
    layout::Standpipe& standpipe = layout.standpipes[at(fault.at.index)];
    switch (fault.kind) {
        case FaultKind::blocked_standpipe: standpipe.bore_m *= std::sqrt(size); break;
        case FaultKind::blocked_hole:
            for (layout::DrainHole& hole : standpipe.holes) hole.diameter_m *= std::sqrt(size);
            break;
        case FaultKind::wrong_insert: conditions.insert[at(fault.at.index)] = fault.which; break;
        case FaultKind::standpipe_out:
            for (layout::Insert& insert : standpipe.inserts) insert.lip_m = std::min(insert.lip_m, kLipAtFloor_m);
            break;
        case FaultKind::loose_standpipe: standpipe.holes.push_back({.height_m = 0.0, .diameter_m = size, .count = 1}); break;
        case FaultKind::swapped_inserts: std::swap(conditions.insert[at(fault.at.index)], conditions.insert[at(fault.other.index)]); break;
        default: assert(false);
    }
}

void at_siphon(const Fault& fault, double size, Layout& layout) {
    layout::Siphon& siphon = layout.siphons[at(fault.at.index)];
    switch (fault.kind) {
        case FaultKind::siphon_does_not_start: siphon.starts_with_m3_s *= size; break;
        case FaultKind::siphon_does_not_stop:
            // it sucks air at the notch and carries what comes: as a lip at that height would
            siphon.crest_m = std::max(siphon.breaks_at_m, kLipAtFloor_m);
            siphon.breaks_at_m = 0.0;
            siphon.starts_with_m3_s = kNeverStarts_m3_s;
            break;
        case FaultKind::blocked_siphon: siphon.bore_m *= std::sqrt(size); break;
        default: assert(false);
    }
}

void at_pump(const Fault& fault, double size, Layout& layout, Conditions& conditions) {
    const std::size_t index = at(fault.at.index);
    layout::Pump& pump = layout.pumps[index];
    double& speed = conditions.pump_speed[index];
    const std::int32_t outlet = pump_outlet(layout, index);
    switch (fault.kind) {
        case FaultKind::blocked_screen: add_loss(layout.pipes[at(outlet)], blockage_loss(size)); break;
        case FaultKind::worn_pump: pump.wear = 1.0 - (1.0 - pump.wear) * (1.0 - size); break;
        case FaultKind::slow_pump: speed *= size; break;
        case FaultKind::backward_pump: give_curve(layout, pump, kBackwards); break;
        case FaultKind::pump_stopped: speed = 0.0; break;
        case FaultKind::pump_running: speed = speed > 0.0 ? speed : 1.0; break;
        case FaultKind::other_curve: give_curve(layout, pump, other_curve(fault.which)); break;
        case FaultKind::check_missing:
            pump.check_valve = false;
            if (!said(pump.stopped_flow_m3_s)) {
                // what it would pass at 1 m/s in its outlet pipe, at the loss of a check that hangs open and as much again for the pump itself
                const double bore_m = outlet >= 0 ? layout.pipes[at(outlet)].bore_m : 0.05;
                pump.stopped_flow_m3_s = M_PI / 4.0 * bore_m * bore_m;
                pump.stopped_head_m = 2.0 * kCheckLoss / (2.0 * 9.80665);
            }
            break;
        case FaultKind::check_stuck: shut(layout, conditions, outlet); break;
        case FaultKind::swapped_pumps: std::swap(pump.model, layout.pumps[at(fault.other.index)].model); break;
        default: assert(false);
    }
}

void at_water(const Fault& fault, double size, Layout& layout) {
    layout::Vessel& vessel = layout.vessels[at(fault.at.index)];
    const double depth_m = said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0;
    const double now_m3 = layout::volume_at_depth(vessel, depth_m), full_m3 = vessel.volume.back().volume_m3;
    const double wanted_m3 = fault.kind == FaultKind::low_water ? now_m3 * (1.0 - size) : now_m3 + size * (full_m3 - now_m3);
    vessel.start_depth_m = layout::depth_at_volume(vessel, wanted_m3);
}

void at_source(const Fault& fault, double size, Layout& layout) {
    switch (fault.kind) {
        case FaultKind::supply_elsewhere: layout.supplies[at(fault.at.index)].head_m *= size; break;
        case FaultKind::pond_elsewhere: layout.ponds[at(fault.at.index)].level_m += size; break;
        case FaultKind::float_stuck_open: {
            layout::FloatValve& valve = layout.float_valves[at(fault.at.index)];
            constexpr double kFarAbove_m = 100.0;  // no level reaches where it would begin to close
            valve.opens_at_m = kFarAbove_m;
            valve.closes_at_m = 2.0 * kFarAbove_m;
            break;
        }
        case FaultKind::float_stuck_shut: {
            layout::FloatValve& valve = layout.float_valves[at(fault.at.index)];
            constexpr double kFarBelow_m = -100.0;
            valve.closes_at_m = kFarBelow_m;
            valve.opens_at_m = 2.0 * kFarBelow_m;
            break;
        }
        default: assert(false);
    }
}

}  // namespace

double blockage_loss(double open_share) {
    const double contraction = 0.63 + 0.37 * open_share * open_share * open_share;
    const double jet = 1.0 / (contraction * open_share) - 1.0;
    return jet * jet;
}

CurveFactors other_curve(std::int32_t which) {
    constexpr double kUsPerImperial = 3.785411784 / 4.54609, kFoot_m = 0.3048;  // NIST SP 811, appendix B.8
    switch (which) {
        case 0: return {.flow = kUsPerImperial};
        case 1: return {.flow = 1.0 / kUsPerImperial};
        case 2: return {.head = kFoot_m};
        default: return {.head = 1.0 / kFoot_m};
    }
}

void inject(const Injected& injected, Layout& layout, Conditions& conditions) {
    const Fault& fault = injected.fault;
    const double size = fault.size_at(injected.u);
    switch (fault.at.kind) {
        case Kind::pipe: at_pipe(fault, size, layout); break;
        case Kind::standpipe: at_overflow(fault, size, layout, conditions); break;
        case Kind::siphon: at_siphon(fault, size, layout); break;
        case Kind::pump: at_pump(fault, size, layout, conditions); break;
        case Kind::nozzle: {
            layout::Nozzle& nozzle = layout.nozzles[at(fault.at.index)];
            if (nozzle.holes > 0)
                nozzle.hole_diameter_m *= std::sqrt(size);
            else
                nozzle.rated_flow_m3_s *= size;
            break;
        }
        case Kind::valve:
            if (fault.kind == FaultKind::swapped_valves)
                std::swap(conditions.valve_opening[at(fault.at.index)], conditions.valve_opening[at(fault.other.index)]);
            else
                conditions.valve_opening[at(fault.at.index)] = size;
            break;
        case Kind::filter:
            for (auto* points : {&layout.filters[at(fault.at.index)].clean, &layout.filters[at(fault.at.index)].dirty})
                for (layout::LossPoint& point : *points) point.head_m *= size;
            break;
        case Kind::tee: leak(fault, size, layout); break;
        case Kind::vessel:
            if (fault.kind == FaultKind::leak)
                leak(fault, size, layout);
            else
                at_water(fault, size, layout);
            break;
        default: at_source(fault, size, layout); break;
    }
}

void inject(std::span<const Injected> faults, Layout& layout, std::span<Conditions> by_visit) {
    for (const Injected& fault : faults) {
        // what is added to the layout is added once, what is added to the conditions in each visit
        const Layout before = by_visit.size() > 1 ? layout : Layout();
        for (std::size_t visit = 0; visit < by_visit.size(); ++visit) {
            Layout again = visit > 0 ? before : Layout();
            inject(fault, visit > 0 ? again : layout, by_visit[visit]);
        }
    }
}

}  // namespace ebb::diagnose
