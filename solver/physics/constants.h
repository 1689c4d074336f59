#pragma once

// Constants that every law of this room shares. Lengths in metres, time in seconds, pressure in pascal.

namespace ebb::physics {

/// Standard acceleration of free fall, m/s2 (CGPM 1901; exact by definition).
inline constexpr double kGravity_m_s2 = 9.80665;

/// Standard atmosphere at sea level, Pa (CGPM 1954; exact by definition).
inline constexpr double kAtmosphere_pa = 101325.0;

/// The length of head over which a square law is made linear so that its slope never vanishes, m.
/// At any head h the head belonging to a flow is shifted by at most half of it: 5e-9 m.
inline constexpr double kLinearCore_m = 1e-8;

}  // namespace ebb::physics
