#pragma once

// A pump: head, power and NPSH required against flow, at any speed, number and wear.

#include "solver/physics/monotone_curve.h"
#include "solver/physics/value_slope.h"

#include <limits>
#include <span>
#include <vector>

namespace ebb::physics {

/// One point of a maker's curve at full speed, for one pump. Unknown power or NPSH: NaN.
struct PumpPoint {
    double flow_m3_s = 0.0;
    double head_m = 0.0;
    double power_w = std::numeric_limits<double>::quiet_NaN();  ///< electrical input
    double npsh_required_m = std::numeric_limits<double>::quiet_NaN();
};

/// All that a label says of a pump.
struct PumpLabel {
    double greatest_flow_m3_s = 0.0;
    double greatest_head_m = 0.0;
};

/// Exponents n of the label rule H = H0 (1 - (Q/Qmax)^n): the answer, and the two ends of its band.
inline constexpr double kLabelExponentCentral = 2.0;
inline constexpr double kLabelExponentLow = 1.0;
inline constexpr double kLabelExponentHigh = 3.0;

/// How a pump is being run.
struct PumpDuty {
    double speed = 1.0;  ///< share of full speed, > 0
    int count = 1;       ///< equal pumps in parallel
    double wear = 0.0;   ///< share of the head that is lost, 0 to below 1
};

/// Head, power and NPSH of a pump against flow, at any speed (affinity laws), number and wear. Value semantics; docs/theory.md has the equations.
class PumpCurve {
public:
    PumpCurve() = default;

    /// Through a maker's points: at least one, flows strictly rising from >= 0, heads never rising (checked elsewhere).
    /// Power (NPSH) is known when every point has it, or from the points that have it, when at least one has.
    explicit PumpCurve(std::span<const PumpPoint> points);

    /// From a label alone, by the label rule in closed form; power and NPSH stay unknown.
    static PumpCurve from_label(const PumpLabel& label, double exponent = kLabelExponentCentral);

    /// The same pump with every flow and every head of its points (or label) times a factor, both above 0; power and NPSH at the same points.
    [[nodiscard]] PumpCurve scaled(double flow_factor, double head_factor) const;

    /// Head at a total flow through all the pumps together, m, and its slope with respect to that total flow.
    [[nodiscard]] ValueSlope head(double flow_m3_s, const PumpDuty& duty) const;

    /// Electrical power of all the pumps together, W; NaN when unknown. Never below 0.
    [[nodiscard]] double power_w(double flow_m3_s, const PumpDuty& duty) const;

    /// NPSH required by each pump, m; NaN when unknown. Never below 0.
    [[nodiscard]] double npsh_required_m(double flow_m3_s, const PumpDuty& duty) const;

    /// rho g Q H / electrical power; NaN when the power is unknown, 0 where flow or head is not positive.
    [[nodiscard]] double efficiency(double flow_m3_s, const PumpDuty& duty, double density_kg_m3) const;

    /// Total flow of best efficiency, m3/s; NaN when the power is unknown.
    [[nodiscard]] double best_efficiency_flow_m3_s(const PumpDuty& duty) const;

    /// Total flow at which the given curve ends; beyond it the curve is a straight guess, to be warned of.
    [[nodiscard]] double greatest_flow_m3_s(const PumpDuty& duty) const;

    /// Total flow at which the head is nothing, on the straight continuation when the points end above it.
    /// Infinite when the curve ends level.
    [[nodiscard]] double zero_head_flow_m3_s(const PumpDuty& duty) const;

    /// Head at no flow, m.
    [[nodiscard]] double shut_off_head_m(const PumpDuty& duty) const;

    /// Total flows at which the power was given: between neighbours it only rises or only falls. Empty when the power is unknown.
    [[nodiscard]] std::vector<double> power_knots_m3_s(const PumpDuty& duty) const;

    /// Whether nothing is known of it.
    [[nodiscard]] bool empty() const;
    /// Whether it is guessed from a label.
    [[nodiscard]] bool is_label() const { return label_exponent_ > 0.0; }
    /// Whether electrical power is known.
    [[nodiscard]] bool knows_power() const { return !power_.empty(); }
    /// Whether the NPSH it needs is known.
    [[nodiscard]] bool knows_npsh() const { return !npsh_.empty(); }

private:
    [[nodiscard]] ValueSlope full_speed_head(double flow_m3_s) const;
    [[nodiscard]] double full_speed_best_flow() const;

    MonotoneCurve head_;
    MonotoneCurve power_;
    MonotoneCurve npsh_;
    PumpLabel label_;
    double label_exponent_ = 0.0;  ///< 0: a curve of points
    double greatest_flow_m3_s_ = 0.0;
    double zero_head_flow_m3_s_ = 0.0;
    double best_flow_m3_s_ = std::numeric_limits<double>::quiet_NaN();
};

}  // namespace ebb::physics
