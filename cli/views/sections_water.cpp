// Sections about water that stands: levels, and the sump ledger as marks on a wall.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

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

std::string turnover_cell(const Scene& scene, std::size_t index) {
    const settle::VesselAnswer& water = scene.answer.vessels[index];
    const settle::Target* target = target_of(scene.answer, scene.layout.vessels[index].id, "turnover_s");
    constexpr double kDropsM3S = 1e-9;  // 4 ml an hour turn nothing over
    const std::string turnover = water.inflow_m3_s > kDropsM3S ? Speech::duration(water.turnover_s) : "-";
    return target == nullptr ? turnover : fmt::format("{} (wants {})", turnover, Speech::duration(target->wanted));
}

std::string inflow_cell(const Scene& scene, std::size_t index) {
    const settle::VesselAnswer& water = scene.answer.vessels[index];
    const settle::Target* target = target_of(scene.answer, scene.layout.vessels[index].id, "inflow_m3_s");
    const std::string flow = scene.speech.flow(water.inflow_m3_s, water.inflow_band);
    return target == nullptr ? flow : fmt::format("{} (wants {})", flow, scene.speech.flow(target->wanted));
}

Ink ink_of_vessel(const Scene& scene, std::size_t index) {
    const std::string& id = scene.layout.vessels[index].id;
    const bool missed = std::any_of(scene.answer.targets.begin(), scene.answer.targets.end(),
                                    [&](const settle::Target& target) { return target.about == id && !target.met && !std::isnan(target.got); });
    if (missed || scene.answer.vessels[index].spill_m3_s > 0.0) {
        return Ink::trouble;
    }
    const bool found = std::any_of(scene.found.begin(), scene.found.end(), [&](const Finding& finding) { return finding.about == id; });
    return found ? Ink::doubt : Ink::plain;
}

/// One line on the wall of a sump.
struct Mark {
    double depth_m = 0.0;
    std::string name, says;
};

/// From the top down, without what is not known.
std::vector<Mark> sorted_marks(std::vector<Mark> marks) {
    marks.erase(std::remove_if(marks.begin(), marks.end(), [](const Mark& mark) { return std::isnan(mark.depth_m); }), marks.end());
    std::stable_sort(marks.begin(), marks.end(), [](const Mark& one, const Mark& other) { return one.depth_m > other.depth_m; });
    return marks;
}

std::vector<Mark> marks_of(const layout::Vessel& sump, const settle::SumpLedger& ledger, const Speech& speech) {
    std::vector<Mark> marks;
    marks.push_back({sump.rim_m - sump.floor_m, "rim", ""});
    marks.push_back(
        {ledger.stopped_depth_m, "all pumps stopped",
         ledger.stopped_spill_m3 > 0.0
             ? fmt::format("{} come home, {} of it over the rim", speech.volume(ledger.returned_m3), speech.volume(ledger.stopped_spill_m3))
             : fmt::format("{} come home; {} left to the rim", speech.volume(ledger.returned_m3), speech.height(ledger.freeboard_stopped_m))});
    marks.push_back({ledger.running_depth_m, "running", fmt::format("{} left to the rim", speech.height(ledger.freeboard_running_m))});
    marks.push_back({ledger.depth_after_day_m, "after a day without top-up", fmt::format("{} evaporate", speech.volume(ledger.evaporation_m3_day))});
    if (!(ledger.least_depth_m > 0.0)) {
        return sorted_marks(std::move(marks));
    }
    const std::string margin =
        std::isnan(ledger.margin_m)
            ? std::string()
            : fmt::format("{} and {} below that day's end{}", speech.height(ledger.margin_m), speech.volume(ledger.margin_m3),
                          std::isnan(ledger.days_to_least) ? std::string()
                                                           : fmt::format("; reached in {} days from running", Speech::plain(ledger.days_to_least)));
    marks.push_back({ledger.least_depth_m, "least depth", margin});
    return sorted_marks(std::move(marks));
}

}  // namespace

std::string levels_section(const Scene& scene) {
    constexpr std::size_t kShown = 200;
    if (scene.layout.vessels.empty()) {
        return {};
    }
    Table table(
        {{"vessel", Align::left}, {"level"}, {"depth"}, {"to rim"}, {"holds"}, {"gets", Align::left}, {"turns over in", Align::left}, {"spills"}});
    const std::size_t count = scene.layout.vessels.size();
    for (std::size_t i = 0; i < std::min(count, kShown); ++i) {
        const settle::VesselAnswer& water = scene.answer.vessels[i];
        const bool spills = water.spill_m3_s > 0.0;
        table.add({scene.layout.vessels[i].id, scene.speech.level(water.level_m), scene.speech.height(water.depth_m, water.depth_band),
                   scene.speech.height(water.freeboard_m), scene.speech.volume(water.volume_m3), inflow_cell(scene, i), turnover_cell(scene, i),
                   spills ? scene.speech.flow(water.spill_m3_s) : std::string()},
                  ink_of_vessel(scene, i));
    }
    std::string text = "\n" + table.text(scene.paint);
    if (count > kShown) {
        text += fmt::format("  and {} more vessels: --format csv lists them all.\n", count - kShown);
    }
    return text;
}

std::string sumps_section(const Scene& scene) {
    std::string text;
    for (const settle::SumpLedger& ledger : scene.answer.ledgers) {
        const layout::Vessel& sump = scene.layout.vessels[static_cast<std::size_t>(ledger.vessel)];
        Table table({{"lines on the wall of " + sump.id, Align::left}, {"above floor"}, {"holds"}, {"", Align::left}});
        for (const Mark& mark : marks_of(sump, ledger, scene.speech)) {
            table.add({mark.name, scene.speech.height(mark.depth_m), scene.speech.volume(layout::volume_at_depth(sump, mark.depth_m)), mark.says});
        }
        text += "\n" + table.text(scene.paint);
    }
    return text;
}

}  // namespace ebb::cli
