#pragma once
// The rare laws of the lanes, one lane after another through the scalar code of laws.h: pumps, filters with curves, primed siphons, float valves,
// and nodes that starve. Called by the kernels through pointers. No function of the mathematical library but square roots is met on the way, so that
// the digits are the same on every machine.

#include <vector>

#include "solver/network/laws.h"
#include "solver/survey/lane_data.h"

namespace ebb::survey {

struct LaneScalar {
    const network::Network* net = nullptr;
    LaneData* data = nullptr;
    std::vector<network::LinkSetting> settings;  ///< per link and lane
    std::vector<double> pump_share;              ///< per pump and lane: of the maker's head
    std::vector<double> lowest_way_m;            ///< workspace, per node
};

void lane_losses(void* context, std::int32_t link, const Line& flow, Line& loss, Line& slope);
void lane_openings(void* context, std::int32_t link, const Line& from, const Line& to, Line& q, Line& a, Line& b);
void lane_lift_starved(void* context, int lane);

}  // namespace ebb::survey
