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
constexpr double kHighestPrice = 1e5;  ///< in rings a thousand left targets a hair short; far above it, what it throttles no longer counts
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
    void fill_up();
    void open_fully();
    double merit(const SeenSetting& seen, const StepPlan& plan) const;
    SeenSetting promise(const StepPlan& plan, const StepFrom& from) const;
    static std::vector<double> terms(const SeenSetting& seen, const StepPlan& plan);
    void weigh(const std::vector<double>& now, const std::vector<double>& promised);
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
    std::vector<double> weights_;  ///< of terms()
};

bool Search::wants_end() {
    at_.stopped = at_.stopped || options_.stop.stop_requested();
    return at_.stopped;
}

double lack_of(const SeenSetting& seen) {
    double worst = 0.0;
    for (const double share : shares(seen)) worst = std::max(worst, 1.0 - share);
    return worst;
}

double worst_of(const SeenSetting& seen) {
    double worst = 0.0;
    for (const double share : shares(seen)) worst = std::max(worst, std::abs(share - 1.0));
    return worst;
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

/// The worst of each level, then the sum of the rest.
void add_terms(const std::vector<double>& deviation, const std::vector<int>& level, int levels, std::vector<double>& terms) {
    const std::size_t first = terms.size();
    terms.resize(first + static_cast<std::size_t>(levels) + 1, 0.0);
    for (std::size_t i = 0; i < deviation.size(); ++i) {
        double& term = terms[first + static_cast<std::size_t>(level[i])];
        term = level[i] == levels ? term + deviation[i] : std::max(term, deviation[i]);
    }
}

/// What outlets lack, then what they have too much, in the order in which it is made least.
std::vector<double> Search::terms(const SeenSetting& seen, const StepPlan& plan) {
    std::vector<double> lacks, over, all;
    for (const double share : shares(seen)) {
        lacks.push_back(std::max(0.0, 1.0 - share));
        over.push_back(std::max(0.0, share - 1.0));
    }
    add_terms(lacks, plan.short_level, plan.short_levels, all);
    add_terms(over, plan.over_level, plan.over_levels, all);
    if (plan.over_levels == 0) {  // then all that is left can be had exactly, and neither side comes first
        const double rest = all.back();
        all.pop_back();
        all.back() += rest;
    }
    return all;
}

/// What comes first in order weighs so much more that the step's promise, which may cost those behind much, is a gain.
void Search::weigh(const std::vector<double>& now, const std::vector<double>& promised) {
    constexpr double kNoGain = 1e-9, kMostWorse = 1e6;
    weights_.assign(now.size(), 1.0);
    double behind = now.back() - promised.back();
    for (std::size_t i = now.size() - 1; i-- > 0;) {
        const double gain = now[i] - promised[i], least = kWorseLevel * weights_[i + 1];
        weights_[i] = gain > kNoGain ? std::clamp(-2.0 * behind / gain, least, kMostWorse * weights_[i + 1]) : least;
        behind += weights_[i] * gain;
    }
}

/// Throttling over the head scale, and at its price what outlets lack and what they have too much.
double Search::merit(const SeenSetting& seen, const StepPlan& plan) const {
    const std::vector<double> all = terms(seen, plan);
    double sum = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) sum += weights_[i] * all[i];
    return seen.throttled_m / options_.head_scale_m + price_ * sum;
}

SeenSetting Search::promise(const StepPlan& plan, const StepFrom& from) const {
    SeenSetting promised = at_.seen;
    promised.throttled_m = plan.throttled_m;
    for (std::size_t c = 0; c < promised.cases.size(); ++c)
        for (std::size_t i = 0; i < promised.cases[c].share.size(); ++i)
            for (std::size_t u = 0; u < plan.move.size(); ++u) promised.cases[c].share[i] += from.slopes.by[u].cases[c].share[i] * plan.move[u];
    return promised;
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
    at_.exact = plan.exact();
    price_ = std::clamp(2.0 * plan.price, 1.0, kHighestPrice);
    const SeenSetting said = promise(plan, here);
    weigh(terms(at_.seen, plan), terms(said, plan));
    const double now = merit(at_.seen, plan), promised = now - merit(said, plan);
    if (!(promised > kNoMore)) return false;
    ValveSetting next = moved_by(here, plan.move);
    SeenSetting seen = look(next);
    double gained = seen.solved ? now - merit(seen, plan) : -HUGE_VAL;
    if (seen.solved && gained < kPromiseKept * promised && plan.exact() && worst_of(seen) > kMendFrom) {
        // the slopes are those of here; what they lack at the new place is a second-order effect
        std::vector<double> move;
        const StepFrom there{frame_, next, seen, slopes_, options_.head_scale_m};
        if (newton_step(there, HUGE_VAL, move)) {
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
        if (!newton_step(from(slopes_), HUGE_VAL, move)) return;
        const ValveSetting next = moved_by(from(slopes_), move);
        SeenSetting seen = look(next);
        if (!seen.solved || worst_of(seen) >= worst) return;
        slopes_fresh_ = worst_of(seen) < 0.01 * worst;  // slopes from so near do once more
        at_.setting = next;
        at_.seen = std::move(seen);
    }
}

/// Where the targets can be had but not exactly, a hair that an outlet lacks is given to it.
void Search::fill_up() {
    constexpr double kAtTarget = 1e-7;
    for (int i = 0; i < kMostPolishing && !wants_end(); ++i) {
        const double lacks = lack_of(at_.seen);
        if (lacks <= kPolished || lacks > kNearEnough) return;
        if (!slopes_fresh_) slopes_ = trial_.slopes(at_.setting, at_.seen);
        slopes_fresh_ = true;
        std::vector<double> move;
        if (!newton_step(from(slopes_), 1.0 + kAtTarget, move)) return;
        const ValveSetting next = moved_by(from(slopes_), move);
        SeenSetting seen = look(next);
        if (!seen.solved || lack_of(seen) >= lacks) return;
        slopes_fresh_ = false;
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
    if (!opened.seen.solved) return;
    if (!at_.exact && (lack_of(opened.seen) > lack_of(at_.seen) + kNoHarm || worst_of(opened.seen) > worst_of(at_.seen) + kNoHarm)) return;
    const Searched before = at_;
    at_ = std::move(opened);
    slopes_fresh_ = false;
    if (!at_.exact) return;
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
    if (at_.exact)
        polish();
    else
        fill_up();
    at_.worst = worst_of(at_.seen);
    at_.lacks = lack_of(at_.seen);
    return std::move(at_);
}

}  // namespace

Searched search_balance(const BalanceFrame& frame, BalanceTrial& trial, const std::vector<ValveSetting>& starts, const SearchOptions& options) {
    return Search(frame, trial, options).run(starts);
}

}  // namespace ebb::choose
