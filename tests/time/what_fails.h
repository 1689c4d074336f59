#pragma once
// Asks what a failure does, and finds one thing in the answer.

#include <cstdint>
#include <string>

#include "solver/time/what_if.h"

namespace ebb::test {

/// `routine` -1: the first arrangement, left alone.
inline time::WhatIfAnswer fails(const layout::Layout& farm, time::Fault fault, layout::Ref about, double lasts_s = 86400.0,
                                std::int32_t routine = -1) {
    time::Simulation simulation(farm);
    time::WhatIfWanted wanted;
    wanted.mishap = {fault, about, "it"};
    wanted.lasts_s = lasts_s;
    wanted.routine = routine;
    return time::what_if(simulation, wanted);
}

inline const time::Strikes* struck(const time::WhatIfAnswer& answer, time::Clock what, const std::string& id) {
    for (const auto& strike : answer.strikes)
        if (strike.what == what && strike.about_id == id) return &strike;
    return nullptr;
}

}  // namespace ebb::test
