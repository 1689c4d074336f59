#pragma once

// What the tests of this room share: reading the published tables, and holding slopes against finite differences.

#include "solver/physics/value_slope.h"

#include <doctest/doctest.h>

#include <charconv>
#include <cmath>
#include <fstream>
#include <limits>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace ebb::physics::test {

using Row = std::vector<std::string>;

inline Row cells_of(const std::string& line) {
    Row cells;
    std::istringstream stream(line);
    for (std::string cell; std::getline(stream, cell, ',');) {
        cells.push_back(cell);
    }
    if (!line.empty() && line.back() == ',') {
        cells.emplace_back();
    }
    return cells;
}

/// A cell as a number, whatever the locale; NaN for an empty one.
inline double number(const std::string& cell) {
    double value = std::numeric_limits<double>::quiet_NaN();
    std::from_chars(cell.data(), cell.data() + cell.size(), value);
    return value;
}

/// The rows under the column line that starts with `header`, up to the next comment line or the end.
inline std::vector<Row> table(const std::string& file, const std::string& header) {
    std::ifstream stream(std::string(EBB_SOURCE_DIR) + "/tests/reference/" + file);
    std::vector<Row> rows;
    bool inside = false;
    for (std::string line; std::getline(stream, line);) {
        if (inside) {
            if (line.empty() || line.front() == '#') {
                break;
            }
            rows.push_back(cells_of(line));
        } else {
            inside = line.starts_with(header);
        }
    }
    if (rows.empty()) {
        throw std::runtime_error("no table " + header + " in " + file);
    }
    return rows;
}

inline double relative(double got, double wanted) { return std::abs(got - wanted) / std::abs(wanted); }

/// Relative error of the analytic slope against a fourth-order central difference with a step of `share` of x.
template <typename Law>
double slope_error(const Law& law, double x, double share = 1e-3) {
    const double h = share * std::abs(x);
    const double difference = (8.0 * (law(x + h).value - law(x - h).value) - (law(x + 2.0 * h).value - law(x - 2.0 * h).value)) / (12.0 * h);
    const double slope = law(x).slope;
    return std::abs(difference - slope) / std::abs(slope);
}

/// `count` points from low to high, evenly spaced in the logarithm.
inline std::vector<double> spread(double low, double high, int count) {
    std::vector<double> points;
    for (int i = 0; i < count; ++i) {
        points.push_back(low * std::pow(high / low, static_cast<double>(i) / (count - 1)));
    }
    return points;
}

// Units of the published examples.
inline constexpr double kFoot_m = 0.3048;
inline constexpr double kInch_m = 0.0254;
inline constexpr double kFoot3_m3 = kFoot_m * kFoot_m * kFoot_m;
inline constexpr double kGallon_m3 = 3.785411784e-3;
inline constexpr double kGpm_m3_s = kGallon_m3 / 60.0;
inline constexpr double kPoundPerFoot3_kg_m3 = 0.45359237 / kFoot3_m3;
inline constexpr double kPsi_pa = 6894.757293168361;
inline constexpr double kHorsepower_w = 745.6998715822702;

}  // namespace ebb::physics::test
