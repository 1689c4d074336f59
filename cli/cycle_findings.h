#pragma once
// What a person should look at in a course: water over a rim, a pump that ran dry, a siphon that never starts or never breaks,
// water that comes before the last has left; and the targets of the layout held against it. Nothing here changes an answer.

#include <string>
#include <vector>

#include "cli/findings.h"
#include "cli/views/speech.h"
#include "solver/layout/layout.h"
#include "solver/time/answer.h"
#include "solver/time/plan.h"

namespace ebb::cli {

/// One target of the layout that only time can judge.
struct TimeTarget {
    std::string about;     ///< id of the vessel
    std::string quantity;  ///< "fill_s", "drain_s", "turnover_s", "least_depth_m": a key of the JSON contract
    bool at_most = true;
    double wanted = time::kUnknown;
    double got = time::kUnknown;
    bool met = false;
    bool asked = true;  ///< false: no water went that way in this routine, then neither met nor missed
};

std::vector<TimeTarget> time_targets(const layout::Layout& layout, const time::Course& course);

/// Targets asked for and not met.
std::size_t count_missed(const std::vector<TimeTarget>& targets);

/// "fill_s <= 900": in the words and units of the JSON contract.
std::string wish_of(const TimeTarget& target);

/// "B1 fills in 17 min, wanted 15 min or less".
std::string sentence_of(const TimeTarget& target, const Speech& speech);

/// Everything to look at, trouble first.
std::vector<Finding> cycle_findings(const layout::Layout& layout, const time::Plan& plan, const time::Course& course, const Speech& speech);

/// True when something in it is wrong now: water on a floor, a pump run dry, a run that ended before its time.
bool any_trouble(const std::vector<Finding>& found);

/// True when --strict counts one of them like a target missed: water over a rim, a pump that ran dry. What else troubles is advice.
bool breaks_a_rule(const std::vector<Finding>& found);

}  // namespace ebb::cli
