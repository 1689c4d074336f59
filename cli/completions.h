#pragma once
// What the shells bash, zsh and fish offer while a command is typed, written from the command line's own table.

#include <string>

#include "cli/command_line.h"

namespace ebb::cli {

std::string bash_completions(const ProgramShown& program);
std::string zsh_completions(const ProgramShown& program);
std::string fish_completions(const ProgramShown& program);

/// The names of one kind ("arrangements", "routines", "pumps", "vessels", "valves", "switches") in a layout file, one a line; nothing when it cannot
/// be read, for nobody waits for a message while typing.
std::string names_in(const std::string& kind, const std::string& layout_file);

}  // namespace ebb::cli
