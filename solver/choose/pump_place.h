#pragma once
// The place of one pump in a farm, with any pump put in it. Internal to the choosing of pumps.

#include <cstdint>
#include <memory>
#include <stop_token>
#include <vector>

#include "solver/choose/pump_choice.h"
#include "solver/layout/layout.h"
#include "solver/physics/pump_curve.h"
#include "solver/settle/farm.h"

namespace ebb::choose {

/// What stands in the place.
struct Put {
    std::int32_t model = -1;
    int count = 1;
    double wear = 0.0;
    enum class Band : std::uint8_t { central, low, high } band = Band::central;  ///< of a label: which curve
};

/// A copy of the layout with something put in the place of a pump, and its solver.
class Place {
public:
    Place(const layout::Layout& layout, std::int32_t pump, const Put& put, std::stop_token stop = {});

    /// The same with a curve of its own, one pump of it.
    Place(const layout::Layout& layout, std::int32_t pump, const physics::PumpCurve& curve, std::stop_token stop = {});

    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;

    /// Solves an arrangement with this pump at `speed` (0: stopped), everything else as arranged. Throws Stopped after a stop.
    settle::Answer solve(std::int32_t arrangement, double speed);

    const layout::Layout& layout() const { return layout_; }
    std::int32_t pump() const { return pump_; }
    const layout::Pump& put() const { return layout_.pumps[static_cast<std::size_t>(pump_)]; }
    const physics::PumpCurve& curve() const { return layout_.pump_models[static_cast<std::size_t>(put().model)].curve; }
    physics::PumpDuty at_speed(double speed) const { return {.speed = speed, .count = put().count, .wear = put().wear}; }

private:
    layout::Layout layout_;
    std::int32_t pump_;
    std::unique_ptr<settle::Farm> farm_;
    std::stop_token stop_;
};

/// The layout with a pump of `model`, `count` of them, in the place of `pump`.
layout::Layout with_pump(const layout::Layout& layout, std::int32_t pump, const Put& put);

/// What a pump's water comes to without standing in a vessel on the way: over pipes, tees, filters and nozzles.
struct Reach {
    std::vector<std::uint8_t> vessels, tees;
};
Reach reach_of(const layout::Layout& layout, std::int32_t pump);

/// Least margin of the targets with `own[t] != 0` that are asked; +infinity without any, -infinity when there is no balance. A target
/// without a figure where siphons cycle is left out.
double own_margin(const settle::Answer& answer, const std::vector<std::uint8_t>& own);

/// The target that has it; -1 without any.
std::int32_t own_worst(const settle::Answer& answer, const std::vector<std::uint8_t>& own);

/// True where an arrangement has a state that can be judged.
bool can_be_judged(settle::State state);

/// The first vessel that runs over now and would not without the pump; -1 when none does.
std::int32_t spills_now(const settle::Answer& answer, const std::vector<std::uint8_t>& anyway);

/// The first vessel that loses more water over its rim on the way from the start depths than it does without the pump (`duty`); -1: none.
std::int32_t spills_on_way(const settle::Answer& answer, const Duty& duty);

}  // namespace ebb::choose
