#include "solver/network/factor.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>

#include <amd.h>

namespace ebb::network {

namespace {

using Edge = std::pair<std::int32_t, std::int32_t>;

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
    return slots;
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
        d_[k] = pivot;
        fine = fine && pivot > 0.0 && std::isfinite(pivot);
    }
    return fine;
}

bool Factor::factorise(bool symmetric) {
    symmetric_ = symmetric;
    return symmetric ? factorise_as<true>() : factorise_as<false>();
}

void Factor::solve(std::span<double> b) {
    const auto n = static_cast<std::size_t>(size_);
    double* const x = work_y_.data();
    const double* const u = symmetric_ ? l_.data() : u_.data();
    for (std::size_t i = 0; i < n; ++i) x[static_cast<std::size_t>(position_[i])] = b[i];
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
    for (std::size_t i = 0; i < n; ++i) b[i] = x[static_cast<std::size_t>(position_[i])];
    std::fill(work_y_.begin(), work_y_.end(), 0.0);
}

}  // namespace ebb::network
