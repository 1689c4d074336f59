// The bill of materials: counted from the layout, so that what is bought is what was solved.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "cli/views/money.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"
#include "solver/physics/valves.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

std::string size_of(const layout::Pipe& pipe, const Speech& speech) {
    return pipe.size.empty()     ? fmt::format(words::kBore, speech.bore(pipe.bore_m))
           : pipe.series.empty() ? pipe.size
                                 : fmt::format("{} {}", pipe.size, pipe.series);
}

Table pipes_bill(const ReportScene& scene) {
    struct Line {
        double bore_m = 0.0, length_m = 0.0, cost = 0.0;
        bool priced = true;
        std::size_t pieces = 0;
    };
    std::map<std::tuple<std::string, double, std::string>, Line> lines;
    for (const layout::Pipe& pipe : scene.layout().pipes) {
        Line& line = lines[{pipe.series, pipe.bore_m, size_of(pipe, scene.speech())}];
        line.bore_m = pipe.bore_m;
        line.length_m += pipe.length_m;
        ++line.pieces;
        line.priced = line.priced && layout::said(pipe.price_per_metre);
        if (line.priced) line.cost += pipe.price_per_metre * pipe.length_m;
    }
    Table table({{words::kColPipe, Align::left}, {words::kColBore}, {words::kColLength}, {words::kColRuns}, {words::kColCosts}});
    for (const auto& [key, line] : lines)
        table.add({std::get<2>(key), scene.speech().bore(line.bore_m), scene.speech().length(line.length_m), std::to_string(line.pieces),
                   line.priced ? money(line.cost, scene.layout().economy.currency) : "-"});
    return table;
}

using Counts = std::map<std::pair<std::string, std::string>, int>;

Table counted_table(const char* title, const Counts& counts) {
    Table table({{title, Align::left}, {words::kColFor, Align::left}, {words::kColCount}});
    for (const auto& [what, count] : counts) table.add({what.first, what.second, std::to_string(count)});
    return table;
}

Table fittings_bill(const ReportScene& scene) {
    Counts counts;
    for (const layout::Pipe& pipe : scene.layout().pipes)
        for (const layout::Fitting& fitting : pipe.fittings)
            counts[{fitting.kind.empty() ? fmt::format(words::kFittingOf, Speech::plain(fitting.loss)) : fitting.kind,
                    size_of(pipe, scene.speech())}] += fitting.count;
    return counted_table(words::kFitting, counts);
}

Table valves_bill(const ReportScene& scene) {
    Counts counts;
    for (const layout::Valve& valve : scene.layout().valves) {
        const std::string of = valve.pipe < 0 ? std::string("-") : size_of(scene.layout().pipes[at(valve.pipe)], scene.speech());
        ++counts[{fmt::format(words::kValveKind, physics::valve_kind_name(valve.kind)), of}];
    }
    return counted_table(words::kValve, counts);
}

Table devices_bill(const ReportScene& scene) {
    const layout::Layout& layout = scene.layout();
    Table table({{words::kColDevice, Align::left}, {words::kColWhat, Align::left}, {words::kColCount}, {words::kColCosts}});
    for (const layout::Pump& pump : layout.pumps) {
        const double price = layout.pump_models[at(pump.model)].price;
        table.add({pump.id, fmt::format(words::kPumpModel, pump.model_name, pump.check_valve ? words::kWithCheck : ""), std::to_string(pump.count),
                   layout::said(price) ? money(price * pump.count, layout.economy.currency) : "-"});
    }
    // like things on one line: what is bought is how many of each
    std::map<std::string, std::vector<std::string>> alike;
    for (const layout::Filter& filter : layout.filters) alike[words::kFilter].push_back(filter.id);
    for (const layout::Nozzle& nozzle : layout.nozzles)
        alike[nozzle.holes > 0 ? fmt::format(words::kNozzleOf, nozzle.holes, scene.speech().bore(nozzle.hole_diameter_m))
                               : std::string(words::kNozzle)]
            .push_back(nozzle.id);
    for (const layout::FloatValve& valve : layout.float_valves) alike[words::kFloatValve].push_back(valve.id);
    for (const layout::Standpipe& standpipe : layout.standpipes) {
        std::vector<std::string> inserts;
        for (const layout::Insert& insert : standpipe.inserts)
            inserts.push_back(fmt::format("{} {}", insert.name, scene.speech().height(insert.lip_m)));
        alike[fmt::format(words::kStandpipeOf, scene.speech().bore(standpipe.bore_m), listed(inserts, inserts.size()))].push_back(standpipe.id);
    }
    for (const layout::Siphon& siphon : layout.siphons) alike[fmt::format(words::kSiphonOf, scene.speech().bore(siphon.bore_m))].push_back(siphon.id);
    for (const layout::Tee& tee : layout.tees) alike[tee.vented ? words::kTeeVented : words::kTee].push_back(tee.id);
    constexpr std::size_t kNamed = 8;
    for (const auto& [what, ids] : alike) table.add({in_few_words(ids, kNamed), what, std::to_string(ids.size()), "-"});
    return table;
}

Table vessels_bill(const ReportScene& scene) {
    Table table(
        {{words::kColVessel, Align::left}, {words::kColKind, Align::left}, {words::kColHeight}, {words::kColPlan}, {words::kColHoldsToTheRim}});
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    for (const layout::Vessel& vessel : scene.layout().vessels) {
        constexpr double kSquareFeet = 1.0 / (0.3048 * 0.3048);
        const double height = vessel.rim_m - vessel.floor_m;
        table.add({vessel.id, layout::name_of(vessel.kind), scene.speech().height(height),
                   vessel.plan_area_m2 > 0.0 ? fmt::format("{:.2f} {}", vessel.plan_area_m2 * (us ? kSquareFeet : 1.0), us ? "ft2" : "m2") : "-",
                   scene.speech().volume(layout::volume_at_depth(vessel, height))});
    }
    return table;
}

}  // namespace

void add_bill(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "bill", words::kBill);
    html::add(section, "p", {{"class", "note"}}, words::kBillNote);
    html::table(section, pipes_bill(scene), words::kBillPipes);
    html::table(section, fittings_bill(scene), words::kBillFittings);
    html::table(section, valves_bill(scene), words::kBillValves);
    html::table(section, devices_bill(scene), words::kBillDevices);
    html::table(section, vessels_bill(scene), words::kBillVessels);
}

}  // namespace ebb::cli
