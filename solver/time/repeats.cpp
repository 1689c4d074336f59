#include "solver/time/repeats.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace ebb::time {

namespace {

constexpr double kDriftPerDay_m = 1e-3, kDay_s = 86400.0;
constexpr double kFinest_m = 3e-7;  ///< closer than this the integration cannot tell levels apart
constexpr std::size_t kMostSections = 200;

}  // namespace

Repeats::Repeats(const network::Network& network, double tolerance_m) : network_(&network), tolerance_m_(tolerance_m) {}

double Repeats::difference_m(const Section& first, const Section& second, std::int32_t* vessel) const {
    double worst = 0.0;
    for (std::size_t v = 0; v < first.level_m.size(); ++v) {
        const double difference = std::abs(first.level_m[v] - second.level_m[v]);
        if (difference >= worst && vessel != nullptr) *vessel = static_cast<std::int32_t>(v);
        worst = std::max(worst, difference);
    }
    return worst;
}

bool Repeats::section(std::int64_t kind, double t_s, std::span<const double> state_m3, std::vector<std::uint8_t> memory, Totals totals) {
    const auto volume_m3 = state_m3.first(network_->storage.size());
    const auto account_m3 = state_m3.subspan(volume_m3.size());
    if (sections_.size() >= kMostSections) {  // forget the older half
        constexpr std::size_t kForget = kMostSections / 2;
        sections_.erase(sections_.begin(), sections_.begin() + kForget);
        const bool kept = first_ >= kForget;
        first_ = kept ? first_ - kForget : 0;
        last_ = kept ? last_ - kForget : 0;  // of a cycle half forgotten the last two sections stand in
    }
    Section now{.kind = kind,
                .level_m = {},
                .water_m3 = std::accumulate(volume_m3.begin(), volume_m3.end(), 0.0),
                .account_m3 = {account_m3.begin(), account_m3.end()},
                .memory = std::move(memory),
                .totals = std::move(totals)};
    now.totals.t_s = t_s;
    for (std::size_t v = 0; v < volume_m3.size(); ++v) now.level_m.push_back(network::level_at_volume(network_->storage[v], volume_m3[v]));
    sections_.push_back(std::move(now));
    const Section& last = sections_.back();
    for (std::size_t s = sections_.size() - 1; s-- > 0;) {
        const Section& earlier = sections_[s];
        if (earlier.kind != kind || earlier.memory != last.memory) continue;
        const double period = t_s - earlier.totals.t_s;
        if (period <= 0.0) continue;
        const double allowed = std::max(kFinest_m, std::min(tolerance_m_, kDriftPerDay_m * period / kDay_s));
        if (difference_m(earlier, last) > allowed || !keeps_its_water(earlier, last)) continue;
        if (found() && std::abs(period - period_s_) > 1e-3 * period_s_ && period > period_s_) continue;
        if (!found()) from_s_ = earlier.totals.t_s;
        period_s_ = period;
        first_ = s;
        last_ = sections_.size() - 1;
        return true;
    }
    return false;
}

/// Of a closed farm always; of one that water crosses, when as much left as came.
bool Repeats::keeps_its_water(const Section& first, const Section& second) const {
    constexpr double kShare = 0.01, kNothing = 1e-9;
    double crossed = 0.0;
    for (std::size_t a = 0; a < first.account_m3.size(); ++a) crossed += std::abs(second.account_m3[a] - first.account_m3[a]);
    return std::abs(second.water_m3 - first.water_m3) <= std::max(kShare * crossed, kNothing * first.water_m3);
}

const Repeats::Section* Repeats::previous(std::size_t before, std::int64_t kind) const {
    for (std::size_t s = before; s-- > 0;)
        if (sections_[s].kind == kind) return &sections_[s];
    return nullptr;
}

bool Repeats::last_cycle(Totals& from, Totals& to) const {
    if (found() && last_ < sections_.size() && first_ < last_) {
        from = sections_[first_].totals;
        to = sections_[last_].totals;
        return true;
    }
    if (sections_.empty()) return false;
    const Section* earlier = previous(sections_.size() - 1, sections_.back().kind);
    if (earlier == nullptr) return false;
    from = earlier->totals;
    to = sections_.back().totals;
    return true;
}

Repeats::Drift Repeats::drift() const {
    Drift drift;
    if (sections_.size() < 2) return drift;
    const Section& last = sections_.back();
    const Section* second = previous(sections_.size() - 1, last.kind);
    if (second == nullptr) return drift;
    drift.known = true;
    drift.cycle_s = last.totals.t_s - second->totals.t_s;
    drift.last_m3 = last.water_m3 - second->water_m3;
    drift.level_m = difference_m(*second, last, &drift.vessel);
    const Section* third = previous(static_cast<std::size_t>(second - sections_.data()), last.kind);
    drift.before_m3 = third != nullptr ? second->water_m3 - third->water_m3 : kUnknown;
    return drift;
}

}  // namespace ebb::time
