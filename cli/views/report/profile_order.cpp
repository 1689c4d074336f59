// Order in a line: a walk along the pipes gives the first guess; then single things are moved and whole runs turned round as long as that makes the
// pipes shorter (the sum of their horizontal lengths). The best order of all is hard to find (minimum linear arrangement, NP-hard: Garey, Johnson
// and Stockmeyer 1976); this is good enough to read, and stops after a fixed amount of work.

#include "cli/views/report/profile_order.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

namespace ebb::cli::profile {
namespace {

using Order = std::vector<std::int32_t>;

class Search {
public:
    explicit Search(const Row& row) : row_(row), at_(row.width.size()), joined_(row.width.size()) {
        for (const Link& link : row.links) {
            joined_[index(link.a)].push_back(link.b);
            joined_[index(link.b)].push_back(link.a);
        }
    }

    Order best() {
        Order order = walked();
        put_said_in_order(order);
        double cost = cost_of(order);
        for (bool better = true; better && work_ < kMostWork;) {
            const bool moved = move_runs(order, cost), turned = turn_runs(order, cost);
            better = moved || turned;
        }
        return order;
    }

private:
    static constexpr double kMostWork = 6e7;  // links looked at
    static constexpr double kLeastGain = 1e-6;

    static std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

    double cost_of(const Order& order) {
        double x = 0.0;
        for (const std::int32_t i : order) {
            at_[index(i)] = x + row_.width[index(i)] / 2.0;
            x += row_.width[index(i)];
        }
        double cost = 0.0;
        for (const Link& link : row_.links) cost += link.weight * std::abs(at_[index(link.a)] - at_[index(link.b)]);
        work_ += static_cast<double>(row_.links.size() + order.size());
        return cost;
    }

    /// Depth first, things with few neighbours first: branches end before the header goes on.
    Order walked() {
        Order order;
        std::vector<bool> seen(row_.width.size());
        for (auto& all : joined_)
            std::stable_sort(all.begin(), all.end(),
                             [this](std::int32_t a, std::int32_t b) { return joined_[index(a)].size() < joined_[index(b)].size(); });
        const auto walk_from = [&](std::int32_t start) {
            Order waiting = {start};
            while (!waiting.empty()) {
                const std::int32_t one = waiting.back();
                waiting.pop_back();
                if (seen[index(one)]) continue;
                seen[index(one)] = true;
                order.push_back(one);
                for (auto next = joined_[index(one)].rbegin(); next != joined_[index(one)].rend(); ++next)
                    if (!seen[index(*next)]) waiting.push_back(*next);
            }
        };
        for (const std::int32_t start : row_.first) walk_from(start);
        for (std::size_t i = 0; i < row_.width.size(); ++i) walk_from(static_cast<std::int32_t>(i));
        return order;
    }

    bool is_said(std::int32_t i) const { return !std::isnan(row_.said[index(i)]); }

    void put_said_in_order(Order& order) const {
        Order said;
        for (const std::int32_t i : order)
            if (is_said(i)) said.push_back(i);
        std::stable_sort(said.begin(), said.end(), [this](std::int32_t a, std::int32_t b) { return row_.said[index(a)] < row_.said[index(b)]; });
        auto next = said.begin();
        for (std::int32_t& i : order)
            if (is_said(i)) i = *next++;
    }

    bool keeps_said(const Order& order) const {
        double last = -HUGE_VAL;
        for (const std::int32_t i : order) {
            if (!is_said(i)) continue;
            if (row_.said[index(i)] < last) return false;
            last = row_.said[index(i)];
        }
        return true;
    }

    bool take_if_better(Order& order, const Order& tried, double& cost) {
        if (!keeps_said(tried)) return false;
        const double costs = cost_of(tried);
        if (costs > cost - kLeastGain) return false;
        order = tried;
        cost = costs;
        return true;
    }

    /// Single things first, then longer and longer runs of them, as they are and turned round.
    bool move_runs(Order& order, double& cost) {
        bool better = false;
        const auto count = static_cast<std::ptrdiff_t>(order.size());
        const std::ptrdiff_t reach = count <= kFew ? count : kReach;
        for (std::ptrdiff_t length = 1; length <= std::min(kLongestRun, count / 2); ++length)
            for (std::ptrdiff_t from = 0; from + length <= count; ++from)
                for (std::ptrdiff_t to = std::max<std::ptrdiff_t>(0, from - reach); to + length <= std::min(count, from + length + reach); ++to) {
                    if (to == from) continue;
                    if (work_ > kMostWork) return better;
                    Order tried = order;
                    if (to > from)
                        std::rotate(tried.begin() + from, tried.begin() + from + length, tried.begin() + to + length);
                    else
                        std::rotate(tried.begin() + to, tried.begin() + from, tried.begin() + from + length);
                    bool taken = take_if_better(order, tried, cost);
                    if (!taken && length > 1) {
                        std::reverse(tried.begin() + to, tried.begin() + to + length);
                        taken = take_if_better(order, tried, cost);
                    }
                    better |= taken;
                }
        return better;
    }

    bool turn_runs(Order& order, double& cost) {
        bool better = false;
        const auto count = static_cast<std::ptrdiff_t>(order.size());
        const std::ptrdiff_t reach = count <= kFew ? count : kReach;
        for (std::ptrdiff_t from = 0; from < count; ++from)
            for (std::ptrdiff_t to = from + 2; to <= std::min(count, from + reach) && work_ < kMostWork; ++to) {
                Order tried = order;
                std::reverse(tried.begin() + from, tried.begin() + to);
                better |= take_if_better(order, tried, cost);
            }
        return better;
    }

    static constexpr std::ptrdiff_t kFew = 90, kReach = 16, kLongestRun = 14;

    const Row& row_;
    std::vector<double> at_;
    std::vector<Order> joined_;
    double work_ = 0.0;
};

}  // namespace

std::vector<std::int32_t> ordered(const Row& row) { return Search(row).best(); }

}  // namespace ebb::cli::profile
