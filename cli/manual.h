#pragma once
// Manual pages in the man macros, one of the program and one of each command.

#include <string>
#include <string_view>

#include "cli/command_line.h"

namespace ebb::cli {

/// Text as roff shows it letter for letter: no hyphen that turns into a dash, no dot or quote that begins a request, no backslash that vanishes.
std::string roff(std::string_view text);

std::string program_page(const ProgramShown& program);
std::string command_page(const ProgramShown& program, const CommandShown& command);

}  // namespace ebb::cli
