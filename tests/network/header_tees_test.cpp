// The losses of tees on headers against the handbook's coefficients (tests/physics/tees_test.cpp), put together by hand: which leg carries the whole
// flow, whose area the velocity head is of, which way a loss points along its link.

#include "solver/network/header_tees.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>

#include "solver/network/laws.h"
#include "solver/physics/constants.h"
#include "solver/physics/tees.h"
#include "tests/near.h"

namespace {

using namespace ebb;
using physics::TeeFlow;

constexpr std::array<double, 3> kBore_m = {0.050, 0.040, 0.025};  // run, run, branch

double area(std::size_t leg) { return 0.7853981633974483 * kBore_m[leg] * kBore_m[leg]; }

/// A velocity head of a flow in a leg.
double head(std::size_t leg, double flow) { return flow * flow / (2.0 * physics::kGravity_m_s2 * area(leg) * area(leg)); }

/// What the legs lose when `towards` flows to the tee in each; `ends_here`: which way the links are drawn.
std::array<double, 3> losses(const std::array<double, 3>& towards, const std::array<bool, 3>& ends_here) {
    network::Network net;
    network::Point point;
    net.links.resize(3);
    network::HeaderTee tee;
    for (std::size_t i = 0; i < 3; ++i) {
        net.links[i].bore_m = kBore_m[i];
        tee.leg[i] = {static_cast<std::int32_t>(i), ends_here[i]};
        point.flow_m3_s.push_back(ends_here[i] ? towards[i] : -towards[i]);
    }
    net.header_tees.push_back(tee);
    network::update_tee_losses(net, point);
    std::array<double, 3> along{};
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(point.tee_slope[i] >= 0.0);
        along[i] = point.flow_m3_s[i] >= 0.0 ? point.tee_loss_m[i] : -point.tee_loss_m[i];  // a loss along the water, however the link is drawn
    }
    return along;
}

double branch(TeeFlow direction, double area_ratio, double share) {
    return physics::tee_branch_loss(direction, {.branch_angle_deg = 90.0, .area_ratio = area_ratio}, share).value;
}
double run(TeeFlow direction, double area_ratio, double share) {
    return physics::tee_run_loss(direction, {.branch_angle_deg = 90.0, .area_ratio = area_ratio}, share).value;
}

constexpr double kFlow = 1e-3;
const std::array<std::array<bool, 3>, 3> kDrawn = {{{true, true, true}, {true, false, false}, {false, true, false}}};

}  // namespace

TEST_CASE("a dividing tee on a header loses by the leg that feeds it") {
    for (const auto& drawn : kDrawn)
        for (const double q : {0.1, 0.3, 0.8}) {
            const auto loss = losses({kFlow, -(1.0 - q) * kFlow, -q * kFlow}, drawn);
            const double ratio = area(2) / area(0);
            CHECK(loss[0] == 0.0);
            CHECK(loss[1] == ebb::test::near(run(TeeFlow::dividing, ratio, q) * head(0, kFlow)).epsilon(1e-12));
            CHECK(loss[2] == ebb::test::near(branch(TeeFlow::dividing, ratio, q) * head(0, kFlow)).epsilon(1e-12));
        }
}

TEST_CASE("a combining tee on a header loses by the leg that takes all") {
    for (const auto& drawn : kDrawn)
        for (const double q : {0.1, 0.3, 0.8}) {
            const auto loss = losses({(1.0 - q) * kFlow, -kFlow, q * kFlow}, drawn);
            const double ratio = area(2) / area(1);
            CHECK(loss[1] == 0.0);
            CHECK(loss[0] == ebb::test::near(run(TeeFlow::combining, ratio, q) * head(1, kFlow)).epsilon(1e-12));
            CHECK(loss[2] == ebb::test::near(branch(TeeFlow::combining, ratio, q) * head(1, kFlow)).epsilon(1e-12));
        }
}

TEST_CASE("all of the flow through the branch: each run by the branch's relation at its end") {
    const auto out = losses({-0.6 * kFlow, -0.4 * kFlow, kFlow}, kDrawn[0]), in = losses({0.6 * kFlow, 0.4 * kFlow, -kFlow}, kDrawn[1]);
    for (std::size_t leg = 0; leg < 2; ++leg) {
        const double ratio = area(2) / area(leg);
        CHECK(out[leg] == ebb::test::near(branch(TeeFlow::dividing, ratio, 1.0) * head(2, kFlow)).epsilon(1e-12));
        CHECK(in[leg] == ebb::test::near(branch(TeeFlow::combining, ratio, 1.0) * head(2, kFlow)).epsilon(1e-12));
    }
    CHECK(out[2] == 0.0);
    CHECK(in[2] == 0.0);
}

TEST_CASE("a branch that comes to rest and turns round brings no jump, and at rest loses nothing") {
    const auto at = [](double q) {
        return q >= 0.0 ? losses({kFlow, -(1.0 - q) * kFlow, -q * kFlow}, kDrawn[0]) : losses({(1.0 + q) * kFlow, -kFlow, -q * kFlow}, kDrawn[0]);
    };
    constexpr int kSteps = 1200;
    auto before = at(-0.06);
    for (int i = 1; i <= kSteps; ++i) {
        const auto now = at(-0.06 + 0.12 * i / kSteps);
        for (std::size_t leg = 0; leg < 3; ++leg) REQUIRE(std::abs(now[leg] - before[leg]) < 0.02 * head(1, kFlow));
        before = now;
    }
    for (const double q : {1e-4, -1e-4}) CHECK(std::abs(at(q)[2]) < 1e-3 * head(1, kFlow));
}

TEST_CASE("still water loses nothing") {
    const auto loss = losses({0.0, 0.0, 0.0}, kDrawn[0]);
    for (const double leg : loss) CHECK(leg == 0.0);
}
