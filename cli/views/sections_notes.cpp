// What holds for every arrangement: the defaults the answers rest on, and the cautions with this farm's numbers.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

/// A figure of an assumption in a unit that reads well; plain numbers as they are.
std::string figure(double value, const std::string& unit, const Speech& speech) {
    if (std::isnan(value)) {
        return "-";
    }
    if (unit == "m") {
        constexpr double kThin = 0.0005;  // roughness of plastic in mm has more zeros than digits otherwise
        return value < kThin ? speech.roughness(value) : speech.bore(value);
    }
    if (unit == "degC") {
        return speech.temperature(value);
    }
    if (unit == "m3/s") {
        return speech.flow(value);
    }
    return unit.empty() || unit == "1" ? fmt::format("{:.4g}", value) : fmt::format("{:.4g} {}", value, unit);
}

std::string range(const layout::Assumption& assumption, const Speech& speech) {
    if (std::isnan(assumption.low) || std::isnan(assumption.high)) {
        return "-";
    }
    return fmt::format("{} to {}", figure(assumption.low, assumption.unit, speech), figure(assumption.high, assumption.unit, speech));
}

std::string beds_caution(const layout::Layout& layout, const Speech& speech) {
    double low = settle::kUnknown;
    double high = settle::kUnknown;
    for (const layout::Vessel& vessel : layout.vessels) {
        if (vessel.kind == layout::VesselKind::bed) {
            const FloodedLoad load = flooded_load(vessel);
            low = std::fmin(low, load.low_kg / vessel.plan_area_m2);
            high = std::fmax(high, load.high_kg / vessel.plan_area_m2);
        }
    }
    if (std::isnan(low)) {
        return {};
    }
    return fmt::format("Weight: a bed flooded to its rim here weighs about {} with clay pebble, to {} with gravel, besides its own frame. "
                       "Bench, slab and floor are a structural engineer's matter.",
                       speech.load(low), speech.load(high));
}

std::string aeration_caution(const layout::Layout& layout) {
    constexpr std::size_t kNamed = 8;
    std::vector<std::string> tanks;
    for (const layout::Vessel& vessel : layout.vessels) {
        if (vessel.kind == layout::VesselKind::tank) {
            tanks.push_back(vessel.id);
        }
    }
    if (tanks.empty()) {
        return {};
    }
    return fmt::format("Loss of pumping is loss of aeration: no fresh water reaches {} then. Densely stocked fish have minutes "
                       "(about 10 at 60 kg/m3, 30 at 20 kg/m3, common practice): air and water on separate protected circuits, an alarm "
                       "on flow, a backup that is tried every month.",
                       listed(tanks, kNamed));
}

}  // namespace

FloodedLoad flooded_load(const layout::Vessel& vessel) {
    // Dry bulk density of the media, common practice: expanded clay pebble 720 to 800 kg/m3, gravel to 1,760 kg/m3.
    constexpr double kLightMedia = 720.0;
    constexpr double kHeavyMedia = 1760.0;
    constexpr double kWater = 1000.0;
    const double height_m = vessel.rim_m - vessel.floor_m;
    const double water_kg = kWater * layout::volume_at_depth(vessel, height_m);
    if (vessel.kind != layout::VesselKind::bed) {
        return {water_kg, water_kg};
    }
    const double media_m3 = vessel.plan_area_m2 * (layout::said(vessel.media_depth_m) ? vessel.media_depth_m : height_m);
    return {water_kg + kLightMedia * media_m3, water_kg + kHeavyMedia * media_m3};
}

Table assumptions_table(const layout::Layout& layout, const Speech& speech) {
    Table table({{"assumed, as the layout does not say", Align::left}, {"about", Align::left}, {"value"}, {"plausible", Align::left}});
    for (const layout::Assumption& assumption : assumptions_in_use(layout)) {
        constexpr std::size_t kLongestAbout = 34;
        std::string about = assumption.about;
        if (width_of(about) > kLongestAbout) {
            about = counted(static_cast<std::size_t>(assumption.count), "thing", "things");
        } else if (assumption.count > 1) {
            about = fmt::format("{} ({})", about, assumption.count);
        }
        table.add({assumption.what, about, figure(assumption.value, assumption.unit, speech), range(assumption, speech)});
    }
    return table;
}

std::string assumptions_section(const layout::Layout& layout, const Speech& speech, const Paint& paint) {
    const Table table = assumptions_table(layout, speech);
    return table.empty() ? std::string() : "\n" + table.text(paint) + paint(Ink::quiet, "  where each comes from: --format json\n");
}

std::vector<std::string> cautions(const layout::Layout& layout, const Speech& speech) {
    std::vector<std::string> all;
    if (!layout.pumps.empty()) {
        all.emplace_back(
            "Electricity near water: every pump on residual-current protection, with drip loops; a licensed electrician decides what is due.");
    }
    all.push_back(aeration_caution(layout));
    all.push_back(beds_caution(layout, speech));
    if (!layout.supplies.empty() || !layout.float_valves.empty()) {
        all.emplace_back(
            "Mains top-up: an air gap of at least two bores and 25 mm above the rim, or a backflow preventer, as the local plumbing code asks; "
            "no hose is left in a sump.");
    }
    if (!layout.pumps.empty()) {
        all.emplace_back(
            "Suction inlets: guarded, not above 0.5 m/s through the guard, never a single one that a hand, hair or a child could block.");
    }
    all.emplace_back("These figures advise. Local plumbing, electrical and building rules, and those licensed to apply them, have the last word.");
    std::erase(all, "");
    return all;
}

std::string cautions_section(const layout::Layout& layout, const Speech& speech, const Paint& paint) {
    std::string text = "\n" + paint(Ink::title, "Take care") + '\n';
    for (const std::string& caution : cautions(layout, speech)) {
        text += wrapped("  - ", caution);
    }
    return text;
}

}  // namespace ebb::cli
