#include "solver/survey/normal_points.h"

#include <algorithm>
#include <boost/math/special_functions/erf.hpp>
#include <boost/random/sobol.hpp>
#include <cstdint>
#include <numbers>

namespace ebb::survey {

namespace {

/// Well-mixed bits of a number (G. L. Steele, D. Lea and C. H. Flood, Fast splittable pseudorandom number generators, 2014).
std::uint32_t mixed(std::uint64_t number) {
    number += 0x9e3779b97f4a7c15U;
    number = (number ^ (number >> 30)) * 0xbf58476d1ce4e5b9U;
    number = (number ^ (number >> 27)) * 0x94d049bb133111ebU;
    return static_cast<std::uint32_t>((number ^ (number >> 31)) >> 32);
}

std::uint32_t reversed(std::uint32_t bits) {
    bits = (bits >> 16) | (bits << 16);
    bits = ((bits & 0xff00ff00U) >> 8) | ((bits & 0x00ff00ffU) << 8);
    bits = ((bits & 0xf0f0f0f0U) >> 4) | ((bits & 0x0f0f0f0fU) << 4);
    bits = ((bits & 0xccccccccU) >> 2) | ((bits & 0x33333333U) << 2);
    return ((bits & 0xaaaaaaaaU) >> 1) | ((bits & 0x55555555U) << 1);
}

/// Nested: what becomes of a bit depends on the bits above it alone (adding and multiplying by an even number carry upwards only, seen in reverse).
std::uint32_t scrambled(std::uint32_t bits, std::uint32_t seed) {
    std::uint32_t x = reversed(bits) + seed;
    for (const std::uint32_t even : {0x6c50b47cU, 0xb82f1e52U, 0xc7afe638U, 0x8d22f6e6U}) x ^= x * even;
    return reversed(x);
}

double normal(std::uint32_t bits) {
    constexpr double kAll = 4294967296.0;  // 2^32
    const double below = (static_cast<double>(bits) + 0.5) / kAll;
    return -std::numbers::sqrt2 * boost::math::erfc_inv(2.0 * below);
}

}  // namespace

NormalPoints::NormalPoints(std::size_t points, std::size_t dimensions) : points_(points), dimensions_(dimensions), z_(points * dimensions) {
    const std::size_t even = std::min<std::size_t>(dimensions, boost::random::default_sobol_table::max_dimension);
    if (even > 0) {
        boost::random::sobol_engine<std::uint32_t, 32> sobol(even);
        for (std::size_t point = 0; point < points; ++point)
            for (std::size_t d = 0; d < even; ++d)  // the engine passes over the first point, which is 0 in all dimensions
                z_[point * dimensions + d] = normal(scrambled(point == 0 ? 0U : sobol(), mixed(d)));
    }
    for (std::size_t point = 0; point < points; ++point)
        for (std::size_t d = even; d < dimensions; ++d) z_[point * dimensions + d] = normal(mixed((std::uint64_t{d} << 32) + point));
}

}  // namespace ebb::survey
