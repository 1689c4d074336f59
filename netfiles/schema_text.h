#pragma once
// The table of the language written out: as XML Schema for editors, and as the reference part of docs/layout-format.md.

#include <string>
#include <string_view>

namespace ebb::netfiles {

/// XML Schema 1.0 for files whose root is `root` ("layout" or "catalogue"). It accepts what the reader accepts as far as structure, words,
/// units and required attributes go; what needs a second look (labels that exist, heights that fit) only the reader can say.
std::string xsd_text(std::string_view root);

/// Every element with its attributes, children, units and defaults, in Markdown.
std::string reference_text();

}  // namespace ebb::netfiles
