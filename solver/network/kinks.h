#pragma once
// Heights of vessels at which a way out opens: where a step of Newton's method in a level must not leap.

#include <cstdint>
#include <vector>

#include "solver/network/network.h"

namespace ebb::network {

/// A height of a vessel at which a way out opens. A step of Newton goes at most a little past it: beyond, the slopes it was made with mean
/// nothing.
struct Kink {
    std::int32_t lip_of = -1;  ///< link whose setting is the height (an insert's lip), -1: `elevation_m`
    double elevation_m = 0.0;
    double scale_m = 0.0;  ///< so far past it
};

/// The kinks of every vessel.
std::vector<std::vector<Kink>> kinks_of(const Network& network);

}  // namespace ebb::network
