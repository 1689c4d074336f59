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
                z_[point * dimensions + d] = normal((point == 0 ? 0U : sobol()) ^ mixed(d));
    }
    for (std::size_t point = 0; point < points; ++point)
        for (std::size_t d = even; d < dimensions; ++d) z_[point * dimensions + d] = normal(mixed((std::uint64_t{d} << 32) + point));
}

}  // namespace ebb::survey
