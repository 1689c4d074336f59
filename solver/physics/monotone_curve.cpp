// A piecewise cubic that never overshoots its points.
//
// On [x0, x1] the cubic Hermite of the two values and slopes. Slope at an inner point: 0 where the chords on either side differ in sign
// or one is level, else their weighted harmonic mean (w1 + w2)/(w1/d1 + w2/d2), w1 = 2 h2 + h1, w2 = h2 + 2 h1 with h1, d1 the left
// interval and chord and h2, d2 the right ones (F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300). Slope at an end
// point: the chord of the end interval. Boost.Math's pchip has the same rules, and the tests hold this against it; this one needs no
// four points, goes on beyond them and hands out value and slope together.
//
// Every slope is at most three times the smaller chord beside it, so each piece is monotone where its points are (Fritsch and Carlson
// 1980). Value and slope are continuous. Outside the points: the straight line of the end point. Cost: a binary search and ten
// operations. Failure: none; x must rise strictly (asserted).

#include "solver/physics/monotone_curve.h"

#include <algorithm>
#include <cassert>
#include <cstddef>

namespace ebb::physics {
namespace {

/// The slope at point k.
double slope_at_point(std::span<const double> x, std::span<const double> y, std::size_t k) {
    const std::size_t last = x.size() - 1;
    if (last == 0) {
        return 0.0;
    }
    const auto chord = [x, y](std::size_t left) {
        assert(x[left + 1] > x[left]);
        return (y[left + 1] - y[left]) / (x[left + 1] - x[left]);
    };
    if (k == 0 || k == last) {
        return chord(k == 0 ? 0 : last - 1);
    }
    const double before = chord(k - 1);
    const double after = chord(k);
    if (!((before > 0.0 && after > 0.0) || (before < 0.0 && after < 0.0))) {
        return 0.0;
    }
    const double w1 = 2.0 * (x[k + 1] - x[k]) + (x[k] - x[k - 1]);
    const double w2 = (x[k + 1] - x[k]) + 2.0 * (x[k] - x[k - 1]);
    return (w1 + w2) / (w1 / before + w2 / after);
}

/// The curve at x, with the slope at each point from `slope_at`.
template <typename SlopeAt>
ValueSlope evaluate(std::span<const double> x, std::span<const double> y, const SlopeAt& slope_at, double at) {
    assert(!x.empty() && x.size() == y.size());
    if (at <= x.front() || at >= x.back()) {
        const std::size_t end = at <= x.front() ? 0 : x.size() - 1;
        const double slope = slope_at(end);
        return {y[end] + slope * (at - x[end]), slope};
    }
    const auto right = static_cast<std::size_t>(std::upper_bound(x.begin(), x.end(), at) - x.begin());
    const std::size_t left = right - 1;
    const double h = x[right] - x[left];
    const double t = (at - x[left]) / h;
    const double chord = (y[right] - y[left]) / h;
    const double s0 = slope_at(left);
    const double s1 = slope_at(right);
    // y = y0 + h t (s0 + t (c2 + t c3))
    const double c2 = 3.0 * chord - 2.0 * s0 - s1;
    const double c3 = s0 + s1 - 2.0 * chord;
    return {y[left] + h * t * (s0 + t * (c2 + t * c3)), s0 + t * (2.0 * c2 + 3.0 * t * c3)};
}

}  // namespace

ValueSlope monotone_at(std::span<const double> x, std::span<const double> y, double at) {
    return evaluate(
        x, y, [x, y](std::size_t k) { return slope_at_point(x, y, k); }, at);
}

MonotoneCurve::MonotoneCurve(std::span<const double> x, std::span<const double> y)
    : x_(x.begin(), x.end()), y_(y.begin(), y.end()), slope_(x.size()) {
    assert(!x_.empty() && x_.size() == y_.size());
    for (std::size_t k = 0; k < x_.size(); ++k) {
        slope_[k] = slope_at_point(x_, y_, k);
    }
}

MonotoneCurve::MonotoneCurve(std::span<const double> x, std::span<const double> y, double first_slope) : MonotoneCurve(x, y) {
    slope_.front() = first_slope;
}

MonotoneCurve MonotoneCurve::scaled(double x_factor, double y_factor) const {
    MonotoneCurve curve = *this;
    for (double& x : curve.x_) x *= x_factor;
    for (double& y : curve.y_) y *= y_factor;
    for (double& slope : curve.slope_) slope *= y_factor / x_factor;
    return curve;
}

ValueSlope MonotoneCurve::at(double x) const {
    return evaluate(
        x_, y_, [this](std::size_t k) { return slope_[k]; }, x);
}

}  // namespace ebb::physics
