#pragma once
// Where things of a layout stand to each other, as far as faults ask.

#include <cstdint>
#include <vector>

#include "solver/diagnose/fault.h"
#include "solver/layout/layout.h"

namespace ebb::diagnose {

/// The pipe that leaves a pump; -1: none.
std::int32_t pump_outlet(const layout::Layout& layout, std::size_t pump);

/// Whether a fault is a leak out of the very sump in which the water is missed: nothing flows otherwise than before, only that the sump falls tells
/// it.
bool leaks_out_of_sump(const layout::Layout& layout, const Fault& fault);

/// Curves entered in other units: flow in the other gallon, either way (US and imperial: 0.83267), head in feet for metres and the reverse.
inline constexpr std::int32_t kOtherCurves = 4;
struct CurveFactors {
    double flow = 1.0, head = 1.0;
};
CurveFactors other_curve(std::int32_t which);

/// What a centrifugal pump does when it turns backwards: about two thirds of its flow at half its head (common practice, from memory).
inline constexpr CurveFactors kBackwards{.flow = 0.65, .head = 0.5};

}  // namespace ebb::diagnose
