#pragma once
// Collects the defaults that stand in a layout because it did not say: one entry for each kind of default, with its count.

#include <map>
#include <string>
#include <utility>
#include <vector>

#include "netfiles/catalogue.h"
#include "solver/layout/layout.h"

namespace ebb::netfiles {

/// What is assumed, apart from the things it concerns.
struct AssumedValue {
    std::string what;  ///< "roughness"
    std::string of;    ///< "" or what it is a property of: "elbow-90", "series pvc-pn16, 32 mm"
    Ranged range;
    std::string unit;  ///< SI, "" for plain numbers
    std::string source;
};

class AssumptionLedger {
public:
    /// Notes that `about` uses the default; the same default (what and of) is one entry.
    void note(const AssumedValue& assumed, const std::string& about, int count = 1);

    /// The entries, in order of what and of.
    std::vector<layout::Assumption> entries() const;

private:
    struct Entry {
        AssumedValue assumed;
        std::vector<std::string> first;  ///< a few of the things it concerns
        int things = 0;
        int count = 0;
    };
    std::map<std::pair<std::string, std::string>, Entry> entries_;
};

}  // namespace ebb::netfiles
