#include "netfiles/words.h"

#include <array>
#include <charconv>
#include <cmath>

namespace ebb::netfiles {
namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

}  // namespace

std::string join_words(std::span<const std::string_view> words, std::string_view last_joint) {
    std::string text;
    for (std::size_t i = 0; i < words.size(); ++i) {
        if (i > 0 && i + 1 == words.size()) {
            text += " " + std::string(last_joint) + " ";
        } else if (i > 0) {
            text += ", ";
        }
        text += words[i];
    }
    return text;
}

std::string printable(std::string_view text, std::size_t longest) {
    std::string safe;
    for (const char c : text.substr(0, longest)) {
        const auto byte = static_cast<unsigned char>(c);
        safe += byte < 0x20 || byte == 0x7F ? '?' : c;
    }
    if (text.size() > longest) {
        while (!safe.empty() && (static_cast<unsigned char>(safe.back()) & 0xC0U) == 0x80U) {  // never cut inside a character
            safe.pop_back();
        }
        if (!safe.empty() && (static_cast<unsigned char>(safe.back()) & 0x80U) != 0U) {
            safe.pop_back();
        }
        safe += "...";
    }
    return safe;
}

std::vector<std::string_view> split_words(std::string_view text) {
    std::vector<std::string_view> words;
    std::size_t at = 0;
    while (at < text.size()) {
        while (at < text.size() && is_blank(text[at])) {
            ++at;
        }
        const std::size_t start = at;
        while (at < text.size() && !is_blank(text[at])) {
            ++at;
        }
        if (at > start) {
            words.push_back(text.substr(start, at - start));
        }
    }
    return words;
}

std::string brief_number(double value, int digits) {
    if (!std::isfinite(value)) {
        return "-";
    }
    std::array<char, 64> buffer{};
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, digits);
    return error == std::errc() ? std::string(buffer.data(), end) : "-";
}

}  // namespace ebb::netfiles
