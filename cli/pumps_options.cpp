// The command line of `pumps`.

#include <CLI/CLI.hpp>

#include "cli/economy_options.h"
#include "cli/pumps.h"

namespace ebb::cli {

void add_pumps_options(CLI::App& command, PumpsRequest& request) {
    command.add_option("--pump", request.pumps, "choose only this pump of the layout; may be given again for more")
        ->option_text("ID")
        ->allow_extra_args(false);
    command
        .add_option("--candidate", request.candidates, "only this model; may be given again for more (else those of the layout's economy, or all)")
        ->option_text("MODEL")
        ->allow_extra_args(false);
    constexpr int kMost = 20;
    command.add_option("--most", request.most, "up to so many of a model side by side, instead of what the layout says")
        ->check(CLI::Range(1, kMost))
        ->option_text("COUNT");
    add_economy_options(command, {request.price_per_kwh, request.years, request.interest});
    command
        .add_option("--curves", request.curves_file, "write system curves and pump curves to FILE, for plotting: CSV, or JSON when it ends in .json")
        ->option_text("FILE");
    command.add_option("--write", request.write_file, "write the layout with the best pumps put in to FILE: your own file, only these changed")
        ->option_text("FILE");
    command.add_flag("--standby", request.standby, "also ask what is left unmet when one pump stops");
    command.add_flag("--no-routines", request.no_routines, "do not follow the routines to see whether beds fill and drain in time");
}

}  // namespace ebb::cli
