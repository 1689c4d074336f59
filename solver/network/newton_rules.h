#pragma once
// The numbers by which Newton's method on a network is kept on its way and told that it has arrived. Both solvers go by them: the one of one
// network (newton.cpp) and the one of eight arrangements side by side (survey/lane_solver.h). No includes: kernels for one processor read this too.

namespace ebb::network {

/// Flows that differ by less are the same, m3/s: a litre in three thousand years.
inline constexpr double kStillFlow_m3_s = 1e-14;

/// And a flow that is off by less is the right one whatever the head it takes: a litre in three million years.
inline constexpr double kNothing_m3_s = 1e-17;

/// Balances that are off by less are balanced, m3/s.
inline constexpr double kStillMass_m3_s = 1e-18;

/// What double precision can tell of a sum of heads, as a share of them.
inline constexpr double kHeadRounding = 16.0 * 2.2e-16;

/// Share of the largest flow that sums of flows lose to rounding.
inline constexpr double kRounding = 2e-15;

/// Share of the largest flow that may go missing at a node of a network at given levels.
inline constexpr double kLeak = 1e-13;

/// Water that an implicit step may make or lose, m3.
inline constexpr double kLostWater_m3 = 1e-12;

/// After so many steps an imbalance within the tolerances of flow is taken even where rounding could do better.
inline constexpr int kStrictSteps = 25;

/// A level may pass its rim by so much within an iteration (the spill pulls it back), m.
inline constexpr double kRoomOverRim_m = 1.0;

/// How far past a lip (in bores) and a drain-hole a step of level may go; how near to a kink from above it may cross it downwards (in scales), and
/// else which share of its height over the kink it keeps.
inline constexpr double kLipScale = 0.3, kHoleScale_m = 0.02, kNearKink = 0.02, kKeepShare = 0.1;

/// So many full steps first; then all but every fourth are relaxed, to this share.
inline constexpr int kFullSteps = 12, kRelaxRound = 4;
inline constexpr double kRelaxShare = 0.5;

/// A step of head that no farm has, and how far over its lowest way out a node that made one is lifted, m.
inline constexpr double kJump_m = 200.0, kLift_m = 5e-4;

/// A vented node that fills is first taken to stand no higher over itself than this, m: what would push a flood through a thread is no head to go on
/// from.
inline constexpr double kMostRise_m = 2.0;

}  // namespace ebb::network
