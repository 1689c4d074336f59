#pragma once
// `report`: what was asked for besides what every command takes.

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

struct ReportRequest {
    Request common;
};

void add_report_options(CLI::App& command, ReportRequest& request);

}  // namespace ebb::cli
