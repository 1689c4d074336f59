// A solution is the solution: the same answer from any start of Newton's method, from any guess of levels, in any order of the elements, and
// under changes of the layout that change nothing (a pipe written the other way round, other names, another datum, a shut valve for no
// pipe). To 1e-7 of the largest flow and 1e-7 m; where water spilled on the way, levels to the accuracy of that way.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <numeric>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/settle/levels.h"
#include "solver/settle/model.h"
#include "tests/near.h"
#include "tests/property/by_id.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

constexpr double kSameFlow = 1e-7, kSameHead_m = 1e-7;

/// Where water went over a rim on the way the end is an integral over time, kept to 2e-5 m of level a step (levels.cpp), not the root of equations.
constexpr double kSameAfterSpill_m = 1e-4;

layout::Layout valid_farm(std::uint64_t seed) {
    layout::Layout layout = test::random_farm(seed);
    REQUIRE(layout::validate(layout).empty());
    return layout;
}

settle::Answer solve(const layout::Layout& layout, std::int32_t arrangement) {
    settle::Options options;
    options.ledgers = false;
    settle::Farm farm(layout, options);
    return farm.solve(arrangement);
}

/// Compares every arrangement of the two layouts (the same number of them).
void hold_same(const layout::Layout& one, const layout::Layout& other, const std::string& where, double raised_m = 0.0,
               const std::set<std::string>& turned = {}) {
    for (std::int32_t a = 0; a < static_cast<std::int32_t>(one.arrangements.size()); ++a) {
        const settle::Answer answer = solve(one, a);
        const auto spilled = [](const settle::VesselAnswer& vessel) { return vessel.spilled_m3 > 0.0; };
        const bool by_the_way = std::any_of(answer.vessels.begin(), answer.vessels.end(), spilled);
        const test::ById first = test::by_id(one, answer);
        test::ById second = test::by_id(other, solve(other, a));
        for (const auto& id : turned) second.flow_m3_s[id] *= -1.0;
        const test::Apart apart = test::apart(first, second, raised_m);
        const std::string here = where + " arrangement " + std::to_string(a) + ", flow of " + apart.flow_of + ", head of " + apart.head_of;
        CAPTURE(here);
        CHECK(apart.same_state);
        CHECK(apart.flow_share <= kSameFlow);
        CHECK(apart.head_m <= (by_the_way ? kSameAfterSpill_m : kSameHead_m));
    }
}

// ------------------------------------------------------------------------------------------------ starts of Newton's method

/// Heads, flows and air at random; levels stay.
network::Point anywhere(const network::Network& net, const network::Settings& settings, network::Point point, test::Random& random) {
    for (std::int32_t n = 0; n < net.plain_count; ++n) point.head_m[static_cast<std::size_t>(n)] = random.uniform(-5.0, 25.0);
    for (double& flow : point.flow_m3_s) flow = random.log_uniform(1e-7, 2e-2) * (random.chance(0.5) ? 1.0 : -1.0);
    for (std::size_t n = 0; n < settings.vented.size(); ++n) point.air[n] = settings.vented[n] != 0 && random.chance(0.5) ? 1 : 0;
    return point;
}

/// Nodes whose head something determines: a law that carries water meets them.
std::vector<bool> determined(const network::Network& net, const std::vector<network::Linear>& linears, const network::Point& point) {
    std::vector<bool> held(static_cast<std::size_t>(net.node_count()), false);
    for (std::size_t l = 0; l < net.links.size(); ++l)
        if (linears[l].hold == network::Hold::law && linears[l].slope > 0.0 && std::abs(point.flow_m3_s[l]) > 1e-9)
            held[static_cast<std::size_t>(net.links[l].from)] = held[static_cast<std::size_t>(net.links[l].to)] = true;
    return held;
}

void any_start(std::uint64_t seed, test::Random& random) {
    const layout::Layout layout = valid_farm(seed);
    const network::Network net = network::compile(layout);
    network::Solver solver(net);
    const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
    const network::Tolerances tight{.head_m = 1e-9, .flow_share = 1e-11};
    network::Point cold = solver.cold_point(settle::start_of(layout).level_m);
    const network::Point untouched = cold;
    CAPTURE(seed);
    REQUIRE(solver.solve(settings, {}, tight, false, cold).converged);
    solver.look_at(settings, cold);
    const std::vector<bool> held = determined(net, solver.linears(), cold);
    double largest = 1e-5;
    for (const double flow : cold.flow_m3_s) largest = std::max(largest, std::abs(flow));
    for (int start = 0; start < 4; ++start) {
        CAPTURE(start);
        network::Point warm = anywhere(net, settings, untouched, random);
        CHECK(solver.solve(settings, {}, tight, true, warm).converged);
        double flow_off = 0.0, head_off = 0.0;
        for (std::size_t l = 0; l < net.links.size(); ++l) flow_off = std::max(flow_off, std::abs(warm.flow_m3_s[l] - cold.flow_m3_s[l]));
        for (std::size_t n = 0; n < held.size(); ++n)
            if (held[n]) head_off = std::max(head_off, std::abs(warm.head_m[n] - cold.head_m[n]));
        CHECK(flow_off <= kSameFlow * largest);
        CHECK(head_off <= kSameHead_m);
    }
}

void any_guess(std::uint64_t seed, test::Random& random) {
    const layout::Layout layout = valid_farm(seed);
    const network::Network net = network::compile(layout);
    network::Solver solver(net);
    const network::Settings settings = network::settings_for(net, layout, layout::conditions_of(layout, 0), {});
    const settle::Start start = settle::start_of(layout);
    const settle::LevelTolerances tolerances{.network = {.head_m = 1e-9, .flow_share = 1e-11}};
    const settle::Settled usual = settle::settle_levels(solver, settings, start.volume_m3, start.level_m, tolerances);
    CAPTURE(seed);
    REQUIRE(usual.found);
    for (int round = 0; round < 2; ++round) {
        std::vector<double> guess;
        for (const auto& vessel : layout.vessels) guess.push_back(random.uniform(vessel.floor_m, vessel.rim_m));
        const settle::Settled other = settle::settle_levels(solver, settings, start.volume_m3, guess, tolerances);
        CAPTURE(round);
        REQUIRE(other.found);
        double level_off = 0.0, flow_off = 0.0, largest = 1e-5;
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            const auto n = static_cast<std::size_t>(net.vessel_node(v));
            level_off = std::max(level_off, std::abs(other.point.head_m[n] - usual.point.head_m[n]));
        }
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            largest = std::max(largest, std::abs(usual.point.flow_m3_s[l]));
            flow_off = std::max(flow_off, std::abs(other.point.flow_m3_s[l] - usual.point.flow_m3_s[l]));
        }
        CHECK(level_off <= kSameHead_m);
        CHECK(flow_off <= kSameFlow * largest);
    }
}

// ------------------------------------------------------------------------------------------------ changes that change nothing

template <typename Thing>
void shuffle(std::vector<Thing>& things, test::Random& random) {
    for (std::size_t i = things.size(); i > 1; --i)
        std::swap(things[i - 1], things[static_cast<std::size_t>(random.integer(0, static_cast<int>(i) - 1))]);
}

/// The same farm with everything in another order.
layout::Layout shuffled(layout::Layout layout, test::Random& random) {
    shuffle(layout.vessels, random);
    shuffle(layout.ponds, random);
    shuffle(layout.tees, random);
    shuffle(layout.pump_models, random);
    shuffle(layout.pumps, random);
    shuffle(layout.filters, random);
    shuffle(layout.nozzles, random);
    shuffle(layout.supplies, random);
    shuffle(layout.float_valves, random);
    shuffle(layout.standpipes, random);
    // pipes and valves point at one another by index
    std::vector<std::size_t> order(layout.pipes.size()), valve_order(layout.valves.size());
    std::iota(order.begin(), order.end(), 0);
    std::iota(valve_order.begin(), valve_order.end(), 0);
    shuffle(order, random);
    shuffle(valve_order, random);
    std::vector<layout::Pipe> pipes;
    std::vector<layout::Valve> valves;
    for (const auto v : valve_order) valves.push_back(layout.valves[v]);
    for (const auto p : order) {
        layout::Pipe pipe = layout.pipes[p];
        for (auto& v : pipe.valves) {
            const auto now = std::find(valve_order.begin(), valve_order.end(), static_cast<std::size_t>(v)) - valve_order.begin();
            v = static_cast<std::int32_t>(now);
            valves[static_cast<std::size_t>(now)].pipe = static_cast<std::int32_t>(pipes.size());
        }
        pipes.push_back(pipe);
    }
    layout.pipes = pipes;
    layout.valves = valves;
    return layout;
}

layout::Layout renamed(layout::Layout layout) {
    const auto rename = [](std::string& id) {
        if (!id.empty()) id.insert(0, "n");
    };
    const auto all = [&](auto& things) {
        for (auto& thing : things) rename(thing.id);
    };
    all(layout.vessels), all(layout.ponds), all(layout.tees), all(layout.pumps), all(layout.filters), all(layout.nozzles);
    all(layout.supplies), all(layout.float_valves), all(layout.standpipes), all(layout.pipes), all(layout.valves);
    for (auto& pump : layout.pumps) rename(pump.in_id);
    for (auto& nozzle : layout.nozzles) rename(nozzle.into_id);
    for (auto& valve : layout.float_valves) rename(valve.into_id);
    for (auto& standpipe : layout.standpipes) rename(standpipe.in_id);
    for (auto& pipe : layout.pipes) {
        rename(pipe.from.id);
        rename(pipe.to.id);
    }
    for (auto& arrangement : layout.arrangements)
        for (auto& setting : arrangement.settings) rename(setting.about_id);
    return layout;
}

layout::Layout raised(layout::Layout layout, double by_m) {
    for (auto& vessel : layout.vessels) {
        vessel.floor_m += by_m;
        vessel.rim_m += by_m;
    }
    for (auto& pond : layout.ponds) pond.level_m += by_m;
    for (auto& tee : layout.tees) tee.elevation_m += by_m;
    for (auto& supply : layout.supplies) supply.elevation_m += by_m;
    for (auto& pump : layout.pumps)
        if (layout::said(pump.elevation_m)) pump.elevation_m += by_m;
    return layout;
}

/// Every pipe turned round that may be: full pipes between surfaces and plain tees, without check valve, air hole or a port above the rim.
layout::Layout turned(layout::Layout layout, const layout::Layout& valid, std::set<std::string>& ids) {
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        layout::Pipe& pipe = layout.pipes[p];
        const layout::Pipe& known = valid.pipes[p];
        const auto plain = [&](const layout::End& end) {
            if (end.ref.kind == layout::Kind::tee) return !valid.tees[static_cast<std::size_t>(end.ref.index)].vented;
            return end.ref.kind == layout::Kind::vessel || end.ref.kind == layout::Kind::pond;
        };
        const bool checked = std::any_of(pipe.valves.begin(), pipe.valves.end(),
                                         [&](std::int32_t v) { return physics::valve_is_one_way(layout.valves[static_cast<std::size_t>(v)].kind); });
        if (pipe.gravity || layout::said(pipe.air_hole_m) || checked || !plain(known.from) || !plain(known.to)) continue;
        if (known.to.ref.kind == layout::Kind::vessel) {
            const layout::Vessel& vessel = valid.vessels[static_cast<std::size_t>(known.to.ref.index)];
            if (pipe.to.height() >= vessel.rim_m - vessel.floor_m) continue;
        }
        std::swap(pipe.from, pipe.to);
        ids.insert(pipe.id);
    }
    return layout;
}

}  // namespace

TEST_CASE("the same answer from any heads and flows Newton starts from") {
    test::Random random(31);
    for (std::uint64_t seed = 0; seed < 250; ++seed) any_start(seed, random);
}

TEST_CASE("the same settled levels from any guess") {
    test::Random random(32);
    for (std::uint64_t seed = 0; seed < 120; ++seed) any_guess(seed, random);
}

TEST_CASE("the same answer in any order of the elements") {
    test::Random random(33);
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
        layout::Layout other = shuffled(test::random_farm(seed), random);
        REQUIRE(layout::validate(other).empty());
        hold_same(valid_farm(seed), other, "seed " + std::to_string(seed));
    }
}

TEST_CASE("names mean nothing") {
    for (std::uint64_t seed = 0; seed < 40; ++seed) {
        const layout::Layout one = valid_farm(seed);
        layout::Layout other = renamed(test::random_farm(seed));
        REQUIRE(layout::validate(other).empty());
        for (std::int32_t a = 0; a < static_cast<std::int32_t>(one.arrangements.size()); ++a) {
            const settle::Answer first = solve(one, a), second = solve(other, a);
            CAPTURE(seed);
            CHECK(first.state == second.state);
            for (std::size_t p = 0; p < first.pipes.size(); ++p) CHECK(first.pipes[p].flow_m3_s == second.pipes[p].flow_m3_s);
            for (std::size_t v = 0; v < first.vessels.size(); ++v) CHECK(first.vessels[v].level_m == second.vessels[v].level_m);
        }
    }
}

TEST_CASE("another datum changes no flow and raises every head") {
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
        layout::Layout other = raised(test::random_farm(seed), 7.25);
        REQUIRE(layout::validate(other).empty());
        hold_same(valid_farm(seed), other, "seed " + std::to_string(seed), 7.25);
    }
}

TEST_CASE("a pipe written the other way round carries the same water the other way") {
    std::size_t pipes = 0;
    for (std::uint64_t seed = 0; seed < 150; ++seed) {
        const layout::Layout one = valid_farm(seed);
        std::set<std::string> ids;
        layout::Layout other = turned(test::random_farm(seed), one, ids);
        REQUIRE(layout::validate(other).empty());
        pipes += ids.size();
        hold_same(one, other, "seed " + std::to_string(seed), 0.0, ids);
    }
    CHECK(pipes > 300);
}

TEST_CASE("a shut valve is no pipe") {
    int compared = 0;
    for (std::uint64_t seed = 0; seed < 200; ++seed) {
        layout::Layout shut = test::random_farm(seed), removed = shut;
        shut.arrangements.resize(1);
        removed.arrangements.resize(1);
        const auto has_valve = [&](const layout::Pipe& pipe) {
            return pipe.valves.size() == 1 && !physics::valve_is_one_way(shut.valves[static_cast<std::size_t>(pipe.valves[0])].kind);
        };
        const auto with_valve = std::find_if(shut.pipes.begin(), shut.pipes.end(), has_valve);
        if (with_valve == shut.pipes.end()) continue;
        const auto p = static_cast<std::size_t>(with_valve - shut.pipes.begin());
        const auto v = static_cast<std::size_t>(with_valve->valves[0]);
        layout::Setting close;
        close.act = layout::Act::close;
        close.about_id = shut.valves[v].id;
        shut.arrangements[0].settings = {close};
        removed.pipes.erase(removed.pipes.begin() + static_cast<std::ptrdiff_t>(p));
        removed.valves.erase(removed.valves.begin() + static_cast<std::ptrdiff_t>(v));
        for (auto& valve : removed.valves)
            if (valve.pipe > static_cast<std::int32_t>(p)) --valve.pipe;
        for (auto& pipe : removed.pipes)
            for (auto& index : pipe.valves)
                if (index > static_cast<std::int32_t>(v)) --index;
        REQUIRE(layout::validate(shut).empty());
        if (!layout::validate(removed).empty()) continue;  // something needed that pipe to be valid
        ++compared;
        hold_same(shut, removed, "seed " + std::to_string(seed));
    }
    CHECK(compared > 60);
}

TEST_CASE("twin pipes share the water evenly, and are one pipe of twice the coefficient by Hazen and Williams") {
    // h is a function of Q/C: two equal pipes side by side are one of 2 C. Local losses go with the square of the flow: a quarter.
    int compared = 0;
    for (std::uint64_t seed = 0; seed < 3000; seed += 5) {
        layout::Layout twins = test::random_farm(seed), merged = twins;
        if (twins.friction != layout::FrictionLaw::hazen_williams) continue;
        layout::Pipe& pipe = merged.pipes[0];
        if (!pipe.valves.empty()) continue;
        double heads = 1.5;  // entrance and exit, where they count, are part of what is quartered
        for (const auto& fitting : pipe.fittings) heads += fitting.count * fitting.loss;
        layout::Pipe twin = twins.pipes[0];
        twin.entry_loss = twin.exit_loss = 0.0;
        twin.fittings = {{.kind = "", .count = 1, .loss = heads}};
        twins.pipes[0] = twin;
        twin.id = "twin";
        twins.pipes.push_back(twin);
        pipe.entry_loss = pipe.exit_loss = 0.0;
        pipe.fittings = {{.kind = "", .count = 1, .loss = heads / 4.0}};
        pipe.hazen_williams_c *= 2.0;
        REQUIRE(layout::validate(twins).empty());
        REQUIRE(layout::validate(merged).empty());
        twins.arrangements.resize(1);
        merged.arrangements.resize(1);
        const settle::Answer two = solve(twins, 0), one = solve(merged, 0);
        const double flow = one.pipes[0].flow_m3_s;
        // losses written out count one way; below a millimetre a second the law is another
        if (flow < 0.0 || two.pipes[0].velocity_m_s < 0.01) continue;
        ++compared;
        CAPTURE(seed);
        CHECK(two.pipes[0].flow_m3_s == ebb::test::near(two.pipes.back().flow_m3_s).epsilon(1e-9));
        CHECK(two.pipes[0].flow_m3_s + two.pipes.back().flow_m3_s == ebb::test::near(flow).epsilon(1e-6));
    }
    CHECK(compared >= 15);
}
