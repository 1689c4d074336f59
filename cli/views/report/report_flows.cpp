// What each vessel gets in every arrangement, as a map; and each arrangement in full.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/views/sections.h"
#include "cli/views/settings.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kDrops_m3_s = 1e-9;  // 4 ml an hour

/// What a vessel gets of what it wants; NaN where that cannot be said.
double share_of(const ReportScene& scene, const StateMade& state, std::size_t vessel) {
    const layout::Vessel& wants = scene.layout().vessels[vessel];
    const settle::VesselAnswer& got = state.answer.vessels[vessel];
    if (layout::said(wants.inflow_m3_s)) return got.inflow_m3_s / wants.inflow_m3_s;
    if (layout::said(wants.turnover_s)) return got.inflow_m3_s > kDrops_m3_s ? wants.turnover_s / got.turnover_s : 0.0;
    const double usual = scene.first().answer.vessels[vessel].inflow_m3_s;
    return usual > kDrops_m3_s ? got.inflow_m3_s / usual : settle::kUnknown;
}

bool is_off_on_purpose(const StateMade& state, const std::string& id) {
    return std::any_of(state.answer.targets.begin(), state.answer.targets.end(),
                       [&](const settle::Target& target) { return target.about == id && !target.asked; });
}

void add_cell(html::Node row, const ReportScene& scene, const StateMade& state, std::size_t vessel) {
    const settle::VesselAnswer& water = state.answer.vessels[vessel];
    const std::string& id = scene.layout().vessels[vessel].id;
    const std::string says = fmt::format("{}, '{}': {}", id, state.answer.name, scene.speech().flow(water.inflow_m3_s));
    const bool dry = !(water.inflow_m3_s > kDrops_m3_s);
    if (dry && (is_off_on_purpose(state, id) || !layout::said(scene.layout().vessels[vessel].inflow_m3_s))) {
        html::add(row, "td", {{"title", says}}, "·");
        return;
    }
    const double share = share_of(scene, state, vessel);
    if (std::isnan(share)) {
        html::add(row, "td", {{"title", says}}, "-");
        return;
    }
    constexpr double kLow = 0.8, kJust = 0.9995, kMuch = 1.2;
    const int step = share < kLow ? 0 : share < kJust ? 1 : share <= kMuch ? 2 : 3;
    constexpr const char* kSigns[] = {"−−", "−", "+", "++"};
    const bool spills = water.spill_m3_s > kDrops_m3_s;
    const html::Node cell = html::add(row, "td", {{"class", fmt::format("heat h{}", step)}, {"title", says}});
    html::text(cell, fmt::format("{:.0f}", 100.0 * share));
    html::add(cell, "span", {{"class", "sign"}}, kSigns[step]);
    if (spills) html::add(cell, "span", {{"class", "sign"}}, "≈");
}

/// Vessels in the map: all that get water in some arrangement, sumps left out.
std::vector<std::size_t> fed_vessels(const ReportScene& scene) {
    std::vector<std::size_t> fed;
    for (std::size_t v = 0; v < scene.layout().vessels.size(); ++v) {
        if (scene.layout().vessels[v].kind == layout::VesselKind::sump) continue;
        const bool gets = std::any_of(scene.matter.arrangements.begin(), scene.matter.arrangements.end(), [v](const StateMade& one) {
            return !one.answer.vessels.empty() && one.answer.vessels[v].inflow_m3_s > kDrops_m3_s;
        });
        if (gets) fed.push_back(v);
    }
    return fed;
}

bool has_figures(const StateMade& state) {
    return state.answer.state != settle::State::no_solution && state.answer.state != settle::State::not_run && !state.answer.vessels.empty();
}

void add_settings(html::Node parent, const ReportScene& scene, const StateMade& state) {
    const Settings set = settings_of(scene.layout(), state.conditions, SettingsFor::reader);
    if (!set.shut.empty()) html::add(parent, "p", {{"class", "note"}}, std::string(words::kShut) + listed(set.shut, set.shut.size()) + ".");
    if (!set.others.empty()) html::add(parent, "p", {{"class", "note"}}, std::string(words::kSet) + listed(set.others, set.others.size()) + ".");
}

}  // namespace

void add_balance(html::Node main, const ReportScene& scene) {
    const std::vector<std::size_t> fed = fed_vessels(scene);
    if (fed.empty() || scene.matter.arrangements.size() < 2) return;
    const html::Node section = html::section(main, "balance", words::kBalance);
    html::add(section, "p", {{"class", "note"}}, fmt::format(words::kBalanceNote, scene.first().answer.name));
    const html::Node box = html::scroll_box(section, words::kBalance);
    const html::Node table = html::add(box, "table", {{"class", "map"}});
    html::add(table, "caption", {}, words::kBalanceKey);
    const html::Node titles = html::add(html::add(table, "thead"), "tr");
    html::add(titles, "th", {}, words::kColArrangement);
    for (const std::size_t v : fed) html::add(titles, "th", {{"scope", "col"}, {"class", "number"}}, scene.layout().vessels[v].id);
    const html::Node body = html::add(table, "tbody");
    for (const StateMade& state : scene.matter.arrangements) {
        const html::Node row = html::add(body, "tr");
        html::add(row, "th", {{"scope", "row"}}, state.answer.name);
        if (!has_figures(state))
            html::add(row, "td", {{"colspan", fmt::format("{}", fed.size())}}, state_words(state.answer.state));
        else
            for (const std::size_t v : fed) add_cell(row, scene, state, v);
    }
}

void add_arrangements(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "arrangements", words::kArrangements);
    for (std::size_t i = 0; i < scene.matter.arrangements.size(); ++i) {
        const StateMade& state = scene.matter.arrangements[i];
        html::Node details = html::add(section, "details", {{"id", anchor("arrangement", i)}});
        if (i == 0) details.append_attribute("open").set_value("");
        html::add(details, "summary", {}, state.answer.name);
        add_settings(details, scene, state);
        const std::vector<std::string> off = shut_off_on_purpose(state.answer);
        if (!off.empty() && !every_pump_stopped(state.answer))
            html::add(details, "p", {{"class", "note"}}, std::string(words::kOffOnPurpose) + in_few_words(off, off.size()) + ".");
        add_said(details, said_of(scene, state));
        if (!has_figures(state)) continue;
        const Scene one{scene.layout(), state.answer, state.found, state.conditions, scene.speech(), scene.plain};
        html::table(details, levels_table(one), words::kVessels);
        html::table(details, pumps_table(one), words::kPumps);
        if (!in_full(scene, i)) {
            html::add(details, "p", {{"class", "note"}}, words::kNotInFull);
            continue;
        }
        html::table(details, nozzles_table(one), words::kNozzles);
        html::table(details, standpipes_table(one), words::kOverflows);
        html::table(details, siphons_table(one), words::kSiphons);
        html::table(details, drains_table(one), words::kDrains);
        html::table(details, pipes_table(one), words::kPipes);
        html::table(details, devices_table(one), words::kDevices);
        html::table(details, tees_table(one), words::kTees);
    }
}

}  // namespace ebb::cli
