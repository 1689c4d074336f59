#pragma once
// Options that take a whole number between two ends. Only for files that declare options: it brings the whole parser with it.

#include <CLI/CLI.hpp>

#include <charconv>
#include <cstdint>
#include <string>
#include <string_view>

namespace ebb::cli {

inline bool read_whole(std::string_view text, std::uint64_t& to) {
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), to);
    return error == std::errc() && end == text.data() + text.size();
}

template <typename Number>
CLI::Option* add_number(CLI::App& command, const char* name, const char* says, Number least, Number most, Number& to) {
    return command
        .add_option_function<std::string>(
            name,
            [name, least, most, &to](const std::string& text) {
                std::uint64_t value = 0;
                if (!read_whole(text, value) || value < static_cast<std::uint64_t>(least) || value > static_cast<std::uint64_t>(most)) {
                    throw CLI::ValidationError(name,
                                               "'" + text + "' is not a whole number from " + std::to_string(least) + " to " + std::to_string(most));
                }
                to = static_cast<Number>(value);
            },
            says)
        ->option_text("NUMBER");
}

/// --threads, of the commands that solve much.
inline void add_threads(CLI::App& command, unsigned& threads) {
    constexpr unsigned kMostThreads = 1024;
    add_number(command, "--threads", "threads to solve on (as many as there are cores)", 1U, kMostThreads, threads);
}

}  // namespace ebb::cli
