#pragma once
// What energy and the years cost, said on the command line of `pumps` and `pipes`, within the limits that the layout's economy has.

#include <optional>

namespace CLI {
class App;
}

namespace ebb::cli {

/// Where the options go; they outlive the command line.
struct EconomyOptions {
    std::optional<double>&price_per_kwh, &years, &interest;
};

void add_economy_options(CLI::App& command, EconomyOptions to);

}  // namespace ebb::cli
