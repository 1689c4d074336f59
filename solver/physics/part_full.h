#pragma once

// A round gravity drain that runs part full: geometry, uniform flow, critical depth.

namespace ebb::physics {

/// Manning's n of plastic pipe unless the layout says otherwise (Chow 1959 table 5-6 gives 0.009 to 0.011 for smooth walls).
inline constexpr double kManningPlastic = 0.010;

/// Velocity that keeps solids moving in a drain, m/s (common practice).
inline constexpr double kScourVelocity_m_s = 0.6;

/// Greatest uniform flow of a round pipe over its full-bore flow, and the fill ratio at which it runs.
inline constexpr double kGreatestFlowRatio = 1.075706129400465;
inline constexpr double kGreatestFlowFill = 0.938181216160607;

/// The wetted section of a circle of unit bore at a fill ratio (depth over bore) from 0 to 1.
struct CircleSection {
    double angle_rad = 0.0;         ///< angle of the wetted arc at the centre
    double area = 0.0;              ///< over D^2
    double wetted_perimeter = 0.0;  ///< over D
    double surface_width = 0.0;     ///< over D
    double hydraulic_radius = 0.0;  ///< over D
};
/// At a depth over the bore, from 0 to 1.
CircleSection circle_section(double fill_ratio);

/// A drain as uniform flow sees it. All > 0.
struct DrainFacts {
    double bore_m = 0.0;
    double slope = 0.0;  ///< fall over length
    double manning_n = kManningPlastic;
};

/// Flow of the pipe just full under its own slope, m3/s.
double full_bore_flow_m3_s(const DrainFacts& drain);

/// Uniform flow over full-bore flow at a fill ratio.
double uniform_flow_ratio(double fill_ratio);

/// The lower fill ratio that carries a share of the full-bore flow; 1 when the share is beyond kGreatestFlowRatio.
double uniform_fill_ratio(double flow_ratio);

/// Fill ratio at which a flow is critical in a round pipe (Q^2 T = g A^3); below 1 for every flow.
double critical_fill_ratio(double bore_m, double flow_m3_s);

/// Specific energy over the invert at that depth, m: the depth a calm vessel needs over the invert to feed the flow.
double critical_energy_m(double bore_m, double flow_m3_s);

/// How a drain carries a flow.
struct DrainFlow {
    double fill_ratio = 0.0;     ///< 1 when it cannot be carried part full
    double velocity_m_s = 0.0;   ///< of the water, with the sign of the flow
    double capacity_used = 0.0;  ///< share of full-bore flow, may exceed 1
    double depth_m = 0.0;
    bool part_full = false;
};

/// Uniform part-full flow; a drain with no fall (slope <= 0) is taken as full, its capacity_used as infinite.
DrainFlow drain_flow(const DrainFacts& drain, double flow_m3_s);

}  // namespace ebb::physics
