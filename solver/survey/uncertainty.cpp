#include "solver/survey/uncertainty.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <map>
#include <tuple>

namespace ebb::survey {

namespace {

using layout::Kind;
using layout::Layout;
using layout::PlusMinus;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Where the layout says how well something is known.
struct Source {
    Unsure what;
    Kind of;
    double PlusMinus::*value;
    double assumed;
};
constexpr std::array kSources = {
    Source{Unsure::pump_head, Kind::pump, &PlusMinus::pump_head, kAssumedPumpHead},
    Source{Unsure::start_depth, Kind::vessel, &PlusMinus::start_depth_m, kAssumedStartDepth_m},
    Source{Unsure::pond_level, Kind::pond, &PlusMinus::level_m, 0.0},
    Source{Unsure::roughness, Kind::pipe, &PlusMinus::roughness, kAssumedRoughness},
    Source{Unsure::hazen_williams, Kind::pipe, &PlusMinus::hazen_williams, kAssumedHazenWilliams},
    Source{Unsure::bore, Kind::pipe, &PlusMinus::bore, kAssumedBore},
    Source{Unsure::filter_load, Kind::filter, &PlusMinus::filter_load, kAssumedFilterLoad},
    Source{Unsure::losses, Kind::pipe, &PlusMinus::losses, kAssumedLosses},
};

std::size_t count_of(const Layout& layout, Kind kind) {
    switch (kind) {
        case Kind::pump: return layout.pumps.size();
        case Kind::vessel: return layout.vessels.size();
        case Kind::pond: return layout.ponds.size();
        case Kind::filter: return layout.filters.size();
        default: return layout.pipes.size();
    }
}

/// The line that says it of each thing, -1 for none.
std::vector<std::int32_t> lines_of(const Layout& layout, const Source& source) {
    std::vector<std::int32_t> lines(count_of(layout, source.of), -1);
    for (const bool named : {false, true})  // what names a thing goes before what speaks of all
        for (std::size_t i = 0; i < layout.plus_minus.size(); ++i) {
            const PlusMinus& line = layout.plus_minus[i];
            if (!said(line.*source.value) || line.of.empty() == named) continue;
            if (!named) std::fill(lines.begin(), lines.end(), static_cast<std::int32_t>(i));
            for (const layout::Ref& ref : line.of)
                if (ref.kind == source.of) lines[at(ref.index)] = static_cast<std::int32_t>(i);
        }
    return lines;
}

double plus_minus_of(const Layout& layout, const Source& source, std::int32_t line, std::size_t thing) {
    if (line >= 0) return layout.plus_minus[at(line)].*source.value;
    const bool label = source.what == Unsure::pump_head && layout.pump_models[at(layout.pumps[thing].model)].from_label;
    return label ? kAssumedLabelHead : source.assumed;
}

/// Whether there is anything to be wrong about.
bool matters(const Layout& layout, const Source& source, std::size_t thing, bool named) {
    switch (source.what) {
        case Unsure::start_depth: return named || (said(layout.vessels[thing].start_depth_m) && layout.vessels[thing].start_depth_m > 0.0);
        case Unsure::roughness: return layout.friction == layout::FrictionLaw::darcy_weisbach && layout.pipes[thing].roughness_m > 0.0;
        case Unsure::hazen_williams: return layout.friction == layout::FrictionLaw::hazen_williams;
        default: return true;
    }
}

/// Things with the same key are wrong together.
using Key = std::tuple<std::int32_t, std::string, std::string, double, std::int32_t>;
Key key_of(const Layout& layout, const Source& source, std::int32_t line, std::size_t thing) {
    const bool together = source.what != Unsure::losses || layout.pipes.size() > kMostPipesOnTheirOwn;
    if (source.of == Kind::pipe && together) {
        const layout::Pipe& pipe = layout.pipes[thing];
        if (source.what == Unsure::bore || source.what == Unsure::losses) return {line, pipe.series, pipe.size, pipe.bore_m, -1};
        return {line, pipe.series, "", source.what == Unsure::roughness ? pipe.roughness_m : pipe.hazen_williams_c, -1};
    }
    return {line, "", "", 0.0, static_cast<std::int32_t>(thing)};
}

double factor(double plus_minus, double z) { return std::exp(0.5 * z * std::log1p(plus_minus)); }

}  // namespace

std::vector<Uncertainty> uncertainties_of(const Layout& layout) {
    std::vector<Uncertainty> list;
    for (const Source& source : kSources) {
        const std::vector<std::int32_t> lines = lines_of(layout, source);
        std::map<Key, std::size_t> known;
        for (std::size_t thing = 0; thing < lines.size(); ++thing) {
            const std::int32_t line = lines[thing];
            const double plus_minus = plus_minus_of(layout, source, line, thing);
            const bool named = line >= 0 && !layout.plus_minus[at(line)].of.empty();
            if (plus_minus <= 0.0 || !matters(layout, source, thing, named)) continue;
            const auto [found, fresh] = known.try_emplace(key_of(layout, source, line, thing), list.size());
            if (fresh) list.push_back({.what = source.what, .plus_minus = plus_minus, .assumed = line < 0});
            list[found->second].things.push_back(static_cast<std::int32_t>(thing));
        }
    }
    return list;
}

void vary(const Layout& drawn, const layout::Conditions& arrangement, std::span<const Uncertainty> uncertainties, std::span<const double> z,
          Layout& layout, layout::Conditions& conditions) {
    assert(uncertainties.size() == z.size());
    for (std::size_t u = 0; u < uncertainties.size(); ++u) {
        const Uncertainty& one = uncertainties[u];
        const double times = factor(one.plus_minus, z[u]), plus = 0.5 * one.plus_minus * z[u];
        for (const std::int32_t thing : one.things) {
            const std::size_t i = at(thing);
            switch (one.what) {
                case Unsure::pump_head: layout.pumps[i].wear = 1.0 - (1.0 - drawn.pumps[i].wear) * times; break;
                case Unsure::start_depth: {
                    const layout::Vessel& vessel = drawn.vessels[i];
                    const double depth = said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0;
                    layout.vessels[i].start_depth_m = std::clamp(depth + plus, 0.0, std::max(depth, vessel.rim_m - vessel.floor_m));
                    break;
                }
                case Unsure::pond_level: layout.ponds[i].level_m = drawn.ponds[i].level_m + plus; break;
                case Unsure::roughness: layout.pipes[i].roughness_m = drawn.pipes[i].roughness_m * times; break;
                case Unsure::hazen_williams: layout.pipes[i].hazen_williams_c = drawn.pipes[i].hazen_williams_c * times; break;
                case Unsure::bore: layout.pipes[i].bore_m = drawn.pipes[i].bore_m * times; break;
                case Unsure::filter_load: conditions.filter_load[i] = std::clamp(arrangement.filter_load[i] + plus, 0.0, 1.0); break;
                case Unsure::losses: layout.pipes[i].loss_factor = drawn.pipes[i].loss_factor * times; break;
            }
        }
    }
}

}  // namespace ebb::survey
