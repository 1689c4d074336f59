// The switches, and the two tables that follow them. They are written as the first arrangement has them; the page's script writes them anew.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

const std::string& id_of(const layout::Layout& layout, const survey::Switch& one) {
    switch (one.thing.kind) {
        case layout::Kind::pump: return layout.pumps[at(one.thing.index)].id;
        case layout::Kind::standpipe: return layout.standpipes[at(one.thing.index)].id;
        default: return layout.valves[at(one.thing.index)].id;
    }
}

/// "VB1 feeds B1": what a switch is for.
std::string meaning_of(const layout::Layout& layout, const survey::Switch& one) {
    if (one.thing.kind == layout::Kind::pump) return layout.pumps[at(one.thing.index)].id;
    if (one.thing.kind == layout::Kind::standpipe) {
        const layout::Standpipe& standpipe = layout.standpipes[at(one.thing.index)];
        return fmt::format("{} ({})", standpipe.id, standpipe.in_id);
    }
    const layout::Valve& valve = layout.valves[at(one.thing.index)];
    return valve.pipe < 0 ? valve.id : fmt::format("{} ({})", valve.id, layout.pipes[at(valve.pipe)].to.id);
}

void add_switch(html::Node group, const ReportScene& scene, std::size_t s) {
    const survey::Switch& one = scene.matter.what_if.question.switches[s];
    const bool off = (scene.matter.what_if.drawn >> s & 1U) != 0;
    const html::Node label = html::add(group, "label", {{"class", "switch"}});
    html::Node box = html::add(
        label, "input",
        {{"type", "checkbox"}, {"role", "switch"}, {"data-switch", std::to_string(s)}, {"data-id", id_of(scene.layout(), one)}, {"disabled", ""}});
    if (!off) box.append_attribute("checked").set_value("");
    html::text(label, meaning_of(scene.layout(), one));
}

void add_switches(html::Node parent, const ReportScene& scene) {
    const auto group_of = [&](layout::Kind kind, std::string_view name) {
        html::Node group;
        for (std::size_t s = 0; s < scene.matter.what_if.question.switches.size(); ++s) {
            if (scene.matter.what_if.question.switches[s].thing.kind != kind) continue;
            if (!group) {
                group = html::add(parent, "fieldset");
                html::add(group, "legend", {}, name);
            }
            add_switch(group, scene, s);
        }
    };
    group_of(layout::Kind::valve, words::kValvesOf);
    group_of(layout::Kind::pump, words::kPumpsOf);
    group_of(layout::Kind::standpipe, words::kInsertsOf);
}

std::string held_words(const ReportScene& scene) {
    const WhatIfMade& what_if = scene.matter.what_if;
    constexpr double kExact = 9e15;  // whole numbers up to here
    const std::string all = what_if.all < kExact ? grouped(static_cast<std::uint64_t>(what_if.all)) : fmt::format("{:.2g}", what_if.all);
    if (static_cast<double>(what_if.held.size()) >= what_if.all) return fmt::format(words::kWhatIfAll, all);
    std::vector<std::string> whole;
    for (std::size_t s = 0; s < what_if.whole; ++s) whole.push_back(id_of(scene.layout(), what_if.question.switches[s]));
    if (whole.empty()) return fmt::format(words::kWhatIfSomeFew, all, what_if.held.size());
    return fmt::format(words::kWhatIfSome, all, what_if.held.size(), in_few_words(whole, whole.size()), scene.first().answer.name);
}

void add_titles(html::Node table, std::initializer_list<const char*> titles) {
    const html::Node row = html::add(html::add(table, "thead"), "tr");
    for (const char* title : titles) html::add(row, *title == '\0' ? "td" : "th", {}, title);
}

std::string wants_of(const layout::Vessel& vessel, const Speech& speech) {
    std::string text = layout::said(vessel.turnover_s) ? Speech::duration(vessel.turnover_s) : std::string();
    if (layout::said(vessel.inflow_m3_s)) text += (text.empty() ? "" : ", ") + speech.flow(vessel.inflow_m3_s);
    return text.empty() ? "-" : text;
}

void add_vessels(html::Node parent, const ReportScene& scene) {
    const html::Node table = html::add(html::scroll_box(parent, words::kStateVessels), "table", {{"id", "state-vessels"}, {"class", "figures"}});
    html::add(table, "caption", {}, words::kStateVessels);
    add_titles(table, {words::kColVessel, words::kColGets, words::kColLevel, words::kColToRim, words::kColTurnsOverIn, words::kColWants, ""});
    const html::Node body = html::add(table, "tbody");
    for (std::size_t v = 0; v < scene.layout().vessels.size(); ++v) {
        const layout::Vessel& vessel = scene.layout().vessels[v];
        const bool there = !scene.first().answer.vessels.empty();
        const settle::VesselAnswer water = there ? scene.first().answer.vessels[v] : settle::VesselAnswer{};
        const html::Node row = html::add(body, "tr", {{"data-vessel", std::to_string(v)}});
        html::add(row, "th", {{"scope", "row"}}, vessel.id);
        constexpr double kDrops_m3_s = 1e-9;
        const bool flows = water.inflow_m3_s > kDrops_m3_s;
        for (const std::string& cell :
             {scene.speech().flow(water.inflow_m3_s), scene.speech().level(water.level_m), scene.speech().height(water.freeboard_m),
              flows ? Speech::duration(water.turnover_s) : std::string("-"), wants_of(vessel, scene.speech()), std::string()})
            html::add(row, "td", {}, cell);
    }
}

void add_pumps_table(html::Node parent, const ReportScene& scene) {
    if (scene.layout().pumps.empty()) return;
    const html::Node table = html::add(html::scroll_box(parent, words::kStatePumps), "table", {{"id", "state-pumps"}, {"class", "figures"}});
    html::add(table, "caption", {}, words::kStatePumps);
    add_titles(table, {words::kColPump, words::kColMoves, words::kColLifts, words::kColPower});
    const html::Node body = html::add(table, "tbody");
    for (std::size_t p = 0; p < scene.layout().pumps.size(); ++p) {
        const bool there = !scene.first().answer.pumps.empty();
        const settle::PumpAnswer pump = there ? scene.first().answer.pumps[p] : settle::PumpAnswer{};
        const html::Node row = html::add(body, "tr", {{"data-pump", std::to_string(p)}});
        html::add(row, "th", {{"scope", "row"}}, scene.layout().pumps[p].id);
        html::add(row, "td", {}, pump.running ? scene.speech().flow(pump.flow_m3_s) : std::string(words::kStopped));
        html::add(row, "td", {}, pump.running ? scene.speech().head(pump.head_m) : std::string("-"));
        html::add(row, "td", {}, pump.running ? scene.speech().power(pump.power_w) : std::string("-"));
    }
}

}  // namespace

void add_what_if(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "what-if", words::kWhatIf);
    html::add(section, "p", {{"class", "note"}}, words::kWhatIfNote);
    const html::Node controls = html::add(section, "div", {{"class", "controls"}});
    const html::Node label = html::add(controls, "label", {{"class", "choice"}});
    html::text(label, std::string(words::kArrangement) + " ");
    const html::Node select = html::add(label, "select", {{"id", "arrangement"}, {"disabled", ""}});
    for (std::size_t i = 0; i < scene.matter.arrangements.size(); ++i)
        html::add(select, "option", {{"value", std::to_string(i)}}, scene.matter.arrangements[i].answer.name);
    if (!scene.matter.what_if.question.switches.empty()) {
        const html::Node details = html::add(controls, "details", {{"id", "switches"}, {"open", ""}});
        html::add(details, "summary", {}, fmt::format(words::kSwitches, scene.first().answer.name));
        add_switches(details, scene);
        html::add(details, "button", {{"type", "button"}, {"id", "reset"}, {"disabled", ""}}, words::kSwitchesReset);
        html::add(details, "p", {{"class", "note"}}, held_words(scene));
    }
    html::add(section, "p", {{"id", "stated"}, {"class", "stated"}, {"role", "status"}, {"aria-live", "polite"}},
              fmt::format(words::kStated, scene.first().answer.name));
    add_said(html::add(section, "div", {{"id", "state-said"}}), said_of(scene, scene.first()));
    const html::Node tables = html::add(section, "div", {{"class", "beside"}});
    add_vessels(tables, scene);
    add_pumps_table(tables, scene);
}

}  // namespace ebb::cli
