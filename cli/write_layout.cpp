#include "cli/write_layout.h"

#include <fmt/format.h>

#include "cli/messages.h"
#include "cli/output.h"
#include "cli/session.h"

namespace ebb::cli {

bool layout_can_be_written(const std::string& file, const netfiles::ReadResult& read) {
    if (file.empty()) {
        return true;
    }
    if (!file_is_safe("--write", file, read)) {
        return false;
    }
    try {
        const Output trial(file);  // leaves nothing behind
    } catch (const OutputFailed& failed) {
        tell(failed.what());
        return false;
    }
    return true;
}

bool write_layout(const netfiles::Rewrite& rewrite, const std::string& file) {
    const std::string text = rewrite.text(file);
    const netfiles::ReadResult again = netfiles::read_layout_as(file, text);
    if (!again.good()) {
        tell_problems(again.problems, again.files);
        tell(fmt::format("the changed layout would not be valid; '{}' was not written", file));
        return false;
    }
    Output output(file);
    output.write(text);
    output.finish();
    return true;
}

}  // namespace ebb::cli
