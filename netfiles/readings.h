#pragma once
// Reads a file of readings (levels, buckets, pressures, glances) taken at the farm of a layout, in SI, and says everything that is wrong with it.

#include <filesystem>
#include <string>
#include <vector>

#include "netfiles/source.h"
#include "solver/diagnose/reading.h"
#include "solver/layout/layout.h"
#include "solver/layout/problems.h"

namespace ebb::netfiles {

/// What came of reading a readings file: the readings, or everything that is wrong with the file.
struct ReadingsResult {
    std::string name;
    diagnose::Readings readings;            ///< complete when `problems` is empty
    std::vector<layout::Problem> problems;  ///< in the order of their places
    std::vector<SourceFile> files;
    /// Whether the readings may be used.
    bool good() const { return problems.empty(); }
};

/// `layout` is valid. Never throws for anything a file can contain.
ReadingsResult read_readings(const std::filesystem::path& path, const layout::Layout& layout);

/// The same from text in memory; `name` stands for the file in messages.
ReadingsResult read_readings_text(std::string text, const std::string& name, const layout::Layout& layout);

}  // namespace ebb::netfiles
