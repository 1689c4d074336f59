// How flows follow levels (Solver::level_slopes) against finite differences of the network solved again a little higher and a little lower, on random
// farms. Where the two one-sided differences disagree there is a kink (a lip, a port, a valve that shuts) and nothing to compare; most places are
// none. What one vessel gets others give, so that every column sums to nothing.

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/network/newton.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

constexpr double kMostError = 1e-6;        ///< of the largest slope of the column
constexpr double kLeastCompared = 0.7;     ///< share of columns that are no kinks
constexpr double kMove_m = 2e-6;           ///< to either side
constexpr double kOneSided = 2e-5;         ///< one-sided differences that agree better than this have no kink between them
constexpr double kLeastSlope_m2_s = 1e-7;  ///< a column with less in it is still water

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

    void compare(Tally& tally, const std::string& where) {
        network::Point point, aside;
        const std::vector<double> here = inflows(levels_, point);
        std::vector<double> slopes(vessels() * rows(), 0.0);
        if (here.empty() || !solver_.level_slopes(settings_, point, slopes)) {
            ++tally.unsolved;
            return;
        }
        for (std::size_t v = 0; v < vessels(); ++v) {
            std::vector<double> moved = levels_;
            const auto away = [&](double by_m) {
                moved[v] = levels_[v] + by_m;
                return inflows(moved, aside);
            };
            const auto up = away(kMove_m), down = away(-kMove_m), far_up = away(2.0 * kMove_m), far_down = away(-2.0 * kMove_m);
            if (up.empty() || down.empty() || far_up.empty() || far_down.empty()) {
                ++tally.unsolved;
                continue;
            }
            column(tally, {slopes.data() + v * rows(), rows()}, here, up, down, far_up, far_down, where);
        }
    }

private:
    void column(Tally& tally, std::span<const double> slope, const std::vector<double>& here, const std::vector<double>& up,
                const std::vector<double>& down, const std::vector<double>& far_up, const std::vector<double>& far_down, const std::string& where) {
        double largest = 0.0, sum = 0.0, apart = 0.0, error = 0.0;
        for (std::size_t r = 0; r < slope.size(); ++r) {
            largest = std::max(largest, std::abs(slope[r]));
            sum += slope[r];
        }
        if (largest < kLeastSlope_m2_s) {
            ++tally.still;
            return;
        }
        for (std::size_t r = 0; r < slope.size(); ++r) {
            apart = std::max(apart, std::abs(up[r] - 2.0 * here[r] + down[r]) / kMove_m);
            const double near = (up[r] - down[r]) / (2.0 * kMove_m), far = (far_up[r] - far_down[r]) / (4.0 * kMove_m);
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

TEST_CASE("how flows follow levels agrees with finite differences on random farms") {
    Tally tally;
    for (std::uint64_t seed = 0; seed < 300; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        REQUIRE(layout::validate(layout).empty());
        if (layout.vessels.empty()) continue;
        Farm(layout, seed).compare(tally, "seed " + std::to_string(seed));
    }
    std::printf("slopes of levels: %ld columns compared, %ld kinks, %ld still, %ld unsolved; worst %.1e (%s), sums %.1e\n", tally.compared,
                tally.kinks, tally.still, tally.unsolved, tally.worst, tally.where.c_str(), tally.worst_sum);
    std::fflush(stdout);
    CAPTURE(tally.where);
    CHECK(tally.worst <= kMostError);
    CHECK(tally.worst_sum <= 1e-9);
    CHECK(tally.unsolved == 0);
    CHECK(static_cast<double>(tally.compared) >= kLeastCompared * static_cast<double>(tally.compared + tally.kinks));
    CHECK(tally.compared > 200);
}
