#include "cli/messages.h"

#include <unistd.h>

#include <string>

namespace ebb::cli {

namespace {

/// Names come from files and command lines: what would command the terminal becomes '?', and of what is too long to be read the middle is left out.
std::string for_a_terminal(std::string_view text) {
    constexpr std::size_t kLongest = 4000, kKept = 600;
    constexpr unsigned char kSpace = 0x20, kDelete = 0x7f, kLead = 0xc2, kFirstControl = 0x80, kLastControl = 0x9f;
    const auto continues = [&](std::size_t i) { return i < text.size() && (static_cast<unsigned char>(text[i]) & 0xc0U) == 0x80U; };
    std::size_t cut_begin = text.size(), cut_end = text.size();
    if (text.size() > kLongest) {
        for (cut_begin = kKept; continues(cut_begin);) --cut_begin;  // never inside a letter
        for (cut_end = text.size() - kKept; continues(cut_end);) ++cut_end;
    }
    std::string line;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (i == cut_begin) line += " [...] ", i = cut_end;
        const auto byte = static_cast<unsigned char>(text[i]), next = i + 1 < text.size() ? static_cast<unsigned char>(text[i + 1]) : kSpace;
        const bool two = byte == kLead && next >= kFirstControl && next <= kLastControl;  // the upper controls as UTF-8 has them
        const bool control = (byte < kSpace && byte != '\n') || byte == kDelete || two;
        line.push_back(control ? '?' : text[i]);
        i += two ? 1 : 0;
    }
    return line;
}

}  // namespace

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

void tell(std::string_view text) { tell_plainly("ebbwright: " + for_a_terminal(text) + '\n'); }

}  // namespace ebb::cli
