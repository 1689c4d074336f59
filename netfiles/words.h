#pragma once
// Small helpers for sentences: lists of words, the nearest word, text made safe to print.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "solver/layout/nearest.h"

namespace ebb::netfiles {

/// "a, b or c"
std::string join_words(std::span<const std::string_view> words, std::string_view last_joint);

using layout::nearest_word;

/// The text as it may be printed on one line: control bytes become '?', long texts are cut.
std::string printable(std::string_view text, std::size_t longest = 60);

/// Splits at spaces, tabs and line ends; no empty words.
std::vector<std::string_view> split_words(std::string_view text);

/// A number as briefly as it can be written without loss to the eye: "0.35", "12", "1.2e-06".
std::string brief_number(double value, int digits = 4);

}  // namespace ebb::netfiles
