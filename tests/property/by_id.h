#pragma once
// An answer by the names of its things, so that answers to layouts written in another order can be compared.

#include <algorithm>
#include <cmath>
#include <map>
#include <string>

#include "solver/layout/layout.h"
#include "solver/settle/farm.h"

namespace ebb::test {

struct ById {
    std::map<std::string, double> flow_m3_s, head_m;
    double largest_flow_m3_s = 0.0;
    settle::State state = settle::State::not_run;
};

inline ById by_id(const layout::Layout& layout, const settle::Answer& answer) {
    ById found;
    found.state = answer.state;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) found.flow_m3_s[layout.pipes[p].id] = answer.pipes[p].flow_m3_s;
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) found.flow_m3_s[layout.pumps[p].id] = answer.pumps[p].flow_m3_s;
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) found.flow_m3_s[layout.standpipes[s].id] = answer.standpipes[s].flow_m3_s;
    for (std::size_t t = 0; t < layout.tees.size(); ++t) found.head_m[layout.tees[t].id] = answer.tees[t].head_m;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) found.head_m[layout.vessels[v].id] = answer.vessels[v].level_m;
    for (const auto& [id, flow] : found.flow_m3_s) found.largest_flow_m3_s = std::max(found.largest_flow_m3_s, std::abs(flow));
    return found;
}

struct Apart {
    double flow_share = 0.0, head_m = 0.0;
    std::string flow_of, head_of;
    bool same_state = true;
};

/// How far two answers are apart, over the things both have. `raised_m`: by how much the other stands higher. Flows are
/// held against the largest, 1e-5 m3/s at least. A head that only one of them knows counts as infinitely far.
inline Apart apart(const ById& one, const ById& other, double raised_m = 0.0) {
    Apart far;
    far.same_state = one.state == other.state;
    const double scale = std::max({one.largest_flow_m3_s, other.largest_flow_m3_s, 1e-5});
    for (const auto& [id, flow] : one.flow_m3_s)
        if (const auto there = other.flow_m3_s.find(id); there != other.flow_m3_s.end())
            if (const double off = std::abs(flow - there->second) / scale; off > far.flow_share) {
                far.flow_share = off;
                far.flow_of = id;
            }
    for (const auto& [id, head] : one.head_m)
        if (const auto there = other.head_m.find(id); there != other.head_m.end()) {
            if (std::isnan(head) && std::isnan(there->second)) continue;
            const double off = std::isnan(head) || std::isnan(there->second) ? HUGE_VAL : std::abs(head + raised_m - there->second);
            if (off > far.head_m) {
                far.head_m = off;
                far.head_of = id;
            }
        }
    return far;
}

}  // namespace ebb::test
