#pragma once
// Where an element of a well-formed text begins and ends, in bytes. Inside netfiles only.

#include <cstddef>
#include <string_view>
#include <vector>

namespace ebb::netfiles {

/// An element, as offsets into its text. Of `<a b="c"/>` the content is empty and stands at the end.
struct Extent {
    std::size_t begin = 0;           ///< its '<'
    std::size_t name_end = 0;        ///< behind the word of its start tag
    std::size_t attributes_end = 0;  ///< behind the last attribute, or behind the word
    std::size_t content_begin = 0;   ///< behind the start tag
    std::size_t content_end = 0;     ///< at the end tag
    std::size_t end = 0;             ///< behind the whole of it
    bool closes_itself = false;      ///< written <.../>
};

/// The element whose '<' stands at `offset`. The text must have passed check_markup().
Extent extent_at(std::string_view text, std::size_t offset);

/// The first element of a text: its root.
Extent root_of(std::string_view text);

/// The elements directly inside one, in order.
std::vector<Extent> children_of(std::string_view text, const Extent& parent);

std::string_view word_of(std::string_view text, const Extent& element);

}  // namespace ebb::netfiles
