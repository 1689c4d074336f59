#pragma once

// A piecewise cubic through points that never overshoots them: harmonic-mean slopes inside, one-sided slopes at the ends.

#include "solver/physics/value_slope.h"

#include <span>
#include <vector>

namespace ebb::physics {

/// The curve's value and slope at x without keeping anything: for tables too small or too seldom used to prepare.
/// x strictly rising, as many y as x, at least one.
ValueSlope monotone_at(std::span<const double> x, std::span<const double> y, double at);

/// What the curve does outside its points is always the same: straight on, with the end slope.
class MonotoneCurve {
public:
    MonotoneCurve() = default;

    /// Through (x, y), x strictly rising, at least one point (one: a constant; two: the straight line).
    MonotoneCurve(std::span<const double> x, std::span<const double> y);

    /// The same, with the slope at the first point given instead of estimated.
    MonotoneCurve(std::span<const double> x, std::span<const double> y, double first_slope);

    /// The same curve with every x and every y times a factor, both above 0.
    [[nodiscard]] MonotoneCurve scaled(double x_factor, double y_factor) const;

    /// Value and slope at x.
    [[nodiscard]] ValueSlope at(double x) const;
    /// Whether there are no points.
    [[nodiscard]] bool empty() const { return x_.empty(); }
    /// x of the first point; there must be one.
    [[nodiscard]] double first_x() const { return x_.front(); }
    /// x of the last point; there must be one.
    [[nodiscard]] double last_x() const { return x_.back(); }
    /// x of all points.
    [[nodiscard]] std::span<const double> x() const { return x_; }

private:
    std::vector<double> x_;
    std::vector<double> y_;
    std::vector<double> slope_;
};

}  // namespace ebb::physics
