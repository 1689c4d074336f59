// Losses that go with the square of the flow.
//
// A fitting of coefficient K loses K v^2/2g = K Q^2/(2 g A^2) with A the pipe's own bore; Crane TP-410 and Hooper (1981) tabulate K.
// Coefficients here are constant in Re: in small slow plastic pipe the true K is higher (Hooper's two-K form: an elbow of 25 mm at
// Re 10,000 has 0.86 against 0.79 at 100,000), which the ranges stated with the defaults include.
//
// An orifice, nozzle or filter stands alone between two heads, and a pure square law has no slope at rest: Newton's matrix would be
// singular there. Hence the linear core h = k Q sqrt(Q^2 + q0^2), k q0^2 = 1e-8 m: slope k q0 > 0 at rest, and at any flow the head is
// at most 5e-9 m above the square law. With s = h/k its inverse is Q = s sqrt(2/(q0^2 + sqrt(q0^4 + 4 s^2))), free of cancellation.
//
// Signs: loss has the sign of the flow. Range: every finite flow or head. Cost: one or two square roots. Failure: none.

#include "solver/physics/fittings.h"

#include "solver/physics/constants.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace ebb::physics {

double bore_area_m2(double bore_m) { return 0.25 * std::numbers::pi * bore_m * bore_m; }

double velocity_head_coefficient(double area_m2) { return 1.0 / (2.0 * kGravity_m_s2 * area_m2 * area_m2); }

ValueSlope local_loss(double coefficient_m_per_m6_s2, double flow_m3_s) {
    const double per_flow = coefficient_m_per_m6_s2 * std::abs(flow_m3_s);
    return {per_flow * flow_m3_s, 2.0 * per_flow};
}

ValueSlope square_law_loss(double coefficient_m_per_m6_s2, double flow_m3_s) {
    assert(coefficient_m_per_m6_s2 > 0.0);
    const double core2 = kLinearCore_m / coefficient_m_per_m6_s2;
    const double flow2 = flow_m3_s * flow_m3_s;
    const double root = std::sqrt(flow2 + core2);
    return {coefficient_m_per_m6_s2 * flow_m3_s * root, coefficient_m_per_m6_s2 * (2.0 * flow2 + core2) / root};
}

ValueSlope square_law_flow(double coefficient_m_per_m6_s2, double head_m) {
    assert(coefficient_m_per_m6_s2 > 0.0);
    const double core2 = kLinearCore_m / coefficient_m_per_m6_s2;
    const double s = head_m / coefficient_m_per_m6_s2;
    const double flow = s * std::sqrt(2.0 / (core2 + std::sqrt(core2 * core2 + 4.0 * s * s)));
    const double flow2 = flow * flow;
    return {flow, std::sqrt(flow2 + core2) / (coefficient_m_per_m6_s2 * (2.0 * flow2 + core2))};
}

double orifice_coefficient_m_per_m6_s2(double area_m2, double discharge_coefficient) {
    return velocity_head_coefficient(discharge_coefficient * area_m2);
}

double rated_coefficient_m_per_m6_s2(double rated_flow_m3_s, double rated_head_m) { return rated_head_m / (rated_flow_m3_s * rated_flow_m3_s); }

double sudden_expansion_loss(double bore_ratio) {
    const double blocked = 1.0 - bore_ratio * bore_ratio;
    return blocked * blocked;
}

double sudden_contraction_loss(double bore_ratio) { return 0.5 * (1.0 - bore_ratio * bore_ratio); }

}  // namespace ebb::physics
