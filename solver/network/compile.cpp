// Layout -> network. The only file that reads the layout to make nodes and links; see network.h for the order of nodes.

#include <algorithm>
#include <cassert>
#include <numbers>

#include "solver/network/network.h"
#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/valves.h"

namespace ebb::network {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Names the nodes: where a pipe that leaves (or enters) a thing is attached.
class Nodes {
public:
    Nodes(const Layout& layout, Network& network) : network_(network) {
        const auto add = [&](double elevation) {
            network.elevation_m.push_back(elevation);
            network.drain_of.push_back(-1);
            network.takes_m3_s.push_back(0.0);
            return network.plain_count++;
        };
        const auto bare = layout::kNotSaid;
        for (const auto& tee : layout.tees) {
            network.tee_node.push_back(add(tee.elevation_m));
            network.takes_m3_s.back() = tee.takes_m3_s;
        }
        for (const auto& pump : layout.pumps) {
            pump_out_.push_back(add(bare));
            pump_in_.push_back(pump.in_id.empty() ? add(pump.elevation_m) : -1);
        }
        for (std::size_t i = 0; i < layout.filters.size(); ++i) {
            filter_in_.push_back(add(bare));
            filter_out_.push_back(add(bare));
        }
        for (std::size_t i = 0; i < layout.nozzles.size(); ++i) nozzle_.push_back(add(bare));
        for (std::size_t i = 0; i < layout.float_valves.size(); ++i) float_.push_back(add(bare));
        for (const auto& pipe : layout.standpipes) standpipe_.push_back(add(layout.vessels[at(pipe.in.index)].floor_m));
        for (const auto& siphon : layout.siphons) siphon_.push_back(add(layout.vessels[at(siphon.in.index)].floor_m));
        network.vessel_count = static_cast<std::int32_t>(layout.vessels.size());
        for (const auto& vessel : layout.vessels) network.elevation_m.push_back(vessel.floor_m);
        for (const auto& pond : layout.ponds) network.fixed_head_m.push_back(pond.level_m);
        for (const auto& supply : layout.supplies) network.fixed_head_m.push_back(supply.elevation_m + supply.head_m);
        network.fixed_count = static_cast<std::int32_t>(network.fixed_head_m.size());
        network.elevation_m.insert(network.elevation_m.end(), network.fixed_head_m.begin(), network.fixed_head_m.end());
        pond_count_ = static_cast<std::int32_t>(layout.ponds.size());
    }

    /// The node a pipe meets at `ref`; `leaving`: the pipe starts there.
    std::int32_t of(const Ref& ref, bool leaving) const {
        const auto i = at(ref.index);
        switch (ref.kind) {
            case Kind::vessel: return network_.vessel_node(ref.index);
            case Kind::pond: return network_.plain_count + network_.vessel_count + ref.index;
            case Kind::supply: return network_.plain_count + network_.vessel_count + pond_count_ + ref.index;
            case Kind::tee: return network_.tee_node[i];
            case Kind::pump: return leaving ? pump_out_[i] : pump_in_[i];
            case Kind::filter: return leaving ? filter_out_[i] : filter_in_[i];
            case Kind::nozzle: return nozzle_[i];
            case Kind::float_valve: return float_[i];
            case Kind::standpipe: return standpipe_[i];
            case Kind::siphon: return siphon_[i];
            default: assert(false && "validate() lets a pipe end only at these"); return -1;
        }
    }

private:
    Network& network_;
    std::vector<std::int32_t> pump_in_, pump_out_, filter_in_, filter_out_, nozzle_, float_, standpipe_, siphon_;
    std::int32_t pond_count_ = 0;
};

double surface_floor(const Layout& layout, const Ref& ref) {
    return ref.kind == Kind::vessel ? layout.vessels[at(ref.index)].floor_m : layout.ponds[at(ref.index)].level_m;
}

Port port_of(const Layout& layout, const layout::End& end, double air_hole_m) {
    if (end.ref.kind != Kind::vessel && end.ref.kind != Kind::pond) return {};
    const double floor = surface_floor(layout, end.ref);
    Port port;
    port.elevation_m = floor + end.height();
    port.leaves_above_m = said(air_hole_m) ? std::max(port.elevation_m, floor + air_hole_m) : port.elevation_m;
    port.limited = end.ref.kind == Kind::vessel;
    // a port at a pond's own surface is drowned: there is always water before it
    if (end.ref.kind == Kind::pond && end.height() <= 0.0) port = {};
    return port;
}

std::int32_t add_link(Network& network, Link link) {
    network.links.push_back(link);
    return static_cast<std::int32_t>(network.links.size()) - 1;
}

physics::DarcyPipe darcy_pipe(const Network& network, const layout::Pipe& pipe) {
    return physics::make_darcy_pipe({.length_m = pipe.length_m,
                                     .bore_m = pipe.bore_m,
                                     .roughness_m = pipe.roughness_m,
                                     .kinematic_viscosity_m2_s = network.water.kinematic_viscosity_m2_s});
}

physics::HazenPipe hazen_pipe(const Layout& layout, const layout::Pipe& pipe) {
    return physics::make_hazen_pipe({.length_m = pipe.length_m, .bore_m = pipe.bore_m, .coefficient = pipe.hazen_williams_c, .law = layout.hazen});
}

void add_pipes(const Layout& layout, const Nodes& nodes, Network& network) {
    network.pipe_link.reserve(layout.pipes.size());
    network.links.reserve(layout.pipes.size() + layout.pumps.size() + 16);
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const layout::Pipe& pipe = layout.pipes[p];
        Link link;
        link.element = {Kind::pipe, static_cast<std::int32_t>(p)};
        link.from = nodes.of(pipe.from.ref, true);
        link.to = nodes.of(pipe.to.ref, false);
        link.bore_m = pipe.bore_m;
        link.trapped_air_m = pipe.trapped_air_m;
        link.at_from = port_of(layout, pipe.from, layout::kNotSaid);
        link.at_to = port_of(layout, pipe.to, pipe.air_hole_m);
        if (layout.friction == layout::FrictionLaw::darcy_weisbach) {
            link.law = Law::darcy;
            link.law_index = static_cast<std::int32_t>(network.darcy.size());
            network.darcy.push_back(darcy_pipe(network, pipe));
        } else {
            link.law = Law::hazen;
            link.law_index = static_cast<std::int32_t>(network.hazen.size());
            network.hazen.push_back(hazen_pipe(layout, pipe));
        }
        const Kind start = pipe.from.ref.kind;
        const bool vented = (start == Kind::tee && layout.tees[at(pipe.from.ref.index)].vented) || start == Kind::standpipe || start == Kind::siphon;
        link.drains_vented = vented;
        const bool into_air = pipe.to.ref.kind == Kind::tee && layout.tees[at(pipe.to.ref.index)].vented;
        link.plain_pipe = link.law == Law::darcy && !vented && !into_air && link.at_from.elevation_m == kNoPort && link.at_to.elevation_m == kNoPort;
        const std::int32_t index = add_link(network, link);
        if (vented) network.drain_of[at(link.from)] = index;
        network.pipe_link.push_back(index);
    }
}

void add_pumps(const Layout& layout, const Nodes& nodes, LabelCurve label, Network& network) {
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        const layout::Pump& pump = layout.pumps[p];
        const layout::PumpModel& model = layout.pump_models[at(pump.model)];
        PumpLaw law;
        law.curve = !model.from_label || label == LabelCurve::central ? model.curve : label == LabelCurve::low ? model.curve_low : model.curve_high;
        law.count = pump.count;
        law.wear = pump.wear;
        const physics::PumpDuty full{.speed = 1.0, .count = pump.count, .wear = pump.wear};
        // a level stretch of curve has no slope to step along: a ten-thousandth of the mean slope keeps Newton's matrix regular
        law.least_slope = 1e-4 * law.curve.shut_off_head_m(full) / std::max(law.curve.greatest_flow_m3_s(full), 1e-12);
        if (said(pump.stopped_flow_m3_s))
            law.stopped_coefficient = physics::rated_coefficient_m_per_m6_s2(pump.stopped_flow_m3_s, pump.stopped_head_m);
        Link link;
        link.law = Law::pump;
        link.element = {Kind::pump, static_cast<std::int32_t>(p)};
        link.law_index = static_cast<std::int32_t>(network.pumps.size());
        link.to = nodes.of({Kind::pump, static_cast<std::int32_t>(p)}, true);
        if (pump.in_id.empty()) {
            link.from = nodes.of({Kind::pump, static_cast<std::int32_t>(p)}, false);
        } else {
            link.from = nodes.of(pump.in, true);
            if (pump.in.kind == Kind::vessel)
                link.at_from.elevation_m = link.at_from.leaves_above_m = law.intake_m =
                    surface_floor(layout, pump.in) + (said(pump.intake_height_m) ? pump.intake_height_m : 0.0);
        }
        network.pumps.push_back(std::move(law));
        network.pump_inlet_node.push_back(link.from);
        network.pump_link.push_back(add_link(network, link));
    }
}

void add_filters_and_outlets(const Layout& layout, const Nodes& nodes, Network& network) {
    for (std::size_t f = 0; f < layout.filters.size(); ++f) {
        const auto points = [](const std::vector<layout::LossPoint>& from) {
            std::vector<physics::FilterPoint> to;
            to.reserve(from.size());
            for (const auto& point : from) to.push_back({point.flow_m3_s, point.head_m});
            return to;
        };
        network.filters.emplace_back(points(layout.filters[f].clean), points(layout.filters[f].dirty));
        const Ref ref{Kind::filter, static_cast<std::int32_t>(f)};
        Link link;
        link.law = Law::filter;
        link.element = ref;
        link.law_index = ref.index;
        link.from = nodes.of(ref, false);
        link.to = nodes.of(ref, true);
        network.filter_link.push_back(add_link(network, link));
    }
    for (std::size_t n = 0; n < layout.nozzles.size(); ++n) {
        const layout::Nozzle& nozzle = layout.nozzles[n];
        const Ref ref{Kind::nozzle, static_cast<std::int32_t>(n)};
        Link link;
        link.law = Law::square;
        link.element = ref;
        link.from = nodes.of(ref, false);
        link.to = nodes.of(nozzle.into, false);
        link.at_to.elevation_m = surface_floor(layout, nozzle.into) + nozzle.height_m;
        network.nozzle_link.push_back(add_link(network, link));
    }
    for (std::size_t v = 0; v < layout.float_valves.size(); ++v) {
        const layout::FloatValve& valve = layout.float_valves[v];
        const Ref ref{Kind::float_valve, static_cast<std::int32_t>(v)};
        const double floor = surface_floor(layout, valve.into);
        network.float_valves.push_back({.opens_at_m = floor + valve.opens_at_m,
                                        .closes_at_m = floor + valve.closes_at_m,
                                        .coefficient = physics::rated_coefficient_m_per_m6_s2(valve.rated_flow_m3_s, valve.rated_head_m)});
        Link link;
        link.law = Law::float_valve;
        link.element = ref;
        link.law_index = ref.index;
        link.from = nodes.of(ref, false);
        link.to = nodes.of(valve.into, false);
        if (said(valve.height_m)) link.at_to.elevation_m = floor + valve.height_m;
        network.float_link.push_back(add_link(network, link));
    }
}

void add_overflows(const Layout& layout, const Nodes& nodes, Network& network) {
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) {
        const layout::Standpipe& standpipe = layout.standpipes[s];
        const Ref ref{Kind::standpipe, static_cast<std::int32_t>(s)};
        StandpipeLaw law;
        law.bore_m = standpipe.bore_m;
        law.floor_m = surface_floor(layout, standpipe.in);
        for (const auto& hole : standpipe.holes)
            law.holes.push_back({law.floor_m + hole.height_m, hole.count * physics::bore_area_m2(hole.diameter_m), hole.discharge_coefficient});
        network.standpipes.push_back(std::move(law));
        Link link;
        link.law = Law::standpipe;
        link.element = ref;
        link.law_index = ref.index;
        link.bore_m = standpipe.bore_m;
        link.from = nodes.of(standpipe.in, true);
        link.to = nodes.of(ref, true);
        network.standpipe_link.push_back(add_link(network, link));
    }
    for (std::size_t s = 0; s < layout.siphons.size(); ++s) {
        const layout::Siphon& siphon = layout.siphons[s];
        const Ref ref{Kind::siphon, static_cast<std::int32_t>(s)};
        const double floor = surface_floor(layout, siphon.in);
        const double heads = physics::kEntryLoss + siphon.loss;
        network.siphons.push_back({.bore_m = siphon.bore_m,
                                   .crest_m = floor + siphon.crest_m,
                                   .breaks_at_m = floor + siphon.breaks_at_m,
                                   .starts_with_m3_s = siphon.starts_with_m3_s,
                                   .coefficient = heads * physics::velocity_head_coefficient(physics::bore_area_m2(siphon.bore_m))});
        Link link;
        link.law = Law::siphon;
        link.element = ref;
        link.law_index = ref.index;
        link.bore_m = siphon.bore_m;
        link.from = nodes.of(siphon.in, true);
        link.to = nodes.of(ref, true);
        network.siphon_link.push_back(add_link(network, link));
    }
}

/// Tees on headers: two runs and a branch, in the order of the pipes of the layout.
void add_header_tees(const Layout& layout, Network& network) {
    std::vector<std::int32_t> header_of(at(network.plain_count), -1);  // per node
    std::vector<std::size_t> runs;
    for (std::size_t t = 0; t < layout.tees.size(); ++t) {
        if (layout.tees[t].loss != layout::TeeLoss::header) continue;
        header_of[at(network.tee_node[t])] = static_cast<std::int32_t>(network.header_tees.size());
        network.header_tees.push_back({.leg = {}, .branch_angle_deg = layout.tees[t].branch_angle_deg});
        runs.push_back(0);
    }
    if (network.header_tees.empty()) return;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const std::int32_t l = network.pipe_link[p];
        for (const bool ends : {true, false}) {
            const std::int32_t node = ends ? network.links[at(l)].to : network.links[at(l)].from;
            if (node >= network.plain_count || header_of[at(node)] < 0) continue;
            const auto header = at(header_of[at(node)]);
            const layout::Ref& tee = ends ? layout.pipes[p].to.ref : layout.pipes[p].from.ref;
            const bool branch = layout.tees[at(tee.index)].branch == static_cast<std::int32_t>(p);
            const std::size_t slot = branch ? 2 : std::min<std::size_t>(runs[header]++, 1);
            network.header_tees[header].leg[slot] = {l, ends};
        }
    }
}

// ------------------------------------------------------------------------------------------------ settings of an arrangement

bool ends_at_surface(const layout::End& end) { return end.ref.kind == Kind::vessel || end.ref.kind == Kind::pond; }

/// Local losses of a pipe both ways, and whether a valve shuts it or bars reverse flow. Entrance and exit stand at vessel ports, or where
/// they were asked for; they change ends when the flow reverses.
LinkSetting pipe_setting(const Layout& layout, const layout::Pipe& pipe, const std::vector<double>& opening) {
    LinkSetting setting;
    double heads = 0.0;
    for (const auto& fitting : pipe.fittings) heads += fitting.count * fitting.loss;
    for (const std::int32_t v : pipe.valves) {
        const layout::Valve& valve = layout.valves[at(v)];
        const double open = opening[at(v)];
        if (open <= 0.0) {
            setting.shut = true;
            continue;
        }
        heads += physics::valve_loss_coefficient(valve.kind, open, valve.loss);
        setting.one_way = setting.one_way || physics::valve_is_one_way(valve.kind);
    }
    if (pipe.from.ref.kind == Kind::supply) setting.one_way = true;  // gives, never takes
    if (pipe.trapped_air_m > 0.0) setting.one_way = true;
    const double entry = said(pipe.entry_loss) ? pipe.entry_loss : physics::kEntryLoss;
    const double exit = said(pipe.exit_loss) ? pipe.exit_loss : physics::kExitLoss;
    const bool from_counts = ends_at_surface(pipe.from) || said(pipe.entry_loss);
    const bool to_counts = ends_at_surface(pipe.to) || said(pipe.exit_loss);
    const double velocity_head = pipe.loss_factor * physics::velocity_head_coefficient(physics::bore_area_m2(pipe.bore_m));
    setting.k_forward = (heads + (from_counts ? entry : 0.0) + (to_counts ? exit : 0.0)) * velocity_head;
    // backwards: an entrance where the to end is a port, an exit where the from end is one; explicit losses stay with their direction of flow
    const double entry_back = ends_at_surface(pipe.to) ? physics::kEntryLoss : 0.0;
    const double exit_back = ends_at_surface(pipe.from) ? physics::kExitLoss : 0.0;
    setting.k_reverse = (heads + entry_back + exit_back) * velocity_head;
    return setting;
}

LinkSetting pump_setting(const PumpLaw& law, const layout::Pump& pump, double speed) {
    LinkSetting setting;
    setting.value = speed;
    setting.one_way = true;  // a running pump is not pushed backwards
    if (speed <= 0.0) {
        setting.resting = law.stopped_coefficient > 0.0;
        setting.shut = !setting.resting;
        setting.value = law.stopped_coefficient / (static_cast<double>(pump.count) * pump.count);
        setting.one_way = pump.check_valve;
    }
    return setting;
}

}  // namespace

Network compile(const Layout& layout, LabelCurve label) {
    Network network;
    network.water = physics::water_at(layout.water_temperature_c, layout.altitude_m);
    const Nodes nodes(layout, network);
    for (const auto& vessel : layout.vessels) network.storage.push_back({vessel.floor_m, vessel.rim_m, vessel.volume});
    add_pipes(layout, nodes, network);
    add_pumps(layout, nodes, label, network);
    add_filters_and_outlets(layout, nodes, network);
    add_overflows(layout, nodes, network);
    add_header_tees(layout, network);
    return network;
}

void resize_pipe(const Layout& layout, std::int32_t pipe, Network& network) {
    const layout::Pipe& now = layout.pipes[at(pipe)];
    Link& link = network.links[at(network.pipe_link[at(pipe)])];
    link.bore_m = now.bore_m;
    if (link.law == Law::darcy)
        network.darcy[at(link.law_index)] = darcy_pipe(network, now);
    else
        network.hazen[at(link.law_index)] = hazen_pipe(layout, now);
}

LinkSetting setting_of_pipe(const Layout& layout, std::int32_t pipe, const layout::Conditions& conditions) {
    return pipe_setting(layout, layout.pipes[at(pipe)], conditions.valve_opening);
}

Settings settings_for(const Network& network, const Layout& layout, const layout::Conditions& conditions, const std::vector<std::uint8_t>& primed) {
    Settings settings;
    settings.links.resize(network.links.size());
    settings.vented.assign(at(network.plain_count), 0);
    for (std::size_t n = 0; n < settings.vented.size(); ++n) settings.vented[n] = network.drain_of[n] >= 0 ? 1 : 0;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        settings.links[at(network.pipe_link[p])] = pipe_setting(layout, layout.pipes[p], conditions.valve_opening);
    for (std::size_t p = 0; p < layout.pumps.size(); ++p)
        settings.links[at(network.pump_link[p])] = pump_setting(network.pumps[p], layout.pumps[p], conditions.pump_speed[p]);
    for (std::size_t f = 0; f < layout.filters.size(); ++f) settings.links[at(network.filter_link[f])].value = conditions.filter_load[f];
    for (std::size_t n = 0; n < layout.nozzles.size(); ++n) {
        const layout::Nozzle& nozzle = layout.nozzles[n];
        LinkSetting& setting = settings.links[at(network.nozzle_link[n])];
        setting.one_way = true;
        setting.value = said(nozzle.rated_flow_m3_s)
                            ? physics::rated_coefficient_m_per_m6_s2(nozzle.rated_flow_m3_s, nozzle.rated_head_m)
                            : physics::orifice_coefficient_m_per_m6_s2(nozzle.holes * physics::bore_area_m2(nozzle.hole_diameter_m),
                                                                       nozzle.discharge_coefficient);
    }
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) {
        const layout::Standpipe& standpipe = layout.standpipes[s];
        settings.links[at(network.standpipe_link[s])].value = network.standpipes[s].floor_m + standpipe.inserts[at(conditions.insert[s])].lip_m;
    }
    for (std::size_t s = 0; s < layout.siphons.size(); ++s) {
        const std::int32_t link = network.siphon_link[s];
        settings.links[at(link)].primed = primed[s] != 0;
        if (primed[s] != 0) settings.vented[at(network.links[at(link)].to)] = 0;
    }
    shut_over_shut_drains(network, settings);
    return settings;
}

void shut_over_shut_drains(const Network& network, Settings& settings) {
    const auto drain_is_shut = [&](std::int32_t node) {
        const std::int32_t drain = network.drain_of[at(node)];
        return drain >= 0 && settings.links[at(drain)].shut;
    };
    for (std::int32_t n = 0; n < network.plain_count; ++n)
        if (drain_is_shut(n)) settings.vented[at(n)] = 0;
    for (const auto* overflows : {&network.standpipe_link, &network.siphon_link})
        for (const std::int32_t link : *overflows)
            if (drain_is_shut(network.links[at(link)].to)) settings.links[at(link)].shut = true;
}

}  // namespace ebb::network
