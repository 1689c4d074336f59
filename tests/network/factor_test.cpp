// The factorisation without pivoting against two that pivot and share no code with it: Eigen's SparseLU (dense partial-pivoting LU where
// small) and SuiteSparse KLU, on random column dominant M-matrices like those of pipe networks (Davis, Direct Methods for Sparse Linear
// Systems, 2006, names all three methods).

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <utility>
#include <vector>

#include <Eigen/Dense>
#include <Eigen/SparseCholesky>
#include <Eigen/SparseLU>
#include <klu.h>

#include "solver/network/factor.h"
#include "tests/near.h"

namespace {

using ebb::network::Factor;
using Matrix = Eigen::SparseMatrix<double>;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// The graph of a connected network: a random tree and chords, some of them twice.
std::vector<std::pair<std::int32_t, std::int32_t>> random_graph(std::int32_t size, int chords, std::mt19937& random) {
    std::vector<std::pair<std::int32_t, std::int32_t>> edges;
    const auto pick = [&](std::int32_t below) { return static_cast<std::int32_t>(random() % static_cast<std::uint32_t>(below)); };
    for (std::int32_t n = 1; n < size; ++n) edges.emplace_back(pick(n), n);
    for (int c = 0; c < chords && size > 1; ++c) {
        const std::int32_t a = pick(size), b = pick(size);
        if (a != b) edges.emplace_back(a, b);
    }
    if (edges.size() > 3) edges.push_back({edges[2].second, edges[2].first});  // the same pair the other way round
    return edges;
}

/// One set of values on a graph, in the factor and as a matrix.
struct Values {
    std::vector<double> a, b, hold;  // per edge: what leaves the first by its head, the second by its; per node: what holds it
};

Values random_values(std::size_t edges, std::int32_t size, bool symmetric, std::mt19937& random) {
    std::uniform_real_distribution<double> exponent(-6.0, 0.0), part(0.0, 1.0);
    Values values;
    for (std::size_t e = 0; e < edges; ++e) {
        const double a = std::pow(10.0, exponent(random));
        values.a.push_back(a);
        // one-way elements: the flow follows one head only
        values.b.push_back(symmetric ? a : part(random) < 0.3 ? 0.0 : std::pow(10.0, exponent(random)));
    }
    for (std::int32_t n = 0; n < size; ++n) values.hold.push_back(part(random) < 0.2 ? std::pow(10.0, exponent(random)) : 1e-7);
    return values;
}

void put(const std::vector<std::pair<std::int32_t, std::int32_t>>& edges, const std::vector<std::int32_t>& slots, const Values& values,
         Factor& factor) {
    factor.clear();
    for (std::size_t e = 0; e < edges.size(); ++e) {
        factor.add_diagonal(edges[e].first, values.a[e]);
        factor.add_diagonal(edges[e].second, values.b[e]);
        factor.add_pair(slots[e], -values.b[e], -values.a[e]);
    }
    for (std::size_t n = 0; n < values.hold.size(); ++n) factor.add_diagonal(static_cast<std::int32_t>(n), values.hold[n]);
}

Matrix matrix_of(std::int32_t size, const std::vector<std::pair<std::int32_t, std::int32_t>>& edges, const Values& values) {
    std::vector<Eigen::Triplet<double>> entries;
    for (std::size_t e = 0; e < edges.size(); ++e) {
        const auto [i, j] = edges[e];
        entries.emplace_back(i, i, values.a[e]);
        entries.emplace_back(j, j, values.b[e]);
        entries.emplace_back(i, j, -values.b[e]);
        entries.emplace_back(j, i, -values.a[e]);
    }
    for (std::int32_t n = 0; n < size; ++n) entries.emplace_back(n, n, values.hold[at(n)]);
    Matrix matrix(size, size);
    matrix.setFromTriplets(entries.begin(), entries.end());
    return matrix;
}

Eigen::VectorXd by_klu(Matrix matrix, Eigen::VectorXd b) {
    klu_common common;
    klu_defaults(&common);
    const auto size = static_cast<int>(matrix.rows());
    klu_symbolic* symbolic = klu_analyze(size, matrix.outerIndexPtr(), matrix.innerIndexPtr(), &common);
    REQUIRE(symbolic != nullptr);
    klu_numeric* numeric = klu_factor(matrix.outerIndexPtr(), matrix.innerIndexPtr(), matrix.valuePtr(), symbolic, &common);
    REQUIRE(numeric != nullptr);
    CHECK(klu_solve(symbolic, numeric, size, 1, b.data(), &common) == 1);
    klu_free_numeric(&numeric, &common);
    klu_free_symbolic(&symbolic, &common);
    return b;
}

Eigen::VectorXd by_eigen(const Matrix& matrix, const Eigen::VectorXd& b) {
    if (matrix.rows() <= 60) return Eigen::MatrixXd(matrix).partialPivLu().solve(b);
    Eigen::SparseLU<Matrix> lu(matrix);
    REQUIRE(lu.info() == Eigen::Success);
    return lu.solve(b);
}

/// Componentwise backward error (Oettli and Prager 1964): 2e-16 is the best double precision can do.
double backward_error(const Matrix& matrix, const Eigen::VectorXd& x, const Eigen::VectorXd& b) {
    const Eigen::VectorXd residual = (matrix * x - b).cwiseAbs();
    const Eigen::VectorXd scale = matrix.cwiseAbs() * x.cwiseAbs() + b.cwiseAbs();
    return (residual.array() / scale.array().max(1e-300)).maxCoeff();
}

/// Conditions of 1e6 and more: answers may differ by that many roundings where the backward errors of all are of one rounding.
double difference(const Eigen::VectorXd& x, const Eigen::VectorXd& y) { return (x - y).cwiseAbs().maxCoeff() / y.cwiseAbs().maxCoeff(); }

void compare(std::int32_t size, int chords, std::mt19937& random) {
    const auto edges = random_graph(size, chords, random);
    Factor factor;
    const std::vector<std::int32_t> slots = factor.analyse(size, edges);
    REQUIRE(slots.size() == edges.size());
    CHECK(factor.size() == size);
    for (int round = 0; round < 6; ++round) {
        const bool symmetric = round % 2 == 0;
        const Values values = random_values(edges.size(), size, symmetric, random);
        put(edges, slots, values, factor);
        const Matrix matrix = matrix_of(size, edges, values);
        REQUIRE(factor.factorise(symmetric));
        std::normal_distribution<double> normal;
        for (int right = 0; right < 2; ++right) {
            std::vector<double> x(at(size));
            for (double& value : x) value = normal(random);
            const Eigen::VectorXd b = Eigen::Map<Eigen::VectorXd>(x.data(), size);
            factor.solve(x);
            const Eigen::VectorXd ours = Eigen::Map<Eigen::VectorXd>(x.data(), size);
            CAPTURE(size);
            CAPTURE(round);
            CHECK(backward_error(matrix, ours, b) < 1e-13);
            CHECK(difference(ours, by_eigen(matrix, b)) < 1e-8);
            CHECK(difference(ours, by_klu(matrix, b)) < 1e-8);
        }
        // a symmetric matrix factorised as any other gives the same
        if (symmetric) {
            std::vector<double> x(at(size), 1.0), y(at(size), 1.0);
            factor.solve(x);
            REQUIRE(factor.factorise(false));
            factor.solve(y);
            CHECK(difference(Eigen::Map<Eigen::VectorXd>(x.data(), size), Eigen::Map<Eigen::VectorXd>(y.data(), size)) < 1e-8);
        }
    }
}

}  // namespace

TEST_CASE("solves random M-matrices like two pivoting factorisations, one pattern for many values") {
    std::mt19937 random(20240611);
    for (std::int32_t size = 1; size <= 40; ++size) compare(size, static_cast<int>(random() % 12), random);
    for (const std::int32_t size : {100, 400, 1500}) compare(size, size / 4, random);
}

TEST_CASE("two unknowns by hand") {
    Factor factor;
    const std::vector<std::pair<std::int32_t, std::int32_t>> edges{{1, 0}};
    const auto slots = factor.analyse(2, edges);
    // [ 3 -1 ] x = [ 1 ]   by Cramer's rule: det 3*4 - 1*2 = 10, x0 = (4 + 2)/10, x1 = (6 + 2)/10
    // [-2  4 ]     [ 2 ]
    factor.add_diagonal(0, 3.0);
    factor.add_diagonal(1, 4.0);
    factor.add_pair(slots[0], -2.0, -1.0);
    REQUIRE(factor.factorise(false));
    std::vector<double> b{1.0, 2.0};
    factor.solve(b);
    CHECK(b[0] == ebb::test::near(0.6).epsilon(1e-15));
    CHECK(b[1] == ebb::test::near(0.8).epsilon(1e-15));
}

TEST_CASE("a star needs no fill: as many entries below the diagonal as edges") {
    std::vector<std::pair<std::int32_t, std::int32_t>> edges;
    for (std::int32_t n = 1; n < 200; ++n) edges.emplace_back(0, n);
    Factor factor;
    factor.analyse(200, edges);
    CHECK(factor.factor_entries() == 199);
}

TEST_CASE("stiffen() adds a share to the first diagonals only") {
    Factor factor;
    factor.analyse(2, {});
    factor.add_diagonal(0, 2.0);
    factor.add_diagonal(1, 2.0);
    factor.stiffen(1, 0.25);
    REQUIRE(factor.factorise(true));
    std::vector<double> b{1.0, 1.0};
    factor.solve(b);
    CHECK(b[0] == 1.0 / 2.5);
    CHECK(b[1] == 0.5);
}

TEST_CASE("refuses what has no answer") {
    Factor factor;
    const std::vector<std::pair<std::int32_t, std::int32_t>> edges{{0, 1}, {1, 2}};
    const auto slots = factor.analyse(3, edges);
    const auto fill = [&](double third) {
        factor.clear();
        factor.add_diagonal(0, 1.0);
        factor.add_diagonal(1, 2.0);
        factor.add_diagonal(2, third);
        for (const auto slot : slots) factor.add_pair(slot, -1.0, -1.0);
    };
    for (const bool symmetric : {true, false}) {
        CAPTURE(symmetric);
        fill(1.0);  // nothing holds the three: singular
        CHECK_FALSE(factor.factorise(symmetric));
        fill(0.5);  // not positive definite
        CHECK_FALSE(factor.factorise(symmetric));
        fill(std::nan(""));
        CHECK_FALSE(factor.factorise(symmetric));
        factor.clear();  // nothing at all
        CHECK_FALSE(factor.factorise(symmetric));
        // and is none the worse for it
        fill(2.0);
        REQUIRE(factor.factorise(symmetric));
        std::vector<double> b{0.0, 0.0, 1.0};
        factor.solve(b);
        // rows: x0 = x1, 2 x1 - x0 - x2 = 0, 2 x2 - x1 = 1: all are 1
        for (const double x : b) CHECK(x == ebb::test::near(1.0).epsilon(1e-14));
    }
}

TEST_CASE("no unknowns, and unknowns without links, are fine") {
    Factor factor;
    CHECK(factor.analyse(0, {}).empty());
    CHECK(factor.factorise(true));
    factor.solve({});
    factor.analyse(3, {});
    for (std::int32_t n = 0; n < 3; ++n) factor.add_diagonal(n, 1.0 + n);
    REQUIRE(factor.factorise(false));
    std::vector<double> b{1.0, 4.0, 9.0};
    factor.solve(b);
    CHECK(b == std::vector<double>{1.0, 2.0, 3.0});
}

namespace {

/// Streets both ways: every node joined to its four neighbours.
std::vector<std::pair<std::int32_t, std::int32_t>> streets(std::int32_t side) {
    std::vector<std::pair<std::int32_t, std::int32_t>> edges;
    for (std::int32_t n = 0; n < side * side; ++n) {
        if (n % side > 0) edges.emplace_back(n - 1, n);
        if (n >= side) edges.emplace_back(n - side, n);
    }
    return edges;
}

}  // namespace

TEST_CASE("An earlier factor solves a matrix that has changed since, to the digits asked for") {
    std::mt19937 random(11);
    std::uniform_real_distribution<double> part(-1.0, 1.0);
    constexpr std::int32_t kSide = 180, kSize = kSide * kSide;
    const auto edges = streets(kSide);
    Factor factor;
    const auto slots = factor.analyse(kSize, edges);
    Values values = random_values(edges.size(), kSize, true, random);
    put(edges, slots, values, factor);
    std::vector<double> b(at(kSize));
    for (double& entry : b) entry = part(random);
    const std::vector<double> asked = b;
    CHECK_FALSE(factor.iterate(b, 1e-12, 0.0));  // there is none yet
    REQUIRE(factor.factorise(true));
    for (std::size_t e = 0; e < edges.size(); ++e) values.b[e] = values.a[e] *= 1.0 + 0.02 * part(random);
    put(edges, slots, values, factor);
    constexpr double kShare = 1e-8;
    REQUIRE(factor.iterate(b, kShare, 0.0));
    CHECK(factor.factorisations() == 1);
    CHECK(factor.rounds() > 2);
    const Matrix matrix = matrix_of(kSize, edges, values);
    const Eigen::VectorXd right = Eigen::Map<const Eigen::VectorXd>(asked.data(), kSize), found = Eigen::Map<const Eigen::VectorXd>(b.data(), kSize);
    CHECK((right - matrix * found).lpNorm<Eigen::Infinity>() <= 1.001 * kShare * right.lpNorm<Eigen::Infinity>());
    // the inverse of an M-matrix has no negative entry: its norm is the greatest answer to a right side of ones
    const Eigen::SimplicialLDLT<Matrix> other(matrix);
    const double norm = other.solve(Eigen::VectorXd::Ones(kSize).eval()).maxCoeff();
    CHECK((found - other.solve(right)).lpNorm<Eigen::Infinity>() <= 1.01 * norm * kShare * right.lpNorm<Eigen::Infinity>());

    SUBCASE("not one that has nothing to do with it: the right side is left as it was") {
        put(edges, slots, random_values(edges.size(), kSize, true, random), factor);
        b = asked;
        CHECK_FALSE(factor.iterate(b, 1e-12, 0.0));
        CHECK(b == asked);
    }
    SUBCASE("not one that was to be forgotten") {
        factor.forget();
        CHECK_FALSE(factor.iterate(b, 1e-12, 0.0));
    }
}

TEST_CASE("Where the factor is light no rounds are made: a tree is factorised anew each time") {
    std::mt19937 random(3);
    constexpr std::int32_t kSize = 20'000;
    const auto edges = random_graph(kSize, 0, random);
    Factor factor;
    const auto slots = factor.analyse(kSize, edges);
    CHECK(factor.factor_entries() == kSize - 1);  // elimination from the leaves fills nothing in
    put(edges, slots, random_values(edges.size(), kSize, true, random), factor);
    REQUIRE(factor.factorise(true));
    CHECK_FALSE(factor.can_iterate());
}
