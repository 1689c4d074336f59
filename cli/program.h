#pragma once
// The whole command line: parse, dispatch, end politely.

#include "cli/request.h"

namespace ebb::cli {

/// Runs the program. Results go to file descriptor 1, messages to 2. Throws nothing.
ExitStatus run_program(int argument_count, const char* const* arguments);

}  // namespace ebb::cli
