// `catalogue`: what comes in standard sizes and kinds, with numbers, ranges and sources; and the pump models of a file.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "cli/commands.h"
#include "cli/session.h"
#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "cli/views/page.h"
#include "cli/views/speech.h"
#include "cli/words.h"
#include "netfiles/catalogue.h"
#include "solver/physics/valves.h"
#include "solver/physics/water.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

/// Everything the command lists.
struct Listing {
    std::vector<netfiles::PipeSeries> series;
    std::vector<netfiles::FittingKind> fittings;
    std::vector<netfiles::PortLoss> ports;
    std::vector<layout::PumpModel> pumps;
};

/// Flow and head of a pump at shares of its greatest flow: enough to recognise a curve by.
constexpr std::array<double, 5> kCurveShares{0.0, 0.25, 0.5, 0.75, 1.0};

struct BestPoint {
    double flow_m3_s = 0.0, efficiency = 0.0;
};

BestPoint best_point_of(const layout::PumpModel& model) {
    constexpr double kRoomTemperatureC = 20.0;
    const physics::PumpDuty full;
    const double flow = model.curve.best_efficiency_flow_m3_s(full);
    return {flow, model.curve.efficiency(flow, full, physics::water_at(kRoomTemperatureC, 0.0).density_kg_m3)};
}

Listing listing_of(const netfiles::ReadResult& read) {
    const netfiles::Catalogue& built_in = netfiles::built_in_catalogue();
    Listing listing{built_in.series, built_in.fittings, {}, read.layout.pump_models};
    for (const netfiles::PipeSeries& series : read.catalogue.series) {
        const auto same = std::find_if(listing.series.begin(), listing.series.end(), [&](const auto& other) { return other.name == series.name; });
        if (same != listing.series.end()) {
            *same = series;  // that of the file stands before the built-in one
        } else {
            listing.series.push_back(series);
        }
    }
    listing.fittings.insert(listing.fittings.end(), read.catalogue.fittings.begin(), read.catalogue.fittings.end());
    const auto ports = netfiles::port_losses();
    listing.ports.assign(ports.begin(), ports.end());
    return listing;
}

// ---------------------------------------------------------------------------------------------- text

std::string range_of(const netfiles::Ranged& ranged, double times = 1.0) {
    return ranged.low == ranged.high ? fmt::format("{:.4g}", ranged.value * times)
                                     : fmt::format("{:.4g} ({:.4g} to {:.4g})", ranged.value * times, ranged.low * times, ranged.high * times);
}

std::string series_text(const netfiles::PipeSeries& series, const Speech& speech, const Paint& paint) {
    constexpr double kMillimetres = 1000.0;
    std::string text = "\n" + paint(Ink::title, series.name) + (series.title.empty() ? "" : ": " + series.title) + '\n';
    text += fmt::format("  roughness {} mm, Hazen-Williams C {}, Manning n {}\n", range_of(series.roughness_m, kMillimetres),
                        range_of(series.hazen_williams_c), range_of(series.manning_n));
    if (!series.source.empty()) {
        text += paint(Ink::quiet, wrapped("  from ", series.source));
    }
    Table table({{"size", Align::left}, {"outside"}, {"wall"}, {"bore"}, {"bore at least"}, {"price per metre"}});
    for (const netfiles::PipeSize& size : series.sizes) {
        table.add({size.name, speech.bore(size.outside_m), speech.bore(size.wall_m), speech.bore(size.bore_m), speech.bore(size.bore_low_m),
                   std::isnan(size.price_per_metre) ? "-" : fmt::format("{:.2f}", size.price_per_metre)});
    }
    return text + table.text(paint);
}

std::string losses_text(const Listing& listing, const Paint& paint) {
    Table fittings({{"fitting", Align::left}, {"velocity heads", Align::left}, {"what it is", Align::left}, {"from", Align::left}});
    for (const netfiles::FittingKind& fitting : listing.fittings) {
        fittings.add({fitting.name, range_of(fitting.loss), fitting.title, fitting.source});
    }
    for (const netfiles::PortLoss& port : listing.ports) {
        fittings.add({port.name, range_of(port.loss), port.title, port.source});
    }
    Table valves({{"valve", Align::left}, {"wide open"}, {"half open"}, {"from", Align::left}, {"opening from", Align::left}});
    for (const physics::ValveKind kind : physics::valve_kinds()) {
        constexpr double kHalf = 0.5;
        const physics::StatedCoefficient open = physics::default_valve_loss(kind);
        const bool one_way = physics::valve_is_one_way(kind);
        valves.add({std::string(physics::valve_kind_name(kind)), range_of({open.value, open.low, open.high}),
                    one_way ? "one way" : fmt::format("{:.3g}", physics::valve_loss_coefficient(kind, kHalf, open.value)), std::string(open.source),
                    one_way ? "" : std::string(physics::valve_characteristic_source(kind))});
    }
    return "\n" + paint(Ink::title, "Fittings and ports") + '\n' + fittings.text(paint) + "\n" +
           paint(Ink::title, "Valves, losses in velocity heads") + '\n' + valves.text(paint);
}

std::string pumps_text(const Listing& listing, const Speech& speech, const Paint& paint) {
    if (listing.pumps.empty()) {
        return {};
    }
    Table table({{"pump model", Align::left},
                 {"lifts at no flow"},
                 {"at half flow"},
                 {"gives up to"},
                 {"lifting there"},
                 {"best at"},
                 {"efficiency"},
                 {"turns down to"},
                 {"price"},
                 {"", Align::left}});
    const physics::PumpDuty full;
    for (const layout::PumpModel& model : listing.pumps) {
        const double most = model.curve.greatest_flow_m3_s(full);
        const BestPoint best = best_point_of(model);
        table.add({model.name, speech.head(model.curve.head(0.0, full).value), speech.head(model.curve.head(most / 2.0, full).value),
                   speech.flow(most), speech.head(model.curve.head(most, full).value), speech.flow(best.flow_m3_s), Speech::share(best.efficiency),
                   std::isnan(model.least_speed) ? "-" : Speech::share(model.least_speed),
                   std::isnan(model.price) ? "-" : fmt::format("{:.2f}", model.price), model.from_label ? "known by its label: a band" : ""});
    }
    return "\n" + paint(Ink::title, "Pump models") + '\n' + table.text(paint);
}

void write_text(const Listing& listing, const Speech& speech, bool colour, Output& output) {
    const Paint paint(colour);
    output.write("Pipe series, fittings and valves: a value, and the range it may plausibly have.\n");
    output.write(pumps_text(listing, speech, paint));
    for (const netfiles::PipeSeries& series : listing.series) {
        output.write(series_text(series, speech, paint));
    }
    output.write(losses_text(listing, paint));
}

// ---------------------------------------------------------------------------------------------- JSON and CSV

void write_ranged(JsonWriter& json, const std::string& key, const netfiles::Ranged& ranged) {
    json.entry(key, ranged.value);
    json.entry(key + "_low", ranged.low);
    json.entry(key + "_high", ranged.high);
}

void write_series_json(JsonWriter& json, const netfiles::PipeSeries& series) {
    json.new_line();
    json.begin_object();
    json.entry("name", series.name);
    json.entry("title", series.title);
    json.entry("source", series.source);
    write_ranged(json, "roughness_m", series.roughness_m);
    write_ranged(json, "hazen_williams", series.hazen_williams_c);
    write_ranged(json, "manning_n", series.manning_n);
    json.key("sizes");
    json.begin_array();
    for (const netfiles::PipeSize& size : series.sizes) {
        json.new_line();
        json.begin_object();
        json.entry("name", size.name);
        json.entry("outside_m", size.outside_m);
        json.entry("wall_m", size.wall_m);
        json.entry("bore_m", size.bore_m);
        json.entry("bore_m_low", size.bore_low_m);
        json.entry("price_per_metre", size.price_per_metre);
        json.end_object();
    }
    json.end_array();
    json.end_object();
}

template <typename Kinds>
void write_losses_json(JsonWriter& json, const char* key, const Kinds& kinds) {
    json.new_line();
    json.key(key);
    json.begin_array();
    for (const auto& kind : kinds) {
        json.new_line();
        json.begin_object();
        json.entry("name", kind.name);
        json.entry("title", kind.title);
        write_ranged(json, "loss", kind.loss);
        json.entry("source", kind.source);
        json.end_object();
    }
    json.end_array();
}

void write_valves_json(JsonWriter& json) {
    json.new_line();
    json.key("valves");
    json.begin_array();
    for (const physics::ValveKind kind : physics::valve_kinds()) {
        const physics::StatedCoefficient open = physics::default_valve_loss(kind);
        json.new_line();
        json.begin_object();
        json.entry("name", physics::valve_kind_name(kind));
        write_ranged(json, "loss", {open.value, open.low, open.high});
        json.entry("source", open.source);
        json.entry("one_way", physics::valve_is_one_way(kind));
        json.entry("opening_source", physics::valve_characteristic_source(kind));
        json.end_object();
    }
    json.end_array();
}

void write_pumps_json(JsonWriter& json, const std::vector<layout::PumpModel>& pumps) {
    const physics::PumpDuty full;
    json.new_line();
    json.key("pump_models");
    json.begin_array();
    for (const layout::PumpModel& model : pumps) {
        const double most = model.curve.greatest_flow_m3_s(full);
        const BestPoint best = best_point_of(model);
        json.new_line();
        json.begin_object();
        json.entry("name", model.name);
        json.entry("from_label", model.from_label);
        json.entry("price", model.price);
        json.entry("least_speed", model.least_speed);
        json.entry("best_flow_m3_s", best.flow_m3_s);
        json.entry("best_efficiency", best.efficiency);
        json.key("curve");
        json.begin_array();
        for (const double share : kCurveShares) {
            json.begin_object();
            json.entry("flow_m3_s", share * most);
            json.entry("head_m", model.curve.head(share * most, full).value);
            json.entry("power_w", model.curve.power_w(share * most, full));
            json.entry("npsh_required_m", model.curve.npsh_required_m(share * most, full));
            json.end_object();
        }
        json.end_array();
        json.end_object();
    }
    json.end_array();
}

void write_json(const Listing& listing, Output& output) {
    JsonWriter json(output);
    json.begin_object();
    json.entry("ebbwright", kVersion);
    json.key("pipe_series");
    json.begin_array();
    for (const netfiles::PipeSeries& series : listing.series) {
        write_series_json(json, series);
    }
    json.end_array();
    write_losses_json(json, "fittings", listing.fittings);
    write_losses_json(json, "ports", listing.ports);
    write_valves_json(json);
    write_pumps_json(json, listing.pumps);
    json.end_object();
    json.finish();
}

void write_csv(const Listing& listing, Output& output) {
    output.write("kind,name,size,quantity,unit,value,low,high,source\n");
    const auto line = [&](std::string_view kind, std::string_view name, std::string_view size, std::string_view quantity, std::string_view unit,
                          const netfiles::Ranged& value, std::string_view source) {
        output.write(fmt::format("{},{},{},{},{},{},{},{},{}\n", kind, csv_cell(name), csv_cell(size), quantity, unit, csv_number(value.value),
                                 csv_number(value.low), csv_number(value.high), csv_cell(source)));
    };
    const netfiles::Ranged unknown{settle::kUnknown, settle::kUnknown, settle::kUnknown};
    const auto exactly = [&](double value) { return netfiles::Ranged{value, unknown.low, unknown.high}; };
    for (const netfiles::PipeSeries& series : listing.series) {
        line("pipe-series", series.name, "", "roughness", "m", series.roughness_m, series.source);
        line("pipe-series", series.name, "", "hazen-williams", "1", series.hazen_williams_c, series.source);
        line("pipe-series", series.name, "", "manning-n", "1", series.manning_n, series.source);
        for (const netfiles::PipeSize& size : series.sizes) {
            line("pipe-size", series.name, size.name, "price-per-metre", "", exactly(size.price_per_metre), series.source);
            line("pipe-size", series.name, size.name, "outside", "m", exactly(size.outside_m), series.source);
            line("pipe-size", series.name, size.name, "wall", "m", exactly(size.wall_m), series.source);
            line("pipe-size", series.name, size.name, "bore", "m", {size.bore_m, size.bore_low_m, size.bore_m}, series.source);
        }
    }
    for (const netfiles::FittingKind& fitting : listing.fittings) {
        line("fitting", fitting.name, "", "loss", "velocity heads", fitting.loss, fitting.source);
    }
    for (const netfiles::PortLoss& port : listing.ports) {
        line("port", port.name, "", "loss", "velocity heads", port.loss, port.source);
    }
    for (const physics::ValveKind kind : physics::valve_kinds()) {
        const physics::StatedCoefficient open = physics::default_valve_loss(kind);
        line("valve", physics::valve_kind_name(kind), "", "loss", "velocity heads", {open.value, open.low, open.high}, open.source);
    }
    const physics::PumpDuty full;
    for (const layout::PumpModel& model : listing.pumps) {
        line("pump-model", model.name, "", "greatest-flow", "m3/s", exactly(model.curve.greatest_flow_m3_s(full)), "");
        line("pump-model", model.name, "", "head-at-no-flow", "m", exactly(model.curve.head(0.0, full).value), "");
        line("pump-model", model.name, "", "price", "", exactly(model.price), "");
        line("pump-model", model.name, "", "least-speed", "1", exactly(model.least_speed), "");
        line("pump-model", model.name, "", "best-flow", "m3/s", exactly(best_point_of(model).flow_m3_s), "");
    }
}

}  // namespace

ExitStatus run_catalogue(const Request& request, Output& output) {
    netfiles::ReadResult read;
    if (!request.layout_file.empty()) {
        read = netfiles::read_catalogue(request.layout_file);
        if (!output_is_safe(output, read)) {
            return ExitStatus::command_line;
        }
        if (!read.good()) {
            tell_problems(read.problems, read.files);
            return ExitStatus::file;
        }
    }
    const Listing listing = listing_of(read);
    switch (request.format) {
        case Format::json: write_json(listing, output); break;
        case Format::csv: write_csv(listing, output); break;
        case Format::text: write_text(listing, Speech(units_of(request, read.layout)), request.colour, output); break;
    }
    return ExitStatus::fine;
}

}  // namespace ebb::cli
