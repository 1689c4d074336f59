#include "solver/survey/lane_scalar.h"

#include <algorithm>
#include <cmath>

#include "solver/network/newton_rules.h"

namespace ebb::survey {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

physics::ValueSlope loss_of(const LaneScalar& scalar, std::int32_t index, int lane, double flow) {
    const network::Network& net = *scalar.net;
    const network::Link& link = net.links[at(index)];
    const network::LinkSetting& setting = scalar.settings[at(index) * kLanes + static_cast<std::size_t>(lane)];
    if (link.law == network::Law::pump && !setting.resting) {
        const network::PumpLaw& law = net.pumps[at(link.law_index)];
        const double share = scalar.pump_share[at(link.law_index) * kLanes + static_cast<std::size_t>(lane)];
        const physics::ValueSlope head = law.curve.head(flow, {.speed = setting.value, .count = law.count, .wear = 1.0 - share});
        return {-head.value, std::max(-head.slope, law.least_slope)};
    }
    double no_friction = 0.0;
    return network::loss_at(net, setting, link, flow, no_friction);
}

bool is_in(LaneBits bits, int lane) { return (bits >> lane & 1) != 0; }

}  // namespace

void lane_losses(void* context, std::int32_t link, const Line& flow, Line& loss, Line& slope) {
    const LaneScalar& scalar = *static_cast<const LaneScalar*>(context);
    const LaneData& d = *scalar.data;
    for (int lane = 0; lane < kLanes; ++lane) {
        const bool asked = is_in(d.active, lane) && !is_in(d.shut[link], lane);
        const physics::ValueSlope there = asked ? loss_of(scalar, link, lane, flow.lane[lane]) : physics::ValueSlope{0.0, 1.0};
        loss.lane[lane] = there.value;
        slope.lane[lane] = there.slope;
    }
}

void lane_openings(void* context, std::int32_t link, const Line& from, const Line& to, Line& q, Line& a, Line& b) {
    const LaneScalar& scalar = *static_cast<const LaneScalar*>(context);
    const LaneData& d = *scalar.data;
    for (int lane = 0; lane < kLanes; ++lane) {
        network::Linear linear;
        if (is_in(d.active, lane) && !is_in(d.shut[link], lane))
            linear = network::linearise_opening(*scalar.net, scalar.settings[at(link) * kLanes + static_cast<std::size_t>(lane)],
                                                scalar.net->links[at(link)], from.lane[lane], to.lane[lane]);
        q.lane[lane] = linear.q;
        a.lane[lane] = linear.a;
        b.lane[lane] = linear.b;
    }
}

void lane_lift_starved(void* context, int lane) {
    LaneScalar& scalar = *static_cast<LaneScalar*>(context);
    LaneData& d = *scalar.data;
    std::vector<double>& lowest = scalar.lowest_way_m;
    std::fill(lowest.begin(), lowest.end(), HUGE_VAL);
    for (std::int32_t l = 0; l < d.links; ++l) {
        const network::Link& link = scalar.net->links[at(l)];
        const network::LinkSetting& setting = scalar.settings[at(l) * kLanes + static_cast<std::size_t>(lane)];
        if (setting.shut) continue;
        const double over_from = network::port_head(link.at_from, d.head[link.from].lane[lane]);
        const double over_to = network::port_head(link.at_to, d.head[link.to].lane[lane]);
        lowest[at(link.from)] = std::min(lowest[at(link.from)], over_to);
        if (!setting.one_way) lowest[at(link.to)] = std::min(lowest[at(link.to)], over_from);
        if (!is_in(d.at_entrance_from[l], lane)) continue;
        // what an intake or opening still lets in is held back once the head stands where the pump, or the water, can push it no further
        const bool pumps = link.law == network::Law::pump && !setting.resting;
        const double push = pumps ? -loss_of(scalar, l, lane, d.q[l].lane[lane]).value : 0.0;
        lowest[at(link.to)] = std::min(lowest[at(link.to)], over_from + push);
    }
    const auto bit = static_cast<LaneBits>(1U << static_cast<unsigned>(lane));
    for (std::int32_t n = 0; n < d.plain; ++n) {
        const double asked = d.rhs[n].lane[lane];
        if (std::abs(asked) <= network::kJump_m || is_in(d.air[n], lane)) continue;
        d.full_step = static_cast<LaneBits>(d.full_step & ~bit);
        if (asked > 0.0 && std::isfinite(lowest[at(n)])) d.head[n].lane[lane] = lowest[at(n)] + network::kLift_m;
    }
}

}  // namespace ebb::survey
