#pragma once
// Valid layouts at the edges of what can be built, and beyond: a random layout stretched in one respect, or in all of them.

#include <cstdint>

#include "solver/layout/layout.h"

namespace ebb::test {

/// In which respect a layout is stretched.
enum class Edge : std::uint8_t { bores, flows, throttles, near_equal_levels, resistances, vessels, all };
inline constexpr int kEdges = 7;
const char* name_of(Edge edge);

/// random_farm(seed) with bores of 1 mm to 10 m, or pumps of 1e-9 to 1e3 m3/s, or valves opened by a millionth, or levels that differ by less than
/// a micrometre, or losses a million times apart, or vessels of 1e-4 to 1e4 m2; or all of it. Valid whatever the seed.
layout::Layout farm_at_the_edge(std::uint64_t seed, Edge edge);

}  // namespace ebb::test
