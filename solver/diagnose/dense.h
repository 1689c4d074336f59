#pragma once
// The small dense matrices of a diagnosis: as many rows as there are readings. Done by Eigen, in dense.cpp alone.

#include <cstddef>
#include <span>
#include <vector>

namespace ebb::diagnose {

/// Inverse of a symmetric positive definite matrix (row by row, n x n) by Cholesky's factor. False when it is not positive definite.
/// `log_determinant`: of the matrix.
bool invert_definite(std::size_t n, std::span<const double> matrix, std::vector<double>& inverse, double& log_determinant);

/// The step x that makes |A x - b|^2 + |D x|^2 least: A of `rows` times `columns` (row by row), D diagonal. By Householder's QR of both together.
std::vector<double> damped_step(std::size_t rows, std::size_t columns, std::span<const double> matrix, std::span<const double> right,
                                std::span<const double> diagonal);

/// (A^T A + D^2)^-1, columns times columns. Empty when it has none.
std::vector<double> inverse_of_normal(std::size_t rows, std::size_t columns, std::span<const double> matrix, std::span<const double> diagonal);

}  // namespace ebb::diagnose
