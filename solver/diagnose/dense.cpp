#include "solver/diagnose/dense.h"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <Eigen/QR>
#include <cmath>

namespace ebb::diagnose {

using Matrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

bool invert_definite(std::size_t n, std::span<const double> matrix, std::vector<double>& inverse, double& log_determinant) {
    const auto size = static_cast<Eigen::Index>(n);
    const Eigen::LLT<Matrix> factor(Eigen::Map<const Matrix>(matrix.data(), size, size));
    if (factor.info() != Eigen::Success) return false;
    inverse.resize(n * n);
    Eigen::Map<Matrix>(inverse.data(), size, size) = factor.solve(Matrix::Identity(size, size));
    log_determinant = 0.0;
    for (Eigen::Index i = 0; i < size; ++i) log_determinant += 2.0 * std::log(factor.matrixLLT()(i, i));
    return true;
}

namespace {

/// A with D below it.
Matrix stacked(std::size_t rows, std::size_t columns, std::span<const double> matrix, std::span<const double> diagonal) {
    const auto m = static_cast<Eigen::Index>(rows), n = static_cast<Eigen::Index>(columns);
    Matrix whole = Matrix::Zero(m + n, n);
    whole.topRows(m) = Eigen::Map<const Matrix>(matrix.data(), m, n);
    for (Eigen::Index j = 0; j < n; ++j) whole(m + j, j) = diagonal[static_cast<std::size_t>(j)];
    return whole;
}

}  // namespace

std::vector<double> damped_step(std::size_t rows, std::size_t columns, std::span<const double> matrix, std::span<const double> right,
                                std::span<const double> diagonal) {
    const Matrix whole = stacked(rows, columns, matrix, diagonal);
    Eigen::VectorXd wanted = Eigen::VectorXd::Zero(whole.rows());
    for (std::size_t i = 0; i < rows; ++i) wanted(static_cast<Eigen::Index>(i)) = right[i];
    const Eigen::VectorXd step = whole.colPivHouseholderQr().solve(wanted);
    return {step.data(), step.data() + step.size()};
}

std::vector<double> inverse_of_normal(std::size_t rows, std::size_t columns, std::span<const double> matrix, std::span<const double> diagonal) {
    const Matrix whole = stacked(rows, columns, matrix, diagonal);
    const Matrix normal = whole.transpose() * whole;
    std::vector<double> inverse;
    double ignored = 0.0;
    if (!invert_definite(columns, {normal.data(), columns * columns}, inverse, ignored)) return {};
    return inverse;
}

}  // namespace ebb::diagnose
