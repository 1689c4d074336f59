#include "cli/economy_options.h"

#include <CLI/CLI.hpp>

#include <cmath>
#include <string>

#include "netfiles/units.h"

namespace ebb::cli {
namespace {

constexpr double kMostYears = 200.0;

void add_price(CLI::App& command, std::optional<double>& to) {
    command
        .add_option_function<double>(
            "--price-per-kwh",
            [&to](double value) {
                if (!(value >= 0.0) || !std::isfinite(value)) throw CLI::ValidationError("--price-per-kwh", "a number of 0 or more is wanted");
                to = value;
            },
            "price of energy, instead of what the layout says")
        ->option_text("NUMBER");
}

void add_years(CLI::App& command, std::optional<double>& to) {
    command
        .add_option_function<double>(
            "--years",
            [&to](double value) {
                if (!(value > 0.0) || !(value <= kMostYears)) throw CLI::ValidationError("--years", "a number above 0 to 200 is wanted");
                to = value;
            },
            "years to count, instead of what the layout says")
        ->option_text("NUMBER");
}

void add_interest(CLI::App& command, std::optional<double>& to) {
    command
        .add_option_function<std::string>(
            "--interest",
            [&to](const std::string& text) {
                const netfiles::Quantity quantity = netfiles::parse_quantity(text, netfiles::Dimension::share);
                if (!quantity.good()) {
                    throw CLI::ValidationError("--interest", quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
                }
                if (!(quantity.value >= 0.0) || quantity.value > 1.0) {
                    throw CLI::ValidationError("--interest", "'" + text + "' is not between 0 and 100 %; write '4 %' for four percent");
                }
                to = quantity.value;
            },
            "interest a year (\"4 %\"), instead of what the layout says")
        ->option_text("SHARE");
}

}  // namespace

void add_economy_options(CLI::App& command, EconomyOptions to) {
    add_price(command, to.price_per_kwh);
    add_years(command, to.years);
    add_interest(command, to.interest);
}

}  // namespace ebb::cli
