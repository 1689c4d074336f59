#pragma once
// Files to a flat list of elements: loads the first file and what it includes, and puts the children of each root in their places.

#include <cstdint>
#include <filesystem>
#include <memory>
#include <pugixml.hpp>
#include <vector>

#include "netfiles/report.h"
#include "netfiles/source.h"

namespace ebb::netfiles {

inline constexpr std::uintmax_t kLargestFile = 1ULL << 30U;  ///< bytes
inline constexpr std::size_t kMostFiles = 200;

/// A child of a root, in the order of the files.
struct TopNode {
    pugi::xml_node node;
    std::int32_t file = 0;
};

/// The parsed files. Nodes live as long as `documents`.
struct Documents {
    std::vector<std::unique_ptr<pugi::xml_document>> documents;  ///< one for each file that could be parsed, in no order of importance
    std::vector<SourceFile> files;
    pugi::xml_node root;         ///< of the first file
    std::vector<TopNode> nodes;  ///< children of all roots, includes replaced by what they hold
};

/// What the root of the first file may be.
enum class WantedRoot : std::uint8_t { layout, catalogue_or_layout, readings };

Documents load_documents(const std::filesystem::path& path, WantedRoot wanted, Report& report);

/// The same for a text in memory, in which includes are refused.
Documents load_text(std::string text, const std::string& name, WantedRoot wanted, Report& report);

/// The same for a text that is to be taken for what stands in the file at `path`, which need not be there.
Documents load_as(const std::filesystem::path& path, std::string text, WantedRoot wanted, Report& report);

/// Where an element begins.
layout::Place place_of(const Documents& documents, const pugi::xml_node& node, std::int32_t file);

/// Where the value of one of its attributes begins; the element itself when it is not there.
layout::Place place_of_attribute(const Documents& documents, const pugi::xml_node& node, std::int32_t file, std::string_view attribute);

}  // namespace ebb::netfiles
