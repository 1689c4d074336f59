// Linear programs against ones solved by hand and against enumeration of every vertex, written apart.

#include "solver/choose/linear_program.h"
#include "tests/near.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <random>

using ebb::choose::LinearOutcome;
using ebb::choose::LinearProgram;

namespace {

constexpr double kNone = HUGE_VAL;

// A small program, kept plainly.
struct Small {
    std::vector<double> cost, low, high, row_low, row_high;
    std::vector<std::vector<double>> rows;
    LinearProgram program() const {
        LinearProgram lp;
        for (std::size_t j = 0; j < cost.size(); ++j) lp.add_column(cost[j], low[j], high[j]);
        std::vector<std::int32_t> columns(cost.size());
        for (std::size_t j = 0; j < columns.size(); ++j) columns[j] = static_cast<std::int32_t>(j);
        for (std::size_t i = 0; i < rows.size(); ++i) lp.add_row(columns, rows[i], row_low[i], row_high[i]);
        return lp;
    }
};

Small random_program(std::mt19937& dice) {
    std::uniform_real_distribution<double> any(-5.0, 5.0), wide(0.5, 6.0);
    Small small;
    const std::size_t n = 2 + dice() % 3, m = 1 + dice() % 4;
    for (std::size_t j = 0; j < n; ++j) {
        small.cost.push_back(any(dice));
        small.low.push_back(any(dice));
        small.high.push_back(small.low.back() + wide(dice));
    }
    for (std::size_t i = 0; i < m; ++i) {
        std::vector<double> row(n);
        for (double& a : row) a = dice() % 4 == 0 ? 0.0 : any(dice);
        row[dice() % n] = any(dice);
        const double middle = 3.0 * any(dice);
        small.rows.push_back(row);
        small.row_low.push_back(dice() % 3 == 0 ? -kNone : middle);
        small.row_high.push_back(dice() % 3 == 0 ? kNone : dice() % 4 == 0 && small.row_low.back() == middle ? middle : middle + wide(dice));
    }
    return small;
}

// Solves a x = b, n by n, by elimination with pivoting; false when singular.
bool eliminate(std::vector<std::vector<double>> a, std::vector<double>& b) {
    const std::size_t n = b.size();
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t best = k;
        for (std::size_t i = k; i < n; ++i)
            if (std::abs(a[i][k]) > std::abs(a[best][k])) best = i;
        if (std::abs(a[best][k]) < 1e-9) return false;
        std::swap(a[k], a[best]);
        std::swap(b[k], b[best]);
        for (std::size_t i = 0; i < n; ++i) {
            if (i == k) continue;
            const double factor = a[i][k] / a[k][k];
            for (std::size_t j = k; j < n; ++j) a[i][j] -= factor * a[k][j];
            b[i] -= factor * b[k];
        }
    }
    for (std::size_t k = 0; k < n; ++k) b[k] /= a[k][k];
    return true;
}

// The least cost over all vertices: every choice of n of the planes that bound the program. +infinity when none is allowed.
double by_vertices(const Small& small) {
    const std::size_t n = small.cost.size();
    std::vector<std::vector<double>> planes = small.rows;
    std::vector<double> low = small.row_low, high = small.row_high;
    for (std::size_t j = 0; j < n; ++j) {
        planes.emplace_back(n, 0.0);
        planes.back()[j] = 1.0;
        low.push_back(small.low[j]);
        high.push_back(small.high[j]);
    }
    std::vector<std::pair<std::vector<double>, double>> sides;
    for (std::size_t i = 0; i < planes.size(); ++i) {
        if (std::isfinite(low[i])) sides.emplace_back(planes[i], low[i]);
        if (std::isfinite(high[i]) && high[i] != low[i]) sides.emplace_back(planes[i], high[i]);
    }
    double least = kNone;
    std::vector<std::uint8_t> chosen(sides.size(), 0);
    std::fill(chosen.begin(), chosen.begin() + static_cast<std::ptrdiff_t>(n), std::uint8_t{1});
    do {
        std::vector<std::vector<double>> a;
        std::vector<double> x;
        for (std::size_t s = 0; s < sides.size(); ++s)
            if (chosen[s]) {
                a.push_back(sides[s].first);
                x.push_back(sides[s].second);
            }
        if (!eliminate(a, x)) continue;
        bool allowed = true;
        for (std::size_t i = 0; i < planes.size() && allowed; ++i) {
            double sum = 0.0;
            for (std::size_t j = 0; j < n; ++j) sum += planes[i][j] * x[j];
            allowed = sum >= low[i] - 1e-7 && sum <= high[i] + 1e-7;
        }
        double cost = 0.0;
        for (std::size_t j = 0; j < n; ++j) cost += small.cost[j] * x[j];
        if (allowed) least = std::min(least, cost);
    } while (std::prev_permutation(chosen.begin(), chosen.end()));
    return least;
}

}  // namespace

TEST_CASE("a linear program solved by hand") {
    // Two products, two machines: most of 3x + 5y with x <= 4, 2y <= 12, 3x + 2y <= 18 is 36 at (2, 6). Textbook example, from memory
    // (Hillier and Lieberman, Introduction to Operations Research, the glass works). Prices by hand: 2y has 3/2, 3x + 2y has 1.
    LinearProgram lp;
    const std::int32_t x = lp.add_column(-3.0, 0.0, 4.0), y = lp.add_column(-5.0, 0.0, kNone);
    const std::int32_t one = lp.add_row(std::array{y}, std::array{2.0}, -kNone, 12.0);
    const std::int32_t two = lp.add_row(std::array{x, y}, std::array{3.0, 2.0}, -kNone, 18.0);
    REQUIRE(lp.solve() == LinearOutcome::optimal);
    CHECK(lp.objective() == ebb::test::near(-36.0).epsilon(1e-12));
    CHECK(lp.values()[0] == ebb::test::near(2.0));
    CHECK(lp.values()[1] == ebb::test::near(6.0));
    CHECK(lp.row_prices()[static_cast<std::size_t>(one)] == ebb::test::near(-1.5));
    CHECK(lp.row_prices()[static_cast<std::size_t>(two)] == ebb::test::near(-1.0));

    SUBCASE("bounds, costs, coefficients and rows change, and the program follows") {
        lp.set_row_bounds(two, -kNone, 24.0);  // (4, 6): 3x + 2y = 24
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(-42.0));
        lp.set_coefficient(one, y, 4.0);  // y <= 3
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(-27.0));
        lp.set_cost(x, 1.0);  // x is not worth having
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(-15.0));
        lp.set_column_bounds(x, 1.0, 4.0);
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(-14.0));
        const std::int32_t z = lp.add_column(-2.0, 0.0, 10.0);  // a third product that shares the first machine: 4y + 3z <= 12
        lp.add_row(std::array{z, y}, std::array{3.0, 4.0}, -kNone, 12.0);
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(1.0 - 15.0));  // y = 3 at 5/4 an hour beats z at 2/3
        lp.set_coefficient(one, y, 0.0);                       // no longer bounds anything; an entry may become nothing and come back
        REQUIRE(lp.solve() == LinearOutcome::optimal);
        CHECK(lp.objective() == ebb::test::near(1.0 - 15.0));
    }
    SUBCASE("no solution, and no end") {
        lp.add_row(std::array{x, y}, std::array{1.0, 1.0}, 20.0, kNone);
        CHECK(lp.solve() == LinearOutcome::infeasible);
        CHECK(lp.safe_bound() == kNone);
        LinearProgram endless;
        endless.add_column(-1.0, 0.0, kNone);
        endless.add_row(std::array{0}, std::array{1.0}, 0.0, kNone);
        CHECK(endless.solve() == LinearOutcome::unbounded);
        CHECK(endless.safe_bound() == -kNone);
    }
    SUBCASE("a cutoff below the optimum stops, one above does not") {
        LinearProgram least;  // x + y >= 3 at least cost 2x + y, y <= 1: 5
        least.add_column(2.0, 0.0, 10.0);
        least.add_column(1.0, 0.0, 1.0);
        least.add_row(std::array{0, 1}, std::array{1.0, 1.0}, 3.0, kNone);
        CHECK(least.solve(6.0) == LinearOutcome::optimal);
        CHECK(least.objective() == ebb::test::near(5.0));
        const LinearOutcome outcome = least.solve(4.0);
        CHECK((outcome == LinearOutcome::stopped || outcome == LinearOutcome::optimal));
        CHECK(least.safe_bound() >= 4.0);
        CHECK(least.safe_bound() <= 5.0);
    }
}

TEST_CASE("nothing asked, nothing said") {
    LinearProgram lp;
    lp.add_column(1.0, 0.0, 1.0);
    CHECK(lp.safe_bound() == -kNone);
    CHECK(lp.solve() == LinearOutcome::optimal);  // a program without rows
    CHECK(lp.objective() == doctest::Approx(0.0));
    LinearProgram other = std::move(lp);
    CHECK(other.solve() == LinearOutcome::optimal);
}

TEST_CASE("random programs against every vertex, cold and warm, with bounds that hold") {
    std::mt19937 dice(20240611);
    int solved = 0, without = 0;
    for (int repeat = 0; repeat < 1500; ++repeat) {
        Small small = random_program(dice);
        LinearProgram warm = small.program();
        for (int change = 0; change < 3; ++change) {
            CAPTURE(repeat);
            CAPTURE(change);
            const double wanted = by_vertices(small);
            LinearProgram cold = small.program();
            const LinearOutcome outcome = cold.solve();
            CHECK(warm.solve() == outcome);
            if (std::isinf(wanted)) {
                ++without;
                CHECK(outcome == LinearOutcome::infeasible);
                CHECK(cold.safe_bound() == kNone);
                CHECK(warm.safe_bound() == kNone);
            } else {
                ++solved;
                REQUIRE(outcome == LinearOutcome::optimal);
                CHECK(cold.objective() == ebb::test::near(wanted).epsilon(1e-7));
                CHECK(warm.objective() == ebb::test::near(wanted).epsilon(1e-7));
                for (const double bound : {cold.safe_bound(), warm.safe_bound()}) {
                    CHECK(bound <= wanted + 1e-9 * (1.0 + std::abs(wanted)));  // the vertices too are found by rounded sums
                    CHECK(bound >= wanted - 1e-6 * (1.0 + std::abs(wanted)));
                }
            }
            // move a bound, a row, a cost, an entry
            const std::size_t j = dice() % small.cost.size(), i = dice() % small.rows.size();
            const std::int32_t column = static_cast<std::int32_t>(j), row = static_cast<std::int32_t>(i);
            small.low[j] -= 0.5;
            warm.set_column_bounds(column, small.low[j], small.high[j]);
            small.row_high[i] += 1.0;
            warm.set_row_bounds(row, small.row_low[i], small.row_high[i]);
            small.cost[j] = -small.cost[j];
            warm.set_cost(column, small.cost[j]);
            small.rows[i][j] += 0.75;
            warm.set_coefficient(row, column, small.rows[i][j]);
        }
    }
    CHECK(solved > 1000);
    CHECK(without > 300);
}

TEST_CASE("the safe bound holds with costs and rows of very different size") {
    // x1 at 1e9 and x2 at 1e-9 a unit, x1 + 1e6 x2 >= 1: the least is the better of 1e9 and 1e-15, so 1e-15, at x2 = 1e-6.
    LinearProgram lp;
    lp.add_column(1e9, 0.0, 10.0);
    lp.add_column(1e-9, 0.0, 10.0);
    lp.add_row(std::array{0, 1}, std::array{1.0, 1e6}, 1.0, kNone);
    REQUIRE(lp.solve() == LinearOutcome::optimal);
    CHECK(lp.safe_bound() <= 1e-15);
    CHECK(lp.safe_bound() >= -1e-6);
}
