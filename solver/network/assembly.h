#pragma once
// The one way in which links get into a matrix: their places in the pattern, fixed once, and their slopes, put there anew each time.

#include <cstdint>
#include <limits>
#include <utility>
#include <vector>

#include "solver/network/factor.h"
#include "solver/network/network.h"

namespace ebb::network {

/// Of a link that touches less than two unknowns.
inline constexpr std::int32_t kNoSlot = std::numeric_limits<std::int32_t>::min();

/// Hold nodes that nothing else holds: m3/s per m, and a share of the node's own diagonal (for parts cut off together). They act on the step, not on
/// the answer; what they leave out of balance is their share of the last step's change, which is nothing.
inline constexpr double kTinyProximal = 1e-14, kTinyShare = 1e-13;

/// Sets the pattern of `factor` for the first `size` nodes of the network; returns the place of each link, kNoSlot where it has none.
inline std::vector<std::int32_t> place_links(const Network& network, std::int32_t size, Factor& factor) {
    std::vector<std::pair<std::int32_t, std::int32_t>> edges;
    std::vector<std::size_t> edge_link;
    edges.reserve(network.links.size());
    edge_link.reserve(network.links.size());
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const Link& link = network.links[l];
        if (link.from >= size || link.to >= size || link.from == link.to) continue;
        edges.emplace_back(link.from, link.to);
        edge_link.push_back(l);
    }
    const std::vector<std::int32_t> slots = factor.analyse(size, edges);
    std::vector<std::int32_t> places(network.links.size(), kNoSlot);
    for (std::size_t e = 0; e < slots.size(); ++e) places[edge_link[e]] = slots[e];
    return places;
}

/// Adds a link's slopes by its unknowns, dQ = a dH_from - b dH_to (0 for what is known). Says whether it left the matrix symmetric.
inline bool add_link(Factor& factor, const Link& link, std::int32_t slot, double a, double b) {
    if (a != 0.0) factor.add_diagonal(link.from, a);
    if (b != 0.0) factor.add_diagonal(link.to, b);
    if (slot == kNoSlot || (a == 0.0 && b == 0.0)) return true;
    factor.add_pair(slot, -b, -a);
    return a == b;
}

}  // namespace ebb::network
