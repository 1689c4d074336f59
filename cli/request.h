#pragma once
// What the user asked for, after the command line has been understood and before anything has been read.

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::cli {

/// How the program ends. The numbers are part of the contract with scripts (docs/commands.md).
enum class ExitStatus : std::uint8_t { fine = 0, command_line = 2, file = 3, no_solution = 4, target_missed = 5, interrupted = 130 };

enum class Format : std::uint8_t { text, json, csv };

struct Request {
    std::string layout_file;                  ///< empty only for `catalogue` without a file
    std::vector<std::string> arrangements;    ///< names asked for; empty: all of them
    std::optional<layout::UnitSystem> units;  ///< not said: what the layout says
    Format format = Format::text;
    std::string output_file;  ///< empty: standard output
    bool strict = false;
    bool uncertain = false;      ///< --uncertain: how sure the figures are
    std::size_t samples = 0;     ///< --samples; 0: not said
    bool everything = false;     ///< --all: every pipe, drain and tee of every arrangement in text
    bool colour = false;         ///< results may be coloured: a terminal, and no NO_COLOR
    std::size_t width = 100;     ///< columns of the terminal, where results go to one
    bool block_letters = false;  ///< the environment speaks UTF-8
};

}  // namespace ebb::cli
