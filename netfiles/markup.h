#pragma once
// XML as text: a strict look at the whole file before it is parsed, and where the attributes of an element stand.
//
// The parser behind the reader is quick and forgiving; this scan is what makes bad markup an error with a clear place: tags that do not
// match, attributes given twice, unknown entities, DOCTYPE, elements nested too deep, bytes that are not text. One pass, no recursion,
// memory in proportion to the depth.

#include <cstddef>
#include <string_view>
#include <vector>

#include "netfiles/report.h"
#include "netfiles/source.h"

namespace ebb::netfiles {

inline constexpr std::size_t kDeepest = 32;          ///< elements inside one another
inline constexpr std::size_t kMostAttributes = 64;   ///< of one element
inline constexpr std::size_t kLongestValue = 65536;  ///< bytes of one attribute

/// True when the text is well formed; otherwise the first thing wrong is reported.
bool check_markup(const SourceFile& file, std::int32_t file_index, Report& report);

/// An attribute in the text: offsets of its name and of the first character of its value, inside the quotes.
struct AttributePlace {
    std::string_view name;
    std::size_t name_offset = 0;
    std::size_t value_offset = 0;
};

/// The attributes of the start tag whose '<' stands at `offset`; empty when there is no well-formed tag there.
std::vector<AttributePlace> attributes_at(std::string_view text, std::size_t offset);

}  // namespace ebb::netfiles
