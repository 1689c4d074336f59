// The command line of `pipes`.

#include <CLI/CLI.hpp>

#include <map>

#include "cli/pipes.h"
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

void add_interest(CLI::App& command, PipesRequest& request) {
    command
        .add_option_function<std::string>(
            "--interest",
            [&request](const std::string& text) {
                const netfiles::Quantity quantity = netfiles::parse_quantity(text, netfiles::Dimension::share);
                if (!quantity.good()) {
                    throw CLI::ValidationError("--interest", quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
                }
                if (!(quantity.value >= 0.0)) {
                    throw CLI::ValidationError("--interest", "'" + text + "' is less than nothing");
                }
                request.interest = quantity.value;
            },
            "interest a year (\"4 %\"), instead of what the layout says")
        ->option_text("SHARE");
}

}  // namespace

void add_pipes_options(CLI::App& command, PipesRequest& request) {
    add_number(command, "--price-per-kwh", request.price_per_kwh, "price of energy, instead of what the layout says");
    add_number(command, "--years", request.years, "years to count, instead of what the layout says");
    add_interest(command, request);
    const std::map<std::string, Effort> efforts = {{"low", Effort::low}, {"normal", Effort::normal}, {"high", Effort::high}};
    CLI::Option* effort = command
                              .add_option_function<std::string>(
                                  "--effort", [&request, efforts](const std::string& word) { request.effort = efforts.at(word); },
                                  "how long to search where the designs are too many to look at each: low, normal or high")
                              ->check(CLI::IsMember({"low", "normal", "high"}))
                              ->option_text("low|normal|high");
    command
        .add_option_function<double>(
            "--seconds",
            [&request](double value) {
                if (!(value > 0.0) || !(value < 1e9)) throw CLI::ValidationError("--seconds", "a number above 0 is wanted");
                request.seconds = value;
            },
            "search until so many seconds are over; the result then depends on the machine")
        ->option_text("NUMBER")
        ->excludes(effort);
    command.add_flag("--trade-off", request.trade_off, "also a table: what it costs to have more to spare, or to accept less");
    command.add_flag("--prove", request.prove, "work long on the lower bound: how much cheaper any choice could be at most");
    command.add_option("--write", request.write_file, "write the layout with the chosen sizes in to FILE: your own file, only these changed")
        ->option_text("FILE");
}

}  // namespace ebb::cli
