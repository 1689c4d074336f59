#include "netfiles/assumptions.h"

namespace ebb::netfiles {

void AssumptionLedger::note(const AssumedValue& assumed, const std::string& about, int count) {
    constexpr std::size_t kNamed = 4;
    Entry& entry = entries_[{assumed.what, assumed.of}];
    if (entry.things == 0) {
        entry.assumed = assumed;
    }
    if (entry.first.size() < kNamed) {
        entry.first.push_back(about);
    }
    ++entry.things;
    entry.count += count;
}

std::vector<layout::Assumption> AssumptionLedger::entries() const {
    std::vector<layout::Assumption> list;
    for (const auto& [key, entry] : entries_) {
        layout::Assumption assumption;
        std::string names;
        for (const std::string& name : entry.first) {
            names += (names.empty() ? "" : ", ") + name;
        }
        const auto others = static_cast<std::size_t>(entry.things) - entry.first.size();
        assumption.about = others > 0 ? names + " and " + std::to_string(others) + " more" : names;
        assumption.what = entry.assumed.of.empty() ? entry.assumed.what : entry.assumed.what + " (" + entry.assumed.of + ")";
        assumption.value = entry.assumed.range.value;
        assumption.low = entry.assumed.range.low;
        assumption.high = entry.assumed.range.high;
        assumption.unit = entry.assumed.unit;
        assumption.source = entry.assumed.source;
        assumption.count = entry.count;
        list.push_back(std::move(assumption));
    }
    return list;
}

}  // namespace ebb::netfiles
