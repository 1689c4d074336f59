// The command line of `balance`.

#include <CLI/CLI.hpp>

#include "cli/balance.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

/// A quantity of more than nothing, written as in a layout.
double quantity_of(const char* option, const std::string& text, netfiles::Dimension dimension) {
    const netfiles::Quantity quantity = netfiles::parse_quantity(text, dimension);
    if (!quantity.good()) {
        throw CLI::ValidationError(option, quantity.says + (quantity.advice.empty() ? "" : "; " + quantity.advice));
    }
    if (!(quantity.value > 0.0)) {
        throw CLI::ValidationError(option, "'" + text + "' is not more than nothing");
    }
    return quantity.value;
}

std::string trimmed(const std::string& text) {
    const std::size_t first = text.find_first_not_of(' ');
    return first == std::string::npos ? std::string() : text.substr(first, text.find_last_not_of(' ') - first + 1);
}

TargetSaid target_of(const std::string& text) {
    const std::size_t equals = text.find('=');
    if (equals == std::string::npos || equals == 0) {
        throw CLI::ValidationError("--target", "'" + text + "' does not read as a vessel and a flow; write \"B1=12 l/min\"");
    }
    return {.vessel = trimmed(text.substr(0, equals)),
            .inflow_m3_s = quantity_of("--target", trimmed(text.substr(equals + 1)), netfiles::Dimension::flow)};
}

void add_words(const std::string& text, std::vector<std::string>& to) {
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find_first_of(" ,", begin), text.size());
        if (end > begin) to.push_back(text.substr(begin, end - begin));
        begin = end + 1;
    }
}

}  // namespace

void add_balance_options(CLI::App& command, BalanceRequest& request) {
    command.get_option("--arrangement")
        ->description("the arrangement to set valves for (else only the first of the layout); given again: one setting for all of them");
    command.add_option("--valve", request.valves, "set only this valve; may be given again for more (else every valve on the way to an outlet)")
        ->option_text("ID")
        ->allow_extra_args(false);
    command
        .add_option_function<std::string>(
            "--valves", [&request](const std::string& text) { add_words(text, request.valves); }, "the same for several at once: \"VB1 VB2 VB3\"")
        ->option_text("IDS");
    command
        .add_option_function<std::vector<std::string>>(
            "--target",
            [&request](const std::vector<std::string>& texts) {
                for (const std::string& text : texts) request.targets.push_back(target_of(text));
            },
            "the flow an outlet shall get, instead of what the layout says of it (\"B1=12 l/min\"); may be given again for more")
        ->option_text("VESSEL=FLOW")
        ->allow_extra_args(false);
    command
        .add_option("--pump-speed", request.free_pumps, "let the speed of this pump be chosen too, for one arrangement; may be given again for more")
        ->option_text("PUMP")
        ->allow_extra_args(false);
    command
        .add_option_function<std::string>(
            "--spare",
            [&request](const std::string& text) {
                constexpr double kMostSpare = 1.0;
                request.spare = quantity_of("--spare", text, netfiles::Dimension::share);
                if (request.spare > kMostSpare) throw CLI::ValidationError("--spare", "'" + text + "' is more than 100 %");
            },
            "aim at so much more than every target, for openings that a hand cannot set exactly (\"5 %\"; else nothing)")
        ->option_text("SHARE");
    command
        .add_option_function<std::string>(
            "--bucket", [&request](const std::string& text) { request.bucket_m3 = quantity_of("--bucket", text, netfiles::Dimension::volume); },
            "the bucket outlets are measured with (\"20 l\"; else 10 l)")
        ->option_text("VOLUME");
    command.add_option("--write", request.write_file, "write the layout with the openings put in to FILE: your own file, only these changed")
        ->option_text("FILE");
}

}  // namespace ebb::cli
