// Around a setting everything is taken as linear in the changes w of the unknowns, scaled so that a change of 1 drops the head scale more at the
// flow there is. Targets are "at least": what an outlet lacks counts before what another has too much. First
//
//     minimise e   with  share_i + J_i w >= 1 - e  for every outlet i,   drop_v + T_v w >= 0  for every valve v,   |w| <= trust
//
// If e stays above nothing, the outlets whose rows have a price cannot lack less together: they are let go at e, and the same is asked of the
// rest (lexicographic minimax; W. Ogryczak, European Journal of Operational Research 97, 1997, 134-148, uses the same order for locations), until all
// the rest can have their targets; after so many rounds the sum of what the rest lacks is made least instead. With that held the same is asked of
// what outlets have too much (share_i + J_i w <= 1 + e): the worst, then the sum of the rest. Last, with all of it held, the sum of the drops is made
// least.
//
// A valve's drop is that in the arrangement where it carries most.

#include "solver/choose/balance_step.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "solver/choose/linear_program.h"

namespace ebb::choose {

namespace {

constexpr double kNothing = 1e-7;                 ///< a deviation below this is none
constexpr double kSlack = 2e-9;                   ///< what the linear program's own tolerance is given
constexpr double kPriced = 1e-7;                  ///< a price above this is one
constexpr double kWorth = 0.02;                   ///< of the highest price of a flow: water given up for less than this is given up in vain
constexpr double kWorthShared = 1e-4;             ///< the same where arrangements share the setting, and an outlet helps one in another of them
constexpr int kShortRounds = 3, kOverRounds = 1;  ///< after so many rounds the rest is asked for the least sum
constexpr double kSpeedTrust = 0.3;               ///< change of speed that counts as much as the head scale
constexpr double kFlowTrust = 3.0;                ///< promised flows beyond this factor are not believed

/// One side of the targets: what outlets lack, or what they have too much.
struct Side {
    double sign = 1.0;  ///< of e in its rows: 1 below the target, -1 above
    int most_rounds = 1;
    std::vector<std::int32_t> rows{}, own{};  ///< per outlet: its row; column of a deviation of its own, in use only where their sum is made least
    std::int32_t sum_row = -1;
};

/// The same program in rows: one lower and one upper row per outlet, one row per valve.
class Program {
public:
    explicit Program(const StepFrom& from);
    void solve(double trust, StepPlan& plan);

private:
    void add_columns(double trust);
    void add_outlet_rows();
    void add_side(Side& side);
    void add_drop_rows();
    double least_deviation(const Side& side, std::vector<int>& level, int& levels);
    double without_vain(const Side& side, std::vector<int>& level, int round, double left);
    bool least_sum(const Side& side, const std::vector<int>& level, double left);
    void set_part(const Side& side, std::size_t outlet, double of_deviation, double of_aside);
    void hold(const Side& side, std::size_t outlet, double deviation);
    void bound(const Side& side, std::size_t outlet, double to);

    const StepFrom& from_;
    LinearProgram program_;
    std::vector<double> scale_;           ///< per unknown: its change per unit of its column
    std::vector<std::size_t> reference_;  ///< per valve: the case in which it carries most
    std::vector<double> cost_;
    std::vector<std::int32_t> columns_;
    Side lower_{1.0, kShortRounds}, upper_{-1.0, kOverRounds};
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
    for (const SeenCase& one : from_.seen.cases) {
        share_.insert(share_.end(), one.share.begin(), one.share.end());
        wanted_.insert(wanted_.end(), one.wanted_m3_s.begin(), one.wanted_m3_s.end());
    }
    add_side(lower_);
    add_side(upper_);
}

void Program::add_side(Side& side) {
    std::vector<double> row(from_.frame.unknowns());
    for (std::size_t c = 0; c < from_.frame.cases.size(); ++c)
        for (std::size_t i = 0; i < from_.frame.cases[c].outlets.size(); ++i) {
            for (std::size_t u = 0; u < from_.frame.unknowns(); ++u) row[u] = from_.slopes.by[u].cases[c].share[i] * scale_[u];
            side.own.push_back(program_.add_column(0.0, 0.0, 0.0));
            columns_.push_back(side.own.back());
            row.insert(row.end(), {0.0, 0.0, 0.0});  // aside, e, its own
            side.rows.push_back(program_.add_row(columns_, row, -HUGE_VAL, HUGE_VAL));
            row.resize(from_.frame.unknowns());
            columns_.pop_back();
        }
    side.sum_row = program_.add_row(side.own, std::vector<double>(side.own.size(), 1.0), -HUGE_VAL, HUGE_VAL);
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
void Program::set_part(const Side& side, std::size_t outlet, double of_deviation, double of_aside) {
    program_.set_coefficient(side.rows[outlet], deviation_, side.sign * of_deviation);
    program_.set_coefficient(side.rows[outlet], aside_, side.sign * of_aside);
}

/// The outlet deviates by no more than `to` besides its part of e.
void Program::bound(const Side& side, std::size_t outlet, double to) {
    if (side.sign > 0.0)
        program_.set_row_bounds(side.rows[outlet], 1.0 - share_[outlet] - to, HUGE_VAL);
    else
        program_.set_row_bounds(side.rows[outlet], -HUGE_VAL, 1.0 - share_[outlet] + to);
}

void Program::hold(const Side& side, std::size_t outlet, double deviation) {
    set_part(side, outlet, 0.0, 0.0);
    bound(side, outlet, deviation + kSlack);
}

/// Outlets that would give up much for next to nothing are put aside: their deviation is made least beside e instead of with it, at the same cost,
/// which no price of theirs can pay. The least e then.
double Program::without_vain(const Side& side, std::vector<int>& level, int round, double left) {
    const std::vector<double> prices(program_.row_prices().begin(), program_.row_prices().end());
    const auto price = [&](std::size_t i) { return std::abs(prices[static_cast<std::size_t>(side.rows[i])]); };
    const double worth = from_.frame.cases.size() > 1 ? kWorthShared : kWorth;
    double highest = 0.0;
    for (std::size_t i = 0; i < side.rows.size(); ++i)
        if (level[i] < 0) highest = std::max(highest, price(i) / wanted_[i]);
    std::vector<std::size_t> vain;
    for (std::size_t i = 0; i < side.rows.size(); ++i) {
        if (level[i] >= 0 || price(i) <= kPriced) continue;
        if (price(i) / wanted_[i] < worth * highest)
            vain.push_back(i);
        else
            level[i] = round;
    }
    if (!vain.empty()) {
        for (const std::size_t i : vain) set_part(side, i, 0.0, 1.0);
        if (program_.solve() == LinearOutcome::optimal) left = program_.values()[static_cast<std::size_t>(deviation_)];
        for (const std::size_t i : vain) set_part(side, i, 1.0, 0.0);
    }
    return left;
}

/// The least sum of what the rest deviates, none by more than `left`; held from then on. False when the program has no answer.
bool Program::least_sum(const Side& side, const std::vector<int>& level, double left) {
    program_.set_cost(deviation_, 0.0);
    program_.set_cost(aside_, 0.0);
    for (std::size_t i = 0; i < side.rows.size(); ++i) {
        if (level[i] >= 0) continue;
        set_part(side, i, 0.0, 0.0);
        program_.set_coefficient(side.rows[i], side.own[i], side.sign);
        program_.set_column_bounds(side.own[i], 0.0, left + kSlack);
        program_.set_cost(side.own[i], 1.0);
    }
    if (program_.solve() != LinearOutcome::optimal) return false;
    double sum = 0.0;
    for (const std::int32_t column : side.own) sum += program_.values()[static_cast<std::size_t>(column)];
    program_.set_row_bounds(side.sum_row, -HUGE_VAL, sum + kSlack);
    for (const std::int32_t column : side.own) program_.set_cost(column, 0.0);
    return true;
}

/// Rounds of least deviation to one side, which is then held. The first one's, or a negative number when a program had no answer.
double Program::least_deviation(const Side& side, std::vector<int>& level, int& levels) {
    level.assign(side.rows.size(), -1);
    for (std::size_t i = 0; i < side.rows.size(); ++i) {
        set_part(side, i, 1.0, 0.0);
        bound(side, i, 0.0);
    }
    program_.set_cost(deviation_, 1.0);
    program_.set_cost(aside_, 1.0);
    double first = 0.0;
    for (int round = 0;; ++round) {
        if (program_.solve() != LinearOutcome::optimal) return -1.0;
        double left = program_.values()[static_cast<std::size_t>(deviation_)];
        if (round == 0) first = left;
        bool any = false, rest = false;
        if (left > kNothing && round < side.most_rounds) {
            left = without_vain(side, level, round, left);
            for (std::size_t i = 0; i < side.rows.size(); ++i) {
                if (level[i] == round) hold(side, i, left);
                any = any || level[i] == round;
                rest = rest || level[i] < 0;
            }
        }
        levels = round + (any ? 1 : 0);
        if (any && rest) continue;
        rest = std::any_of(level.begin(), level.end(), [](int one) { return one < 0; });
        const bool summed = left > kNothing && rest;
        if (summed && !least_sum(side, level, left)) return -1.0;
        for (std::size_t i = 0; i < level.size(); ++i) {
            if (level[i] >= 0) continue;
            if (!summed) hold(side, i, left);
            level[i] = levels;
        }
        return first;
    }
}

void Program::solve(double trust, StepPlan& plan) {
    add_columns(trust);
    add_outlet_rows();
    add_drop_rows();
    const double lacks = least_deviation(lower_, plan.short_level, plan.short_levels);
    if (lacks < 0.0) return;
    const double over = least_deviation(upper_, plan.over_level, plan.over_levels);
    if (over < 0.0) return;
    program_.set_cost(deviation_, 0.0);
    program_.set_cost(aside_, 0.0);
    for (std::size_t u = 0; u < scale_.size(); ++u) program_.set_cost(columns_[u], cost_[u]);
    if (program_.solve() != LinearOutcome::optimal) return;
    plan.found = true;
    plan.throttled_m = from_.seen.throttled_m;
    for (std::size_t u = 0; u < scale_.size(); ++u) {
        const double value = program_.values()[static_cast<std::size_t>(columns_[u])];
        plan.move.push_back(value * scale_[u]);
        plan.throttled_m += value * cost_[u] * from_.head_scale_m;
    }
    for (const Side* side : {&lower_, &upper_})
        for (const std::int32_t row : side->rows) plan.price += std::abs(program_.row_prices()[static_cast<std::size_t>(row)]);
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

std::vector<double> shares(const SeenSetting& seen) {
    std::vector<double> all;
    for (const SeenCase& one : seen.cases) all.insert(all.end(), one.share.begin(), one.share.end());
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

bool newton_step(const StepFrom& from, double up_to, std::vector<double>& move) {
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
            if (from.seen.cases[c].share[i] > up_to) continue;
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
