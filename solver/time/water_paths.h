#pragma once
// Where water that moved came from.
//
// Known: the net volume through every pipe in a run, and what every vessel lost. Wanted: how much of what arrived in one vessel had stood in
// which other one. At every junction, and in every vessel that passes water on, what comes together is taken as mixed:
//
//     c(n) = [ sum over pipes into n of  V c(upstream) + L(n) e(n) ] / [ sum of V + L(n) ]        L: what n itself lost, >= 0
//
// the usual rule of tracing shares through a network of known flows, here with volumes instead of flow rates. Water of ponds and supplies has
// one origin: outside. Shares are exact where nothing mixes, and add up to what arrived everywhere.

#include <cstdint>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::time {

/// What moved in a run, in m3.
struct Moved {
    std::vector<double> pipe_net_m3;  ///< per pipe, positive from -> to
    std::vector<double> left_m3;      ///< per vessel: how much less is in it, without what it spilled; negative: it gained
};

/// Where what arrived in a vessel came from, in m3.
struct Arrived {
    std::vector<double> from_vessel_m3;  ///< per vessel; its own entry is 0
    double from_outside_m3 = 0.0;        ///< ponds, supplies
};

/// Of the water that came through pipes into `vessel`.
Arrived arrived_in(const layout::Layout& layout, const Moved& moved, std::size_t vessel);

/// The vessel a thing belongs to: itself, or the one a standpipe, siphon or submersible pump stands in, or a nozzle or float valve gives into; -1.
std::int32_t vessel_of(const layout::Layout& layout, const layout::Ref& ref);

}  // namespace ebb::time
