// The linear system that steps in time stand on (LevelSystem: (storage - J) u = b, J how inflows follow levels) against finite differences of the
// network solved again a little higher and a little lower along u, on random farms. Where the two one-sided differences disagree there is a kink (a
// lip, a port, a valve that shuts) and nothing to compare; most places are none. What one vessel gets others give, so that the water of b is that of
// u.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/network/level_system.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

constexpr double kMostError = 1e-6;        ///< of the largest slope along the direction
constexpr double kLeastCompared = 0.7;     ///< share of directions that are no kinks
constexpr double kMove_m = 2e-6;           ///< to either side, of the level that moves most
constexpr double kStep_s = 20.0;           ///< length of the implicit step
constexpr double kOneSided = 2e-5;         ///< one-sided differences that agree better than this have no kink between them
constexpr double kLeastSlope_m2_s = 1e-7;  ///< a direction with less in it is still water

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

struct Tally {
    long compared = 0, kinks = 0, still = 0, unsolved = 0;
    double worst = 0.0, worst_sum = 0.0;
    std::string where;
};

class Farm {
public:
    Farm(const layout::Layout& layout, std::uint64_t seed) : network_(network::compile(layout)), solver_(network_) {
        settings_ = network::settings_for(network_, layout, layout::conditions_of(layout, 0), std::vector<std::uint8_t>(layout.siphons.size(), 0));
        test::Random random(seed + 99);
        for (const auto& vessel : layout.vessels) levels_.push_back(vessel.floor_m + random.uniform(0.05, 0.95) * (vessel.rim_m - vessel.floor_m));
        tolerances_.head_m = 1e-12;
        tolerances_.flow_share = 1e-13;
    }

    std::size_t rows() const { return at(network_.vessel_count + network_.fixed_count); }
    std::size_t vessels() const { return levels_.size(); }

    /// Net inflow of every vessel and fixed node; empty when there is no solution.
    std::vector<double> inflows(const std::vector<double>& levels, network::Point& point) {
        point = solver_.cold_point(levels);
        if (!solver_.solve(settings_, {}, tolerances_, false, point).converged) return {};
        std::vector<double> inflow(rows(), 0.0);
        for (std::size_t l = 0; l < network_.links.size(); ++l) {
            const network::Link& link = network_.links[l];
            if (link.from >= network_.plain_count) inflow[at(link.from - network_.plain_count)] -= point.flow_m3_s[l];
            if (link.to >= network_.plain_count) inflow[at(link.to - network_.plain_count)] += point.flow_m3_s[l];
        }
        return inflow;
    }

    /// One direction for each vessel: what follows when it alone gets water.
    void compare(Tally& tally, const std::string& where) {
        network::Point point, aside;
        const std::vector<double> here = inflows(levels_, point);
        std::vector<double> storage;
        for (std::size_t v = 0; v < vessels(); ++v) storage.push_back(network::volume_at_level(network_.storage[v], levels_[v]).slope / kStep_s);
        network::LevelSystem system(network_);
        if (!here.empty()) system.take(solver_, settings_, point);
        if (here.empty() || !system.factorise(storage)) {
            ++tally.unsolved;
            return;
        }
        for (std::size_t v = 0; v < vessels(); ++v) {
            std::vector<double> u(vessels(), 0.0), gives(at(network_.fixed_count), 0.0);
            u[v] = storage[v];
            system.solve(u, gives);
            const double largest = std::abs(*std::max_element(u.begin(), u.end(), [](double a, double b) { return std::abs(a) < std::abs(b); }));
            // J u, of vessels and of fixed nodes, by the system: storage u - b, and what the fixed nodes give less
            std::vector<double> slope;
            for (std::size_t w = 0; w < vessels(); ++w) slope.push_back((storage[w] * u[w] - (w == v ? storage[v] : 0.0)) / largest);
            for (const double more : gives) slope.push_back(-more / largest);
            const auto away = [&](double by_m) {
                std::vector<double> moved = levels_;
                for (std::size_t w = 0; w < vessels(); ++w) moved[w] += by_m * u[w] / largest;
                return inflows(moved, aside);
            };
            const auto up = away(kMove_m), down = away(-kMove_m), far_up = away(2.0 * kMove_m), far_down = away(-2.0 * kMove_m);
            if (up.empty() || down.empty() || far_up.empty() || far_down.empty()) {
                ++tally.unsolved;
                continue;
            }
            direction(tally, slope, {here, up, down, far_up, far_down}, where);
        }
    }

private:
    struct Around {
        const std::vector<double>&here, &up, &down, &far_up, &far_down;
    };
    void direction(Tally& tally, const std::vector<double>& slope, const Around& around, const std::string& where) {
        double largest = 0.0, sum = 0.0, apart = 0.0, error = 0.0;
        for (const double one : slope) {
            largest = std::max(largest, std::abs(one));
            sum += one;
        }
        if (largest < kLeastSlope_m2_s) {
            ++tally.still;
            return;
        }
        for (std::size_t r = 0; r < slope.size(); ++r) {
            apart = std::max(apart, std::abs(around.up[r] - 2.0 * around.here[r] + around.down[r]) / kMove_m);
            const double near = (around.up[r] - around.down[r]) / (2.0 * kMove_m), far = (around.far_up[r] - around.far_down[r]) / (4.0 * kMove_m);
            error = std::max(error, std::abs((4.0 * near - far) / 3.0 - slope[r]));  // Richardson: the next error is of the fourth power of the move
        }
        tally.worst_sum = std::max(tally.worst_sum, std::abs(sum) / largest);
        if (apart > kOneSided * largest) {
            ++tally.kinks;
            return;
        }
        ++tally.compared;
        if (error / largest > tally.worst) {
            tally.worst = error / largest;
            tally.where = where;
        }
    }

    network::Network network_;
    network::Solver solver_;
    network::Settings settings_;
    network::Tolerances tolerances_;
    std::vector<double> levels_;
};

}  // namespace

TEST_CASE("the linear system of a step in time agrees with finite differences on random farms") {
    Tally tally;
    for (std::uint64_t seed = 0; seed < 300; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        if (layout.vessels.empty()) continue;
        Farm(layout, seed).compare(tally, "seed " + std::to_string(seed));
    }
    std::printf("slopes of levels: %ld directions compared, %ld kinks, %ld still, %ld unsolved; worst %.1e (%s), sums %.1e\n", tally.compared,
                tally.kinks, tally.still, tally.unsolved, tally.worst, tally.where.c_str(), tally.worst_sum);
    std::fflush(stdout);
    CAPTURE(tally.where);
    CHECK(tally.worst <= kMostError);
    CHECK(tally.worst_sum <= 1e-9);
    CHECK(tally.unsolved == 0);
    CHECK(static_cast<double>(tally.compared) >= kLeastCompared * static_cast<double>(tally.compared + tally.kinks));
    CHECK(tally.compared > 200);
}
