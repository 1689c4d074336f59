#pragma once
// What `check` has to say about a layout: doubts that need no solve, doubts of every answer gathered over the arrangements,
// what was found fine, and the levels from the top down.

#include <initializer_list>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "cli/findings.h"
#include "solver/layout/layout.h"
#include "solver/layout/problems.h"
#include "solver/settle/answer.h"

namespace ebb::cli {

/// One remark, and the arrangements it holds in (empty: it does not depend on them).
struct Remark {
    Weight weight = Weight::doubt;
    layout::Problem problem;
    std::vector<std::string> arrangements;
};

/// Gathers remarks: the same thing said of the same element in several arrangements becomes one remark.
class Inspection {
public:
    Inspection(const layout::Layout& layout, const Speech& speech) : layout_(layout), speech_(speech) {}

    /// Doubts about the layout as written.
    void add_doubts(const std::vector<layout::Problem>& doubts);
    /// Everything to look at in one answer, targets missed included.
    void add_answer(const settle::Answer& answer);

    /// Trouble first, and of that what harms now before what is only missed; otherwise in the order found.
    std::vector<Remark> remarks() const;
    /// Sentences on what was looked at and found right.
    std::vector<std::string> fine() const;

private:
    void add(Weight weight, layout::Problem problem, const std::string& arrangement);
    bool any_of(std::initializer_list<std::string_view> codes) const;

    const layout::Layout& layout_;
    const Speech& speech_;
    std::vector<Remark> remarks_;
    std::unordered_map<std::string, layout::Problem> advice_;  ///< on pumps against shut valves, by their ids
    std::unordered_map<std::string, std::size_t> by_name_;     ///< code and id of what answers said: where its remark is
    std::size_t answers_ = 0, settled_ = 0, targets_ = 0, missed_ = 0, shut_off_ = 0;
};

/// One line of the hydraulic profile.
struct ProfileLine {
    double elevation_m = 0.0;
    std::string about, what;
    std::string where;  ///< the id `what` ends with, or ""
    std::string sentence() const { return where.empty() ? what : what + " " + where; }
};

/// Every height of the layout from the highest to the lowest: rims, lips, ports, start levels, floors, tees, pumps.
std::vector<ProfileLine> profile_of(const layout::Layout& layout);

}  // namespace ebb::cli
