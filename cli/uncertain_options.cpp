#include "cli/uncertain_options.h"

#include <CLI/CLI.hpp>

#include "cli/number_option.h"

namespace ebb::cli {

void add_uncertain_options(CLI::App& command, Request& request) {
    constexpr std::size_t kFewest = 16;
    constexpr std::size_t kMost = 65'536;
    CLI::Option* uncertain =
        command.add_flag("--uncertain", request.uncertain, "how sure the figures are, and what moves them most, with what is not known exactly");
    add_number(command, "--samples", "of --uncertain: how often each arrangement is solved (1024); powers of two fill best", kFewest, kMost,
               request.samples)
        ->needs(uncertain);
}

}  // namespace ebb::cli
