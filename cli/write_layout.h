#pragma once
// The layout with what was chosen put in, as a new file (--write FILE): whole and valid, or not at all.

#include <string>

#include "netfiles/rewrite.h"

namespace ebb::cli {

/// True when the changed layout may be written to `file`: the name is not that of a file that was read, and its folder can be written to.
/// Otherwise says why on standard error; for the beginning of a command, before the work. An empty `file` asks for nothing and is fine.
bool layout_can_be_written(const std::string& file, const netfiles::ReadResult& read);

/// Writes the changed layout to `file` after reading it as it would stand there. False, with what is wrong on standard error, when it would not
/// be a valid layout; nothing is written then. Throws OutputFailed (output.h) when the file cannot be written.
bool write_layout(const netfiles::Rewrite& rewrite, const std::string& file);

}  // namespace ebb::cli
