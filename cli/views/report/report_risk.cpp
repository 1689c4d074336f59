// What can go wrong and how sure all this is: the card for a power cut, the windows of siphons, the unknowns that move the answer most.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/question_cut_text.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_units.h"
#include "cli/views/report/report_words.h"
#include "cli/views/uncertain.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrops_m3_s = 1e-9;

/// What to do first, in order, with this farm's levels and minutes.
std::vector<std::string> first_steps(const ReportScene& scene, const time::PowerCutAnswer& cut) {
    std::vector<std::string> steps = {std::string(words::kCutAir), std::string(words::kCutSwitch)};
    std::vector<std::string> sumps, depths;
    for (const time::HomeComing& home : cut.home) {
        if (at(home.sump) >= cut.vessels.size()) continue;
        sumps.push_back(scene.layout().vessels[at(home.sump)].id);
        depths.push_back(scene.speech().height(cut.vessels[at(home.sump)].end_depth_m));
    }
    if (!sumps.empty()) steps.push_back(fmt::format(words::kCutLook, listed(sumps, sumps.size()), listed(depths, depths.size())));
    steps.push_back(std::isfinite(cut.first_spill_s) ? fmt::format(words::kCutDanger, Speech::duration(cut.first_spill_s))
                                                     : std::string(words::kCutNoDanger));
    steps.emplace_back(words::kCutBack);
    return steps;
}

void add_list(html::Node parent, const std::vector<std::string>& lines) {
    const html::Node list = html::add(parent, "ul", {{"class", "said"}});
    for (const std::string& line : lines) html::add(list, "li", {}, line);
}

/// The arrangements in which a bed gets water, each figure once.
std::vector<RowPlot::Point> inflows_of(const ReportScene& scene, std::int32_t vessel, const AxisUnits& units) {
    std::vector<RowPlot::Point> points;
    const std::string& id = scene.layout().vessels[at(vessel)].id;
    for (const StateMade& state : scene.matter.arrangements) {
        if (state.answer.vessels.empty()) continue;
        const double inflow_m3_s = state.answer.vessels[at(vessel)].inflow_m3_s;
        if (!(inflow_m3_s > kDrops_m3_s)) continue;
        points.push_back(
            {.x = units.flow(inflow_m3_s), .says = fmt::format(words::kGetsIn, id, scene.speech().flow(inflow_m3_s), state.answer.name), .ink = 1});
    }
    return points;
}

RowPlot::Row siphon_row(const ReportScene& scene, std::size_t s, const AxisUnits& units) {
    const layout::Siphon& siphon = scene.layout().siphons[s];
    const time::StartBand band = time::start_band_of(siphon);
    RowPlot::Row row;
    row.name = fmt::format("{} ({})", siphon.id, siphon.in_id);
    if (s < scene.matter.windows.size() && std::isfinite(scene.matter.windows[s].starts_from_m3_s) &&
        std::isfinite(scene.matter.windows[s].breaks_to_m3_s)) {
        const time::SiphonWindow& window = scene.matter.windows[s];
        row.bands.push_back(
            {units.flow(window.starts_from_m3_s), units.flow(window.breaks_to_m3_s),
             fmt::format(words::kStartsBreaks, scene.speech().flow(window.starts_from_m3_s), scene.speech().flow(window.breaks_to_m3_s)), 2, false});
    }
    row.bands.push_back({units.flow(band.may_m3_s), units.flow(band.surely_m3_s),
                         fmt::format(words::kMayStart, scene.speech().flow(band.may_m3_s), scene.speech().flow(band.surely_m3_s)), 6, true});
    row.points = inflows_of(scene, siphon.in.index, units);
    return row;
}

std::string breaks_to(const ReportScene& scene, std::size_t s) {
    return s < scene.matter.windows.size() ? scene.speech().flow(scene.matter.windows[s].breaks_to_m3_s) : std::string("-");
}

Table siphons_by_arrangement(const ReportScene& scene) {
    Table table({{words::kColSiphon, Align::left},
                 {words::kColIn, Align::left},
                 {words::kColStartsWith},
                 {words::kColMayStartFrom},
                 {words::kColSurelyFrom},
                 {words::kColBreaksTo},
                 {words::kColBedGets},
                 {words::kColInArrangement, Align::left},
                 {"", Align::left}});
    for (std::size_t s = 0; s < scene.layout().siphons.size(); ++s) {
        const layout::Siphon& siphon = scene.layout().siphons[s];
        const time::StartBand band = time::start_band_of(siphon);
        bool any = false;
        for (const StateMade& state : scene.matter.arrangements) {
            if (state.answer.vessels.empty() || !(state.answer.vessels[at(siphon.in.index)].inflow_m3_s > kDrops_m3_s)) continue;
            const settle::SiphonAnswer& water = state.answer.siphons[s];
            table.add({siphon.id, siphon.in_id, scene.speech().flow(siphon.starts_with_m3_s), scene.speech().flow(band.may_m3_s),
                       scene.speech().flow(band.surely_m3_s), breaks_to(scene, s),
                       scene.speech().flow(state.answer.vessels[at(siphon.in.index)].inflow_m3_s), state.answer.name,
                       water.runs_for_ever ? words::kRunsForEver
                       : water.dribbles    ? words::kDribbles
                                           : ""},
                      water.runs_for_ever || water.dribbles ? Ink::trouble : Ink::plain);
            any = true;
        }
        if (!any)
            table.add({siphon.id, siphon.in_id, scene.speech().flow(siphon.starts_with_m3_s), scene.speech().flow(band.may_m3_s),
                       scene.speech().flow(band.surely_m3_s), breaks_to(scene, s), "-", "-"});
    }
    return table;
}

Table spreads_table(const ReportScene& scene, const survey::UncertainAnswer& unsure) {
    Table table({{"", Align::left}, {words::kColLeast}, {words::kColMiddle}, {words::kColGreatest}});
    const Speech& speech = scene.speech();
    for (std::size_t v = 0; v < unsure.vessels.size(); ++v) {
        const survey::Spread& spread = unsure.vessels[v].inflow_m3_s;
        if (spread.middle > kDrops_m3_s)
            table.add({scene.layout().vessels[v].id + " " + words::kColGets, speech.flow(spread.low), speech.flow(spread.middle),
                       speech.flow(spread.high)});
    }
    for (std::size_t p = 0; p < unsure.pumps.size(); ++p) {
        const survey::Spread& spread = unsure.pumps[p].flow_m3_s;
        if (spread.middle > kDrops_m3_s)
            table.add(
                {scene.layout().pumps[p].id + " " + words::kColMoves, speech.flow(spread.low), speech.flow(spread.middle), speech.flow(spread.high)});
    }
    return table;
}

}  // namespace

void add_cut(html::Node main, const ReportScene& scene) {
    if (!scene.matter.cut || !scene.matter.cut->any_pump_ran) return;
    const time::PowerCutAnswer& cut = *scene.matter.cut;
    html::Node section = html::section(main, "power-cut", words::kCut);
    section.append_attribute("class").set_value("card");
    const CutCard card = cut_card(scene.subject, cut);
    html::add(section, "h3", {}, words::kCutFirst);
    add_list(section, first_steps(scene, cut));
    html::add(section, "h3", {}, words::kCutClocks);
    add_list(section, {std::string(words::kCutClockAir), fmt::format(words::kCutClockHome, Speech::duration(cut.over_after_s)),
                       std::isfinite(cut.first_spill_s) ? fmt::format(words::kCutClockSpill, Speech::duration(cut.first_spill_s))
                                                        : std::string(words::kCutClockNoSpill)});
    html::add(section, "h3", {}, fmt::format(words::kCutLevels, scene.first().answer.name));
    add_said(section, card.sentences);
    html::table(section, card.table, words::kCut, html::Caption::heard);
    add_list(section, card.cautions);
}

void add_siphons(html::Node main, const ReportScene& scene) {
    if (scene.layout().siphons.empty()) return;
    const html::Node section = html::section(main, "siphons", words::kSiphonsHeading);
    const AxisUnits units(scene.speech());
    RowPlot plot;
    plot.says = words::kSiphonsSays;
    plot.x = {fmt::format(words::kInflowAxis, units.flow_name()), 0.0};
    constexpr std::size_t kMost = 40;
    for (std::size_t s = 0; s < std::min(kMost, scene.layout().siphons.size()); ++s) plot.rows.push_back(siphon_row(scene, s, units));
    scene.painter.draw(section, plot, words::kSiphonsCaption);
    html::add(section, "p", {{"class", "note"}}, words::kSiphonsNote);
    html::table(section, siphons_by_arrangement(scene), words::kSiphonsHeading, html::Caption::heard);
}

void add_unsure(html::Node main, const ReportScene& scene) {
    if (!scene.matter.unsure || scene.matter.unsure->solved == 0) return;
    const survey::UncertainAnswer& unsure = *scene.matter.unsure;
    const html::Node section = html::section(main, "unsure", words::kUnsure);
    html::add(section, "p", {{"class", "note"}}, fmt::format(words::kUnsureNote, scene.first().answer.name, unsure.samples));
    RowPlot plot;
    plot.x = {std::string(words::kUnsureAxis), 0.0};
    std::vector<std::string> said;
    constexpr std::size_t kMost = 10;
    constexpr double kPercent = 100.0, kTrace = 0.005;
    for (std::size_t i = 0; i < std::min(kMost, unsure.measure.size()); ++i) {
        const survey::Cause& cause = unsure.measure[i];
        if (cause.share < kTrace) break;
        const std::string name = words_of(scene.layout(), unsure.uncertainties[cause.uncertainty], scene.speech());
        const std::string share = Speech::share(cause.share);
        plot.rows.push_back(
            {.name = name, .after = share, .bands = {{0.0, kPercent * cause.share, fmt::format("{}: {}", name, share), 0, false}}, .points = {}});
        said.push_back(fmt::format("{} {}", name, share));
    }
    plot.says = fmt::format(words::kUnsureSays, listed(said, said.size()));
    if (!plot.rows.empty()) scene.painter.draw(section, plot, words::kUnsureCaption);
    const html::Node details = html::add(section, "details");
    html::add(details, "summary", {}, words::kUnsureFigures);
    html::table(details, spreads_table(scene, unsure), words::kUnsureFigures, html::Caption::heard);
}

}  // namespace ebb::cli
