#pragma once
// `pipes`: what was asked for besides what every command takes.

#include <cstdint>
#include <optional>
#include <string>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

enum class Effort : std::uint8_t { low, normal, high };

struct PipesRequest {
    Request common;
    std::optional<double> price_per_kwh, years, interest;
    Effort effort = Effort::normal;
    std::optional<double> seconds;  ///< search until they are over, instead of an effort
    bool trade_off = false;
    bool prove = false;
    bool no_routines = false;
    std::string write_file;  ///< empty: none
};

void add_pipes_options(CLI::App& command, PipesRequest& request);

}  // namespace ebb::cli
