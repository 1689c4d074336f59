#include "cli/uncertain_options.h"

#include <CLI/CLI.hpp>
#include <charconv>
#include <string>

namespace ebb::cli {

void add_uncertain_options(CLI::App& command, Request& request) {
    constexpr std::size_t kFewest = 16;
    constexpr std::size_t kMost = 65'536;
    CLI::Option* uncertain =
        command.add_flag("--uncertain", request.uncertain, "how sure the figures are, and what moves them most, with what is not known exactly");
    command
        .add_option_function<std::string>(
            "--samples",
            [&request](const std::string& text) {
                std::size_t value = 0;
                const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
                if (error != std::errc() || end != text.data() + text.size() || value < kFewest || value > kMost) {
                    throw CLI::ValidationError("--samples", "'" + text + "' is not a whole number from " + std::to_string(kFewest) + " to " +
                                                                std::to_string(kMost));
                }
                request.samples = value;
            },
            "of --uncertain: how often each arrangement is solved (1024); powers of two fill best")
        ->option_text("NUMBER")
        ->needs(uncertain);
}

}  // namespace ebb::cli
