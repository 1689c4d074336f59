// The command line of `report`.

#include <CLI/CLI.hpp>

#include "cli/report.h"

namespace ebb::cli {

void add_report_options(CLI::App& /*command*/, ReportRequest& /*request*/) {}

}  // namespace ebb::cli
