#pragma once
// `balance`: what was asked for besides what every command takes.

#include <string>
#include <vector>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

/// `--target "B1=12 l/min"`.
struct TargetSaid {
    std::string vessel;
    double inflow_m3_s = 0.0;
};

struct BalanceRequest {
    Request common;
    std::vector<std::string> valves;      ///< ids; empty: those on the way to the outlets
    std::vector<TargetSaid> targets;      ///< instead of the layout's
    std::vector<std::string> free_pumps;  ///< ids of pumps whose speed may be chosen
    double spare = 0.0;                   ///< share aimed at beyond every target
    double bucket_m3 = 0.010;             ///< to measure outlets with
    std::string write_file;               ///< empty: none
};

void add_balance_options(CLI::App& command, BalanceRequest& request);

}  // namespace ebb::cli
