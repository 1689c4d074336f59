#pragma once
// The English of the report, in one place: headings, notes and labels. What it shares with the other commands (titles of tables, findings, cautions)
// stands with those. The page's own script takes its words from here too (words_json).

#include <string_view>

namespace ebb::cli::words {

inline constexpr std::string_view kTrouble = "trouble";
inline constexpr std::string_view kDoubt = "worth a second look";
inline constexpr std::string_view kTable = "table";

}  // namespace ebb::cli::words
