#pragma once
// A sparse factorisation with a pattern fixed once: A = L D U, without pivoting.
//
// Matrices of pipe networks in nodal form are column diagonally dominant M-matrices (every column: the water that leaves a
// node through a link arrives at the link's other end, so off-diagonals are <= 0 and the diagonal is at least their sum).
// For these, elimination without pivoting is stable in any order (Fan 1960; Higham, Accuracy and Stability of Numerical
// Algorithms, 2nd ed. 2002, section 9.5 on diagonally dominant matrices), so the order is chosen for sparsity alone, once,
// by approximate minimum degree (Amestoy, Davis, Duff 1996; SuiteSparse AMD).
//
// The pattern is structurally symmetric. When the values are too, L = U^T and half of the work is skipped. The numeric phase
// is the up-looking method of Davis (Direct Methods for Sparse Linear Systems, 2006, section 4.7), with the row patterns of L
// stored at set-up, and the same for the columns of U. Storage: the diagonal, and for every edge of the graph the
// two entries below and above the diagonal. No allocation after analyse().
//
// Where the factor is heavy (streets both ways: its cost grows with the power 1.5 of the size) the factor of an earlier step serves the later ones:
// conjugate gradients on the present matrix, preconditioned by the old factor. Each round costs a multiplication and a solve, a fiftieth of a
// factorisation there; how many rounds it takes is how much the slopes have changed. Where the factor is light (trees, farms, towns: a handful
// of entries per node) a round costs as much as factorising anew, and iterate() does nothing.

#include <cstdint>
#include <span>
#include <utility>
#include <vector>

namespace ebb::network {

class Factor {
public:
    /// Sets the pattern: `size` unknowns and an edge for every pair of unknowns that share a link (duplicates welcome, self-edges not).
    /// Returns for each edge its slot; `add_pair()` takes it. Cost: a sort of the edges, AMD, and the size of the factor.
    std::vector<std::int32_t> analyse(std::int32_t size, std::span<const std::pair<std::int32_t, std::int32_t>> edges);

    void clear();
    void add_diagonal(std::int32_t node, double value) { diagonal_[static_cast<std::size_t>(position_[static_cast<std::size_t>(node)])] += value; }
    /// Adds to A(first, second) and A(second, first) of the edge given as (first, second) to analyse().
    void add_pair(std::int32_t slot, double first_second, double second_first) {
        // slot < 0: the edge runs against the elimination order
        const auto s = static_cast<std::size_t>(slot >= 0 ? slot : ~slot);
        lower_[s] += slot >= 0 ? first_second : second_first;
        upper_[s] += slot >= 0 ? second_first : first_second;
    }

    /// Makes the diagonal of the first `count` unknowns larger by a share of itself.
    void stiffen(std::int32_t count, double share) {
        for (std::int32_t n = 0; n < count; ++n) diagonal_[static_cast<std::size_t>(position_[static_cast<std::size_t>(n)])] *= 1.0 + share;
    }

    /// Factorises what was added since clear(). False when a pivot is not positive and finite (not an M-matrix, or singular).
    bool factorise(bool symmetric);

    /// Solves A x = b in place; b indexed by unknown.
    void solve(std::span<double> b);

    /// Solves A x = b for the symmetric matrix added since clear(), without factorising it, until no equation is out of balance by more than `share`
    /// of the greatest at the beginning, or by `enough`. False, and b as it was, where factorising costs less: the factor is light, there is none, or
    /// its matrix was another one.
    bool iterate(std::span<double> b, double share, double enough);
    bool can_iterate() const { return kept_; }

    /// The factor is not to serve another solve: the next matrix has nothing to do with it.
    void forget() { kept_ = false; }

    std::int32_t size() const { return size_; }
    std::int64_t factorisations() const { return factorisations_; }  ///< made since analyse()
    std::int64_t rounds() const { return rounds_; }                  ///< of iterate(), since analyse()
    std::int64_t factor_entries() const { return static_cast<std::int64_t>(row_pattern_.size()); }

private:
    template <bool kSymmetric>
    bool factorise_as();
    void prepare_rounds();
    void substitute(double* x) const;
    void multiply(const double* x, double* y) const;
    bool rounds_of_gradients(double enough);

    std::int32_t size_ = 0;
    bool symmetric_ = true;
    std::vector<std::int32_t> position_;  // unknown -> place in the order of elimination
    // A, by rows of the lower triangle in elimination order
    std::vector<std::int64_t> edge_start_;
    std::vector<std::int32_t> edge_column_;
    std::vector<double> diagonal_, lower_, upper_;
    // L by columns (unit diagonal), U by rows (unit diagonal, same indices), D
    std::vector<std::int64_t> row_start_;  // row patterns of L, ascending
    std::vector<std::int32_t> row_pattern_;
    std::vector<std::int64_t> column_start_, column_fill_;
    std::vector<std::int32_t> column_row_;
    std::vector<double> l_, u_, d_;
    std::vector<double> work_y_, work_z_;
    // conjugate gradients, in the order of elimination: residual, preconditioned residual, direction, its product; empty where the factor is light
    std::vector<double> residual_, corrected_, direction_, product_, answer_;
    int most_rounds_ = 0;
    bool kept_ = false;
    std::int64_t factorisations_ = 0, rounds_ = 0;
};

}  // namespace ebb::network
