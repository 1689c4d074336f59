// Linear programs by Clp, of the COIN-OR libraries, through its C interface.
//
// The program is kept here too, row by row: what changes is handed over at the next solve, new columns and rows are added behind the old ones,
// and Clp starts from the basis it ended with. The dual simplex method does that best after bounds change; where it does not end in an answer
// (it may go in circles) it starts afresh from a basis of slacks, and then the primal method has a try.
//
// The safe bound. For any prices y of the rows, with d = c - A'y,
//
//     c x = d x + y (A x)  >=  sum_j min(d_j low_j, d_j high_j)  +  sum_i min(y_i row_low_i, y_i row_high_i)
//
// for every x that keeps to bounds and rows: nothing is asked of y but that it is a number, so the simplex code's tolerances and rounding cannot
// harm it. A price whose row has no limit on that side is taken as 0. d is summed in twice the digits (error-free sums and products: T. J. Dekker,
// Numerische Mathematik 18, 1971; T. Ogita, S. M. Rump and S. Oishi, Accurate sum and dot product, SIAM J. Scientific Computing 26, 2005), and what
// rounding is left is taken off. An infeasible program has a ray y with c = 0 for which the same sum is above 0: then no x exists, whatever the
// tolerances, and the bound is +infinity.

#include "solver/choose/linear_program.h"

#include <Clp_C_Interface.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace ebb::choose {

namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kClpInfinity = std::numeric_limits<double>::max();
constexpr double kHugeBound = 1e27;  // what Clp takes as no bound
constexpr int kLeastSteps = 200, kWarmStepsPerRow = 1, kStepsPerRow = 20;
constexpr double kTolerance = 1e-9;  // of feasibility and of reduced costs, in the units of the rows and costs

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

double for_clp(double bound) { return bound > kHugeBound ? kClpInfinity : bound < -kHugeBound ? -kClpInfinity : bound; }

// A sum in twice the digits, with a bound on what rounding is left: none where the numbers are such that nothing was rounded.
struct TwiceSum {
    double high = 0.0, low = 0.0;
    double rounded = 0.0;  // sum of the low parts that were rounded
    void add(double value) {
        const double sum = high + value, back = sum - high;
        add_low((high - (sum - back)) + (value - back));
        high = sum;
    }
    void add_product(double one, double two) {
        constexpr double underflow = 1e-250;  // below it the error of a product may be too small to be a number
        const double product = one * two;
        add(product);
        add_low(std::fma(one, two, -product));
        if (std::abs(product) < underflow && one != 0.0 && two != 0.0) rounded += underflow;
    }
    double value() const { return high + low; }
    double error() const { return std::numeric_limits<double>::epsilon() * (rounded + (low != 0.0 ? std::abs(value()) : 0.0)); }

private:
    void add_low(double part) {
        if (part == 0.0) return;
        low += part;
        rounded += std::abs(low);
    }
};

}  // namespace

struct LinearProgram::Impl {
    Clp_Simplex* clp = Clp_newModel();
    // the program
    std::vector<double> cost, low, high;                        // per column
    std::vector<double> row_low, row_high;                      // per row
    std::vector<std::int32_t> start = {0}, columns;             // rows one after the other
    std::vector<double> coefficients;                           //
    std::vector<std::pair<std::int32_t, std::size_t>> changed;  // row and place of coefficients Clp has not seen
    std::size_t columns_there = 0, rows_there = 0;              // in Clp
    LinearOutcome outcome = LinearOutcome::not_run;
    std::vector<double> values, prices, reduced, ray;

    Impl() {
        Clp_setLogLevel(clp, 0);
        Clp_scaling(clp, 0);  // callers scale; and a scale that no longer fits after coefficients changed sends the dual method round in circles
        Clp_setPrimalTolerance(clp, kTolerance);
        Clp_setDualTolerance(clp, kTolerance);
    }
    ~Impl() { Clp_deleteModel(clp); }
    Impl(const Impl&) = delete;
    Impl& operator=(const Impl&) = delete;

    void hand_over();
    void hand_over_columns();
    void hand_over_rows();
    void forget_basis();
    bool try_all_ways();
    bool ray_proves() const;
    void fetch();
    double lagrangian(std::span<const double> row_price, bool with_cost) const;
};

void LinearProgram::Impl::hand_over_columns() {
    const std::size_t count = cost.size() - columns_there;
    if (count == 0) return;
    std::vector<double> l(count), h(count);
    for (std::size_t j = 0; j < count; ++j) {
        l[j] = for_clp(low[columns_there + j]);
        h[j] = for_clp(high[columns_there + j]);
    }
    const std::vector<CoinBigIndex> no_starts(count + 1, 0);
    const int none = 0;
    const double nothing = 0.0;
    Clp_addColumns(clp, static_cast<int>(count), l.data(), h.data(), cost.data() + columns_there, no_starts.data(), &none, &nothing);
    columns_there = cost.size();
}

void LinearProgram::Impl::hand_over_rows() {
    const std::size_t count = row_low.size() - rows_there;
    if (count == 0) return;
    std::vector<double> l(count), h(count);
    std::vector<CoinBigIndex> starts(count + 1);
    const std::int32_t first = start[rows_there];
    for (std::size_t i = 0; i < count; ++i) {
        l[i] = for_clp(row_low[rows_there + i]);
        h[i] = for_clp(row_high[rows_there + i]);
    }
    for (std::size_t i = 0; i <= count; ++i) starts[i] = start[rows_there + i] - first;
    Clp_addRows(clp, static_cast<int>(count), l.data(), h.data(), starts.data(), columns.data() + first, coefficients.data() + first);
    rows_there = row_low.size();
}

void LinearProgram::Impl::hand_over() {
    for (const auto& [row, place] : changed)
        if (at(row) < rows_there) Clp_modifyCoefficient(clp, row, columns[place], coefficients[place], true);
    changed.clear();
    hand_over_columns();
    hand_over_rows();
    std::vector<double> l(std::max(low.size(), row_low.size())), h(l.size());
    std::transform(low.begin(), low.end(), l.begin(), for_clp);
    std::transform(high.begin(), high.end(), h.begin(), for_clp);
    Clp_chgColumnLower(clp, l.data());
    Clp_chgColumnUpper(clp, h.data());
    std::transform(row_low.begin(), row_low.end(), l.begin(), for_clp);
    std::transform(row_high.begin(), row_high.end(), h.begin(), for_clp);
    Clp_chgRowLower(clp, l.data());
    Clp_chgRowUpper(clp, h.data());
    Clp_chgObjCoefficients(clp, cost.data());
}

void LinearProgram::Impl::forget_basis() {
    constexpr int basic = 1, at_lower = 3;
    for (std::size_t i = 0; i < rows_there; ++i) Clp_setRowStatus(clp, static_cast<int>(i), basic);
    for (std::size_t j = 0; j < columns_there; ++j) Clp_setColumnStatus(clp, static_cast<int>(j), at_lower);
}

bool LinearProgram::Impl::try_all_ways() {
    const auto ended = [&] { return Clp_status(clp) >= 0 && Clp_status(clp) <= 2; };
    // a method that goes in circles is stopped: a solve takes about as many steps as there are rows
    const int rows = static_cast<int>(rows_there + columns_there);
    Clp_setMaximumIterations(clp, kLeastSteps + kWarmStepsPerRow * rows);
    Clp_dual(clp, 0);
    if (ended()) return true;
    Clp_setMaximumIterations(clp, kLeastSteps + kStepsPerRow * rows);
    forget_basis();
    Clp_dual(clp, 0);
    if (ended()) return true;
    Clp_primal(clp, 0);
    return ended();
}

void LinearProgram::Impl::fetch() {
    values.assign(Clp_primalColumnSolution(clp), Clp_primalColumnSolution(clp) + columns_there);
    reduced.assign(Clp_dualColumnSolution(clp), Clp_dualColumnSolution(clp) + columns_there);
    prices.assign(Clp_dualRowSolution(clp), Clp_dualRowSolution(clp) + rows_there);
    ray.clear();
    if (outcome != LinearOutcome::infeasible) return;
    if (double* found = Clp_infeasibilityRay(clp)) {
        ray.assign(found, found + rows_there);
        Clp_freeRay(clp, found);
    }
}

double LinearProgram::Impl::lagrangian(std::span<const double> row_price, bool with_cost) const {
    if (row_price.size() != row_low.size()) return -kInfinity;
    std::vector<TwiceSum> d(cost.size());
    if (with_cost)
        for (std::size_t j = 0; j < cost.size(); ++j) d[j].add(cost[j]);
    TwiceSum sum;
    double lost = 0.0;
    for (std::size_t i = 0; i < row_price.size(); ++i) {
        const double y = row_price[i], limit = y > 0.0 ? row_low[i] : row_high[i];
        if (!std::isfinite(y)) return -kInfinity;
        if (y == 0.0 || std::abs(limit) > kHugeBound) continue;
        sum.add_product(y, limit);
        for (std::int32_t k = start[i]; k < start[i + 1]; ++k) d[at(columns[at(k)])].add_product(-y, coefficients[at(k)]);
    }
    for (std::size_t j = 0; j < d.size(); ++j) {
        const double value = d[j].value(), error = d[j].error(), limit = value > 0.0 ? low[j] : high[j];
        if (value == 0.0 && error == 0.0) continue;
        if (std::abs(value) > error) {  // its sign is sure, and with it which bound counts
            if (std::abs(limit) > kHugeBound) return -kInfinity;
            sum.add_product(value, limit);
            lost += error * std::abs(limit);
        } else {
            const double farthest = std::max(std::abs(low[j]), std::abs(high[j]));
            if (farthest > kHugeBound) return -kInfinity;
            lost += 2.0 * error * farthest;
        }
    }
    const double bound = sum.value() - sum.error() - lost * (1.0 + 1e-6);
    return lost > 0.0 || sum.error() > 0.0 ? bound - std::numeric_limits<double>::epsilon() * std::abs(bound) : bound;
}

bool LinearProgram::Impl::ray_proves() const {
    if (ray.empty()) return false;
    std::vector<double> other = ray;  // the sign of a ray is a matter of taste: both are tried
    for (double& y : other) y = -y;
    return lagrangian(ray, false) > 0.0 || lagrangian(other, false) > 0.0;
}

LinearProgram::LinearProgram() : impl_(std::make_unique<Impl>()) {}
LinearProgram::~LinearProgram() = default;
LinearProgram::LinearProgram(LinearProgram&&) noexcept = default;
LinearProgram& LinearProgram::operator=(LinearProgram&&) noexcept = default;

std::int32_t LinearProgram::add_column(double cost, double low, double high) {
    impl_->cost.push_back(cost);
    impl_->low.push_back(low);
    impl_->high.push_back(high);
    impl_->outcome = LinearOutcome::not_run;
    return static_cast<std::int32_t>(impl_->cost.size()) - 1;
}

std::int32_t LinearProgram::add_row(std::span<const std::int32_t> columns, std::span<const double> coefficients, double low, double high) {
    assert(columns.size() == coefficients.size());
    impl_->columns.insert(impl_->columns.end(), columns.begin(), columns.end());
    impl_->coefficients.insert(impl_->coefficients.end(), coefficients.begin(), coefficients.end());
    impl_->start.push_back(static_cast<std::int32_t>(impl_->columns.size()));
    impl_->row_low.push_back(low);
    impl_->row_high.push_back(high);
    impl_->outcome = LinearOutcome::not_run;
    return static_cast<std::int32_t>(impl_->row_low.size()) - 1;
}

void LinearProgram::set_column_bounds(std::int32_t column, double low, double high) {
    impl_->low[at(column)] = low;
    impl_->high[at(column)] = high;
    impl_->outcome = LinearOutcome::not_run;
}

void LinearProgram::set_row_bounds(std::int32_t row, double low, double high) {
    impl_->row_low[at(row)] = low;
    impl_->row_high[at(row)] = high;
    impl_->outcome = LinearOutcome::not_run;
}

void LinearProgram::set_cost(std::int32_t column, double cost) {
    impl_->cost[at(column)] = cost;
    impl_->outcome = LinearOutcome::not_run;
}

void LinearProgram::set_coefficient(std::int32_t row, std::int32_t column, double value) {
    for (std::int32_t k = impl_->start[at(row)]; k < impl_->start[at(row) + 1]; ++k)
        if (impl_->columns[at(k)] == column) {
            if (impl_->coefficients[at(k)] == value) return;
            impl_->coefficients[at(k)] = value;
            impl_->changed.emplace_back(row, at(k));
            impl_->outcome = LinearOutcome::not_run;
            return;
        }
    assert(false && "only entries that add_row() made can be changed");
}

LinearOutcome LinearProgram::solve(double cutoff) {
    Impl& m = *impl_;
    m.hand_over();
    Clp_setDualObjectiveLimit(m.clp, cutoff < 1e299 ? cutoff : kClpInfinity);
    const bool ended = m.try_all_ways();
    const int status = Clp_status(m.clp);
    const bool at_limit = cutoff < 1e299 && status == 1 && (Clp_secondaryStatus(m.clp) == 1 || Clp_isDualObjectiveLimitReached(m.clp) != 0);
    m.outcome = !ended || at_limit ? LinearOutcome::stopped
                : status == 0      ? LinearOutcome::optimal
                : status == 1      ? LinearOutcome::infeasible
                                   : LinearOutcome::unbounded;
    m.fetch();
    // Found infeasible without a ray that proves it (a ray is only there when the dual method ended so, and not always then): once more, afresh.
    if (m.outcome == LinearOutcome::infeasible && !m.ray_proves()) {
        m.forget_basis();
        Clp_dual(m.clp, 0);
        if (Clp_status(m.clp) == 1) m.fetch();
    }
    // A stop the duals do not bear out, in exact terms, is no stop.
    if (at_limit && safe_bound() < cutoff) return solve();
    return m.outcome;
}

double LinearProgram::objective() const { return Clp_objectiveValue(impl_->clp); }
std::span<const double> LinearProgram::values() const { return impl_->values; }
std::span<const double> LinearProgram::row_prices() const { return impl_->prices; }
std::span<const double> LinearProgram::reduced_costs() const { return impl_->reduced; }

double LinearProgram::safe_bound() const {
    const Impl& m = *impl_;
    if (m.outcome == LinearOutcome::not_run) return -kInfinity;
    if (m.ray_proves()) return kInfinity;
    return m.lagrangian(m.prices, true);
}

}  // namespace ebb::choose
