// Head lost in a filter.
//
// One reading (q, h): the square law h Q|Q|/q^2, the turbulent part of Ergun's equation, which governs screens and coarse media; with the
// linear core of fittings.h. Several readings: the monotone cubic through rest and the readings for flow in one direction and its mirror
// image in the other; beyond the last reading (Qn, hn) the parabola hn + s (Q - Qn) + (hn/Qn^2)(Q - Qn)^2 of the end slope and of the
// square law's curvature: value and slope continuous, and no filter is flattered by a straight line. Two states: linear in
// head at equal flow, load 0 clean to 1 dirty (the model of docs/theory.md).
//
// The slope is positive everywhere unless two readings have one head, which a plateau of the data then says. At rest it is the first
// chord's, or the core's. Odd in the flow. Cost: under 10 ns. Failure: none.

#include "solver/physics/filter_loss.h"

#include "solver/physics/fittings.h"

#include <cassert>
#include <cmath>
#include <vector>

namespace ebb::physics {

FilterState::FilterState(std::span<const FilterPoint> points) {
    if (points.empty()) {
        return;
    }
    coefficient_ = rated_coefficient_m_per_m6_s2(points.back().flow_m3_s, points.back().head_m);
    assert(coefficient_ > 0.0);
    if (points.size() == 1) {
        return;
    }
    std::vector<double> flow{0.0};
    std::vector<double> head{0.0};
    for (const FilterPoint& point : points) {
        flow.push_back(point.flow_m3_s);
        head.push_back(point.head_m);
    }
    curve_ = MonotoneCurve(flow, head);
}

ValueSlope FilterState::loss(double flow_m3_s) const {
    assert(!empty());
    if (curve_.empty()) {
        return square_law_loss(coefficient_, flow_m3_s);
    }
    const double size = std::abs(flow_m3_s);
    ValueSlope loss = curve_.at(size);
    if (size > curve_.last_x()) {
        const double beyond = size - curve_.last_x();
        loss.value += coefficient_ * beyond * beyond;
        loss.slope += 2.0 * coefficient_ * beyond;
    }
    return {std::copysign(loss.value, flow_m3_s), loss.slope};
}

FilterLoss::FilterLoss(std::span<const FilterPoint> clean, std::span<const FilterPoint> dirty) : clean_(clean), dirty_(dirty) {}

ValueSlope FilterLoss::loss(double flow_m3_s, double load) const {
    if (dirty_.empty()) {
        return clean_.loss(flow_m3_s);
    }
    if (clean_.empty()) {
        return dirty_.loss(flow_m3_s);
    }
    const ValueSlope clean = clean_.loss(flow_m3_s);
    const ValueSlope dirty = dirty_.loss(flow_m3_s);
    return {clean.value + load * (dirty.value - clean.value), clean.slope + load * (dirty.slope - clean.slope)};
}

}  // namespace ebb::physics
