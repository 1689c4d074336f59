// The commissioning sheet: what to set, what to expect, and room for what was found. One for each arrangement, each on paper of its own.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/views/settings.h"
#include "cli/words.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrops_m3_s = 1e-9;
constexpr double kPassBand = 0.10;  // plus or minus, common practice
constexpr double kLeast_s = 10.0;   // less cannot be timed by hand

struct Bucket {
    std::string name;
    double volume_m3;
};

/// The bucket for a flow: the least that takes twenty seconds to fill, of those people have.
Bucket bucket_for(double flow_m3_s, bool us) {
    constexpr double kWell_s = 20.0;
    const char* unit = us ? "gal" : "l";
    Bucket bucket;
    for (const int size : us ? std::array<int, 3>{1, 2, 5} : std::array<int, 3>{5, 10, 20}) {
        bucket = {fmt::format("{} {}", size, unit), size / netfiles::in_unit(1.0, netfiles::Dimension::volume, unit)};
        if (bucket.volume_m3 / flow_m3_s >= kWell_s) break;
    }
    return bucket;
}

/// A cell of what is to be written in by hand.
constexpr const char* kBlank = "";

/// A table of expectations with blank columns; `Table` would leave them out.
class Form {
public:
    Form(html::Node parent, std::string_view caption, const std::vector<std::string>& titles, std::size_t blank_from) {
        const html::Node box = html::scroll_box(parent, caption);
        const html::Node table = html::add(box, "table", {{"class", "form"}});
        html::add(table, "caption", {}, caption);
        const html::Node row = html::add(html::add(table, "thead"), "tr");
        for (std::size_t i = 0; i < titles.size(); ++i)
            if (i < blank_from)
                html::add(row, "th", {}, titles[i]);
            else
                html::add(row, "th", {{"class", "blank"}}, titles[i]);
        body_ = html::add(table, "tbody");
    }
    void add(const std::vector<std::string>& cells) {
        const html::Node row = html::add(body_, "tr");
        for (std::size_t i = 0; i < cells.size(); ++i) html::add(row, i == 0 ? "th" : "td", {}, cells[i]);
    }

private:
    html::Node body_;
};

struct Outlet {
    std::string name;
    double flow_m3_s;
};

/// Where a bucket can be held under: ends of pipes above the water, and nozzles.
std::vector<Outlet> outlets_of(const ReportScene& scene, const StateMade& state) {
    std::vector<Outlet> outlets;
    const layout::Layout& layout = scene.layout();
    for (std::size_t i = 0; i < layout.pipes.size(); ++i) {
        const layout::Pipe& pipe = layout.pipes[i];
        const double flow = state.answer.pipes[i].flow_m3_s;
        if (pipe.gravity || !(flow > kDrops_m3_s)) continue;
        if (pipe.to.ref.kind == layout::Kind::vessel) {
            if (state.answer.vessels[at(pipe.to.ref.index)].depth_m < pipe.to.height())
                outlets.push_back({fmt::format(words::kInto, pipe.id, pipe.to.id), flow});
        } else if (pipe.to.ref.kind == layout::Kind::nozzle) {
            outlets.push_back({fmt::format(words::kInto, pipe.to.id, layout.nozzles[at(pipe.to.ref.index)].into_id), flow});
        } else if (pipe.to.ref.kind == layout::Kind::float_valve) {
            outlets.push_back({fmt::format(words::kInto, pipe.to.id, layout.float_valves[at(pipe.to.ref.index)].into_id), flow});
        }
    }
    return outlets;
}

void add_outlets(html::Node sheet, const ReportScene& scene, const StateMade& state) {
    const std::vector<Outlet> outlets = outlets_of(scene, state);
    if (outlets.empty()) return;
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    Form form(sheet, words::kSheetOutlets,
              {words::kColOutlet, words::kColExpected, words::kColBucket, words::kColSeconds, words::kColGoodFromTo, words::kCol1st, words::kCol2nd,
               words::kCol3rd, words::kColGoodasked},
              5);
    for (const Outlet& outlet : outlets) {
        const Bucket bucket = bucket_for(outlet.flow_m3_s, us);
        const double seconds = bucket.volume_m3 / outlet.flow_m3_s;
        if (seconds < kLeast_s)
            form.add({outlet.name, scene.speech().flow(outlet.flow_m3_s), std::string(words::kSheetLarge), "-", "-", kBlank, kBlank, kBlank, kBlank});
        else
            form.add({outlet.name, scene.speech().flow(outlet.flow_m3_s), bucket.name, fmt::format("{:.0f}", seconds),
                      fmt::format("{:.0f}-{:.0f}", seconds / (1.0 + kPassBand), seconds / (1.0 - kPassBand)), kBlank, kBlank, kBlank, kBlank});
    }
    html::add(sheet, "p", {{"class", "note"}}, words::kSheetBand);
}

void add_levels(html::Node sheet, const ReportScene& scene, const StateMade& state) {
    Form form(sheet, words::kSheetLevels,
              {words::kColVessel, words::kColRimToWater, words::kColDepth, words::kColPumpsStoppedDepth, words::kColFound, words::kColFoundStopped,
               words::kColGoodasked},
              4);
    for (std::size_t v = 0; v < scene.layout().vessels.size(); ++v) {
        const settle::VesselAnswer& water = state.answer.vessels[v];
        const auto ledger = std::find_if(state.answer.ledgers.begin(), state.answer.ledgers.end(),
                                         [v](const settle::SumpLedger& one) { return at(one.vessel) == v; });
        form.add({scene.layout().vessels[v].id, scene.speech().height(water.freeboard_m), scene.speech().height(water.depth_m),
                  ledger == state.answer.ledgers.end() ? std::string("-") : scene.speech().height(ledger->stopped_depth_m), kBlank,
                  ledger == state.answer.ledgers.end() ? std::string("-") : std::string(kBlank), kBlank});
    }
}

void add_gauges(html::Node sheet, const ReportScene& scene, const StateMade& state) {
    if (scene.layout().pumps.empty()) return;
    Form form(sheet, words::kSheetGauges,
              {words::kColPump, words::kColMoves, words::kColLifts, words::kColValveBehindItShutLifts, words::kColPower, words::kColFound,
               words::kColFoundShut, words::kColFoundPower},
              5);
    for (std::size_t p = 0; p < scene.layout().pumps.size(); ++p) {
        const layout::Pump& pump = scene.layout().pumps[p];
        const settle::PumpAnswer& now = state.answer.pumps[p];
        if (!now.running) {
            form.add({pump.id, std::string(words::kStopped), "-", "-", "-", "-", "-", "-"});
            continue;
        }
        const physics::PumpDuty duty{.speed = state.conditions.pump_speed[p], .count = pump.count, .wear = pump.wear};
        form.add({pump.id, scene.speech().flow(now.flow_m3_s), scene.speech().head(now.head_m),
                  scene.speech().head(scene.layout().pump_models[at(pump.model)].curve.shut_off_head_m(duty)), scene.speech().power(now.power_w),
                  kBlank, kBlank, kBlank});
    }
}

void add_settings(html::Node sheet, const ReportScene& scene, const StateMade& state) {
    const Settings set = settings_of(scene.layout(), state.conditions, SettingsFor::hands);
    const html::Node lines = html::add(sheet, "p");
    html::add(lines, "strong", {}, std::string(words::kSheetValves) + ": ");
    std::string text = set.shut.empty() ? std::string() : fmt::format(words::kAreShut, listed(set.shut, set.shut.size()));
    if (!set.others.empty()) text += (text.empty() ? "" : "; ") + listed(set.others, set.others.size());
    html::text(lines, text.empty() ? std::string(words::kSheetValvesNone) : text + ".");
}

/// Every arrangement against everything that is set by hand.
void add_schedule(html::Node section, const ReportScene& scene) {
    const layout::Layout& layout = scene.layout();
    std::vector<Column> columns{{words::kColArrangement, Align::left}};
    for (const layout::Valve& valve : layout.valves)
        if (!physics::valve_is_one_way(valve.kind)) columns.push_back({valve.id, Align::right});
    for (const layout::Pump& pump : layout.pumps) columns.push_back({pump.id, Align::right});
    for (const layout::Standpipe& standpipe : layout.standpipes)
        if (standpipe.inserts.size() > 1) columns.push_back({standpipe.id, Align::right});
    Table table(columns);
    for (const StateMade& state : scene.matter.arrangements) {
        std::vector<std::string> cells{state.answer.name};
        const auto set = [](double share, const char* none, const char* whole) -> std::string {
            return share <= 0.0 ? none : share == 1.0 ? whole : Speech::share(share);
        };
        for (std::size_t v = 0; v < layout.valves.size(); ++v)
            if (!physics::valve_is_one_way(layout.valves[v].kind))
                cells.push_back(set(state.conditions.valve_opening[v], words::kIsShut, words::kIsOpen));
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) cells.push_back(set(state.conditions.pump_speed[p], words::kIsOff, words::kIsOn));
        for (std::size_t i = 0; i < layout.standpipes.size(); ++i)
            if (layout.standpipes[i].inserts.size() > 1) cells.push_back(layout.standpipes[i].inserts[at(state.conditions.insert[i])].name);
        table.add(cells);
    }
    html::add(section, "h3", {}, words::kSchedule);
    html::add(section, "p", {{"class", "note"}}, words::kScheduleNote);
    html::Node made = html::table(section, table, words::kSchedule, html::Caption::heard);
    if (made) made.attribute("class").set_value((std::string(made.attribute("class").value()) + " schedule").c_str());
}

}  // namespace

void add_sheet(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "sheet", words::kSheet);
    html::add(section, "p", {{"class", "note"}}, words::kSheetNote);
    html::add(section, "p", {{"class", "note"}}, words::kSheetOrder);
    add_schedule(section, scene);
    for (std::size_t i = 0; i < scene.matter.arrangements.size(); ++i) {
        if (!in_full(scene, i)) {
            html::add(section, "p", {{"class", "note"}}, words::kNotInFull);
            break;
        }
        const StateMade& state = scene.matter.arrangements[i];
        html::Node sheet = html::add(section, "details", {{"class", "paper"}});
        if (i == 0) sheet.append_attribute("open").set_value("");
        html::add(sheet, "summary", {}, state.answer.name);
        html::add(sheet, "p", {{"class", "by"}}, words::kSheetDate);
        add_settings(sheet, scene, state);
        if (state.answer.vessels.empty() || state.answer.state == settle::State::no_solution) {
            html::add(sheet, "p", {}, with_full_stop(headline(state.answer, state.found, scene.speech())));
            continue;
        }
        add_outlets(sheet, scene, state);
        add_levels(sheet, scene, state);
        add_gauges(sheet, scene, state);
    }
}

}  // namespace ebb::cli
