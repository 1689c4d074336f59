#pragma once
// The table of the language written out: as XML Schema for editors, and as the reference parts of
// docs/layout-format.md and docs/readings-format.md.

#include <span>
#include <string>
#include <string_view>

namespace ebb::netfiles {

/// XML Schema 1.0 for files whose root is `root` ("layout", "catalogue" or "readings"). It accepts what the reader accepts as far as structure,
/// words, units and required attributes go; what needs a second look (labels that exist, heights that fit) only the reader can say.
std::string xsd_text(std::string_view root);

/// Every element below `roots` with its attributes, children, units and defaults, in Markdown.
std::string reference_text(std::span<const std::string_view> roots);

}  // namespace ebb::netfiles
