// Sections about water that stands: levels, and the sump ledger as marks on a wall.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

/// The target of a vessel for one quantity, or nullptr.
const settle::Target* target_of(const settle::Answer& answer, const std::string& id, std::string_view quantity) {
    const auto found = std::find_if(answer.targets.begin(), answer.targets.end(),
                                    [&](const settle::Target& target) { return target.about == id && target.quantity == quantity; });
    return found == answer.targets.end() ? nullptr : &*found;
}

/// A value that may stand for several: of a band, of several vessels, of both.
class Spread {
public:
    void add(double value) {
        band_.low = std::fmin(band_.low, value);
        band_.high = std::fmax(band_.high, value);
    }
    void add(double value, const settle::Band& band) {
        add(band.there() ? band.low : value);
        add(band.there() ? band.high : value);
    }
    const settle::Band& band() const { return band_; }
    double middle() const { return 0.5 * (band_.low + band_.high); }

private:
    settle::Band band_;
};

/// One line of the table of levels: a vessel, or several alike.
struct LevelLine {
    std::vector<std::string> ids;
    Spread level_m, depth_m, volume_m3, inflow_m3_s, turnover_s, spill_m3_s;
    double freeboard_m = settle::kUnknown;  ///< the least of them
    bool turns_over = true;
    std::string wants;
    Ink ink = Ink::plain;
    layout::VesselKind kind = layout::VesselKind::vessel;
    double height_m = 0.0;
};

constexpr double kDropsM3S = 1e-9;  // 4 ml an hour turn nothing over

/// What a vessel should have, of one quantity; "not now" when the arrangement shuts its water off.
std::string wants_cell(const Scene& scene, const std::string& id) {
    const settle::Target* turnover = target_of(scene.answer, id, "turnover_s");
    const settle::Target* inflow = target_of(scene.answer, id, "inflow_m3_s");
    if ((turnover != nullptr && !turnover->asked) || (inflow != nullptr && !inflow->asked)) {
        return "not now";
    }
    std::string text = turnover == nullptr ? std::string() : Speech::duration(turnover->wanted);
    if (inflow != nullptr) {
        text += (text.empty() ? "" : ", ") + scene.speech.flow(inflow->wanted);
    }
    return text;
}

Ink ink_of_vessel(const Scene& scene, std::size_t index) {
    const std::string& id = scene.layout.vessels[index].id;
    const bool missed = std::any_of(scene.answer.targets.begin(), scene.answer.targets.end(),
                                    [&](const settle::Target& target) { return target.about == id && is_missed(scene.answer, target); });
    if (missed || scene.answer.vessels[index].spill_m3_s > kDropsM3S) {
        return Ink::trouble;
    }
    Ink ink = Ink::plain;
    for (const Finding& finding : scene.found) {
        if (finding.about == id) {
            ink = finding.weight == Weight::trouble || ink == Ink::trouble ? Ink::trouble : Ink::doubt;
        }
    }
    return ink;
}

/// Volume and turnover at the ends of the bands of depth and inflow: more water stands higher.
void add_figures(LevelLine& line, const layout::Vessel& vessel, const settle::VesselAnswer& water) {
    const settle::Band& depth = water.depth_band;
    const double height_m = vessel.rim_m - vessel.floor_m;
    line.depth_m.add(water.depth_m, depth);
    line.level_m.add(water.level_m);  // its band is that of the depth, said beside it
    line.freeboard_m = std::fmin(line.freeboard_m, depth.there() ? height_m - depth.high : water.freeboard_m);
    line.inflow_m3_s.add(water.inflow_m3_s, water.inflow_band);
    line.spill_m3_s.add(water.spill_m3_s);
    line.turns_over = line.turns_over && water.inflow_m3_s > kDropsM3S;
    const auto holds = [&](double depth_m) { return depth.there() ? layout::volume_at_depth(vessel, depth_m) : water.volume_m3; };
    line.volume_m3.add(holds(depth.low));
    line.volume_m3.add(holds(depth.high));
    if (water.inflow_band.there() && water.inflow_band.low > kDropsM3S) {
        line.turnover_s.add(holds(depth.low) / water.inflow_band.low);
        line.turnover_s.add(holds(depth.high) / water.inflow_band.high);
    } else {
        line.turnover_s.add(water.turnover_s);
    }
}

LevelLine line_of(const Scene& scene, std::size_t index) {
    const layout::Vessel& vessel = scene.layout.vessels[index];
    LevelLine line;
    line.ids = {vessel.id};
    line.wants = wants_cell(scene, vessel.id);
    line.ink = ink_of_vessel(scene, index);
    line.kind = vessel.kind;
    line.height_m = vessel.rim_m - vessel.floor_m;
    add_figures(line, vessel, scene.answer.vessels[index]);
    return line;
}

/// True when both can be said in one line: the same kind and height, the same wish, the same mark, and both with or without water coming.
bool alike(const LevelLine& one, const LevelLine& other) {
    constexpr double kSame = 1e-9;
    const bool same_things = one.kind == other.kind && one.kind != layout::VesselKind::sump && std::abs(one.height_m - other.height_m) < kSame;
    const bool same_news = one.ink == other.ink && one.turns_over == other.turns_over && one.wants == other.wants;
    return same_things && same_news && !(one.spill_m3_s.band().high > 0.0) && !(other.spill_m3_s.band().high > 0.0);
}

std::vector<LevelLine> level_lines(const Scene& scene) {
    std::vector<LevelLine> lines;
    for (std::size_t i = 0; i < scene.layout.vessels.size(); ++i) {
        const LevelLine line = line_of(scene, i);
        if (scene.compact && !lines.empty() && alike(lines.back(), line)) {
            lines.back().ids.push_back(line.ids.front());
            add_figures(lines.back(), scene.layout.vessels[i], scene.answer.vessels[i]);
        } else {
            lines.push_back(line);
        }
    }
    return lines;
}

/// From the top down, without what is not known.
std::vector<SumpMark> sorted_marks(std::vector<SumpMark> marks) {
    marks.erase(std::remove_if(marks.begin(), marks.end(), [](const SumpMark& mark) { return std::isnan(mark.depth_m); }), marks.end());
    std::stable_sort(marks.begin(), marks.end(), [](const SumpMark& one, const SumpMark& other) { return one.depth_m > other.depth_m; });
    return marks;
}

SumpMark stopped_mark(const settle::SumpLedger& ledger, const Speech& speech) {
    constexpr double kThimbleM3 = 1e-6;  // 1 ml
    const std::string home = speech.volume(ledger.returned_m3);
    return {ledger.stopped_depth_m, "all pumps stopped",
            ledger.stopped_spill_m3 > kThimbleM3 ? fmt::format("{} come home, {} of it over the rim", home, speech.volume(ledger.stopped_spill_m3))
                                                 : fmt::format("{} come home; {} left to the rim", home, speech.height(ledger.freeboard_stopped_m))};
}

/// The marks of every sump, one sump a line.
std::string short_sumps(const Scene& scene) {
    Table table({{"on the wall of", Align::left},
                 {"rim"},
                 {"pumps stopped"},
                 {every_pump_stopped(scene.answer) ? "now" : "running"},
                 {"a day later"},
                 {"least depth"},
                 {"lasts"}});
    for (const settle::SumpLedger& ledger : scene.answer.ledgers) {
        const layout::Vessel& sump = scene.layout.vessels[static_cast<std::size_t>(ledger.vessel)];
        const Speech& speech = scene.speech;
        const bool spills = ledger.stopped_spill_m3 > 1e-6;
        table.add({sump.id, speech.height(sump.rim_m - sump.floor_m), spills ? "spills" : speech.height(ledger.stopped_depth_m),
                   speech.height(ledger.running_depth_m), speech.height(ledger.depth_after_day_m), speech.height(ledger.least_depth_m),
                   std::isnan(ledger.days_to_least) ? "-" : Speech::plain(ledger.days_to_least) + " days"},
                  spills ? Ink::trouble : Ink::plain);
    }
    return table.empty() ? std::string() : "\n" + table.text(scene.paint);
}

constexpr std::size_t kLinesShown = 200;

}  // namespace

std::vector<SumpMark> sump_marks(const layout::Vessel& sump, const settle::SumpLedger& ledger, const Speech& speech, bool stopped) {
    std::vector<SumpMark> marks;
    marks.push_back({sump.rim_m - sump.floor_m, "rim", ""});
    if (!stopped) {
        marks.push_back(stopped_mark(ledger, speech));
    }
    marks.push_back({ledger.running_depth_m, stopped ? "now, every pump stopped" : "running",
                     fmt::format("{} left to the rim", speech.height(ledger.freeboard_running_m))});
    marks.push_back({ledger.depth_after_day_m, "after a day without top-up", fmt::format("{} evaporate", speech.volume(ledger.evaporation_m3_day))});
    if (!(ledger.least_depth_m > 0.0)) {
        return sorted_marks(std::move(marks));
    }
    const std::string margin =
        std::isnan(ledger.margin_m)
            ? std::string()
            : fmt::format("{} and {} below that day's end{}", speech.height(ledger.margin_m), speech.volume(ledger.margin_m3),
                          std::isnan(ledger.days_to_least) ? std::string()
                                                           : fmt::format("; reached in {} days", Speech::plain(ledger.days_to_least)));
    marks.push_back({ledger.least_depth_m, "least depth", margin});
    return sorted_marks(std::move(marks));
}

Table levels_table(const Scene& scene) {
    constexpr std::size_t kNamed = 4;
    Table table({{"vessel", Align::left}, {"level"}, {"depth"}, {"to rim"}, {"holds"}, {"gets"}, {"turns over in"}, {"wants"}, {"spills"}});
    const std::vector<LevelLine> lines = level_lines(scene);
    const Speech& speech = scene.speech;
    for (std::size_t i = 0; i < std::min(lines.size(), kLinesShown); ++i) {
        const LevelLine& line = lines[i];
        table.add({in_few_words(line.ids, kNamed), speech.level(line.level_m.middle(), line.level_m.band()),
                   speech.height(line.depth_m.middle(), line.depth_m.band()), speech.height(line.freeboard_m),
                   speech.volume(line.volume_m3.middle(), line.volume_m3.band()), speech.flow(line.inflow_m3_s.middle(), line.inflow_m3_s.band()),
                   line.turns_over ? Speech::duration(line.turnover_s.middle(), line.turnover_s.band()) : "-", line.wants.empty() ? "-" : line.wants,
                   line.spill_m3_s.band().high > kDropsM3S ? speech.flow(line.spill_m3_s.middle()) : std::string()},
                  line.ink);
    }
    return table;
}

std::string levels_section(const Scene& scene) {
    if (scene.layout.vessels.empty()) {
        return {};
    }
    std::string text = "\n" + levels_table(scene).text(scene.paint);
    const std::size_t lines = level_lines(scene).size();
    if (lines > kLinesShown) {
        text += fmt::format("  and {} more lines: --format csv lists them all.\n", lines - kLinesShown);
    }
    return text;
}

std::vector<Table> sump_tables(const Scene& scene) {
    const bool stopped = every_pump_stopped(scene.answer);
    std::vector<Table> tables;
    for (const settle::SumpLedger& ledger : scene.answer.ledgers) {
        const layout::Vessel& sump = scene.layout.vessels[static_cast<std::size_t>(ledger.vessel)];
        const std::string title = "lines on the wall of " + sump.id + (scene.answer.rests_on_label ? " (about)" : "");
        Table table({{title, Align::left}, {"above floor"}, {"holds"}, {"", Align::left}});
        for (const SumpMark& mark : sump_marks(sump, ledger, scene.speech, stopped)) {
            table.add({mark.name, scene.speech.height(mark.depth_m), scene.speech.volume(layout::volume_at_depth(sump, mark.depth_m)), mark.says});
        }
        tables.push_back(std::move(table));
    }
    return tables;
}

std::string sumps_section(const Scene& scene) {
    if (scene.compact) {
        return short_sumps(scene);
    }
    std::string text;
    for (const Table& table : sump_tables(scene)) {
        text += "\n" + table.text(scene.paint);
    }
    return text;
}

}  // namespace ebb::cli
