#include "solver/network/header_tees.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "solver/physics/fittings.h"
#include "solver/physics/tees.h"

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kFade = 0.02;

/// 0 to 1 over the first fiftieth of the whole flow, smoothly.
double fade(double share) {
    const double t = std::min(1.0, share / kFade);
    return t * t * (3.0 - 2.0 * t);
}

void add_losses(const Network& network, const HeaderTee& tee, Point& point) {
    // flow towards the tee in each leg: run, run, branch
    std::array<double, 3> in{};
    for (std::size_t i = 0; i < 3; ++i) in[i] = point.flow_m3_s[at(tee.leg[i].link)] * (tee.leg[i].ends_here ? 1.0 : -1.0);
    std::size_t whole = 0;
    for (std::size_t i = 1; i < 3; ++i)
        if (std::abs(in[i]) > std::abs(in[whole])) whole = i;
    const double flow = std::abs(in[whole]);
    if (flow < 1e-12) return;
    const auto direction = in[whole] > 0.0 ? physics::TeeFlow::dividing : physics::TeeFlow::combining;
    const double run_area = physics::bore_area_m2(network.links[at(tee.leg[whole == 2 ? 0 : whole].link)].bore_m);
    const double branch_area = physics::bore_area_m2(network.links[at(tee.leg[2].link)].bore_m);
    const physics::TeeShape shape{.branch_angle_deg = tee.branch_angle_deg, .area_ratio = std::min(1.0, branch_area / run_area)};
    const double head = physics::velocity_head_coefficient(whole == 2 ? branch_area : run_area) * flow * flow;
    for (std::size_t i = 0; i < 3; ++i) {
        if (i == whole || in[i] * in[whole] >= 0.0) continue;
        const double share = std::min(1.0, std::abs(in[i]) / flow);
        // all of the flow turning through the branch: the branch relation at its end, for either run
        const physics::ValueSlope k = whole == 2 ? physics::tee_branch_loss(direction, shape, 1.0)
                                      : i == 2   ? physics::tee_branch_loss(direction, shape, share)
                                                 : physics::tee_run_loss(direction, shape, std::min(1.0, std::abs(in[2]) / flow));
        const auto link = at(tee.leg[i].link);
        const double loss = k.value * fade(share) * head;
        point.tee_loss_m[link] += point.flow_m3_s[link] >= 0.0 ? loss : -loss;
        // a stabilising part of the slope: as if the loss were K of this leg's own flow
        point.tee_slope[link] += std::abs(k.value) * head / flow;
    }
}

}  // namespace

void update_tee_losses(const Network& network, Point& point) {
    if (network.header_tees.empty()) return;
    point.tee_loss_m.assign(network.links.size(), 0.0);
    point.tee_slope.assign(network.links.size(), 0.0);
    for (const auto& tee : network.header_tees) add_losses(network, tee, point);
}

}  // namespace ebb::network
