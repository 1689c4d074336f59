// What is cut off from every level has no heads, but may still move; and what cannot pass is no fault of the answer: the check of the answer must
// know both. The flows by hand: the pump's straight curve against velocity heads.

#include <doctest/doctest.h>

#include <numbers>

#include "tests/near.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using test::near;

constexpr double kG_m_s2 = 9.80665, kBore_m = 0.03;

void shut_first_valve(layout::Layout& layout) {
    layout::Arrangement shut;
    shut.name = "shut";
    layout::Setting close;
    close.act = layout::Act::close;
    close.about_id = layout.valves.at(0).id;
    shut.settings = {close};
    layout.arrangements = {shut};
}

layout::Tee tee(const char* id, double elevation_m) {
    layout::Tee tee;
    tee.id = id;
    tee.elevation_m = elevation_m;
    return tee;
}

/// A tank, a valve, and behind it a ring with a pump in it.
layout::Layout ring(double most_m3_s, double most_m, double heads) {
    layout::Layout layout;
    layout.vessels = {test::prism("TANK", 0.0, 1.0, 2.0, 0.5)};
    layout.tees = {tee("NEAR", 0.2), tee("FAR", 0.2)};
    layout::PumpModel model;
    model.name = "straight";
    model.curve = physics::PumpCurve(std::vector<physics::PumpPoint>{{.flow_m3_s = 0.0, .head_m = most_m}, {.flow_m3_s = most_m3_s, .head_m = 0.0}});
    layout.pump_models = {model};
    layout::Pump pump;
    pump.id = "P";
    pump.model_name = "straight";
    pump.elevation_m = 0.2;
    layout.pumps = {pump};
    layout.pipes = {test::pipe("TO", "TANK", "NEAR", 1.0, 0.05), test::loss_only("A", "NEAR", "P", kBore_m, 0.25 * heads),
                    test::loss_only("B", "P", "FAR", kBore_m, 0.5 * heads), test::loss_only("C", "FAR", "NEAR", kBore_m, 0.25 * heads)};
    test::add_valve(layout, "TO", "V");
    shut_first_valve(layout);
    return layout;
}

}  // namespace

TEST_CASE("a pump in a ring that is cut off drives it round, with no head known, and the check says nothing against it") {
    constexpr double kMost_m3_s = 2e-3, kMost_m = 6.0, kHeads = 12.0;
    layout::Layout layout = ring(kMost_m3_s, kMost_m, kHeads);
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    // most (1 - q / most flow) = heads v2 / 2g: halve
    const double area_m2 = std::numbers::pi * kBore_m * kBore_m / 4.0;
    double low = 0.0, high = kMost_m3_s;
    for (int i = 0; i < 100; ++i) {
        const double q = 0.5 * (low + high), v = q / area_m2;
        (kMost_m * (1.0 - q / kMost_m3_s) > kHeads * v * v / (2.0 * kG_m_s2) ? low : high) = q;
    }
    CHECK(answer.pumps[0].flow_m3_s == near(low).epsilon(1e-6));
    CHECK(answer.pipes[3].flow_m3_s == near(low).epsilon(1e-6));
    CHECK(answer.pipes[0].flow_m3_s == 0.0);
    CHECK(std::isnan(answer.tees[0].head_m));
    CHECK(answer.worst_flow_imbalance_m3_s < 1e-12);
    CHECK(answer.worst_head_error_m < 1e-9);
}

TEST_CASE("without its pump a ring that is cut off stands still") {
    layout::Layout layout = ring(2e-3, 6.0, 12.0);
    layout::Setting stop;
    stop.act = layout::Act::stop;
    stop.about_id = "P";
    layout.arrangements[0].settings.push_back(stop);
    layout.pumps[0].stopped_flow_m3_s = 1e-3;  // water passes the pump at rest
    layout.pumps[0].stopped_head_m = 0.5;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    for (const auto& pipe : answer.pipes) CHECK(pipe.flow_m3_s == 0.0);
    CHECK(answer.worst_flow_imbalance_m3_s == 0.0);
    CHECK(answer.worst_head_error_m == 0.0);
}

TEST_CASE("a standpipe over a shut drain stands full: nothing leaves by it, and the check agrees") {
    layout::Layout layout;
    layout.vessels = {test::prism("BED", 1.0, 0.5, 2.0, 0.4), test::prism("SUMP", 0.0, 0.8, 1.0, 0.2, layout::VesselKind::sump)};
    test::add_standpipe(layout, "S", "BED", 0.05, 0.3);
    layout.pipes = {test::drain("HOME", "S", "SUMP", 2.0, 0.05)};
    layout.pipes[0].to.height_m = 0.7;
    test::add_valve(layout, "HOME", "V");
    shut_first_valve(layout);
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    CHECK(answer.vessels[0].depth_m == near(0.4).epsilon(1e-12));
    CHECK(answer.standpipes[0].flow_m3_s == 0.0);
    CHECK(answer.worst_flow_imbalance_m3_s == 0.0);
}

TEST_CASE("a drain that ends as high as the water stands passes nothing: the warning says so, and the check agrees") {
    layout::Layout layout;
    layout.vessels = {test::prism("BED", 1.0, 0.5, 2.0, 0.4), test::prism("SUMP", 0.0, 2.0, 1.0, 0.2, layout::VesselKind::sump)};
    test::add_standpipe(layout, "S", "BED", 0.05, 0.3);
    layout.pipes = {test::drain("HOME", "S", "SUMP", 2.0, 0.05)};
    layout.pipes[0].to.height_m = 1.35;
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    CHECK(answer.vessels[0].level_m == near(1.35).epsilon(1e-6));
    CHECK(answer.worst_flow_imbalance_m3_s < 1e-12);
    REQUIRE(answer.warnings.size() == 1);
    CHECK(answer.warnings[0].code == "overflow-drowned");
    CHECK(answer.warnings[0].says == "nothing leaves by S: its drain is shut, or leads nowhere lower");
}

TEST_CASE("a pump at rest in a ring that is cut off holds the other back by its square law, and the check counts it") {
    constexpr double kMost_m3_s = 2e-3, kMost_m = 6.0, kHeads = 12.0, kStopped_m3_s = 1e-3, kStopped_m = 0.5;
    layout::Layout layout = ring(kMost_m3_s, kMost_m, kHeads);
    layout::Pump second = layout.pumps[0];
    second.id = "Q";
    second.stopped_flow_m3_s = kStopped_m3_s;
    second.stopped_head_m = kStopped_m;
    layout.pumps.push_back(second);
    layout.pipes[2].to.id = "Q";  // P - Q - FAR
    layout.pipes.push_back(test::loss_only("D", "Q", "FAR", kBore_m, 0.0));
    layout::Setting stop;
    stop.act = layout::Act::stop;
    stop.about_id = "Q";
    layout.arrangements[0].settings.push_back(stop);
    const auto answer = test::solve(layout);
    REQUIRE(answer.state == settle::State::settled);
    const double area_m2 = std::numbers::pi * kBore_m * kBore_m / 4.0;
    double low = 0.0, high = kMost_m3_s;
    for (int i = 0; i < 100; ++i) {
        const double q = 0.5 * (low + high), v = q / area_m2, rest = q / kStopped_m3_s;
        (kMost_m * (1.0 - q / kMost_m3_s) > kHeads * v * v / (2.0 * kG_m_s2) + kStopped_m * rest * rest ? low : high) = q;
    }
    CHECK(answer.pumps[0].flow_m3_s == near(low).epsilon(1e-5));
    CHECK(answer.worst_head_error_m < 1e-8);
}
