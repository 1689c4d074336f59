#pragma once
// `pumps`: what was asked for besides what every command takes.

#include <optional>
#include <string>
#include <vector>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

struct PumpsRequest {
    Request common;
    std::vector<std::string> pumps;       ///< ids asked for; empty: all of the layout
    std::vector<std::string> candidates;  ///< models; empty: those of the layout
    int most = 0;                         ///< in parallel; 0: as the layout says
    std::optional<double> price_per_kwh, years, interest;
    std::string curves_file;  ///< empty: none
    std::string write_file;   ///< empty: none
    bool standby = false;
    bool no_routines = false;
};

void add_pumps_options(CLI::App& command, PumpsRequest& request);

}  // namespace ebb::cli
