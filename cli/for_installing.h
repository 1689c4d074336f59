#pragma once
// What the program does for those who install it: it writes its own manual pages and completions, and says how it was built.

#include <optional>
#include <string>

#include "cli/request.h"

namespace CLI {
class App;
}

namespace ebb::cli {

/// Version, sources, compiler, flags, libraries, and the instructions chosen on this machine; a line each.
std::string about_this_build();

/// Answers what only packages and shells ask and --help does not show: --write-manual DIR, --write-completions DIR, --names KIND LAYOUT. Nothing when
/// the line asks none of these. Throws OutputFailed when a file cannot be written.
std::optional<ExitStatus> answer_for_installing(const CLI::App& program, int argument_count, const char* const* arguments);

}  // namespace ebb::cli
