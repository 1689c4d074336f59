#pragma once
// The duty a farm needs of one pump in one arrangement, and the system curve it stands on. Internal to the choosing of pumps.

#include <cstdint>
#include <stop_token>

#include "solver/choose/pump_choice.h"
#include "solver/layout/layout.h"

namespace ebb::choose {

/// No pump is looked for that lifts higher, m: pipes of such farms are not made for more than 10 bar.
inline constexpr double kGreatestHead_m = 100.0;

/// The duty of `pump` in `arrangement`; `curve_points` points of its system curve, from where water begins to flow to `curve_to_m` or half
/// as much again as the duty, whichever is more.
/// Throws Stopped after a stop.
Duty duty_of(const layout::Layout& layout, std::int32_t pump, std::int32_t arrangement, int curve_points, double curve_to_m,
             const std::stop_token& stop = {});

/// What takes the most head on the way of the water to what `target` is about.
HeadTaken head_taken(const layout::Layout& layout, const settle::Answer& answer, const settle::Target& target);

}  // namespace ebb::choose
