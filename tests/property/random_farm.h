#pragma once
// Random valid layouts from a seed: meshes of tees, farms with everything in them, and heaps of vessels joined anyhow.
// Same seed, same layout, on every machine (own generator, no library distribution).

#include <cstdint>

#include "solver/layout/layout.h"

namespace ebb::test {

enum class FarmStyle { mesh, farm, heap };

/// SplitMix64 (Steele, Lea, Flood 2014).
class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}
    std::uint64_t next();
    double uniform(double low, double high);  ///< [low, high)
    double log_uniform(double low, double high);
    int integer(int low, int high);  ///< low..high inclusive
    bool chance(double probability) { return uniform(0.0, 1.0) < probability; }

private:
    std::uint64_t state_;
};

FarmStyle style_of(std::uint64_t seed);

/// A valid layout with one arrangement "as drawn" and up to two more (valves shut and throttled, pumps stopped, inserts changed; some at start
/// levels).
layout::Layout random_farm(std::uint64_t seed);

}  // namespace ebb::test
