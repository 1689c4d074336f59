#include "cli/views/csv.h"

#include <array>
#include <charconv>
#include <cmath>

namespace ebb::cli {

std::string csv_cell(std::string_view text) {
    if (text.find_first_of(",\"\r\n") == std::string_view::npos) {
        return std::string(text);
    }
    std::string quoted = "\"";
    for (const char letter : text) {
        quoted.append(letter == '"' ? "\"\"" : std::string(1, letter));
    }
    return quoted + '"';
}

std::string csv_number(double value) {
    if (!std::isfinite(value)) {
        return {};
    }
    constexpr std::size_t kLongestNumber = 32;
    std::array<char, kLongestNumber> digits{};
    const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), value + 0.0);  // + 0: never "-0"
    return {digits.data(), end};
}

}  // namespace ebb::cli
