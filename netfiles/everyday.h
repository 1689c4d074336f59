#pragma once
// What people call things, where the language has another word: looked up before the nearest spelling, which would lead astray
// ("elbow" is near no word of ours, "depth" is near none, "name" is near "rim").

#include <string>
#include <string_view>

#include "netfiles/schema.h"

namespace ebb::netfiles {

/// Advice for an element `word` that cannot stand in `parent`; empty when the word is not an everyday one, or ours would not fit there either.
std::string_view everyday_element(std::string_view word, const ElementRule& parent);

/// Advice for an attribute that `element` does not have; empty as above.
std::string everyday_attribute(std::string_view word, const ElementRule& element);

/// "sch40", "Schedule 40", "pn16": the series as it is named here; empty when it looks like none.
std::string everyday_series(std::string_view word);

/// "2 inch", "2\"", "1.5 in": the size of a series as it may be named there ("2 in", "1-1/2 in"); empty when it looks like none.
std::string everyday_size(std::string_view word);

/// "elbow", "90", "tee": the fitting kinds that may be meant, as advice; empty when it looks like none.
std::string_view everyday_fitting(std::string_view word);

}  // namespace ebb::netfiles
