#include "solver/network/factor.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <concepts>
#include <numeric>

#include <amd.h>

namespace ebb::network {

namespace {

/// Rounds of conjugate gradients that cost about as much as a factorisation, per multiplication the factorisation needs for each entry of the factor
/// (measured: a multiplication of the substitution waits for memory, one of the factorisation mostly does not). With fewer than kFewRounds of
/// them it is not tried; beyond kMostRounds the slopes have changed too much.
constexpr double kRoundsPerWork = 0.08;
constexpr int kFewRounds = 6, kMostRounds = 40;

/// After so many rounds it is judged whether the others will do.
constexpr int kJudgedAfter = 4;

using Edge = std::pair<std::int32_t, std::int32_t>;

std::size_t at(std::integral auto index) { return static_cast<std::size_t>(index); }

/// Elimination order by approximate minimum degree: result[k] is the unknown eliminated k-th.
std::vector<std::int32_t> minimum_degree(std::int32_t size, std::span<const Edge> edges) {
    const auto n = static_cast<std::size_t>(size);
    std::vector<std::int32_t> start(n + 1, 0);
    for (const auto& [a, b] : edges) {
        ++start[static_cast<std::size_t>(a) + 1];
        ++start[static_cast<std::size_t>(b) + 1];
    }
    std::partial_sum(start.begin(), start.end(), start.begin());
    std::vector<std::int32_t> neighbour(static_cast<std::size_t>(start[n]));
    std::vector<std::int32_t> fill(start.begin(), start.end() - 1);
    for (const auto& [a, b] : edges) {
        neighbour[static_cast<std::size_t>(fill[static_cast<std::size_t>(a)]++)] = b;
        neighbour[static_cast<std::size_t>(fill[static_cast<std::size_t>(b)]++)] = a;
    }
    std::vector<std::int32_t> order(n);
    std::iota(order.begin(), order.end(), 0);
    if (edges.empty()) return order;
    std::vector<double> control(AMD_CONTROL), info(AMD_INFO);
    amd_defaults(control.data());
    // AMD sorts and removes duplicates itself when it must (status AMD_OK_BUT_JUMBLED is fine)
    [[maybe_unused]] const int status = amd_order(size, start.data(), neighbour.data(), order.data(), control.data(), info.data());
    assert(status == AMD_OK || status == AMD_OK_BUT_JUMBLED);
    return order;
}

}  // namespace

std::vector<std::int32_t> Factor::analyse(std::int32_t size, std::span<const Edge> edges) {
    size_ = size;
    const auto n = static_cast<std::size_t>(size);
    position_.assign(n, 0);
    if (size > 0) {
        const std::vector<std::int32_t> order = minimum_degree(size, edges);
        for (std::size_t k = 0; k < n; ++k) position_[static_cast<std::size_t>(order[k])] = static_cast<std::int32_t>(k);
    }

    // rows of the lower triangle of A, each pair once: bucket by row, sort each row, drop duplicates
    std::vector<std::int64_t> start(n + 1, 0);
    for (const auto& [a, b] : edges)
        ++start[static_cast<std::size_t>(std::max(position_[static_cast<std::size_t>(a)], position_[static_cast<std::size_t>(b)])) + 1];
    std::partial_sum(start.begin(), start.end(), start.begin());
    std::vector<std::int32_t> column(edges.size());
    std::vector<std::int64_t> fill(start.begin(), start.end() - 1);
    for (const auto& [a, b] : edges) {
        const auto [low, high] = std::minmax(position_[static_cast<std::size_t>(a)], position_[static_cast<std::size_t>(b)]);
        column[static_cast<std::size_t>(fill[static_cast<std::size_t>(high)]++)] = low;
    }
    edge_start_.assign(n + 1, 0);
    edge_column_.clear();
    edge_column_.reserve(column.size());
    for (std::size_t k = 0; k < n; ++k) {
        const auto begin = column.begin() + start[k], end = column.begin() + start[k + 1];
        std::sort(begin, end);
        edge_column_.insert(edge_column_.end(), begin, std::unique(begin, end));
        edge_start_[k + 1] = static_cast<std::int64_t>(edge_column_.size());
    }
    std::vector<std::int32_t> slots(edges.size());
    for (std::size_t e = 0; e < edges.size(); ++e) {
        const std::int32_t first = position_[static_cast<std::size_t>(edges[e].first)], second = position_[static_cast<std::size_t>(edges[e].second)];
        assert(first != second);
        const auto [low, high] = std::minmax(first, second);
        const auto row = static_cast<std::size_t>(high);
        const auto begin = edge_column_.begin() + edge_start_[row], end = edge_column_.begin() + edge_start_[row + 1];
        const auto slot = static_cast<std::int32_t>(std::lower_bound(begin, end, low) - edge_column_.begin());
        // row `high`, column `low` is below the diagonal: A(first, second) is the lower entry when first is the later one
        slots[e] = first > second ? slot : ~slot;
    }

    // elimination tree and row patterns of L (row k: the nodes on the tree paths from the entries of row k towards k)
    std::vector<std::int32_t> parent(n, -1), ancestor(n, -1), mark(n, -1);
    row_start_.assign(n + 1, 0);
    row_pattern_.clear();
    std::vector<std::int64_t> count(n + 1, 0);
    for (std::size_t k = 0; k < n; ++k) {
        const auto row = static_cast<std::int32_t>(k);
        for (auto p = edge_start_[k]; p < edge_start_[k + 1]; ++p)
            for (std::int32_t i = edge_column_[static_cast<std::size_t>(p)]; i != -1 && i < row;) {
                const auto next = ancestor[static_cast<std::size_t>(i)];
                ancestor[static_cast<std::size_t>(i)] = row;  // path compression
                if (next == -1) parent[static_cast<std::size_t>(i)] = row;
                i = next;
            }
        mark[k] = row;
        for (auto p = edge_start_[k]; p < edge_start_[k + 1]; ++p)
            for (std::int32_t i = edge_column_[static_cast<std::size_t>(p)]; mark[static_cast<std::size_t>(i)] != row;
                 i = parent[static_cast<std::size_t>(i)]) {
                mark[static_cast<std::size_t>(i)] = row;
                row_pattern_.push_back(i);
                ++count[static_cast<std::size_t>(i) + 1];
            }
        std::sort(row_pattern_.begin() + row_start_[k], row_pattern_.end());
        row_start_[k + 1] = static_cast<std::int64_t>(row_pattern_.size());
    }
    std::partial_sum(count.begin(), count.end(), count.begin());
    column_start_ = std::move(count);
    column_fill_.assign(n, 0);
    column_row_.assign(row_pattern_.size(), 0);
    l_.assign(row_pattern_.size(), 0.0);
    u_.assign(row_pattern_.size(), 0.0);
    d_.assign(n, 0.0);
    diagonal_.assign(n, 0.0);
    lower_.assign(edge_column_.size(), 0.0);
    upper_.assign(edge_column_.size(), 0.0);
    work_y_.assign(n, 0.0);
    work_z_.assign(n, 0.0);
    // the rows of every column are the same at every factorisation
    std::copy(column_start_.begin(), column_start_.end() - 1, column_fill_.begin());
    for (std::size_t k = 0; k < n; ++k)
        for (auto p = row_start_[k]; p < row_start_[k + 1]; ++p) {
            const auto j = static_cast<std::size_t>(row_pattern_[static_cast<std::size_t>(p)]);
            column_row_[static_cast<std::size_t>(column_fill_[j]++)] = static_cast<std::int32_t>(k);
        }
    prepare_rounds();
    return slots;
}

/// Memory for iterate(), where the factor is heavy enough for it.
void Factor::prepare_rounds() {
    double work = 0.0;
    for (std::size_t j = 0; j < at(size_); ++j) {
        const auto entries = static_cast<double>(column_start_[j + 1] - column_start_[j]);
        work += entries * entries;
    }
    const double rounds = row_pattern_.empty() ? 0.0 : kRoundsPerWork * work / static_cast<double>(row_pattern_.size());
    most_rounds_ = rounds < kFewRounds ? 0 : static_cast<int>(std::min(rounds, static_cast<double>(kMostRounds)));
    kept_ = false;
    factorisations_ = rounds_ = 0;
    for (auto* vector : {&residual_, &corrected_, &direction_, &product_, &answer_}) vector->assign(most_rounds_ > 0 ? at(size_) : 0, 0.0);
}

void Factor::clear() {
    std::fill(diagonal_.begin(), diagonal_.end(), 0.0);
    std::fill(lower_.begin(), lower_.end(), 0.0);
    std::fill(upper_.begin(), upper_.end(), 0.0);
}

template <bool kSymmetric>
bool Factor::factorise_as() {
    const auto n = static_cast<std::size_t>(size_);
    std::copy(column_start_.begin(), column_start_.end() - 1, column_fill_.begin());
    double* const y = work_y_.data();
    double* const z = work_z_.data();
    double* const l = l_.data();
    double* const u = u_.data();
    const std::int32_t* const rows = column_row_.data();
    bool fine = true;
    for (std::size_t k = 0; k < n; ++k) {
        for (auto p = edge_start_[k]; p < edge_start_[k + 1]; ++p) {
            const auto j = static_cast<std::size_t>(edge_column_[static_cast<std::size_t>(p)]);
            y[j] = upper_[static_cast<std::size_t>(p)];
            if constexpr (!kSymmetric) z[j] = lower_[static_cast<std::size_t>(p)];
        }
        double pivot = diagonal_[k];
        for (auto p = row_start_[k]; p < row_start_[k + 1]; ++p) {
            const auto j = static_cast<std::size_t>(row_pattern_[static_cast<std::size_t>(p)]);
            const auto begin = static_cast<std::size_t>(column_start_[j]), end = static_cast<std::size_t>(column_fill_[j]);
            const double yj = y[j];
            y[j] = 0.0;
            if constexpr (kSymmetric) {
                const double scaled = yj / d_[j];
                for (std::size_t q = begin; q < end; ++q) y[rows[q]] -= l[q] * yj;
                pivot -= scaled * yj;
                l[end] = scaled;
            } else {
                const double zj = z[j];
                z[j] = 0.0;
                for (std::size_t q = begin; q < end; ++q) {
                    y[rows[q]] -= l[q] * yj;
                    z[rows[q]] -= u[q] * zj;
                }
                const double scaled = yj / d_[j];
                pivot -= scaled * zj;
                l[end] = zj / d_[j];
                u[end] = scaled;
            }
            ++column_fill_[j];
        }
        if (!(pivot > 0.0 && std::isfinite(pivot))) {
            fine = false;
            pivot = 1.0;  // the factor is refused; the rest of it is gone through without dividing by this
        }
        d_[k] = pivot;
    }
    return fine;
}

bool Factor::factorise(bool symmetric) {
    symmetric_ = symmetric;
    const bool fine = symmetric ? factorise_as<true>() : factorise_as<false>();
    kept_ = fine && symmetric && most_rounds_ > 0;
    ++factorisations_;
    return fine;
}

/// x = U^-1 D^-1 L^-1 x, in the order of elimination.
void Factor::substitute(double* x) const {
    const auto n = static_cast<std::size_t>(size_);
    const double* const u = symmetric_ ? l_.data() : u_.data();
    for (std::size_t j = 0; j < n; ++j) {
        const double xj = x[j];
        for (auto q = static_cast<std::size_t>(column_start_[j]), end = static_cast<std::size_t>(column_start_[j + 1]); q < end; ++q)
            x[column_row_[q]] -= l_[q] * xj;
    }
    for (std::size_t j = n; j-- > 0;) {
        double xj = x[j] / d_[j];
        for (auto q = static_cast<std::size_t>(column_start_[j]), end = static_cast<std::size_t>(column_start_[j + 1]); q < end; ++q)
            xj -= u[q] * x[column_row_[q]];
        x[j] = xj;
    }
}

void Factor::solve(std::span<double> b) {
    const auto n = static_cast<std::size_t>(size_);
    double* const x = work_y_.data();
    for (std::size_t i = 0; i < n; ++i) x[static_cast<std::size_t>(position_[i])] = b[i];
    substitute(x);
    for (std::size_t i = 0; i < n; ++i) b[i] = x[static_cast<std::size_t>(position_[i])];
    std::fill(work_y_.begin(), work_y_.end(), 0.0);
}

/// y = A x for the symmetric A added since clear(), in the order of elimination.
void Factor::multiply(const double* x, double* y) const {
    for (std::size_t k = 0; k < at(size_); ++k) {
        double sum = diagonal_[k] * x[k];
        for (auto p = at(edge_start_[k]); p < at(edge_start_[k + 1]); ++p) {
            const auto j = at(edge_column_[p]);
            sum += lower_[p] * x[j];
            y[j] += lower_[p] * x[k];
        }
        y[k] = sum;
    }
}

bool Factor::iterate(std::span<double> b, double share, double enough) {
    if (!kept_) return false;
    double greatest = 0.0;
    for (std::size_t i = 0; i < at(size_); ++i) {
        residual_[at(position_[i])] = b[i];
        greatest = std::max(greatest, std::abs(b[i]));
    }
    if (!rounds_of_gradients(std::max(enough, share * greatest))) return false;
    for (std::size_t i = 0; i < at(size_); ++i) b[i] = answer_[at(position_[i])];
    return true;
}

bool Factor::rounds_of_gradients(double enough) {
    const auto greatest = [&] {
        return std::transform_reduce(
            residual_.begin(), residual_.end(), 0.0, [](double a, double b) { return std::max(a, b); }, [](double r) { return std::abs(r); });
    };
    const auto dot = [](const std::vector<double>& a, const std::vector<double>& b) {
        return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
    };
    std::fill(answer_.begin(), answer_.end(), 0.0);
    std::fill(direction_.begin(), direction_.end(), 0.0);
    const double first = greatest();
    double last_rho = 1.0;
    if (first <= enough) return true;
    for (int round = 1; round <= most_rounds_; ++round) {
        std::copy(residual_.begin(), residual_.end(), corrected_.begin());
        substitute(corrected_.data());
        const double rho = dot(residual_, corrected_);
        const double turn = round == 1 ? 0.0 : rho / last_rho;
        for (std::size_t i = 0; i < at(size_); ++i) direction_[i] = corrected_[i] + turn * direction_[i];
        multiply(direction_.data(), product_.data());
        const double curvature = dot(direction_, product_);
        ++rounds_;
        if (!(rho > 0.0) || !(curvature > 0.0)) return false;
        const double length = rho / curvature;
        for (std::size_t i = 0; i < at(size_); ++i) {
            answer_[i] += length * direction_[i];
            residual_[i] -= length * product_[i];
        }
        last_rho = rho;
        const double left = greatest();
        if (left <= enough) return true;
        if (!std::isfinite(left)) return false;
        // rounds needed if it goes on as it began
        if (round == kJudgedAfter && (left >= first || round * std::log(enough / first) / std::log(left / first) > most_rounds_)) return false;
    }
    return false;
}

}  // namespace ebb::network
