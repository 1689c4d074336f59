// Sequential linear programming with a trust region (R. Fletcher and E. Sainz de la Maza, Mathematical Programming 43, 1989, 235-256): the step of
// balance_step.h is tried; it is taken when the throttling plus a price on what the outlets still deviate has become less, and the region is
// widened or narrowed by how far the promise was kept. The price is twice what the last linear program gave, so that no deviation is worth its
// saving. Where the deviations grew because the laws bend, the step is mended once by Newton's method before it is judged (a second-order
// correction).
//
// With flows at their targets the drops enter the heads linearly: on a tree the second or third step ends at the solution. Cost: one trial per
// unknown and step. It ends when nothing more is promised, when the region has shrunk to nothing, or after kMostSteps.

#include "solver/choose/balance_search.h"

#include <algorithm>
#include <cmath>

namespace ebb::choose {

namespace {

constexpr int kMostSteps = 80, kMostPolishing = 8;
constexpr double kFirstTrust = 2.0, kMostTrust = 10.0, kLeastTrust = 1e-7;
constexpr double kPromiseKept = 0.5, kWorthTaking = 0.02, kWiden = 2.0, kNarrow = 0.3;
constexpr double kNoMore = 1e-8;       ///< gain of merit that is not worth a step
constexpr double kMendFrom = 1e-7;     ///< deviations below this are for the last polish
constexpr double kPolished = 5e-9;     ///< deviation that is as good as none beside the aim's own 5e-8
constexpr double kNearEnough = 1e-3;   ///< deviation from which Newton's method is trusted
constexpr double kHighestPrice = 1e3;  ///< above it a deviation saved is not worth what it throttles
constexpr double kWorseLevel = 10.0;   ///< a deviation that comes first in order weighs so much more

class Search {
public:
    Search(const BalanceFrame& frame, BalanceTrial& trial, const SearchOptions& options) : frame_(frame), trial_(trial), options_(options) {}
    Searched run(const std::vector<ValveSetting>& starts);

private:
    StepFrom from(const SettingSlopes& slopes) const { return {frame_, at_.setting, at_.seen, slopes, options_.head_scale_m}; }
    bool begin(const std::vector<ValveSetting>& starts);
    bool step();
    void polish();
    void open_fully();
    double merit(const SeenSetting& seen, const StepPlan& plan) const;
    double promised_merit(const StepPlan& plan, const StepFrom& from) const;
    bool wants_end();
    SeenSetting look(const ValveSetting& setting) {
        ++at_.positions;
        return trial_.look(setting);
    }

    const BalanceFrame& frame_;
    BalanceTrial& trial_;
    const SearchOptions& options_;
    Searched at_;
    SettingSlopes slopes_;
    bool slopes_fresh_ = false;
    double trust_ = kFirstTrust, price_ = 1.0;
};

bool Search::wants_end() {
    at_.stopped = at_.stopped || options_.stop.stop_requested();
    return at_.stopped;
}

double worst_of(const SeenSetting& seen) {
    const std::vector<double> all = deviations(seen);
    return all.empty() ? 0.0 : *std::max_element(all.begin(), all.end());
}

bool Search::begin(const std::vector<ValveSetting>& starts) {
    for (const ValveSetting& start : starts) {
        SeenSetting seen = look(start);
        if (!seen.solved) continue;
        at_.setting = start;
        at_.seen = std::move(seen);
        return true;
    }
    return false;
}

/// Throttling over the head scale, and at its price the worst deviation of every level and what the rest deviates.
double Search::merit(const SeenSetting& seen, const StepPlan& plan) const {
    const std::vector<double> deviation = deviations(seen);
    std::vector<double> worst(static_cast<std::size_t>(plan.levels), 0.0);
    double rest = 0.0;
    for (std::size_t i = 0; i < deviation.size(); ++i) {
        if (plan.level[i] == plan.levels)
            rest += deviation[i];
        else
            worst[static_cast<std::size_t>(plan.level[i])] = std::max(worst[static_cast<std::size_t>(plan.level[i])], deviation[i]);
    }
    double sum = rest;
    for (std::size_t level = 0; level < worst.size(); ++level) sum += worst[level] * std::pow(kWorseLevel, static_cast<double>(worst.size() - level));
    return seen.throttled_m / options_.head_scale_m + price_ * sum;
}

double Search::promised_merit(const StepPlan& plan, const StepFrom& from) const {
    SeenSetting promised = at_.seen;
    promised.throttled_m = plan.throttled_m;
    for (std::size_t c = 0; c < promised.cases.size(); ++c)
        for (std::size_t i = 0; i < promised.cases[c].share.size(); ++i)
            for (std::size_t u = 0; u < plan.move.size(); ++u) promised.cases[c].share[i] += from.slopes.by[u].cases[c].share[i] * plan.move[u];
    return merit(promised, plan);
}

/// One step; false when there is none to make.
bool Search::step() {
    if (!slopes_fresh_) slopes_ = trial_.slopes(at_.setting, at_.seen);
    slopes_fresh_ = true;
    const StepFrom here = from(slopes_);
    const StepPlan plan = plan_step(here, trust_);
    if (!plan.found) {
        trust_ *= kNarrow;
        return trust_ > kLeastTrust;
    }
    at_.level = plan.level;
    at_.levels = plan.levels;
    price_ = std::clamp(2.0 * plan.price, 1.0, kHighestPrice);
    const double now = merit(at_.seen, plan), promised = now - promised_merit(plan, here);
    if (!(promised > kNoMore)) return false;
    ValveSetting next = moved_by(here, plan.move);
    SeenSetting seen = look(next);
    double gained = seen.solved ? now - merit(seen, plan) : -HUGE_VAL;
    if (seen.solved && gained < kPromiseKept * promised && plan.levels == 0 && worst_of(seen) > kMendFrom) {
        // the slopes are those of here; what they lack at the new place is a second-order effect
        std::vector<double> move;
        const StepFrom there{frame_, next, seen, slopes_, options_.head_scale_m};
        if (newton_step(there, move)) {
            const ValveSetting mended = moved_by(there, move);
            SeenSetting seen_mended = look(mended);
            if (seen_mended.solved && now - merit(seen_mended, plan) > gained) {
                next = mended;
                seen = std::move(seen_mended);
                gained = now - merit(seen, plan);
            }
        }
    }
    if (gained > kPromiseKept * promised) trust_ = std::min(trust_ * kWiden, kMostTrust);
    if (gained < kWorthTaking * promised) {
        double largest = 0.0;  // a region much wider than the step would be narrowed in vain
        for (std::size_t v = 0; v < frame_.valves.size(); ++v)
            for (const SeenCase& one : at_.seen.cases)
                largest = std::max(largest, frame_.head_coefficient(v) * one.flow_m3_s[v] * one.flow_m3_s[v] * std::abs(plan.move[v]));
        trust_ = std::min(trust_, std::max(largest / options_.head_scale_m, kLeastTrust)) * kNarrow;
        return trust_ > kLeastTrust;
    }
    at_.setting = std::move(next);
    at_.seen = std::move(seen);
    slopes_fresh_ = false;
    return true;
}

void Search::polish() {
    for (int i = 0; i < kMostPolishing && !wants_end(); ++i) {
        const double worst = worst_of(at_.seen);
        if (worst <= kPolished || worst > kNearEnough) return;
        if (!slopes_fresh_) slopes_ = trial_.slopes(at_.setting, at_.seen);
        slopes_fresh_ = true;
        std::vector<double> move;
        if (!newton_step(from(slopes_), move)) return;
        const ValveSetting next = moved_by(from(slopes_), move);
        SeenSetting seen = look(next);
        if (!seen.solved || worst_of(seen) >= worst) return;
        slopes_fresh_ = worst_of(seen) < 0.01 * worst;  // slopes from so near do once more
        at_.setting = next;
        at_.seen = std::move(seen);
    }
}

/// What the linear programs leave of a valve by their own rounding is no throttling: such valves are opened, where that costs no outlet anything.
void Search::open_fully() {
    constexpr double kLeft = 1e-5, kNoHarm = 5e-7;
    Searched opened = at_;
    bool any = false;
    for (std::size_t v = 0; v < frame_.valves.size(); ++v) {
        double drop = 0.0;
        for (const SeenCase& one : at_.seen.cases) drop = std::max(drop, throttle_drop_m(frame_, at_.setting, one, v));
        if (at_.setting.extra[v] == 0.0 || drop > kLeft * options_.head_scale_m) continue;
        opened.setting.extra[v] = 0.0;
        any = true;
    }
    if (!any) return;
    opened.seen = look(opened.setting);
    opened.positions = at_.positions;
    if (!opened.seen.solved || (at_.levels > 0 && worst_of(opened.seen) > worst_of(at_.seen) + kNoHarm)) return;
    const Searched before = at_;
    at_ = std::move(opened);
    slopes_fresh_ = false;
    if (at_.levels > 0) return;
    polish();
    if (worst_of(at_.seen) > std::max(worst_of(before.seen), kPolished)) {
        at_ = before;
        slopes_fresh_ = false;
    }
}

Searched Search::run(const std::vector<ValveSetting>& starts) {
    at_.found = begin(starts);
    if (!at_.found) return std::move(at_);
    for (int i = 0; i < kMostSteps && !wants_end(); ++i) {
        if (options_.progress) options_.progress(static_cast<double>(i) / (i + 4.0));
        if (!step()) break;
    }
    if (!at_.stopped) open_fully();
    if (at_.levels == 0) polish();
    at_.worst = worst_of(at_.seen);
    return std::move(at_);
}

}  // namespace

Searched search_balance(const BalanceFrame& frame, BalanceTrial& trial, const std::vector<ValveSetting>& starts, const SearchOptions& options) {
    return Search(frame, trial, options).run(starts);
}

}  // namespace ebb::choose
