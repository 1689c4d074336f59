#pragma once

// Head lost in a filter, clean to dirty.

#include "solver/physics/monotone_curve.h"
#include "solver/physics/value_slope.h"

#include <span>

namespace ebb::physics {

/// One reading of a filter's loss. Flow and head > 0.
struct FilterPoint {
    double flow_m3_s = 0.0;
    double head_m = 0.0;
};

/// Loss against flow in one state: one point gives the square law through it; several give a monotone curve
/// through rest and the points, continued beyond the last by the curvature of the square law through it. Odd in the flow.
class FilterState {
public:
    FilterState() = default;

    /// Flows strictly rising, heads never falling (checked elsewhere).
    explicit FilterState(std::span<const FilterPoint> points);

    /// Loss at a flow, m, and its slope, m per m3/s.
    [[nodiscard]] ValueSlope loss(double flow_m3_s) const;
    /// Whether nothing is known of it.
    [[nodiscard]] bool empty() const { return coefficient_ <= 0.0; }

private:
    MonotoneCurve curve_;       ///< empty for a single point
    double coefficient_ = 0.0;  ///< head/flow^2 at the last point, m per (m3/s)^2
};

/// A filter that may know a clean state, a dirty one, or both; with one, load changes nothing.
class FilterLoss {
public:
    FilterLoss() = default;
    /// Points as of FilterState; either may be empty.
    FilterLoss(std::span<const FilterPoint> clean, std::span<const FilterPoint> dirty);

    /// Loss at a flow and a load from 0 (clean) to 1 (dirty): linear in head at equal flow. Slope > 0.
    [[nodiscard]] ValueSlope loss(double flow_m3_s, double load) const;

    /// Whether nothing is known of it.
    [[nodiscard]] bool empty() const { return clean_.empty() && dirty_.empty(); }

private:
    FilterState clean_;
    FilterState dirty_;
};

}  // namespace ebb::physics
