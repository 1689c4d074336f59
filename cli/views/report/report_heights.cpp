// Setting out: every height a builder needs, vessel by vessel, and the fall of each drain.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/report_page.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

using layout::Kind;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

struct Height {
    double above_floor_m;
    std::string what;
};

/// Everything that has a height in one vessel, from the top down.
class Heights {
public:
    explicit Heights(const layout::Layout& layout) : layout_(layout), by_vessel_(layout.vessels.size()) {
        for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
            const layout::Vessel& vessel = layout.vessels[v];
            add({Kind::vessel, static_cast<std::int32_t>(v)}, vessel.rim_m - vessel.floor_m, words::kHRim);
            if (vessel.kind == layout::VesselKind::bed && said(vessel.media_depth_m))
                add({Kind::vessel, static_cast<std::int32_t>(v)}, vessel.media_depth_m, words::kHMedia);
            if (said(vessel.least_depth_m)) add({Kind::vessel, static_cast<std::int32_t>(v)}, vessel.least_depth_m, words::kHLeast);
        }
        add_devices();
        add_ports();
        for (auto& heights : by_vessel_)
            std::stable_sort(heights.begin(), heights.end(),
                             [](const Height& one, const Height& other) { return one.above_floor_m > other.above_floor_m; });
    }

    const std::vector<Height>& of(std::size_t vessel) const { return by_vessel_[vessel]; }

private:
    void add(const layout::Ref& in, double above_floor_m, std::string what) {
        if (in.kind == Kind::vessel && in.index >= 0 && std::isfinite(above_floor_m))
            by_vessel_[at(in.index)].push_back({above_floor_m, std::move(what)});
    }

    void add_devices() {
        for (const layout::Standpipe& standpipe : layout_.standpipes) {
            for (const layout::Insert& insert : standpipe.inserts)
                add(standpipe.in, insert.lip_m,
                    standpipe.inserts.size() > 1 ? fmt::format(words::kHLipOf, standpipe.id, insert.name) : fmt::format(words::kHLip, standpipe.id));
            for (const layout::DrainHole& hole : standpipe.holes)
                add(standpipe.in, hole.height_m,
                    fmt::format(fmt::runtime(hole.count == 1 ? words::kHHole : words::kHHoles), millimetres(hole.diameter_m), standpipe.id));
        }
        for (const layout::Siphon& siphon : layout_.siphons) {
            add(siphon.in, siphon.crest_m, fmt::format(words::kHCrest, siphon.id));
            add(siphon.in, siphon.breaks_at_m, fmt::format(words::kHBreak, siphon.id));
        }
        for (const layout::Nozzle& nozzle : layout_.nozzles) add(nozzle.into, nozzle.height_m, fmt::format(words::kHNozzle, nozzle.id));
        for (const layout::FloatValve& valve : layout_.float_valves) {
            add(valve.into, valve.closes_at_m, fmt::format(words::kHFloatShut, valve.id));
            add(valve.into, valve.opens_at_m, fmt::format(words::kHFloatOpen, valve.id));
            if (said(valve.height_m)) add(valve.into, valve.height_m, fmt::format(words::kHOutlet, valve.id));
        }
        for (const layout::Pump& pump : layout_.pumps) add(pump.in, pump.intake_height_m, fmt::format(words::kHIntake, pump.id));
    }

    void add_ports() {
        for (const layout::Pipe& pipe : layout_.pipes) {
            add(pipe.from.ref, pipe.from.height(), fmt::format(words::kHLeaves, pipe.id));
            add(pipe.to.ref, pipe.to.height(), fmt::format(words::kHEnds, pipe.id));
            if (said(pipe.air_hole_m)) add(pipe.to.ref, pipe.air_hole_m, fmt::format(words::kHAirHole, pipe.id));
        }
    }

    std::string millimetres(double metres) const { return Speech(layout_.units).bore(metres); }

    const layout::Layout& layout_;
    std::vector<std::vector<Height>> by_vessel_;
};

/// One small table for each vessel, side by side: what a builder takes along to it.
void add_vessels(html::Node section, const ReportScene& scene) {
    const html::Node tables = html::add(section, "div", {{"class", "cards"}});
    const Heights heights(scene.layout());
    for (std::size_t v = 0; v < scene.layout().vessels.size(); ++v) {
        const layout::Vessel& vessel = scene.layout().vessels[v];
        Table table({{"", Align::left}, {words::kColAboveItsFloor}, {words::kColAboveTheDatum}});
        for (const Height& one : heights.of(v))
            table.add({one.what, scene.speech().height(one.above_floor_m), scene.speech().level(vessel.floor_m + one.above_floor_m)});
        table.add({words::kHFloor, scene.speech().height(0.0), scene.speech().level(vessel.floor_m)});
        html::table(html::add(tables, "div"), table, fmt::format("{} ({})", vessel.id, layout::name_of(vessel.kind)));
    }
    Table others({{"", Align::left}, {"", Align::left}, {words::kColAboveTheDatum}});
    for (const layout::Tee& tee : scene.layout().tees)
        others.add({tee.id, tee.vented ? words::kTeeVented : words::kTee, scene.speech().level(tee.elevation_m)});
    for (const layout::Pump& pump : scene.layout().pumps)
        if (said(pump.elevation_m)) others.add({pump.id, words::kColPump, scene.speech().level(pump.elevation_m)});
    if (!others.empty()) html::table(html::add(tables, "div"), others, words::kHeightsOthers);
}

/// Usual least fall of a drain of this bore, m per m (common plumbing practice).
double least_fall(double bore_m) {
    constexpr double kSmall_m = 0.0675, kMiddle_m = 0.155;  // nominal 65 and 150 mm, with the bores that are sold as such
    return bore_m <= kSmall_m ? 0.02 : bore_m <= kMiddle_m ? 0.01 : 0.005;
}

Table falls_table(const ReportScene& scene) {
    const bool us = scene.speech().units() == layout::UnitSystem::us;
    Table table({{words::kColDrain, Align::left},
                 {words::kColFromToTo, Align::left},
                 {words::kColLength},
                 {words::kColBeginsAt},
                 {words::kColEndsAt},
                 {words::kColFalls},
                 {us ? words::kColInPerFoot : words::kColMmPerMetre},
                 {words::kColUsualLeast},
                 {"", Align::left}});
    constexpr double kPerMetre = 1000.0, kPerFoot = 12.0;
    for (const layout::Pipe& pipe : scene.layout().pipes) {
        if (!pipe.gravity) continue;
        const double begin = layout::elevation_of(scene.layout(), pipe.from), end = layout::elevation_of(scene.layout(), pipe.to);
        const double fall = begin - end, slope = pipe.length_m > 0.0 ? fall / pipe.length_m : settle::kUnknown;
        const bool back = fall < 0.0, flat = slope < least_fall(pipe.bore_m) - 1e-9;
        const auto per = [&](double value) { return fmt::format("{:.{}f}", value * (us ? kPerFoot : kPerMetre), us ? 2 : 0); };
        table.add({pipe.id, fmt::format("{} > {}", pipe.from.id, pipe.to.id), scene.speech().length(pipe.length_m), scene.speech().level(begin),
                   scene.speech().level(end), scene.speech().height(fall), std::isnan(slope) ? "-" : per(slope), per(least_fall(pipe.bore_m)),
                   back   ? words::kRises
                   : flat ? words::kFlat
                          : ""},
                  back   ? Ink::trouble
                  : flat ? Ink::doubt
                         : Ink::plain);
    }
    return table;
}

}  // namespace

void add_heights(html::Node main, const ReportScene& scene) {
    const html::Node section = html::section(main, "heights", words::kHeights);
    html::add(section, "p", {{"class", "note"}}, words::kHeightsNote);
    add_vessels(section, scene);
    const Table falls = falls_table(scene);
    if (falls.empty()) return;
    html::table(section, falls, words::kFallsCaption);
    html::add(section, "p", {{"class", "note"}}, words::kFallsNote);
}

}  // namespace ebb::cli
