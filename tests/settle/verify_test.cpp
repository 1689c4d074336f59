// The check of an answer by itself: a good answer passes, one that was tampered with is told off by as much as it is wrong, and where.

#include <doctest/doctest.h>

#include "solver/settle/model.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;

constexpr double kFall_m = 2.0;

/// Two pipes side by side from one pond to another, and a tank that is pumped round.
layout::Layout farm() {
    layout::Layout layout;
    layout.ponds.resize(2);
    layout.ponds[0].id = "HIGH";
    layout.ponds[0].level_m = kFall_m;
    layout.ponds[1].id = "LOW";
    layout.ponds[1].level_m = 0.0;
    layout.vessels = {test::prism("TANK", 0.0, 1.0, 1.0, 0.5)};
    test::add_steady_pump(layout, "P", "TANK", 1e-3);
    layout.pipes = {test::pipe("ONE", "HIGH", "LOW", 10.0, 0.05), test::pipe("OTHER", "HIGH", "LOW", 20.0, 0.04),
                    test::pipe("ROUND", "P", "TANK", 2.0, 0.05)};
    layout.pipes[2].to.height_m = 0.9;
    return layout;
}

settle::Answer checked(const layout::Layout& layout, settle::Answer answer) {
    answer.warnings.clear();
    settle::verify(layout, layout::conditions_of(layout, 0), answer);
    return answer;
}

}  // namespace

TEST_CASE("the check of an answer finds a flow that is off, by how much of its head, and names the pipe") {
    layout::Layout layout = farm();
    const settle::Answer good = test::solve(layout);
    REQUIRE(good.state == settle::State::settled);
    CHECK(checked(layout, good).warnings.empty());
    CHECK(good.worst_head_error_m < 1e-6);
    for (const std::size_t pipe : {0U, 1U}) {
        settle::Answer wrong = good;
        wrong.pipes[pipe].flow_m3_s *= 1.01;
        wrong = checked(layout, wrong);
        // the loss goes with a power of the flow between Blasius' 1.75 and 2
        CHECK(wrong.worst_head_error_m > 1.75 * 0.0099 * kFall_m);
        CHECK(wrong.worst_head_error_m < 2.02 * 0.01 * kFall_m);
        REQUIRE(wrong.warnings.size() == 1);
        CHECK(wrong.warnings[0].code == "recomputed-apart");
        CHECK(wrong.warnings[0].about == layout.pipes[pipe].id);
        CHECK(wrong.warnings[0].says.find(layout.pipes[pipe].id) != std::string::npos);
    }
}

TEST_CASE("the check of an answer finds water that is made or lost in a vessel") {
    layout::Layout layout = farm();
    const settle::Answer good = test::solve(layout);
    CHECK(good.worst_flow_imbalance_m3_s < 1e-12);
    settle::Answer wrong = good;
    wrong.pumps[0].flow_m3_s += 1e-5;
    CHECK(checked(layout, wrong).worst_flow_imbalance_m3_s > 0.99e-5);
    CHECK(checked(layout, wrong).worst_flow_imbalance_m3_s < 1.01e-5);
}
