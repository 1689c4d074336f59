#pragma once
// Water taken at tees, whatever the pressure there: from where can it come at all?

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/network/network.h"

namespace ebb::settle {

/// True when some tee of the layout takes water.
bool any_taken(const layout::Layout& layout);

/// "what TAP and HATCHERY take may be more than can reach them"; with many tees the first few are named. Of a layout with any_taken().
std::string may_take_too_much(const layout::Layout& layout);

/// The tees that take water while every way to them from any vessel, pond or supply is shut under these settings: nothing can be taken there.
std::vector<std::int32_t> starved_tees(const network::Network& network, const layout::Layout& layout, const network::Settings& settings);

/// A tee whose water can only come out of vessels that no pond or supply reaches: they fall for ever, and no levels settle. -1: there is none.
std::int32_t emptying_tee(const network::Network& network, const layout::Layout& layout, const network::Settings& settings);

}  // namespace ebb::settle
