// Balance held to what it promises: the law of a valve undone, targets met as `flows` solves them, nothing that could be opened further.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stop_token>
#include <string>
#include <vector>

#include "solver/choose/balance.h"
#include "solver/layout/validate.h"
#include "solver/physics/valves.h"
#include "solver/settle/farm.h"
#include "tests/near.h"

namespace {

using namespace ebb;
using choose::BalanceOutcome;

constexpr double kGravity_m_s2 = 9.80665;
constexpr double kPi = 3.14159265358979323846;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// SplitMix64 (Steele, Lea, Flood 2014): the same numbers everywhere.
struct Numbers {
    std::uint64_t state;
    std::uint64_t next() {
        std::uint64_t z = (state += 0x9E3779B97F4A7C15ULL);
        z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
        z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
        return z ^ (z >> 31U);
    }
    double uniform(double low, double high) { return low + (high - low) * static_cast<double>(next() >> 11U) * 0x1.0p-53; }
    int integer(int low, int high) { return low + static_cast<int>(uniform(0.0, 1.0) * (high - low + 1)); }
};

layout::Pipe pipe(const std::string& id, const std::string& from, const std::string& to, double length_m, double bore_m) {
    layout::Pipe pipe;
    pipe.id = id;
    pipe.from.id = from;
    pipe.to.id = to;
    pipe.length_m = length_m;
    pipe.bore_m = bore_m;
    pipe.roughness_m = 1.5e-6;
    return pipe;
}

void add_valve(layout::Layout& layout, layout::Pipe& in, const std::string& id, physics::ValveKind kind) {
    layout::Valve valve;
    valve.id = id;
    valve.kind = kind;
    valve.loss = physics::default_valve_loss(kind).value;
    valve.pipe = static_cast<std::int32_t>(layout.pipes.size());
    in.valves.push_back(static_cast<std::int32_t>(layout.valves.size()));
    layout.valves.push_back(valve);
}

void add_tee(layout::Layout& layout, const std::string& id) {
    layout::Tee tee;
    tee.id = id;
    tee.elevation_m = 0.3;
    layout.tees.push_back(tee);
}

void add_tank(layout::Layout& layout, const std::string& id, double floor_m, double inflow_m3_s) {
    layout::Vessel tank;
    tank.id = id;
    tank.floor_m = floor_m;
    tank.rim_m = floor_m + 1.0;
    tank.volume = layout::prism_volume(1.0, 1.0);
    tank.start_depth_m = 0.1;
    tank.inflow_m3_s = inflow_m3_s;
    layout.vessels.push_back(tank);
}

/// A spring above the farm, a header with a valve before it and one between its tees, and two branches at each tee, each with its valve. Solved at
/// the levels drawn, all feeds ending above the water. More valves than outlets: the setting is a choice.
layout::Layout random_tree(std::uint64_t seed) {
    Numbers numbers{seed};
    layout::Layout layout;
    layout::Pond spring;
    spring.id = "SPRING";
    spring.level_m = numbers.uniform(3.0, 6.0);
    layout.ponds.push_back(spring);
    const int tees = numbers.integer(2, 4);
    std::string before = "SPRING";
    for (int t = 0; t < tees; ++t) {
        const std::string tee = "J" + std::to_string(t);
        add_tee(layout, tee);
        layout::Pipe header = pipe("header-" + std::to_string(t), before, tee, numbers.uniform(2.0, 8.0), numbers.uniform(0.035, 0.055));
        if (t == 0 || numbers.uniform(0.0, 1.0) < 0.6) add_valve(layout, header, "VH" + std::to_string(t), physics::ValveKind::ball);
        layout.pipes.push_back(header);
        for (int b = 0; b < 2; ++b) {
            const std::string id = std::to_string(t) + std::to_string(b);
            add_tank(layout, "T" + id, numbers.uniform(0.0, 1.2), numbers.uniform(5.0, 15.0) / 60000.0);
            layout::Pipe feed = pipe("feed-" + id, tee, "T" + id, numbers.uniform(1.0, 5.0), numbers.uniform(0.018, 0.028));
            feed.to.height_m = 0.95;
            add_valve(layout, feed, "V" + id, numbers.uniform(0.0, 1.0) < 0.5 ? physics::ValveKind::gate : physics::ValveKind::globe);
            layout.pipes.push_back(feed);
        }
        before = tee;
    }
    layout::Arrangement drawn;
    drawn.name = "as drawn";
    drawn.at_start_levels = true;
    layout.arrangements.push_back(drawn);
    const auto problems = layout::validate(layout);
    for (const auto& problem : problems) MESSAGE(problem.says);
    REQUIRE(problems.empty());
    return layout;
}

choose::BalanceProblem problem_of(const layout::Layout& layout) {
    choose::BalanceProblem problem;
    problem.layout = &layout;
    problem.arrangements = {0};
    return problem;
}

/// Flows and drops of a position, recomputed here from the answer of a plain solve: K v^2/2g of every valve less that of the valve fully open.
struct Position {
    std::vector<double> opening;  // per valve of the layout
};
struct Measured {
    std::vector<double> share;  // per vessel
    double throttled_m = 0.0;
};
Measured measure(const layout::Layout& layout, settle::Farm& farm, const Position& position) {
    layout::Conditions conditions = layout::conditions_of(layout, 0);
    conditions.valve_opening = position.opening;
    const settle::Answer answer = farm.solve(conditions, true);
    Measured measured;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) measured.share.push_back(answer.vessels[v].inflow_m3_s / layout.vessels[v].inflow_m3_s);
    for (std::size_t v = 0; v < layout.valves.size(); ++v) {
        const layout::Pipe& in = layout.pipes[at(layout.valves[v].pipe)];
        const double velocity = answer.pipes[at(layout.valves[v].pipe)].flow_m3_s / (kPi / 4.0 * in.bore_m * in.bore_m);
        const double extra =
            physics::valve_loss_coefficient(layout.valves[v].kind, position.opening[v], layout.valves[v].loss) - layout.valves[v].loss;
        measured.throttled_m += extra * velocity * velocity / (2.0 * kGravity_m_s2);
    }
    return measured;
}

/// Brings every outlet to its target by turning the valve of its own branch, one after the other, over and over (as a person would who never tires):
/// a secant on the logarithm of the opening for each. False when a branch valve would have to open beyond fully open.
bool readjust(const layout::Layout& layout, settle::Farm& farm, const std::vector<std::size_t>& own_valve, Position& position) {
    for (int round = 0; round < 200; ++round) {
        double worst = 0.0;
        for (std::size_t v = 0; v < own_valve.size(); ++v) {
            const std::size_t valve = own_valve[v];
            double low = std::log(1e-3), high = 0.0;  // more open, more flow
            const auto share_at = [&](double x) {
                position.opening[valve] = std::exp(x);
                return measure(layout, farm, position).share[v];
            };
            const double before = position.opening[valve];
            if (share_at(0.0) < 1.0) return false;
            for (int i = 0; i < 48; ++i) {
                const double middle = 0.5 * (low + high);
                (share_at(middle) > 1.0 ? high : low) = middle;
            }
            position.opening[valve] = std::exp(0.5 * (low + high));
            worst = std::max(worst, std::abs(position.opening[valve] / before - 1.0));
        }
        if (worst < 1e-9) return true;
    }
    return false;
}

Position position_of(const layout::Layout& layout, const choose::BalanceAnswer& answer) {
    Position position{std::vector<double>(layout.valves.size(), 1.0)};
    for (const choose::BalancedValve& valve : answer.valves) position.opening[at(valve.valve)] = valve.opening;
    return position;
}

/// The valve of each vessel's own branch: the one in the pipe that ends there.
std::vector<std::size_t> own_valves(const layout::Layout& layout) {
    std::vector<std::size_t> own(layout.vessels.size(), 0);
    for (std::size_t v = 0; v < layout.valves.size(); ++v)
        for (std::size_t t = 0; t < layout.vessels.size(); ++t)
            if (layout.pipes[at(layout.valves[v].pipe)].to.id == layout.vessels[t].id) own[t] = v;
    return own;
}

}  // namespace

TEST_SUITE("balance") {
    TEST_CASE("the opening found for a loss gives that loss back, for every kind with a handle") {
        for (const physics::ValveKind kind : physics::valve_kinds()) {
            if (physics::valve_is_one_way(kind)) continue;
            CAPTURE(physics::valve_kind_name(kind));
            CHECK(choose::opening_for_extra(kind, 0.0) == 1.0);
            double before = 1.0;
            for (double extra = 1e-3; extra < 1e6; extra *= 3.0) {
                const double opening = choose::opening_for_extra(kind, extra);
                CHECK(opening > 0.0);
                CHECK(opening <= before);
                CHECK(physics::valve_loss_coefficient(kind, opening, 0.0) == ebb::test::near(extra).epsilon(1e-10));
                before = opening;
            }
        }
        // Weisbach's gate, Experimental-Hydraulik 1855, as handbooks repeat it (from memory): half open adds 2.06 velocity heads, a quarter 17.0
        CHECK(choose::opening_for_extra(physics::ValveKind::gate, 2.06) == ebb::test::near(0.5).epsilon(1e-9));
        CHECK(choose::opening_for_extra(physics::ValveKind::gate, 17.0) == ebb::test::near(0.25).epsilon(1e-9));
    }

    TEST_CASE("random trees: targets within a millionth, and no way that could do with less throttling") {
        int balanced = 0;
        for (std::uint64_t seed = 1; seed <= 12; ++seed) {
            CAPTURE(seed);
            const layout::Layout layout = random_tree(seed);
            const choose::BalanceAnswer answer = choose::balance(problem_of(layout));
            REQUIRE((answer.outcome == BalanceOutcome::balanced || answer.outcome == BalanceOutcome::missed));
            if (answer.outcome != BalanceOutcome::balanced) continue;
            ++balanced;
            settle::Farm farm(layout);
            const Position found = position_of(layout, answer);
            const Measured measured = measure(layout, farm, found);
            for (const double share : measured.share) CHECK(share == ebb::test::near(1.0).epsilon(1e-6));
            CHECK(measured.throttled_m == ebb::test::near(answer.throttled_m).epsilon(1e-9));

            // somewhere a way stands wholly open, else the valve before the header could take more
            double least = HUGE_VAL;
            for (const choose::BalancedOutlet& outlet : answer.outlets) least = std::min(least, outlet.path_throttle_m);
            const auto& first = answer.valves.front();
            const bool header_takes = first.places.front().drop_m > 1e-6;
            std::vector<double> branch_drop;
            for (const choose::BalancedValve& valve : answer.valves)
                if (layout.valves[at(valve.valve)].id.substr(0, 2) != "VH") branch_drop.push_back(valve.places.front().drop_m);
            CHECK(*std::min_element(branch_drop.begin(), branch_drop.end()) < 1e-6);
            CHECK((header_takes || least < 1e-6));

            // a shared valve moved either way, the branches brought back to their targets by their own valves: never less in all
            Numbers numbers{seed * 977};
            for (std::size_t v = 0; v < layout.valves.size(); ++v) {
                if (layout.valves[v].id.substr(0, 2) != "VH") continue;
                for (const double factor : {0.97, 1.03}) {
                    Position moved = found;
                    moved.opening[v] = std::min(1.0, found.opening[v] * factor);
                    if (moved.opening[v] == found.opening[v]) continue;
                    if (!readjust(layout, farm, own_valves(layout), moved)) continue;
                    CHECK(measure(layout, farm, moved).throttled_m >= answer.throttled_m - 1e-7);
                }
            }
            // random directions in all shared valves at once
            Position moved = found;
            for (std::size_t v = 0; v < layout.valves.size(); ++v)
                if (layout.valves[v].id.substr(0, 2) == "VH") moved.opening[v] = std::min(1.0, found.opening[v] * numbers.uniform(0.9, 1.1));
            if (readjust(layout, farm, own_valves(layout), moved)) CHECK(measure(layout, farm, moved).throttled_m >= answer.throttled_m - 1e-7);
        }
        CHECK(balanced >= 8);
    }

    TEST_CASE("what a hand's width of a valve's travel does to its own flow is the slope of plain solves on either side") {
        const layout::Layout layout = random_tree(3);
        const choose::BalanceAnswer answer = choose::balance(problem_of(layout));
        REQUIRE(answer.outcome == BalanceOutcome::balanced);
        settle::Farm farm(layout);
        for (const choose::BalancedValve& valve : answer.valves) {
            const std::size_t in = at(layout.valves[at(valve.valve)].pipe);
            layout::Conditions conditions = layout::conditions_of(layout, 0);
            conditions.valve_opening = position_of(layout, answer).opening;
            double& opening = conditions.valve_opening[at(valve.valve)];
            const double stands = opening, low = stands - 0.002, high = std::min(1.0, stands + 0.002);
            opening = low;
            const double less = farm.solve(conditions, true).pipes[in].flow_m3_s;
            opening = high;
            const double more = farm.solve(conditions, true).pipes[in].flow_m3_s;
            CHECK(more >= less);
            if (stands < 0.9) CHECK(valve.flow_per_travel_m3_s == ebb::test::near((more - less) / (high - low)).epsilon(0.05));
        }
    }

    TEST_CASE("set to whole per cents, the outlet that falls furthest below its target is that of a plain solve") {
        int first = 0, between = 0, last = 0;
        for (std::uint64_t seed = 1; seed <= 12; ++seed) {
            CAPTURE(seed);
            const layout::Layout layout = random_tree(seed);
            choose::BalanceProblem problem = problem_of(layout);
            problem.spare = seed % 2 == 0 ? 0.1 : 0.0;  // what is to be spare is no part of the target
            const choose::BalanceAnswer answer = choose::balance(problem);
            layout::Conditions conditions = layout::conditions_of(layout, 0);
            for (const choose::BalancedValve& valve : answer.valves)
                conditions.valve_opening[at(valve.valve)] = std::max(0.01, std::round(100.0 * valve.opening) / 100.0);
            const settle::Answer seen = settle::Farm(layout).solve(conditions, true);
            std::size_t least = 0;
            std::vector<double> share;
            for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
                share.push_back(seen.vessels[v].inflow_m3_s / layout.vessels[v].inflow_m3_s);
                if (share[v] < share[least]) least = v;
            }
            REQUIRE(answer.by_hand.vessel == static_cast<std::int32_t>(least));
            CHECK(answer.by_hand.arrangement == 0);
            CHECK(answer.by_hand.got_m3_s == ebb::test::near(seen.vessels[least].inflow_m3_s).epsilon(1e-8));
            CHECK(answer.by_hand.share == ebb::test::near(share[least]).epsilon(1e-8));
            ++(least == 0 ? first : least + 1 == share.size() ? last : between);
        }
        CHECK(first > 0);  // wherever it stands in the list
        CHECK(between > 0);
        CHECK(last > 0);
    }

    TEST_CASE("the same problem twice gives the same answer to the last digit") {
        const layout::Layout layout = random_tree(3);
        const choose::BalanceAnswer one = choose::balance(problem_of(layout)), other = choose::balance(problem_of(layout));
        REQUIRE(one.valves.size() == other.valves.size());
        for (std::size_t v = 0; v < one.valves.size(); ++v) CHECK(one.valves[v].opening == other.valves[v].opening);
    }

    TEST_CASE("told to stop it gives what it has, and says so") {
        const layout::Layout layout = random_tree(3);
        std::stop_source source;
        source.request_stop();
        choose::BalanceProblem problem = problem_of(layout);
        problem.stop = source.get_token();
        const choose::BalanceAnswer answer = choose::balance(problem);
        CHECK(answer.outcome == BalanceOutcome::stopped);
        CHECK(!answer.valves.empty());
        for (const choose::BalancedValve& valve : answer.valves) CHECK((valve.opening > 0.0 && valve.opening <= 1.0));
    }

    TEST_CASE("a target beyond what its pipe carries: the outlet named, and what it would get alone") {
        layout::Layout layout = random_tree(3);
        layout.vessels[1].inflow_m3_s = 500.0 / 60000.0;
        const choose::BalanceAnswer answer = choose::balance(problem_of(layout));
        REQUIRE(answer.outcome == BalanceOutcome::missed);
        CHECK(answer.missing.vessel == 1);
        CHECK(answer.missing.alone_m3_s < layout.vessels[1].inflow_m3_s);
        CHECK(answer.missing.greatest_share < 1.0);
        // its own valve, and the first before the header, stand fully open
        for (const choose::BalancedOutlet& outlet : answer.outlets)
            if (outlet.vessel == 1) CHECK(outlet.path_throttle_m < 1e-6);
        // by itself: all other branches shut, every valve on the way open
        layout::Conditions alone = layout::conditions_of(layout, 0);
        for (const choose::BalancedValve& valve : answer.valves) {
            const auto& way = std::find_if(answer.outlets.begin(), answer.outlets.end(), [](const auto& o) { return o.vessel == 1; })->valves;
            if (std::find(way.begin(), way.end(), valve.valve) == way.end()) alone.valve_opening[at(valve.valve)] = 0.0;
        }
        CHECK(settle::Farm(layout).solve(alone, true).vessels[1].inflow_m3_s == ebb::test::near(answer.missing.alone_m3_s).epsilon(1e-9));
    }

    TEST_CASE("nothing to set, nothing to aim at") {
        layout::Layout layout = random_tree(3);
        for (layout::Vessel& vessel : layout.vessels) vessel.inflow_m3_s = layout::kNotSaid;
        CHECK(choose::balance(problem_of(layout)).outcome == BalanceOutcome::no_targets);
        choose::BalanceProblem problem = problem_of(layout);
        problem.wanted = {{0, 8.0 / 60000.0}};
        CHECK(choose::balance(problem).outcome == BalanceOutcome::balanced);
        problem.valves = {static_cast<std::int32_t>(layout.valves.size()) - 1};  // the valve of another branch
        CHECK(choose::balance(problem).outcome == BalanceOutcome::no_valves);
    }
}
