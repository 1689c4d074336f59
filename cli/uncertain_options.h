#pragma once
// `flows --uncertain`: its part of the command line.

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

void add_uncertain_options(CLI::App& command, Request& request);

}  // namespace ebb::cli
