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

/// Which leg carries the whole flow, and how much this reading of the tee counts.
struct Reading {
    std::size_t whole = 0;
    double weight = 1.0;
};

void add_losses_as(const Network& network, const HeaderTee& tee, const std::array<double, 3>& in, const Reading& reading, Point& point) {
    const std::size_t whole = reading.whole;
    const double flow = std::abs(in[whole]);
    const auto direction = in[whole] > 0.0 ? physics::TeeFlow::dividing : physics::TeeFlow::combining;
    const double branch_area = physics::bore_area_m2(network.links[at(tee.leg[2].link)].bore_m);
    for (std::size_t i = 0; i < 3; ++i) {
        if (i == whole || in[i] * in[whole] >= 0.0) continue;
        const double run_area = physics::bore_area_m2(network.links[at(tee.leg[whole == 2 ? i : whole].link)].bore_m);
        const physics::TeeShape shape{.branch_angle_deg = tee.branch_angle_deg, .area_ratio = std::min(1.0, branch_area / run_area)};
        const double head = physics::velocity_head_coefficient(whole == 2 ? branch_area : run_area) * flow * flow;
        const double share = std::min(1.0, std::abs(in[i]) / flow);
        // all of the flow turning through the branch: the branch relation at its end, for either run
        const physics::ValueSlope k = whole == 2 ? physics::tee_branch_loss(direction, shape, 1.0)
                                      : i == 2   ? physics::tee_branch_loss(direction, shape, share)
                                                 : physics::tee_run_loss(direction, shape, std::min(1.0, std::abs(in[2]) / flow));
        const auto link = at(tee.leg[i].link);
        const double loss = reading.weight * k.value * fade(share) * head;
        point.tee_loss_m[link] += point.flow_m3_s[link] >= 0.0 ? loss : -loss;
        // a stabilising part of the slope: as if the loss were K of this leg's own flow
        point.tee_slope[link] += reading.weight * std::abs(k.value) * head / flow;
    }
}

void add_losses(const Network& network, const HeaderTee& tee, Point& point) {
    // flow towards the tee in each leg: run, run, branch
    std::array<double, 3> in{};
    for (std::size_t i = 0; i < 3; ++i) in[i] = point.flow_m3_s[at(tee.leg[i].link)] * (tee.leg[i].ends_here ? 1.0 : -1.0);
    std::size_t most_in = 0, most_out = 0;
    for (std::size_t i = 1; i < 3; ++i) {
        if (in[i] > in[most_in]) most_in = i;
        if (in[i] < in[most_out]) most_out = i;
    }
    const double flow = std::max(in[most_in], -in[most_out]);
    if (flow < 1e-12) return;
    // the whole flow comes in by one leg (dividing) or goes out by one (combining); where the third leg is nearly still it is both, and the two
    // readings change over smoothly
    const double combining = fade(std::max(0.0, kFade * (0.5 + (-in[most_out] - in[most_in]) / flow / (2.0 * kFade))));
    if (combining < 1.0 && in[most_in] > 0.0) add_losses_as(network, tee, in, {most_in, 1.0 - combining}, point);
    if (combining > 0.0 && in[most_out] < 0.0) add_losses_as(network, tee, in, {most_out, combining}, point);
}

}  // namespace

void update_tee_losses(const Network& network, Point& point) {
    if (network.header_tees.empty()) return;
    point.tee_loss_m.assign(network.links.size(), 0.0);
    point.tee_slope.assign(network.links.size(), 0.0);
    for (const auto& tee : network.header_tees) add_losses(network, tee, point);
}

}  // namespace ebb::network
