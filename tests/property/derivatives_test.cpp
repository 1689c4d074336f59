// Every law's slopes against finite differences, at random points of random networks: dQ/dH of both ends as linearise() gives them, and dh/dQ
// of the laws that know their head. Fourth-order central differences at two step widths; where the two disagree the law has a kink between
// the points and nothing can be said, so those places are passed over, and counted.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <map>
#include <numbers>
#include <string>
#include <utility>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/network/laws.h"
#include "solver/network/newton.h"
#include "tests/property/random_farm.h"
#include "tests/settle/by_hand.h"

namespace {

using namespace ebb;
using network::Hold;
using network::Law;

constexpr double kMostError = 1e-6;

const char* name_of(Law law) {
    constexpr const char* kNames[] = {"darcy", "hazen", "pump", "filter", "square", "float valve", "standpipe", "siphon"};
    return kNames[static_cast<std::size_t>(law)];
}
const char* name_of(Hold hold) {
    constexpr const char* kNames[] = {"law", "shut", "one way", "entrance from", "entrance to", "cascade"};
    return kNames[static_cast<std::size_t>(hold)];
}

struct Tally {
    long held = 0, passed_over = 0;
    double worst = 0.0;
    std::string where;
};

/// Derivative of f at x by steps of h and h/2; NaN when they disagree (a kink is near).
template <typename Function>
double derivative(const Function& f, double x, double h) {
    const auto difference = [&](double s) { return (8.0 * (f(x + s) - f(x - s)) - (f(x + 2.0 * s) - f(x - 2.0 * s))) / (12.0 * s); };
    const double coarse = difference(h), fine = difference(0.5 * h);
    return std::abs(coarse - fine) <= 0.2 * kMostError * std::abs(fine) ? fine : std::nan("");
}

class Slopes {
public:
    Slopes(const network::Network& network, const network::Settings& settings, std::map<std::string, Tally>& tallies)
        : network_(network), settings_(settings), tallies_(tallies) {}

    void hold(network::Point& point, std::int32_t index, const std::string& where) {
        const network::Link& link = network_.links[static_cast<std::size_t>(index)];
        const network::Linear linear = network::linearise(network_, settings_, point, index);
        if (linear.hold == Hold::shut || linear.hold == Hold::cascade || linear.hold == Hold::one_way) return;
        const std::string kind = std::string(name_of(link.law)) + ", " + name_of(linear.hold);
        by_heads(point, index, linear, kind, where);
        const bool knows_head = linear.hold == Hold::law && link.law != Law::standpipe && link.law != Law::float_valve &&
                                (link.law != Law::siphon || settings_.links[static_cast<std::size_t>(index)].primed);
        if (knows_head && point.tee_loss_m.empty()) by_flow(point, index, linear, kind + ", dh/dQ", where);
    }

private:
    void by_heads(network::Point& point, std::int32_t index, const network::Linear& linear, const std::string& kind, const std::string& where) {
        const network::Link& link = network_.links[static_cast<std::size_t>(index)];
        for (const bool from : {true, false}) {
            double& head = point.head_m[static_cast<std::size_t>(from ? link.from : link.to)];
            const double at = head, slope = from ? linear.a : -linear.b;
            if (slope == 0.0) continue;
            bool same = true;
            const double found = derivative(
                [&](double h) {
                    head = h;
                    const network::Linear there = network::linearise(network_, settings_, point, index);
                    same = same && there.hold == linear.hold;
                    return there.q;
                },
                at, 2e-4);
            head = at;
            note(kind + (from ? ", dQ/dHfrom" : ", dQ/dHto"), same ? found : std::nan(""), slope, where);
        }
    }

    void by_flow(network::Point& point, std::int32_t index, const network::Linear& linear, const std::string& kind, const std::string& where) {
        const auto i = static_cast<std::size_t>(index);
        const double flow = point.flow_m3_s[i];
        double cache = 0.0;
        const double found = derivative([&](double q) { return network::loss_at(network_, settings_.links[i], network_.links[i], q, cache).value; },
                                        flow, 1e-3 * std::abs(flow));
        // Newton's floors under the slope of level curves are not the law's
        const bool floored =
            linear.slope <= 1e-6 ||
            (network_.links[i].law == Law::pump && linear.slope <= network_.pumps[static_cast<std::size_t>(network_.links[i].law_index)].least_slope);
        note(kind, floored ? std::nan("") : found, linear.slope, where);
    }

    void note(const std::string& kind, double found, double slope, const std::string& where) {
        Tally& tally = tallies_[kind];
        if (std::isnan(found)) {
            ++tally.passed_over;
            return;
        }
        ++tally.held;
        const double error = std::abs(found - slope) / std::abs(found);
        if (error > tally.worst || std::isnan(error)) {
            tally.worst = error;
            tally.where = where;
        }
    }

    const network::Network& network_;
    const network::Settings& settings_;
    std::map<std::string, Tally>& tallies_;
};

/// Levels within the vessels, heads around them, flows of every size and both directions, no air.
network::Point random_point(const network::Network& network, network::Solver& solver, test::Random& random) {
    std::vector<double> levels;
    for (const auto& storage : network.storage) levels.push_back(random.uniform(storage.floor_m, storage.rim_m));
    network::Point point = solver.cold_point(levels);
    for (std::int32_t n = 0; n < network.plain_count; ++n) {
        const double low = network.elevation_m[static_cast<std::size_t>(n)];
        point.head_m[static_cast<std::size_t>(n)] = std::isnan(low) ? random.uniform(-2.0, 6.0) : low + random.uniform(-0.5, 3.0);
    }
    for (double& flow : point.flow_m3_s) flow = random.log_uniform(1e-6, 1e-2) * (random.chance(0.7) ? 1.0 : -1.0);
    return point;
}

void hold_all(const layout::Layout& layout, const std::vector<std::uint8_t>& primed, test::Random& random, const std::string& where,
              std::map<std::string, Tally>& tallies) {
    const network::Network network = network::compile(layout);
    network::Solver solver(network);
    const network::Settings settings = network::settings_for(network, layout, layout::conditions_of(layout, 0), primed);
    Slopes slopes(network, settings, tallies);
    for (int round = 0; round < 8; ++round) {
        network::Point point = random_point(network, solver, random);
        for (std::int32_t l = 0; l < static_cast<std::int32_t>(network.links.size()); ++l)
            slopes.hold(point, l, where + " link " + std::to_string(l));
    }
}

/// What the random farms do not have: a siphon, a float valve that pours from above, several filters' points.
layout::Layout odd_devices() {
    layout::Layout layout;
    layout.vessels = {test::prism("SUMP", -1.0, 1.0, 1.0, 0.5), test::prism("BED", 0.4, 0.5, 1.0, 0.3)};
    layout::Siphon siphon;
    siphon.id = "SI";
    siphon.in_id = "BED";
    siphon.bore_m = 0.025;
    siphon.crest_m = 0.2;
    siphon.breaks_at_m = 0.05;
    siphon.starts_with_m3_s = 1e-4;
    layout.siphons = {siphon};
    layout.supplies.push_back({.id = "S", .place = {}, .head_m = 20.0, .elevation_m = 0.0});
    layout::FloatValve valve;
    valve.id = "X";
    valve.into_id = "SUMP";
    valve.opens_at_m = 0.2;
    valve.closes_at_m = 0.8;
    valve.rated_flow_m3_s = 1e-4;
    valve.rated_head_m = 20.0;
    valve.height_m = 0.9;
    layout.float_valves = {valve};
    layout::Filter filter;
    filter.id = "F";
    filter.clean = {{1e-4, 0.02}, {1e-3, 0.4}, {3e-3, 2.5}};
    filter.dirty = {{1e-4, 0.10}, {1e-3, 1.4}, {3e-3, 9.0}};
    layout.filters = {filter};
    layout.pipes = {test::pipe("T", "SI", "SUMP", 1.0, 0.025), test::pipe("R", "S", "X", 5.0, 0.02), test::pipe("A", "BED", "F", 1.0, 0.03),
                    test::pipe("B", "F", "SUMP", 1.0, 0.03)};
    return layout;
}

}  // namespace

TEST_CASE("every law's slopes agree with finite differences") {
    std::map<std::string, Tally> tallies;
    test::Random random(77);
    for (std::uint64_t seed = 0; seed < 400; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        hold_all(layout, {}, random, "seed " + std::to_string(seed), tallies);
    }
    layout::Layout odd = odd_devices();
    REQUIRE(layout::validate(odd).empty());
    for (int round = 0; round < 100; ++round)
        for (const bool primed : {false, true}) hold_all(odd, {static_cast<std::uint8_t>(primed)}, random, "odd devices", tallies);
    for (const auto& entry : tallies) {  // clang 14 cannot capture structured bindings
        const std::string& kind = entry.first;
        const Tally& tally = entry.second;
        std::printf("%-45s %7ld held, %6ld passed over, worst %.1e\n", kind.c_str(), tally.held, tally.passed_over, tally.worst);
        CAPTURE(kind);
        CAPTURE(tally.where);
        CHECK(tally.worst <= kMostError);
        CHECK(tally.held > 0);
        CHECK(tally.held > tally.passed_over);
    }
    std::fflush(stdout);
    for (const char* wanted :
         {"darcy, law, dh/dQ", "hazen, law, dh/dQ", "pump, law, dh/dQ", "filter, law, dh/dQ", "square, law, dh/dQ", "float valve, law, dQ/dHfrom",
          "float valve, law, dQ/dHto", "standpipe, law, dQ/dHfrom", "standpipe, law, dQ/dHto", "siphon, law, dh/dQ", "siphon, law, dQ/dHfrom",
          "darcy, entrance from, dQ/dHfrom", "darcy, entrance to, dQ/dHto", "pump, entrance from, dQ/dHfrom"})
        CHECK_MESSAGE(tallies.contains(wanted), wanted);
}
