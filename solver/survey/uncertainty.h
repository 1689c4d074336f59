#pragma once
// What of a layout is not known exactly, as a list of independent standard normal variables, and the layout as it is for given values of them.
//
// A plus-minus is an expanded uncertainty with a coverage factor of 2 (JCGM 100:2008, Guide to the expression of uncertainty in measurement, 6.2 and
// G.6.6): two standard deviations of a normal variable z, within which 95 of 100 cases lie. A share p is a factor,
//        figure x (1 + p)^(z/2),        between 1/(1 + p) and 1 + p times the figure in 95 of 100 cases, never negative,
// a length or a load d is added,
//        figure + d z/2,                cut off where the vessel is empty or full, the filter clean or dirty.
//
// Things that are wrong together are one variable: the roughness (or C) of all pipes of one series and roughness that one line of the layout speaks
// of, for it is one figure of a table and one age of pipe; the bore of all pipes of one size. Each pipe's local losses, each pump, vessel, pond and
// filter is a variable of its own. In a layout of very many pipes the losses of one size are one variable too, or there would be more of them than
// samples can tell apart.

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::survey {

/// In the order of what mostly matters, for the first points fill the first dimensions best.
enum class Unsure : std::uint8_t { pump_head, start_depth, pond_level, roughness, hazen_williams, bore, filter_load, losses };

struct Uncertainty {
    Unsure what = Unsure::losses;
    double plus_minus = 0.0;                ///< a share, m, or load
    bool assumed = false;                   ///< the layout does not say it: kAssumed... below
    std::vector<std::int32_t> things = {};  ///< indices of pipes, vessels, ponds, pumps or filters
};

/// What holds where the layout says nothing. Roughness: handbooks range over more than twice for new plastic pipe; local losses: handbooks differ by
/// a quarter; bores: what tolerances of the wall leave; depths: read off a wall; all common practice. Heads of pumps: acceptance grade 2B of ISO
/// 9906:2012 (from memory); of those known by their label alone, and loads of filters: common practice.
inline constexpr double kAssumedRoughness = 1.0, kAssumedHazenWilliams = 0.05, kAssumedBore = 0.01, kAssumedLosses = 0.25;
inline constexpr double kAssumedStartDepth_m = 0.010, kAssumedPumpHead = 0.05, kAssumedLabelHead = 0.20, kAssumedFilterLoad = 0.10;

inline constexpr std::size_t kMostPipesOnTheirOwn = 2000;

/// Of a validated layout. Things known exactly (a plus-minus of nothing, a vessel empty at the start, a wall without roughness) are not in it.
std::vector<Uncertainty> uncertainties_of(const layout::Layout& layout);

/// What is drawn, with `z` (one for each uncertainty) put into `layout` and `conditions`, which are copies of `drawn` and `arrangement` or what an
/// earlier call made of them.
void vary(const layout::Layout& drawn, const layout::Conditions& arrangement, std::span<const Uncertainty> uncertainties, std::span<const double> z,
          layout::Layout& layout, layout::Conditions& conditions);

}  // namespace ebb::survey
