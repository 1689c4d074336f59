// Narrowing a box: from the heads at its ends to what a link can carry, from flows to heads, from balances to flows, round and round until little
// changes (bound propagation; the feasibility-based tightening of global optimisation, e.g. P. Belotti et al., Acta Numerica 22, 2013).
//
// Each step only takes away what cannot be, so it may stop anywhere; an interval that comes out empty by more than the slack of a solved
// network proves that the box holds no allowed design. A size whose interval is empty is struck out.

#include <algorithm>
#include <cmath>

#include "solver/choose/relaxed_farm.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr int kRounds = 20;
constexpr double kWorthAnotherRound = 0.02;  // share of its width by which an interval has narrowed

class Tightener {
public:
    Tightener(const RelaxedFarm& farm, Box& box, std::vector<std::vector<Interval>>& options) : farm_(farm), box_(box), options_(options) {
        flow_slack_ = farm.flow_slack_m3_s();
    }

    bool run() {
        for (int round = 0; round < kRounds; ++round) {
            again_ = false;
            for (const RelaxedCase& one : farm_.cases) {
                one_ = &one;
                for (std::size_t i = 0; i < one.links.size(); ++i)
                    if (!link(i)) return false;
                for (std::size_t n = 0; n < one.balanced.size(); ++n)
                    if (one.balanced[n] != 0 && !balance(n)) return false;
                for (const RelaxedInflow& inflow : one.inflows)
                    if (!feed(inflow)) return false;
            }
            if (!again_) break;
        }
        return true;
    }

private:
    Interval& flow(std::size_t place) { return box_.flow[one_->first_flow + place]; }
    Interval& head(std::int32_t node) { return box_.head[one_->first_head + at(node)]; }

    /// Narrows `what` to what it shares with `to`; false when that is nothing.
    bool narrow(Interval& what, const Interval& to, double slack) {
        const double before = what.width();
        const double low = std::max(what.low, to.low), high = std::min(what.high, to.high);
        if (low > high + slack) return false;
        what = low <= high ? Interval{low, high} : Interval{high, low};
        if (before - what.width() > kWorthAnotherRound * before + slack) again_ = true;
        return true;
    }

    /// The flow of a link by the law of one option, between heads that differ by `dh`.
    Interval by_law(const RelaxedLink& r, const LinkLaw& law, const Interval& now, const Interval& dh) const {
        const double rest = r.short_forwards || r.short_backwards ? law.loss_m(0.0) : 0.0;
        const double most = r.short_backwards ? std::max(dh.high, rest) : dh.high, least = r.short_forwards ? std::min(dh.low, rest) : dh.low;
        return {r.hands_on ? now.low : law.least_flow_m3_s(least, now.low, now.high), law.greatest_flow_m3_s(most, now.low, now.high)};
    }

    bool link(std::size_t place) {
        const RelaxedLink& r = one_->links[place];
        const Interval from = shown(head(r.from), r.from_port_m), to = shown(head(r.to), r.to_port_m);
        const Interval dh{from.low - to.high - kHeadSlack_m, from.high - to.low + kHeadSlack_m};
        Interval all{HUGE_VAL, -HUGE_VAL}, loss{HUGE_VAL, -HUGE_VAL};
        std::vector<Interval>& options = options_[one_->first_flow + place];
        for (std::size_t k = 0; k < options.size(); ++k) {
            options[k] = {HUGE_VAL, -HUGE_VAL};
            if (r.choice >= 0 && box_.may[at(r.choice)][k] == 0) continue;
            Interval now = flow(place);
            now = {std::max(now.low, -r.most_m3_s[k]), std::min(now.high, r.most_m3_s[k])};
            if (now.low <= now.high && r.has_law) {
                const LinkLaw law = farm_.law(*one_, r, k);
                now = by_law(r, law, now, dh);
                if (now.low > now.high && now.low <= now.high + flow_slack_) std::swap(now.low, now.high);
                if (now.low <= now.high) loss = {std::min(loss.low, law.loss_m(now.low)), std::max(loss.high, law.loss_m(now.high))};
            }
            if (now.low > now.high) {
                if (r.choice < 0) return false;
                box_.may[at(r.choice)][k] = 0;
                again_ = true;
                continue;
            }
            options[k] = now;
            all = {std::min(all.low, now.low), std::max(all.high, now.high)};
        }
        if (all.low > all.high || !narrow(flow(place), all, flow_slack_)) return false;
        return !r.has_law || heads(r, flow(place), loss, from, to);
    }

    /// From what a link loses to the heads at its ends.
    bool heads(const RelaxedLink& r, const Interval& q, const Interval& loss, const Interval& from, const Interval& to) {
        if (r.holds_from_below(q)) {
            if (!raise(r.from, r.from_port_m, to.low + loss.low) || !sink(r.to, r.to_port_m, from.high - loss.low)) return false;
        }
        if (r.holds_from_above(q)) {
            if (!sink(r.from, r.from_port_m, to.high + loss.high) || !raise(r.to, r.to_port_m, from.low - loss.high)) return false;
        }
        return true;
    }
    bool raise(std::int32_t node, double port, double low) {
        if (low - kHeadSlack_m <= port) return true;
        return narrow(head(node), {low - kHeadSlack_m, HUGE_VAL}, kHeadSlack_m);
    }
    bool sink(std::int32_t node, double port, double high) {
        if (high + 2.0 * kHeadSlack_m < port) return false;
        return narrow(head(node), {-HUGE_VAL, high + kHeadSlack_m}, kHeadSlack_m);
    }

    bool balance(std::size_t node) {
        const auto& touching = one_->touching[node];
        const double takes = node < at(farm_.network().plain_count) ? farm_.network().takes_m3_s[node] : 0.0, slack = one_->slack_m3_s[node];
        for (std::size_t i = 0; i < touching.size(); ++i) {
            double low = takes - slack, high = takes + slack;  // what this one brings in
            for (std::size_t j = 0; j < touching.size(); ++j) {
                if (j == i) continue;
                const Interval in = inward(touching[j]);
                low -= in.high;
                high -= in.low;
            }
            const bool comes_in = touching[i].second > 0.0;
            if (!narrow(flow(touching[i].first), comes_in ? Interval{low, high} : Interval{-high, -low}, flow_slack_ + slack)) return false;
        }
        return true;
    }
    Interval inward(const std::pair<std::size_t, double>& touch) {
        const Interval& q = flow(touch.first);
        return touch.second > 0.0 ? q : Interval{-q.high, -q.low};
    }

    /// What a vessel must get, the others at their most, this one must bring.
    bool feed(const RelaxedInflow& wanted) {
        const std::int32_t node = farm_.network().vessel_node(wanted.vessel);
        const auto& touching = one_->touching[at(node)];
        const double least = least_inflow(farm_, wanted, head(node).low);
        double most = 0.0;
        for (const auto& touch : touching) most += std::max(0.0, inward(touch).high);
        if (most < least - flow_slack_) return false;
        for (const auto& touch : touching) {
            const double low = least - (most - std::max(0.0, inward(touch).high)) - flow_slack_;
            if (low <= 0.0) continue;
            if (!narrow(flow(touch.first), touch.second > 0.0 ? Interval{low, HUGE_VAL} : Interval{-HUGE_VAL, -low}, flow_slack_)) return false;
        }
        return true;
    }

    const RelaxedFarm& farm_;
    Box& box_;
    std::vector<std::vector<Interval>>& options_;
    const RelaxedCase* one_ = nullptr;
    double flow_slack_ = 0.0;
    bool again_ = false;
};

}  // namespace

double least_inflow(const RelaxedFarm& farm, const RelaxedInflow& wanted, double least_level_m) {
    double least = wanted.least_m3_s;
    if (wanted.turnover_s > 0.0) {
        const network::Storage& storage = farm.network().storage[at(wanted.vessel)];
        least = std::max(least, network::volume_at_level(storage, std::max(least_level_m, storage.floor_m)).value / wanted.turnover_s);
    }
    return least;
}

bool tighten(const RelaxedFarm& farm, Box& box, std::vector<std::vector<Interval>>& options) {
    options.resize(box.flow.size());
    std::size_t place = 0;
    for (const RelaxedCase& one : farm.cases)
        for (const RelaxedLink& link : one.links) options[place++].resize(farm.option_count(link));
    return Tightener(farm, box, options).run();
}

}  // namespace ebb::choose
