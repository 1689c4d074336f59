// The command line of `pumps`.

#include <CLI/CLI.hpp>

#include "cli/pumps.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

/// A plain number that is not negative.
void add_number(CLI::App& command, const char* name, std::optional<double>& to, const char* says) {
    command
        .add_option_function<double>(
            name,
            [&to, name](double value) {
                if (!(value >= 0.0) || !(value < 1e12)) throw CLI::ValidationError(name, "a number of 0 or more is wanted");
                to = value;
            },
            says)
        ->option_text("NUMBER");
}

}  // namespace

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
    add_number(command, "--price-per-kwh", request.price_per_kwh, "price of energy, instead of what the layout says");
    add_number(command, "--years", request.years, "years to count, instead of what the layout says");
    command
        .add_option_function<std::string>(
            "--interest",
            [&request](const std::string& text) {
                const netfiles::Quantity quantity = netfiles::parse_quantity(text, netfiles::Dimension::share);
                if (!quantity.good()) {
                    throw CLI::ValidationError("--interest", quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
                }
                if (!(quantity.value >= 0.0) || quantity.value >= 1.0) {
                    throw CLI::ValidationError("--interest", "'" + text + "' is not between 0 and 100 %; write '4 %' for four percent");
                }
                request.interest = quantity.value;
            },
            "interest a year (\"4 %\"), instead of what the layout says")
        ->option_text("SHARE");
    command
        .add_option("--curves", request.curves_file, "write system curves and pump curves to FILE, for plotting: CSV, or JSON when it ends in .json")
        ->option_text("FILE");
    command.add_option("--write", request.write_file, "write the layout with the best pumps put in to FILE: your own file, only these changed")
        ->option_text("FILE");
    command.add_flag("--standby", request.standby, "also ask what is left unmet when one pump stops");
    command.add_flag("--no-routines", request.no_routines, "do not follow the routines to see whether beds fill and drain in time");
}

}  // namespace ebb::cli
