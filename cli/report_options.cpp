// The command line of `report`.

#include <CLI/CLI.hpp>

#include "cli/report.h"
#include "cli/survey.h"

namespace ebb::cli {

void add_report_options(CLI::App& command, ReportRequest& request) {
    command.get_option("--arrangement")->description("only this arrangement; may be repeated (else all); the page begins with the first of them");
    add_switch_option(command,
                      "what can be switched in the page: valves, pumps, standpipes, or vessels for the valve of their feed, as `survey` takes them "
                      "(else what seems to matter most)",
                      request.switches);
    command.add_option("--readings", request.readings_file, "a readings file: the page also shows what `diagnose` makes of it")->option_text("FILE");
    command.add_flag("--whole", request.whole,
                     "also what takes longer: what other sizes of the pipes marked to be chosen would cost, and of a very large layout all that a "
                     "small one shows");
}

}  // namespace ebb::cli
