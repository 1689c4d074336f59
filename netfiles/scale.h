#pragma once
// How large and how small the quantities of a farm can be: beyond these a number is a slip of the pen, and the sums of the solver would be
// of no use. From memory: the deepest mine is under 5 km, the greatest river gives some 0.2 million m3/s and no pipe a hundredth of it;
// a micrometre is thinner than any film of water in a pipe, and a ten-thousandth of a litre a day is two drops.

#include <limits>
#include <string_view>

#include "netfiles/units.h"

namespace ebb::netfiles {

/// Bounds of one dimension, in SI, with the words for a message.
struct Scale {
    double greatest = std::numeric_limits<double>::infinity();  ///< of the value without its sign
    double least = 0.0;                                         ///< of a value that must be more than nothing
    std::string_view greatest_text;
    std::string_view least_text;
};

/// The scale of a dimension; without bounds where the limits of the table are enough (shares, temperatures, counts).
Scale farm_scale(Dimension dimension);

}  // namespace ebb::netfiles
