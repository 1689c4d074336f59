// Water taken at tees, against sums that can be done on paper. With the Hazen-Williams law's powers set to 2 and 5 the loss of a pipe is r Q^2, and
// two equal pipes from two ponds to a tee that takes T carry Q1 + Q2 = T and, from H1 - H2 = r (Q1 |Q1| - Q2 |Q2|), Q1 - Q2 = (H1 - H2)/(r T) while
// both flow to the tee.
#include "solver/settle/taking.h"
#include "tests/near.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using layout::Layout;
using settle::State;

constexpr double kFactor = 10.0, kC = 100.0, kLength_m = 100.0, kBore_m = 0.05;

layout::Tee tee(const std::string& id, double takes_m3_s) {
    layout::Tee tee;
    tee.id = id;
    tee.elevation_m = 1.0;
    tee.takes_m3_s = takes_m3_s;
    return tee;
}

layout::Pipe plain(const std::string& id, const std::string& from, const std::string& to) {
    layout::Pipe pipe = test::pipe(id, from, to, kLength_m, kBore_m);
    pipe.hazen_williams_c = kC;
    pipe.entry_loss = pipe.exit_loss = 0.0;
    return pipe;
}

Layout between_ponds(double high_m, double low_m, double takes_m3_s) {
    Layout layout;
    layout.friction = layout::FrictionLaw::hazen_williams;
    layout.hazen = {.factor = kFactor, .flow_power = 2.0, .bore_power = 5.0};
    layout::Pond high, low;
    high.id = "HIGH";
    high.level_m = high_m;
    low.id = "LOW";
    low.level_m = low_m;
    layout.ponds = {high, low};
    layout.tees = {tee("J", takes_m3_s)};
    layout.pipes = {plain("from-high", "HIGH", "J"), plain("from-low", "LOW", "J")};
    return layout;
}

settle::Answer solved(Layout& layout, std::int32_t arrangement = 0) {
    const auto problems = layout::validate(layout);
    for (const auto& problem : problems) FAIL_CHECK(problem.says);
    REQUIRE(problems.empty());
    return settle::Farm(layout).solve(arrangement);
}

double resistance() { return kFactor * kLength_m / (kC * kC * std::pow(kBore_m, 5.0)); }

}  // namespace

TEST_CASE("a tee between two ponds takes from both as the sum on paper has it") {
    constexpr double kTakes_m3_s = 3e-3, kHigh_m = 12.0, kLow_m = 11.0;
    Layout layout = between_ponds(kHigh_m, kLow_m, kTakes_m3_s);
    layout.tees[0].least_pressure_m = 5.0;
    const settle::Answer answer = solved(layout);
    REQUIRE(answer.state == State::settled);
    const double difference = (kHigh_m - kLow_m) / (resistance() * kTakes_m3_s);
    const double first = 0.5 * (kTakes_m3_s + difference), second = 0.5 * (kTakes_m3_s - difference);
    REQUIRE(second > 0.0);
    CHECK(answer.pipes[0].flow_m3_s == ebb::test::near(first).epsilon(1e-9));
    CHECK(answer.pipes[1].flow_m3_s == ebb::test::near(second).epsilon(1e-9));
    CHECK(answer.ponds[0].flow_m3_s + answer.ponds[1].flow_m3_s == ebb::test::near(kTakes_m3_s).epsilon(1e-12));
    const double head = kHigh_m - resistance() * first * first;
    CHECK(answer.tees[0].head_m == ebb::test::near(head).epsilon(1e-9));
    CHECK(answer.worst_flow_imbalance_m3_s <= 1e-9 * kTakes_m3_s);
    REQUIRE(answer.targets.size() == 1);
    CHECK(answer.targets[0].about == "J");
    CHECK(answer.targets[0].quantity == "pressure_m");
    CHECK(answer.targets[0].got == ebb::test::near(head - 1.0).epsilon(1e-9));
    CHECK(answer.targets[0].met == (head - 1.0 >= 5.0));
}

TEST_CASE("a tee whose every way is shut gets no answer but a sentence") {
    Layout layout = between_ponds(12.0, 11.0, 1e-3);
    layout::Valve valve;
    valve.loss = 0.1;
    for (const char* id : {"V1", "V2"}) {
        valve.id = id;
        layout.pipes[layout.valves.size()].valves = {static_cast<std::int32_t>(layout.valves.size())};
        layout.valves.push_back(valve);
    }
    layout::Arrangement one, none;
    one.name = "one shut";
    one.settings = {{.act = layout::Act::close, .about_id = "V1", .insert = {}}};
    none.name = "both shut";
    none.settings = {{.act = layout::Act::close, .about_id = "V1", .insert = {}}, {.act = layout::Act::close, .about_id = "V2", .insert = {}}};
    layout.arrangements = {one, none};
    const settle::Answer first = solved(layout, 0);
    REQUIRE(first.state == State::settled);
    CHECK(first.pipes[1].flow_m3_s == ebb::test::near(1e-3).epsilon(1e-9));
    const settle::Answer second = settle::Farm(layout).solve(1);
    CHECK(second.state == State::no_solution);
    CHECK(second.why.find("J") != std::string::npos);
    CHECK(second.why.find("every way to it is shut") != std::string::npos);
}

TEST_CASE("what a tee takes out of vessels that nothing fills never settles; at the drawn levels it is answered") {
    for (const bool fed : {false, true}) {
        CAPTURE(fed);
        Layout layout = between_ponds(12.0, 11.0, 1e-3);
        layout.vessels = {test::prism("T", 10.0, 3.0, 1.0, 1.5)};
        layout.pipes[0].from.id = "T";
        if (!fed) {
            layout.ponds.pop_back();
            layout.pipes.pop_back();
        }
        layout::Arrangement left, drawn;
        left.name = "left alone";
        drawn.name = "drawn";
        drawn.at_start_levels = true;
        layout.arrangements = {left, drawn};
        const settle::Answer rest = solved(layout, 0);
        const settle::Answer now = settle::Farm(layout).solve(1);
        CHECK(now.state == State::given_levels);
        CHECK(now.vessels[0].outflow_m3_s - now.vessels[0].inflow_m3_s + (fed ? now.ponds[1].flow_m3_s : 0.0) == ebb::test::near(1e-3).epsilon(1e-9));
        if (fed) {  // the tank ends where it neither gives nor gets: at the head of the tee
            REQUIRE(rest.state == State::settled);
            CHECK(std::abs(rest.pipes[0].flow_m3_s) < 1e-9);
            CHECK(rest.vessels[0].level_m == ebb::test::near(11.0 - resistance() * 1e-6).epsilon(1e-7));
        } else {
            CHECK(rest.state == State::no_solution);
            CHECK(rest.why.find("never settle") != std::string::npos);
        }
    }
}
