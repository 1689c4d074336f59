#include "cli/messages.h"

#include <unistd.h>

#include <string>

namespace ebb::cli {

void tell_plainly(std::string_view text) {
    // Nobody is left to hear of a failure to write to standard error.
    while (!text.empty()) {
        const ssize_t written = ::write(STDERR_FILENO, text.data(), text.size());
        if (written <= 0) {
            return;
        }
        text.remove_prefix(static_cast<std::size_t>(written));
    }
}

void tell(std::string_view text) {
    std::string line = "ebbwright: ";
    line.append(text);
    line.push_back('\n');
    tell_plainly(line);
}

}  // namespace ebb::cli
