#include "networks.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <stdexcept>

#include "netfiles/reader.h"
#include "solver/layout/validate.h"
#include "solver/physics/fittings.h"
#include "solver/settle/farm.h"
#include "solver/settle/model.h"
#include "tests/bench/large_layouts.h"
#include "tests/farm_of_beds.h"

namespace peers {

namespace {

using namespace ebb;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Streets, as the head of networks.h says. Velocities of 0.1 to 1 m/s.
layout::Layout mains(int pipes) {
    constexpr int kBlock = 12;
    const int side = static_cast<int>(std::lround(std::sqrt(pipes / 1.25)));
    layout::Layout town;
    town.name = "mains";
    const auto tee = [&](int row, int column) { return "J" + std::to_string(row) + "-" + std::to_string(column); };
    std::uint32_t state = 12345;
    const auto vary = [&](double low, double high) {
        state = state * 1664525U + 1013904223U;
        return low + (high - low) * static_cast<double>(state >> 8) / 16777216.0;
    };
    const auto pipe = [&](const std::string& from, const std::string& to) {
        layout::Pipe p;
        p.id = "p" + std::to_string(town.pipes.size());
        p.from.id = from;
        p.to.id = to;
        p.length_m = vary(5.0, 40.0);
        p.bore_m = vary(0.04, 0.12);
        p.roughness_m = 1.5e-6;
        p.hazen_williams_c = 150.0;
        town.pipes.push_back(p);
    };
    for (int row = 0; row < side; ++row)
        for (int column = 0; column < side; ++column) {
            layout::Tee joint;
            joint.id = tee(row, column);
            joint.elevation_m = 0.0;
            joint.takes_m3_s = vary(0.0, 2e-5);
            town.tees.push_back(joint);
            if (column > 0) pipe(tee(row, column - 1), tee(row, column));
            if (row > 0 && column % 4 == 0) pipe(tee(row - 1, column), tee(row, column));
            if (row % kBlock == kBlock / 2 && column % kBlock == kBlock / 2) {
                const std::string tank = "W" + std::to_string(town.ponds.size());
                town.ponds.push_back({.id = tank, .place = {}, .level_m = vary(4.0, 14.0)});
                pipe(tank, tee(row, column));
            }
        }
    return town;
}

/// Whether a link has a smooth law and water can pass it.
bool smooth(const network::Network& net, const network::Settings& settings, std::size_t l) {
    using network::Law;
    const network::Link& link = net.links[l];
    if (settings.links[l].shut || link.drains_vented) return false;
    if (link.law == Law::standpipe || link.law == Law::siphon || link.law == Law::float_valve) return false;
    const auto is_vented = [&](std::int32_t node) { return node < net.plain_count && settings.vented[at(node)] != 0; };
    return !is_vented(link.from) && !is_vented(link.to);
}

/// Plain nodes from which water can leave by a smooth link to where the head is known, directly or by others.
std::vector<bool> reached(const network::Network& net, const std::vector<bool>& kept) {
    std::vector<bool> known(at(net.node_count()));
    for (std::size_t n = at(net.plain_count); n < known.size(); ++n) known[n] = true;
    for (bool more = true; more;) {
        more = false;
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            const network::Link& link = net.links[l];
            if (!kept[l] || known[at(link.from)] == known[at(link.to)]) continue;
            known[at(link.from)] = known[at(link.to)] = more = true;
        }
    }
    return known;
}

/// Leaves only the smooth links and the plain nodes they join.
void reduce(Case& c) {
    network::Network& net = c.network;
    std::vector<bool> kept(net.links.size());
    for (std::size_t l = 0; l < kept.size(); ++l) kept[l] = smooth(net, c.settings, l);
    const std::vector<bool> known = reached(net, kept);
    std::vector<std::int32_t> now(at(net.node_count()), -1);
    std::vector<double> takes, elevation;
    const auto keep_node = [&](std::int32_t node, std::int32_t count) {
        now[at(node)] = count;
        elevation.push_back(net.elevation_m[at(node)]);
    };
    std::vector<bool> touched(now.size());
    for (std::size_t l = 0; l < kept.size(); ++l) {
        kept[l] = kept[l] && known[at(net.links[l].from)] && known[at(net.links[l].to)];
        if (kept[l]) touched[at(net.links[l].from)] = touched[at(net.links[l].to)] = true;
    }
    for (std::int32_t n = 0; n < net.node_count(); ++n) {
        if (n < net.plain_count && !touched[at(n)]) continue;
        if (n < net.plain_count) takes.push_back(net.takes_m3_s[at(n)]);
        keep_node(n, static_cast<std::int32_t>(elevation.size()));
    }
    std::vector<network::Link> links;
    std::vector<network::LinkSetting> settings;
    for (std::size_t l = 0; l < kept.size(); ++l) {
        if (!kept[l]) continue;
        links.push_back(net.links[l]);
        links.back().from = now[at(links.back().from)];
        links.back().to = now[at(links.back().to)];
        settings.push_back(c.settings.links[l]);
    }
    net.plain_count = static_cast<std::int32_t>(takes.size());
    net.elevation_m = elevation;
    net.takes_m3_s = takes;
    net.drain_of.assign(takes.size(), -1);
    net.links = links;
    c.settings.links = settings;
    c.settings.vented.assign(takes.size(), 0);
    c.settings.dry.clear();
}

/// The flow at which the product makes a link linear first; every peer starts there too.
double start_flow(const network::Network& net, const network::LinkSetting& setting, const network::Link& link) {
    using network::Law;
    if (link.law == Law::darcy) return 0.5 * physics::bore_area_m2(link.bore_m);
    if (link.law != Law::pump) return std::sqrt(0.5 / setting.value);
    const network::PumpLaw& pump = net.pumps[at(link.law_index)];
    return 0.5 * pump.curve.greatest_flow_m3_s({.speed = setting.value, .count = pump.count, .wear = pump.wear});
}

Element plain_pump(const network::PumpLaw& pump, const network::LinkSetting& setting) {
    if (setting.resting) throw std::runtime_error("a pump at rest in a plain network");
    const physics::PumpDuty duty{.speed = setting.value, .count = pump.count, .wear = pump.wear};
    Element e{.kind = "pump"};
    e.curve_flow_m3_s = pump.curve.power_knots_m3_s(duty);  // power is given at every point of the curves used here
    for (const double flow : e.curve_flow_m3_s) e.curve_head_m.push_back(pump.curve.head(flow, duty).value);
    return e;
}

Element plain_element(const layout::Layout& layout, const network::Network& net, const network::LinkSetting& setting, const network::Link& link) {
    using network::Law;
    if (link.law == Law::pump) return plain_pump(net.pumps[at(link.law_index)], setting);
    if (link.law == Law::square) return {.kind = "square", .coefficient = setting.value};
    if (link.law == Law::filter) {
        const layout::Filter& filter = layout.filters[at(link.element.index)];
        if (filter.clean.size() != 1 || setting.value != 0.0) throw std::runtime_error("a filter that is not one clean point");
        return {.kind = "square", .coefficient = filter.clean[0].head_m / (filter.clean[0].flow_m3_s * filter.clean[0].flow_m3_s)};
    }
    if (link.law != Law::darcy) throw std::runtime_error("a law without a plain equation");
    const layout::Pipe& pipe = layout.pipes[at(link.element.index)];
    return {.kind = "pipe",
            .length_m = pipe.length_m,
            .bore_m = pipe.bore_m,
            .roughness_m = pipe.roughness_m,
            .k_forward = setting.k_forward,
            .k_reverse = setting.k_reverse};
}

void write_plain(const layout::Layout& layout, Case& c) {
    const network::Network& net = c.network;
    c.plain.nodes = net.plain_count;
    c.plain.viscosity_m2_s = net.water.kinematic_viscosity_m2_s;
    c.plain.taken_m3_s = net.takes_m3_s;
    // each end where the head is known is a fixed head of its own: the level there, or the port above it
    const auto end = [&](std::int32_t node, const network::Port& port) {
        if (node < net.plain_count) return static_cast<int>(node);
        const std::int32_t v = node - net.plain_count;
        const double head = v < net.vessel_count ? c.level_m[at(v)] : net.fixed_head_m[at(v - net.vessel_count)];
        c.plain.fixed_head_m.push_back(std::max(head, port.elevation_m));
        return c.plain.nodes + static_cast<int>(c.plain.fixed_head_m.size()) - 1;
    };
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Link& link = net.links[l];
        Element e = plain_element(layout, net, c.settings.links[l], link);
        e.from = end(link.from, link.at_from);
        e.to = end(link.to, link.at_to);
        network::LinkSetting probe = c.settings.links[l];
        if (e.kind == "square") probe.value = e.coefficient;
        e.start_flow_m3_s = start_flow(net, probe, link);
        c.plain.elements.push_back(e);
    }
}

layout::Layout layout_of(const std::string& name) {
    if (name.starts_with("mains-")) {
        layout::Layout town = mains(std::stoi(name.substr(6)));
        if (!layout::validate(town).empty()) throw std::runtime_error("the mains are not valid");
        return town;
    }
    netfiles::ReadResult read;
    if (name == "farm") read = netfiles::read_layout(std::string(EBB_SOURCE_DIR) + "/examples/farm.xml");
    if (name.starts_with("streets-")) {
        const auto pipes = static_cast<std::size_t>(std::stoi(name.substr(8)));
        read = netfiles::read_layout_text(bench::large_layout(bench::Family::grids, pipes), name);
    }
    if (name == "farm-of-20") read = netfiles::read_layout_text(tests::farm_of_beds(20), "farm_of_beds(20)");
    if (read.layout.pipes.empty() || !read.good()) throw std::runtime_error("no network '" + name + "'");
    return std::move(read.layout);
}

}  // namespace

Case made(const std::string& name) {
    const layout::Layout layout = layout_of(name);
    Case c;
    c.level_m = settle::start_of(layout).level_m;
    if (!layout.vessels.empty()) {
        settle::Farm farm(layout);
        const settle::Answer answer = farm.solve(0);
        if (!settle::solved(answer.state)) throw std::runtime_error(name + " does not settle");
        for (std::size_t v = 0; v < c.level_m.size(); ++v) c.level_m[v] = answer.vessels[v].level_m;
    }
    c.network = network::compile(layout);
    c.settings = network::settings_for(c.network, layout, layout::conditions_of(layout, 0), std::vector<std::uint8_t>(layout.siphons.size(), 0));
    if (!c.network.header_tees.empty()) throw std::runtime_error("tees with losses of their own have no plain equation here");
    reduce(c);
    write_plain(layout, c);
    return c;
}

}  // namespace peers
