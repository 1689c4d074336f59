// Around a setting everything is taken as linear in the changes w of the unknowns, scaled so that a change of 1 drops the head scale more at the
// flow there is. First
//
//     minimise e   with  1 - e <= share_i + J_i w <= 1 + e  for every outlet i,   drop_v + T_v w >= 0  for every valve v,   |w| <= trust
//
// If e stays above nothing, the outlets whose rows have a price cannot deviate less together: they are let go at e, and the same is asked of the
// rest (lexicographic minimax; W. Ogryczak, European Journal of Operational Research 97, 1997, 134-148, uses the same order for locations), until all
// the rest can have their targets; after kMostLevels rounds the sum of what the rest deviates is made least instead, and that is the end of it.
// Last, with every deviation held, the sum of the drops is made least.
//
// A valve's drop is that in the arrangement where it carries most.

#include "solver/choose/balance_step.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "solver/choose/linear_program.h"

namespace ebb::choose {

namespace {

constexpr double kNothing = 1e-7;      ///< a deviation below this is none
constexpr double kSlack = 2e-9;        ///< what the linear program's own tolerance is given
constexpr double kPriced = 1e-7;       ///< a price above this is one
constexpr double kWorth = 0.02;        ///< of the highest price of a flow: water given up for less than this is given up in vain
constexpr double kWorthShared = 1e-4;  ///< the same where arrangements share the setting, and an outlet helps one in another of them
constexpr int kMostLevels = 3;         ///< after so many rounds the rest is asked for the least sum
constexpr double kSpeedTrust = 0.3;    ///< change of speed that counts as much as the head scale
constexpr double kFlowTrust = 3.0;     ///< promised flows beyond this factor are not believed

bool rest_there(const StepPlan& plan);

/// The same program in rows: one lower and one upper row per outlet, one row per valve.
class Program {
public:
    explicit Program(const StepFrom& from);
    void solve(double trust, StepPlan& plan);

private:
    void add_columns(double trust);
    void add_outlet_rows();
    void add_drop_rows();
    double least_deviation(StepPlan& plan);
    double without_vain(StepPlan& plan, int round, double left);
    bool least_sum(const StepPlan& plan, double left);
    void set_part(std::size_t outlet, double of_deviation, double of_aside);
    void hold(std::size_t outlet, double deviation);

    const StepFrom& from_;
    LinearProgram program_;
    std::vector<double> scale_;           ///< per unknown: its change per unit of its column
    std::vector<std::size_t> reference_;  ///< per valve: the case in which it carries most
    std::vector<double> cost_;
    std::vector<std::int32_t> rows_, columns_;
    std::vector<std::int32_t> own_;  ///< per outlet: column of a deviation of its own, in use only where their sum is made least
    std::int32_t sum_row_ = -1;
    std::vector<double> share_, wanted_;        ///< per outlet
    std::int32_t deviation_ = -1, aside_ = -1;  ///< e, and that of outlets for which giving up is in vain
};

std::size_t reference_case(const SeenSetting& seen, std::size_t valve) {
    std::size_t best = 0;
    for (std::size_t c = 1; c < seen.cases.size(); ++c)
        if (std::abs(seen.cases[c].flow_m3_s[valve]) > std::abs(seen.cases[best].flow_m3_s[valve])) best = c;
    return best;
}

/// Change of the drop of `valve` in case `c` per change of unknown `u`.
double drop_slope(const StepFrom& from, std::size_t valve, std::size_t c, std::size_t u) {
    const double flow = from.seen.cases[c].flow_m3_s[valve], slope = from.slopes.by[u].cases[c].flow_m3_s[valve];
    const double own = u == valve ? flow * flow : 0.0;
    return from.frame.head_coefficient(valve) * (own + 2.0 * from.setting.extra[valve] * flow * slope);
}

Program::Program(const StepFrom& from) : from_(from) {
    const BalanceFrame& frame = from.frame;
    for (std::size_t v = 0; v < frame.valves.size(); ++v) {
        reference_.push_back(reference_case(from.seen, v));
        const double flow = from.seen.cases[reference_.back()].flow_m3_s[v];
        scale_.push_back(std::abs(flow) > BalanceTrial::kDead_m3_s ? from.head_scale_m / (frame.head_coefficient(v) * flow * flow) : 0.0);
    }
    scale_.resize(frame.unknowns(), kSpeedTrust);
    for (std::size_t u = 0; u < frame.unknowns(); ++u) {
        double cost = 0.0;
        for (std::size_t c = 0; c < frame.cases.size(); ++c)
            for (std::size_t v = 0; v < frame.valves.size(); ++v) cost += drop_slope(from, v, c, u);
        cost_.push_back(cost * scale_[u] / from.head_scale_m);
    }
}

void Program::add_columns(double trust) {
    const BalanceFrame& frame = from_.frame;
    for (std::size_t u = 0; u < frame.unknowns(); ++u) {
        double low = -trust, high = trust;
        if (scale_[u] == 0.0) low = high = 0.0;
        if (u >= frame.valves.size()) {
            const std::size_t p = u - frame.valves.size();
            low = std::max(low, (frame.least_speed[p] - from_.setting.speed[p]) / scale_[u]);
            high = std::min(high, (frame.greatest_speed[p] - from_.setting.speed[p]) / scale_[u]);
        }
        columns_.push_back(program_.add_column(0.0, std::min(low, 0.0), std::max(high, 0.0)));
    }
    deviation_ = program_.add_column(1.0, 0.0, HUGE_VAL);
    aside_ = program_.add_column(1.0, 0.0, HUGE_VAL);
    columns_.push_back(aside_);
    columns_.push_back(deviation_);
}

void Program::add_outlet_rows() {
    std::vector<double> row(from_.frame.unknowns());
    for (std::size_t c = 0; c < from_.frame.cases.size(); ++c)
        for (std::size_t i = 0; i < from_.frame.cases[c].outlets.size(); ++i) {
            for (std::size_t u = 0; u < from_.frame.unknowns(); ++u) row[u] = from_.slopes.by[u].cases[c].share[i] * scale_[u];
            const double share = from_.seen.cases[c].share[i];
            own_.push_back(program_.add_column(0.0, 0.0, 0.0));
            columns_.push_back(own_.back());
            row.insert(row.end(), {0.0, 1.0, 0.0});  // aside, e, its own
            rows_.push_back(program_.add_row(columns_, row, 1.0 - share, HUGE_VAL));
            row[row.size() - 2] = -1.0;
            program_.add_row(columns_, row, -HUGE_VAL, 1.0 - share);
            row.resize(from_.frame.unknowns());
            columns_.pop_back();
            share_.push_back(share);
            wanted_.push_back(from_.seen.cases[c].wanted_m3_s[i]);
        }
    sum_row_ = program_.add_row(own_, std::vector<double>(own_.size(), 1.0), -HUGE_VAL, HUGE_VAL);
}

void Program::add_drop_rows() {
    const std::size_t unknowns = from_.frame.unknowns();
    const std::vector<std::int32_t> columns(columns_.begin(), columns_.end() - 2);
    std::vector<double> row(unknowns);
    for (std::size_t v = 0; v < from_.frame.valves.size(); ++v) {
        if (scale_[v] == 0.0) continue;
        for (std::size_t u = 0; u < unknowns; ++u) row[u] = drop_slope(from_, v, reference_[v], u) * scale_[u] / from_.head_scale_m;
        const double drop = throttle_drop_m(from_.frame, from_.setting, from_.seen.cases[reference_[v]], v) / from_.head_scale_m;
        program_.add_row(columns, row, -drop, HUGE_VAL);
    }
}

/// What part of e, and of what is put aside, an outlet may deviate by.
void Program::set_part(std::size_t outlet, double of_deviation, double of_aside) {
    for (const auto& [row, sign] : {std::pair(rows_[outlet], 1.0), std::pair(rows_[outlet] + 1, -1.0)}) {
        program_.set_coefficient(row, deviation_, sign * of_deviation);
        program_.set_coefficient(row, aside_, sign * of_aside);
    }
}

void Program::hold(std::size_t outlet, double deviation) {
    const std::int32_t lower = rows_[outlet];
    const double slack = deviation + kSlack;
    set_part(outlet, 0.0, 0.0);
    program_.set_row_bounds(lower, 1.0 - share_[outlet] - slack, HUGE_VAL);
    program_.set_row_bounds(lower + 1, -HUGE_VAL, 1.0 - share_[outlet] + slack);
}

bool rest_there(const StepPlan& plan) {
    return std::any_of(plan.level.begin(), plan.level.end(), [](int level) { return level < 0; });
}

/// Outlets that would give up much for next to nothing are put aside: their deviation is made least beside e instead of with it, at the same cost,
/// which no price of theirs can pay. The least e then.
double Program::without_vain(StepPlan& plan, int round, double left) {
    const std::vector<double> prices(program_.row_prices().begin(), program_.row_prices().end());
    const auto price = [&](std::size_t i) {
        const auto lower = static_cast<std::size_t>(rows_[i]);
        return std::abs(prices[lower]) + std::abs(prices[lower + 1]);
    };
    const double worth = from_.frame.cases.size() > 1 ? kWorthShared : kWorth;
    double highest = 0.0;
    for (std::size_t i = 0; i < rows_.size(); ++i)
        if (plan.level[i] < 0) highest = std::max(highest, price(i) / wanted_[i]);
    std::vector<std::size_t> vain;
    for (std::size_t i = 0; i < rows_.size(); ++i) {
        if (plan.level[i] >= 0 || price(i) <= kPriced) continue;
        if (price(i) / wanted_[i] < worth * highest)
            vain.push_back(i);
        else
            plan.level[i] = round;
    }
    if (!vain.empty()) {
        for (const std::size_t i : vain) set_part(i, 0.0, 1.0);
        if (program_.solve() == LinearOutcome::optimal) left = program_.values()[static_cast<std::size_t>(deviation_)];
        for (const std::size_t i : vain) set_part(i, 1.0, 0.0);
    }
    return left;
}

/// The least sum of what the rest deviates, none by more than `left`; held from then on. False when the program has no answer.
bool Program::least_sum(const StepPlan& plan, double left) {
    program_.set_cost(deviation_, 0.0);
    program_.set_cost(aside_, 0.0);
    for (std::size_t i = 0; i < rows_.size(); ++i) {
        if (plan.level[i] >= 0) continue;
        set_part(i, 0.0, 0.0);
        program_.set_coefficient(rows_[i], own_[i], 1.0);
        program_.set_coefficient(rows_[i] + 1, own_[i], -1.0);
        program_.set_column_bounds(own_[i], 0.0, left + kSlack);
        program_.set_cost(own_[i], 1.0);
    }
    if (program_.solve() != LinearOutcome::optimal) return false;
    double sum = 0.0;
    for (const std::int32_t column : own_) sum += program_.values()[static_cast<std::size_t>(column)];
    program_.set_row_bounds(sum_row_, -HUGE_VAL, sum + kSlack);
    for (const std::int32_t column : own_) program_.set_cost(column, 0.0);
    return true;
}

/// Rounds of least deviation; the last one's, or a negative number when a program had no answer.
double Program::least_deviation(StepPlan& plan) {
    plan.level.assign(rows_.size(), -1);
    for (int round = 0;; ++round) {
        if (program_.solve() != LinearOutcome::optimal) return -1.0;
        double left = program_.values()[static_cast<std::size_t>(deviation_)];
        if (round == 0) plan.deviation = left;
        bool any = false, rest = false;
        if (left > kNothing && round < kMostLevels) {
            left = without_vain(plan, round, left);
            for (std::size_t i = 0; i < rows_.size(); ++i) {
                if (plan.level[i] == round) hold(i, left);
                any = any || plan.level[i] == round;
                rest = rest || plan.level[i] < 0;
            }
        }
        plan.levels = round + (any ? 1 : 0);
        if (any && rest) continue;
        if (left > kNothing && rest_there(plan) && !least_sum(plan, left)) return -1.0;
        for (int& level : plan.level) level = level < 0 ? plan.levels : level;
        return left;
    }
}

void Program::solve(double trust, StepPlan& plan) {
    add_columns(trust);
    add_outlet_rows();
    add_drop_rows();
    const double last = least_deviation(plan);
    if (last < 0.0) return;
    program_.set_column_bounds(deviation_, 0.0, last + kSlack);
    program_.set_cost(deviation_, 0.0);
    for (std::size_t u = 0; u < scale_.size(); ++u) program_.set_cost(columns_[u], cost_[u]);
    if (program_.solve() != LinearOutcome::optimal) return;
    plan.found = true;
    plan.throttled_m = from_.seen.throttled_m;
    for (std::size_t u = 0; u < scale_.size(); ++u) {
        const double value = program_.values()[static_cast<std::size_t>(columns_[u])];
        plan.move.push_back(value * scale_[u]);
        plan.throttled_m += value * cost_[u] * from_.head_scale_m;
    }
    for (std::size_t i = 0; i < rows_.size(); ++i) {
        const auto lower = static_cast<std::size_t>(rows_[i]);
        plan.price += std::abs(program_.row_prices()[lower]) + std::abs(program_.row_prices()[lower + 1]);
    }
}

/// Solves the symmetric system by Gauss elimination with the largest pivot; false when it has none.
bool solve_dense(std::vector<std::vector<double>> matrix, std::vector<double>& rhs) {
    constexpr double kSingular = 1e-13;
    const std::size_t n = rhs.size();
    for (std::size_t k = 0; k < n; ++k) {
        std::size_t pivot = k;
        for (std::size_t i = k + 1; i < n; ++i)
            if (std::abs(matrix[i][k]) > std::abs(matrix[pivot][k])) pivot = i;
        if (!(std::abs(matrix[pivot][k]) > kSingular)) return false;
        std::swap(matrix[pivot], matrix[k]);
        std::swap(rhs[pivot], rhs[k]);
        for (std::size_t i = k + 1; i < n; ++i) {
            const double factor = matrix[i][k] / matrix[k][k];
            if (factor == 0.0) continue;
            for (std::size_t j = k; j < n; ++j) matrix[i][j] -= factor * matrix[k][j];
            rhs[i] -= factor * rhs[k];
        }
    }
    for (std::size_t k = n; k-- > 0;) {
        for (std::size_t j = k + 1; j < n; ++j) rhs[k] -= matrix[k][j] * rhs[j];
        rhs[k] /= matrix[k][k];
    }
    return true;
}

}  // namespace

std::vector<double> deviations(const SeenSetting& seen) {
    std::vector<double> all;
    for (const SeenCase& one : seen.cases)
        for (const double share : one.share) all.push_back(std::abs(share - 1.0));
    return all;
}

StepPlan plan_step(const StepFrom& from, double trust) {
    StepPlan plan;
    Program(from).solve(trust, plan);
    return plan;
}

ValveSetting moved_by(const StepFrom& from, const std::vector<double>& move) {
    constexpr double kOpen_m = 1e-7;    // a drop below this is none: the linear programs leave as much by their own rounding
    constexpr double kMostExtra = 1e9;  // beyond it a valve is as good as shut
    const BalanceFrame& frame = from.frame;
    ValveSetting next = from.setting;
    for (std::size_t v = 0; v < frame.valves.size(); ++v) {
        const std::size_t c = reference_case(from.seen, v);
        const double flow = from.seen.cases[c].flow_m3_s[v];
        if (!(std::abs(flow) > BalanceTrial::kDead_m3_s)) {
            next.extra[v] = 0.0;  // nothing flows through it: it holds nothing back
            continue;
        }
        double promised = flow, drop = throttle_drop_m(frame, from.setting, from.seen.cases[c], v);
        for (std::size_t u = 0; u < frame.unknowns(); ++u) {
            promised += from.slopes.by[u].cases[c].flow_m3_s[v] * move[u];
            drop += drop_slope(from, v, c, u) * move[u];
        }
        const double factor = promised / flow;
        if (drop <= kOpen_m)
            next.extra[v] = 0.0;
        else if (factor > 1.0 / kFlowTrust && factor < kFlowTrust)
            next.extra[v] = drop / (frame.head_coefficient(v) * promised * promised);
        else
            next.extra[v] = std::max(0.0, from.setting.extra[v] + move[v]);
        next.extra[v] = std::min(next.extra[v], kMostExtra);
    }
    for (std::size_t p = 0; p < frame.pumps.size(); ++p)
        next.speed[p] = std::clamp(next.speed[p] + move[frame.valves.size() + p], frame.least_speed[p], frame.greatest_speed[p]);
    return next;
}

bool newton_step(const StepFrom& from, std::vector<double>& move) {
    const BalanceFrame& frame = from.frame;
    std::vector<double> scale(frame.unknowns(), 0.0);  // 0: does not move
    for (std::size_t v = 0; v < frame.valves.size(); ++v) {
        const double flow = from.seen.cases[reference_case(from.seen, v)].flow_m3_s[v];
        if (from.setting.extra[v] > 0.0 && std::abs(flow) > BalanceTrial::kDead_m3_s)
            scale[v] = from.head_scale_m / (frame.head_coefficient(v) * flow * flow);
    }
    for (std::size_t p = 0; p < frame.pumps.size(); ++p) {
        const double speed = from.setting.speed[p];
        if (speed > frame.least_speed[p] && speed < frame.greatest_speed[p]) scale[frame.valves.size() + p] = kSpeedTrust;
    }
    std::vector<std::vector<double>> rows;
    std::vector<double> rhs;
    for (std::size_t c = 0; c < frame.cases.size(); ++c)
        for (std::size_t i = 0; i < frame.cases[c].outlets.size(); ++i) {
            rows.emplace_back();
            for (std::size_t u = 0; u < frame.unknowns(); ++u) rows.back().push_back(from.slopes.by[u].cases[c].share[i] * scale[u]);
            rhs.push_back(1.0 - from.seen.cases[c].share[i]);
        }
    std::vector<std::vector<double>> normal(rows.size(), std::vector<double>(rows.size(), 0.0));
    for (std::size_t i = 0; i < rows.size(); ++i)
        for (std::size_t j = 0; j < rows.size(); ++j)
            for (std::size_t u = 0; u < scale.size(); ++u) normal[i][j] += rows[i][u] * rows[j][u];
    if (!solve_dense(std::move(normal), rhs)) return false;
    move.assign(frame.unknowns(), 0.0);
    for (std::size_t u = 0; u < scale.size(); ++u)
        for (std::size_t i = 0; i < rows.size(); ++i) move[u] += rows[i][u] * rhs[i] * scale[u];
    return true;
}

}  // namespace ebb::choose
