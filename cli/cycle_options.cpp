// The command line of `cycle`.

#include <CLI/CLI.hpp>

#include "cli/cycle.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

/// Coarser than this an integration invents spills.
constexpr double kCoarsest_m = 1.001e-3;

/// A quantity written as in a layout: "30 day", "10 s", "1e-6 m". It has to be more than nothing.
void add_quantity(CLI::App& command, const char* name, netfiles::Dimension dimension, std::optional<double>& to, const char* says) {
    const auto read = [&to, dimension, name](const std::string& text) {
        const netfiles::Quantity quantity = netfiles::parse_quantity(text, dimension);
        if (!quantity.good()) {
            throw CLI::ValidationError(name, quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
        }
        if (!(quantity.value > 0.0)) {
            throw CLI::ValidationError(name, "'" + text + "' is not more than nothing");
        }
        if (dimension == netfiles::Dimension::length && quantity.value > kCoarsest_m) {
            throw CLI::ValidationError(name, "'" + text + "' is too coarse to follow a level by; write 1 mm or less");
        }
        to = quantity.value;
    };
    command.add_option_function<std::string>(name, read, says)->option_text(dimension == netfiles::Dimension::time ? "TIME" : "HEIGHT");
}

}  // namespace

void add_cycle_options(CLI::App& command, CycleRequest& request) {
    command.add_option("--routine", request.routines, "only the routine of this name; may be given again for more")
        ->option_text("NAME")
        ->allow_extra_args(false);
    add_quantity(command, "--lasts", netfiles::Dimension::time, request.lasts_s, "run this long (\"30 day\") instead of what the routine says");
    command.add_flag("--until-repeats", request.until_repeats, "stop as soon as a cycle repeats the one before");
    command
        .add_option_function<std::string>(
            "--events", [&request](const std::string& which) { request.all_events = which == "all"; },
            "text: all events, or (the default) those of the first cycles")
        ->check(CLI::IsMember({"first", "all"}))
        ->option_text("first|all");
    command.add_option("--series", request.series_file, "write levels and pump flows against time to FILE: CSV, or JSON when it ends in .json")
        ->option_text("FILE");
    add_quantity(command, "--every", netfiles::Dimension::time, request.every_s,
                 "a line of the series every so often (\"10 s\"); else at the solver's own steps");
    add_quantity(command, "--tolerance", netfiles::Dimension::length, request.level_tolerance_m,
                 "error allowed in one step in time, as height of water (\"1e-6 m\"): to check that an answer does not hang on it");
}

}  // namespace ebb::cli
