#pragma once
// Messages to the person at the terminal: standard error, one sentence each, never mixed with results.

#include <string_view>

namespace ebb::cli {

/// Writes "ebbwright: TEXT" and a line end to standard error.
void tell(std::string_view text);

/// Writes TEXT to standard error as it is.
void tell_plainly(std::string_view text);

}  // namespace ebb::cli
