#include "solver/time/chatter.h"

#include <algorithm>
#include <map>
#include <vector>

namespace ebb::time {

namespace {

/// So many switchings within so long: no level of a farm gets from one mark to another and back that fast for a purpose.
constexpr std::size_t kMany = 24;
constexpr double kWithin_s = 6.0;
constexpr std::ptrdiff_t kOneOfThem = 6;  ///< of these by one thing: many that go over together do not fight

}  // namespace

bool ChatterGuard::switched(double t_s, const std::string& what) {
    recent_.push_back({t_s, what});
    if (recent_.size() > kMany) recent_.pop_front();
    if (recent_.size() < kMany || recent_.back().t_s - recent_.front().t_s >= kWithin_s) return false;
    return std::count_if(recent_.begin(), recent_.end(), [&](const One& one) { return one.what == what; }) >= kOneOfThem;
}

std::string ChatterGuard::complaint() const {
    std::map<std::string, int> times;
    for (const One& one : recent_) ++times[one.what];
    std::vector<std::pair<int, std::string>> most;
    for (const auto& [what, count] : times) most.emplace_back(-count, what);
    std::sort(most.begin(), most.end());
    if (most.size() == 1) return most[0].second + " switches to and fro without getting anywhere";
    return most[0].second + " and " + most[1].second + " switch to and fro without getting anywhere";
}

}  // namespace ebb::time
