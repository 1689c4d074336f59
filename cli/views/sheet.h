#pragma once
// What is filled in by hand before a diagnosis: a sheet to print, and a readings file in which only the figures are missing. Everything that can be
// read stands in the order of the layout's file, which is mostly the order of the walk.

#include <span>
#include <string>

#include "cli/views/view.h"

namespace ebb::cli {

/// A sheet for A4 or Letter, at most 90 columns wide: one part for each arrangement (indices into the layout's).
std::string readings_sheet(const Subject& subject, std::span<const std::int32_t> arrangements);

/// A readings file in which every line is a comment until its figure is there, so that the file is valid from the first one on.
std::string blank_readings(const Subject& subject, std::span<const std::int32_t> arrangements);

}  // namespace ebb::cli
