// Where the work can hurt someone, with the numbers of this farm; local codes and licensed practice have the last word.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

Table loads_table(const ReportScene& scene) {
    Table table({{words::kColVessel, Align::left}, {words::kColKind, Align::left}, {words::kColOnEachUnitOfArea}, {words::kColInAll}});
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    constexpr double kPound_kg = 0.45359237;
    const auto mass = [&](double kg) { return us ? fmt::format("{:.0f} lb", kg / kPound_kg) : fmt::format("{:.0f} kg", kg); };
    for (const layout::Vessel& vessel : scene.layout().vessels) {
        const FloodedLoad load = flooded_load(vessel);
        const bool range = load.high_kg > load.low_kg * 1.001;
        const bool area = vessel.plan_area_m2 > 0.0;
        const std::string low = area ? scene.speech().load(load.low_kg / vessel.plan_area_m2) : std::string("-");
        table.add({vessel.id, layout::name_of(vessel.kind),
                   range ? fmt::format("{} to {}", low, scene.speech().load(load.high_kg / vessel.plan_area_m2)) : low,
                   range ? fmt::format("{} to {}", mass(load.low_kg), mass(load.high_kg)) : mass(load.low_kg)});
    }
    return table;
}

/// The greatest figure of a pump over the arrangements.
template <typename Figure>
double greatest(const ReportScene& scene, std::size_t pump, const Figure& figure) {
    double most = 0.0;
    for (const StateMade& state : scene.matter.arrangements)
        if (!state.answer.pumps.empty() && state.answer.pumps[pump].running) most = std::fmax(most, figure(state.answer.pumps[pump]));
    return most;
}

std::vector<std::string> circuits(const ReportScene& scene) {
    std::vector<std::string> lines;
    for (std::size_t p = 0; p < scene.layout().pumps.size(); ++p) {
        const double power_w = greatest(scene, p, [](const settle::PumpAnswer& one) { return one.power_w; });
        lines.push_back(fmt::format(words::kCircuit, scene.layout().pumps[p].id,
                                    power_w > 0.0 ? scene.speech().power(power_w) : std::string(words::kPowerUnknown)));
    }
    return lines;
}

/// At least two bores and 25 mm (common practice of plumbing codes).
double wanted_gap_m(double bore_m) {
    constexpr double kBores = 2.0, kLeast_m = 0.025;
    return std::max(kLeast_m, kBores * bore_m);
}

std::vector<std::string> air_gaps(const ReportScene& scene) {
    const layout::Layout& layout = scene.layout();
    std::vector<std::string> lines;
    const auto judge = [&](const std::string& id, const layout::Vessel& vessel, double height_m, double bore_m) {
        const double gap_m = height_m - (vessel.rim_m - vessel.floor_m);
        const std::string wanted = scene.speech().height(wanted_gap_m(bore_m));
        if (std::isnan(gap_m))
            lines.push_back(fmt::format(words::kAirGapUnknown, id, vessel.id, wanted));
        else if (gap_m < 0.0)
            lines.push_back(fmt::format(words::kAirGapUnder, id, scene.speech().height(-gap_m), vessel.id, wanted));
        else
            lines.push_back(fmt::format(words::kAirGapFree, id, scene.speech().height(gap_m), vessel.id, wanted));
    };
    for (const layout::Pipe& pipe : layout.pipes) {
        if (pipe.to.ref.kind == layout::Kind::float_valve) {
            const layout::FloatValve& valve = layout.float_valves[at(pipe.to.ref.index)];
            if (valve.into.kind == layout::Kind::vessel) judge(valve.id, layout.vessels[at(valve.into.index)], valve.height_m, pipe.bore_m);
        }
        if (pipe.from.ref.kind == layout::Kind::supply && pipe.to.ref.kind == layout::Kind::vessel)
            judge(pipe.id, layout.vessels[at(pipe.to.ref.index)], pipe.to.height(), pipe.bore_m);
    }
    return lines;
}

std::vector<std::string> guards(const ReportScene& scene) {
    constexpr double kThroughGuard_m_s = 0.5, kSquareCentimetres = 1e4, kSquareInches = 1.0 / (0.0254 * 0.0254);
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    std::vector<std::string> lines;
    for (std::size_t p = 0; p < scene.layout().pumps.size(); ++p) {
        const double flow_m3_s = greatest(scene, p, [](const settle::PumpAnswer& one) { return one.flow_m3_s; });
        if (!(flow_m3_s > 0.0)) continue;
        const double area_m2 = flow_m3_s / kThroughGuard_m_s;
        lines.push_back(fmt::format(words::kGuard, scene.layout().pumps[p].id, scene.speech().flow(flow_m3_s),
                                    us ? fmt::format("{:.1f} in2", area_m2 * kSquareInches)
                                       : fmt::format("{:.0f} cm2", std::ceil(area_m2 * kSquareCentimetres))));
    }
    return lines;
}

void add_lines(html::Node section, std::string_view heading, const std::vector<std::string>& lines) {
    if (lines.empty()) return;
    html::add(section, "h3", {}, heading);
    const html::Node list = html::add(section, "ul", {{"class", "said"}});
    for (const std::string& line : lines) html::add(list, "li", {}, line);
}

}  // namespace

void add_safety(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "safety", words::kSafety);
    add_lines(section, words::kCautions, cautions(scene.layout(), scene.speech()));
    add_lines(section, words::kCircuits, circuits(scene));
    add_lines(section, words::kAirGap, air_gaps(scene));
    add_lines(section, words::kGuards, guards(scene));
    html::table(section, loads_table(scene), words::kLoadsCaption);
    html::add(section, "p", {{"class", "note"}}, words::kLoadsNote);
}

}  // namespace ebb::cli
