#pragma once
// `report`: what was asked for besides what every command takes.

#include <string>
#include <vector>

#include "cli/request.h"
#include "cli/survey.h"

namespace CLI {
class App;
}

namespace ebb::cli {

struct ReportRequest {
    Request common;
    std::string readings_file;         ///< --readings; empty: none
    std::vector<SwitchSaid> switches;  ///< --switch; empty: those that seem to matter most
    bool whole = false;                ///< --whole: what takes longer too
};

void add_report_options(CLI::App& command, ReportRequest& request);

}  // namespace ebb::cli
