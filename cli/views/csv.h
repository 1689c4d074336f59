#pragma once
// Comma-separated values quoted as RFC 4180 describes, lines ended by a line feed alone; numbers with a decimal point in every locale.

#include <string>
#include <string_view>

namespace ebb::cli {

/// The text as one cell: quoted when it holds a comma, a quote or a line end.
std::string csv_cell(std::string_view text);

/// The shortest text that reads back as the same number; an unknown number is an empty cell.
std::string csv_number(double value);

}  // namespace ebb::cli
