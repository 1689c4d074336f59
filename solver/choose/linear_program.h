#pragma once
// A linear program, solved by a well-kept simplex code behind this header (linear_program.cpp is the only file that knows it).
//
//     minimise  c x   with  row_low <= A x <= row_high,  low <= x <= high
//
// Warm: after bounds, costs or right-hand sides change, solve() starts from the last basis.

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

namespace ebb::choose {

enum class LinearOutcome : std::uint8_t { not_run, optimal, infeasible, unbounded, stopped };

class LinearProgram {
public:
    LinearProgram();
    ~LinearProgram();
    LinearProgram(LinearProgram&&) noexcept;
    LinearProgram& operator=(LinearProgram&&) noexcept;

    /// Adds an unknown; its index. Infinite bounds as HUGE_VAL.
    std::int32_t add_column(double cost, double low, double high);
    /// Adds a row over some unknowns; its index.
    std::int32_t add_row(std::span<const std::int32_t> columns, std::span<const double> coefficients, double low, double high);

    void set_column_bounds(std::int32_t column, double low, double high);
    void set_row_bounds(std::int32_t row, double low, double high);
    void set_cost(std::int32_t column, double cost);
    void set_coefficient(std::int32_t row, std::int32_t column, double value);  ///< of an entry that add_row() made

    /// `cutoff`: may end as `stopped` once the optimum is known to be greater.
    LinearOutcome solve(double cutoff = 1e300);

    double objective() const;
    std::span<const double> values() const;         ///< per column
    std::span<const double> row_prices() const;     ///< duals, per row
    std::span<const double> reduced_costs() const;  ///< per column

    /// A lower bound on the optimum that holds whatever the simplex code's rounding: the Lagrangian of the duals, over the boxes of the unknowns,
    /// summed in compensated arithmetic (A. Neumaier and O. Shcherbina, Safe bounds in linear and mixed-integer linear programming, Mathematical
    /// Programming 99, 2004). -infinity when an unknown with a wrong-signed reduced cost has no bound; +infinity when solve() found the
    /// program infeasible and its ray proves it.
    double safe_bound() const;

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::choose
