// The command line of `pipes`.

#include <CLI/CLI.hpp>

#include <map>

#include "cli/economy_options.h"
#include "cli/pipes.h"

namespace ebb::cli {

void add_pipes_options(CLI::App& command, PipesRequest& request) {
    add_economy_options(command, {request.price_per_kwh, request.years, request.interest});
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
    command.add_flag("--no-routines", request.no_routines, "do not follow the routines to see whether beds fill and drain in time");
    command.add_option("--write", request.write_file, "write the layout with the chosen sizes in to FILE: your own file, only these changed")
        ->option_text("FILE");
}

}  // namespace ebb::cli
