#pragma once
// What can be wrong with a layout: one table of messages (code, text, advice), provoked one by one in the tests.

#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::layout {

/// An error cannot be solved; a doubt can.
enum class Severity : std::uint8_t { error, doubt };

/// One thing that is wrong (the layout cannot be solved) or doubtful (it can, but look).
struct Problem {
    Severity severity = Severity::error;
    std::string code;    ///< stable, lower-case-with-hyphens, e.g. "lip-above-rim"
    std::string about;   ///< id of the element
    std::string says;    ///< what is wrong, with the value
    std::string advice;  ///< what to write or do instead
    Place place;
    Place other_place;      ///< the second place of a contradiction
    std::string attribute;  ///< the attribute of the element that is wrong, if it is one
};

}  // namespace ebb::layout
