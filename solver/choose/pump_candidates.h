#pragma once
// One model in one number, held against the duties of a pump's place. Internal to the choosing of pumps.

#include <cstdint>
#include <span>
#include <stop_token>
#include <vector>

#include "solver/choose/economy.h"
#include "solver/choose/pump_choice.h"
#include "solver/choose/pump_place.h"

namespace ebb::choose {

/// What candidates of one pump are held against.
struct Trial {
    const layout::Layout* layout = nullptr;
    std::int32_t pump = -1;
    std::span<const Duty> duties;  ///< one per arrangement that counts
    const Costing* costing = nullptr;
    std::stop_token stop;  ///< after it the functions below throw Stopped
};

/// `put` at the speeds the arrangements say; and, where its model can be turned down and that leads to something that meets the targets, at one
/// speed for all and at a speed for each.
std::vector<Candidate> try_candidate(const Trial& trial, const Put& put);

/// The same model and number in the same mode at other speeds, one per arrangement that counts.
Candidate at_speeds(const Trial& trial, const Candidate& candidate, const std::vector<double>& speeds);

/// What stands there now, at the speeds the arrangements say.
Candidate as_it_stands(const Trial& trial);

/// Of two candidates, whether the first is to stand before the other: what meets everything first, the rejected last; of what meets, known
/// cost before unknown, then by life-cycle cost; of the rejected, the one that misses least.
bool stands_before(const Candidate& one, const Candidate& other);

}  // namespace ebb::choose
