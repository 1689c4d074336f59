#pragma once
// The search for a balanced setting: steps of linear programs, each tried and taken or shortened, then Newton's method on what they leave.

#include <functional>
#include <stop_token>
#include <vector>

#include "solver/choose/balance_step.h"

namespace ebb::choose {

/// Where a search ended.
struct Searched {
    bool found = false;  ///< at least the start could be solved
    bool stopped = false;
    ValveSetting setting;
    SeenSetting seen;
    bool exact = true;   ///< the last step promised every outlet its target
    double worst = 0.0;  ///< greatest deviation
    double lacks = 0.0;  ///< greatest shortfall
    int positions = 0;
};

struct SearchOptions {
    double head_scale_m = 1.0;
    std::stop_token stop;
    std::function<void(double)> progress;
};

Searched search_balance(const BalanceFrame& frame, BalanceTrial& trial, const std::vector<ValveSetting>& starts, const SearchOptions& options);

}  // namespace ebb::choose
