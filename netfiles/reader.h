#pragma once
// Reads a layout file (and what it includes) into a Layout in SI, and says everything that is wrong with it, each with its place.

#include <filesystem>
#include <string>
#include <vector>

#include "netfiles/catalogue.h"
#include "netfiles/source.h"
#include "solver/layout/layout.h"
#include "solver/layout/problems.h"

namespace ebb::netfiles {

/// What came of reading a layout file: the layout, or everything that is wrong with the file.
struct ReadResult {
    layout::Layout layout;                  ///< valid, names resolved, when `problems` is empty
    std::vector<layout::Problem> problems;  ///< errors, in the order of their places
    std::vector<SourceFile> files;          ///< what was read: `Place::file` is an index into it; the first is the file asked for
    Catalogue catalogue;                    ///< pipe series and fitting kinds of the file itself (not the built-in ones)
    /// Whether the layout may be used.
    bool good() const { return problems.empty(); }
};

/// Reads and validates the layout file at `path`. Never throws for anything a file can contain.
ReadResult read_layout(const std::filesystem::path& path);

/// The same from text in memory; `name` stands for the file in messages. Includes are refused.
ReadResult read_layout_text(std::string text, const std::string& name);

/// The same from text that is taken for what stands in the file at `path`: includes are looked for from its folder. The file need not be there.
ReadResult read_layout_as(const std::filesystem::path& path, std::string text);

/// Reads a file whose root is a catalogue (or a layout) for its pump models, pipe series and fitting kinds only; nothing is resolved.
ReadResult read_catalogue(const std::filesystem::path& path);

}  // namespace ebb::netfiles
