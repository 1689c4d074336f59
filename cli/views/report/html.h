#pragma once
// A page in HTML, built as a tree. Text and attributes are escaped by the library that writes the tree out, whatever they hold: no name of a layout
// can become markup. Style and script are ours alone, and a content policy in the page names them by their sums: a browser runs nothing else and
// fetches nothing at all.

#include <initializer_list>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "cli/views/page.h"
#include "cli/views/report/assets.h"

namespace ebb::cli::html {

using Node = pugi::xml_node;

struct Attribute {
    const char* name;
    std::string value;
};
using Attributes = std::initializer_list<Attribute>;

/// A new last child.
Node add(Node parent, const char* element, Attributes attributes = {});
/// The same with a text in it.
Node add(Node parent, const char* element, Attributes attributes, std::string_view text);
/// The class of a row or sentence by its ink; "" where there is none.
const char* class_of(Ink ink);
/// The sign of trouble or doubt, with its word for those who do not see it; nothing for other inks.
void mark(Node parent, Ink ink);

/// More text at the end of an element.
void text(Node parent, std::string_view says);

/// "12.3": a coordinate to a tenth, without trailing zeros.
std::string tenths(double value);

/// A box that scrolls sideways on a narrow screen, by keyboard too.
Node scroll_box(Node parent, std::string_view name);

enum class Caption : unsigned char {
    seen,
    heard,  ///< only for those who do not see the page: what stands above says it already
};

/// The table with its titles, in a scroll box; rows marked as the plain text marks them, by a sign that also has a word. Nothing when it is empty.
/// Returns the element `table`.
Node table(Node parent, const Table& table, std::string_view caption, Caption shown = Caption::seen);

/// A section of the page with its heading and the id that links lead to.
Node section(Node parent, const std::string& id, std::string_view heading);

/// What a page is besides its body.
struct Head {
    std::string title;
    std::vector<assets::Asset> styles, scripts;  ///< each becomes an element of its own
    std::string data;                            ///< JSON for the scripts, in the element of id "data"
};

/// The whole file: `body` is an element whose children become the body of the page.
std::string written(const Head& head, Node body);

}  // namespace ebb::cli::html
