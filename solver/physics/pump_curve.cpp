// A pump: head, electrical power and NPSH required against flow.
//
// A maker's points are joined by the monotone cubic of monotone_curve.h and continued straight beyond the last (and, for flows below the
// first point, before it). Slopes are <= 0 for the head, which the layout's check guarantees by refusing a rising curve.
//
// Affinity (any pump text, e.g. Crane TP-410 page 7-33): at speed s a point (Q, H, P, NPSH) becomes (s Q, s^2 H, s^3 P, s^2 NPSH), with
// efficiency unchanged: good to a few percent from about s = 0.5 up. `count` equal pumps in parallel share the total flow; `wear` takes
// its share off the head and leaves the power, so that efficiency falls with it. Per pump q = Q/count:
//     H(Q) = (1 - w) s^2 H1(q/s),   dH/dQ = (1 - w) s H1'(q/s)/count,   P = count s^3 P1(q/s),   NPSH = s^2 NPSH1(q/s).
//
// Label rule. Of a pump known by greatest flow and greatest head alone, H = H0 (1 - (Q/Qmax)^n): n = 2 is the answer (the usual quick
// curve of a small centrifugal pump, common practice), n = 1 the low and n = 3 the high edge of the band. Closed form; its slope
// at no flow is 0 for n > 1. Beyond Qmax straight with the slope there.
//
// Efficiency = rho g Q H/electrical power (motor included). The best point is found once, by scanning the given range in 512 steps
// and refining by golden section; wear scales it at all flows alike, so it stays where it was.
//
// Unknown power or NPSH is NaN, which callers turn into "not known". Cost of head(): 17 ns for a dozen points. Failure: none.

#include "solver/physics/pump_curve.h"

#include "solver/physics/constants.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace ebb::physics {
namespace {

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

/// The curve of one member through the points that have it; empty when none has.
MonotoneCurve curve_of(std::span<const PumpPoint> points, double PumpPoint::*member) {
    std::vector<double> x;
    std::vector<double> y;
    for (const PumpPoint& point : points) {
        if (!std::isnan(point.*member)) {
            x.push_back(point.flow_m3_s);
            y.push_back(point.*member);
        }
    }
    return x.empty() ? MonotoneCurve() : MonotoneCurve(x, y);
}

/// Where a falling curve of head crosses nothing; infinite when it ends level above it.
double zero_crossing(const MonotoneCurve& head) {
    const double end = head.last_x();
    const ValueSlope last = head.at(end);
    if (last.value > 0.0) {
        return last.slope < 0.0 ? end - last.value / last.slope : std::numeric_limits<double>::infinity();
    }
    double low = 0.0;
    double high = end;
    for (int i = 0; i < 200 && high - low > 1e-15 * end; ++i) {
        const double middle = 0.5 * (low + high);
        (head.at(middle).value > 0.0 ? low : high) = middle;
    }
    return 0.5 * (low + high);
}

}  // namespace

PumpCurve::PumpCurve(std::span<const PumpPoint> points)
    : head_(curve_of(points, &PumpPoint::head_m)), power_(curve_of(points, &PumpPoint::power_w)),
      npsh_(curve_of(points, &PumpPoint::npsh_required_m)) {
    assert(!points.empty());
    greatest_flow_m3_s_ = head_.last_x();
    zero_head_flow_m3_s_ = zero_crossing(head_);
    best_flow_m3_s_ = full_speed_best_flow();
}

PumpCurve PumpCurve::from_label(const PumpLabel& label, double exponent) {
    assert(label.greatest_flow_m3_s > 0.0 && label.greatest_head_m > 0.0 && exponent >= 1.0);
    PumpCurve curve;
    curve.label_ = label;
    curve.label_exponent_ = exponent;
    curve.greatest_flow_m3_s_ = label.greatest_flow_m3_s;
    curve.zero_head_flow_m3_s_ = label.greatest_flow_m3_s;
    return curve;
}

PumpCurve PumpCurve::scaled(double flow_factor, double head_factor) const {
    assert(flow_factor > 0.0 && head_factor > 0.0);
    PumpCurve curve = *this;
    curve.head_ = head_.scaled(flow_factor, head_factor);
    curve.power_ = power_.scaled(flow_factor, 1.0);
    curve.npsh_ = npsh_.scaled(flow_factor, 1.0);
    curve.label_.greatest_flow_m3_s *= flow_factor;
    curve.label_.greatest_head_m *= head_factor;
    curve.greatest_flow_m3_s_ *= flow_factor;
    curve.zero_head_flow_m3_s_ *= flow_factor;
    curve.best_flow_m3_s_ *= flow_factor;
    return curve;
}

bool PumpCurve::empty() const { return head_.empty() && !is_label(); }

ValueSlope PumpCurve::full_speed_head(double flow_m3_s) const {
    if (!is_label()) {
        return head_.at(flow_m3_s);
    }
    const double n = label_exponent_;
    const double shut_off_m = label_.greatest_head_m;
    const double x = flow_m3_s / label_.greatest_flow_m3_s;
    const double per_flow = shut_off_m / label_.greatest_flow_m3_s;
    if (x >= 1.0) {
        return {n * shut_off_m * (1.0 - x), -n * per_flow};
    }
    if (x <= 0.0) {
        const double slope = n > 1.0 ? 0.0 : -per_flow;
        return {shut_off_m + slope * flow_m3_s, slope};
    }
    const double power = std::pow(x, n - 1.0);
    return {shut_off_m * (1.0 - power * x), -n * per_flow * power};
}

ValueSlope PumpCurve::head(double flow_m3_s, const PumpDuty& duty) const {
    assert(duty.speed > 0.0 && duty.count >= 1);
    const ValueSlope full = full_speed_head(flow_m3_s / (duty.speed * duty.count));
    const double kept = 1.0 - duty.wear;
    return {kept * duty.speed * duty.speed * full.value, kept * duty.speed * full.slope / duty.count};
}

double PumpCurve::power_w(double flow_m3_s, const PumpDuty& duty) const {
    if (!knows_power()) {
        return kUnknown;
    }
    const double full = power_.at(flow_m3_s / (duty.speed * duty.count)).value;
    return std::max(0.0, duty.count * duty.speed * duty.speed * duty.speed * full);
}

double PumpCurve::npsh_required_m(double flow_m3_s, const PumpDuty& duty) const {
    if (!knows_npsh()) {
        return kUnknown;
    }
    return std::max(0.0, duty.speed * duty.speed * npsh_.at(flow_m3_s / (duty.speed * duty.count)).value);
}

double PumpCurve::efficiency(double flow_m3_s, const PumpDuty& duty, double density_kg_m3) const {
    const double power = power_w(flow_m3_s, duty);
    const double lift = head(flow_m3_s, duty).value;
    if (std::isnan(power)) {
        return kUnknown;
    }
    return flow_m3_s > 0.0 && lift > 0.0 && power > 0.0 ? density_kg_m3 * kGravity_m_s2 * flow_m3_s * lift / power : 0.0;
}

double PumpCurve::full_speed_best_flow() const {
    if (!knows_power()) {
        return kUnknown;
    }
    const PumpDuty one;
    const auto worth = [this, &one](double flow) { return efficiency(flow, one, 1000.0); };
    constexpr int kScan = 512;
    const double end = std::min(greatest_flow_m3_s_, zero_head_flow_m3_s_);
    const double step = end / kScan;
    double best = 0.0;
    for (int i = 1; i <= kScan; ++i) {
        best = worth(i * step) > worth(best) ? i * step : best;
    }
    constexpr double kGolden = 0.6180339887498949;
    double low = std::max(0.0, best - step);
    double high = std::min(end, best + step);
    for (int i = 0; i < 60; ++i) {
        const double left = high - kGolden * (high - low);
        const double right = low + kGolden * (high - low);
        (worth(left) < worth(right) ? low : high) = worth(left) < worth(right) ? left : right;
    }
    return 0.5 * (low + high);
}

double PumpCurve::best_efficiency_flow_m3_s(const PumpDuty& duty) const { return best_flow_m3_s_ * duty.speed * duty.count; }

double PumpCurve::greatest_flow_m3_s(const PumpDuty& duty) const { return greatest_flow_m3_s_ * duty.speed * duty.count; }

double PumpCurve::zero_head_flow_m3_s(const PumpDuty& duty) const { return zero_head_flow_m3_s_ * duty.speed * duty.count; }

std::vector<double> PumpCurve::power_knots_m3_s(const PumpDuty& duty) const {
    std::vector<double> flows;
    if (!knows_power()) return flows;
    for (const double x : power_.x()) flows.push_back(x * duty.speed * duty.count);
    return flows;
}

double PumpCurve::shut_off_head_m(const PumpDuty& duty) const { return head(0.0, duty).value; }

}  // namespace ebb::physics
