#pragma once
// Quantities at the border: a text such as "12 ft" or "3.4 m3/h" becomes a number in SI by naming the dimension that is wanted.
//
// The text is read without any locale: the decimal mark is always a point. Units are case-sensitive, the space before them is optional.
// Factors are exact by definition (1 in = 25.4 mm, 1 US gal = 231 in3, 1 imperial gal = 4.54609 l, 1 psi = 1 lbf/in2 with
// g = 9.80665 m/s2: NIST Special Publication 811 (2008), appendix B) and kept as a product over a quotient of whole numbers, so that
// a round number stays the nearest double of what was written: "12 mm" is 0.012 m exactly as the compiler would read 0.012.

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace ebb::netfiles {

/// What kind of quantity a place in the file wants.
enum class Dimension : std::uint8_t {
    length,       ///< m
    volume,       ///< m3
    flow,         ///< m3/s
    time,         ///< s
    head,         ///< metres of water; pressures are turned into head with the density of the water
    power,        ///< W
    temperature,  ///< degrees Celsius
    share,        ///< a ratio: "0.3" or "30 %"
    number,       ///< a plain number: loss coefficients, prices
    count,        ///< a whole number from 1
    velocity,     ///< m/s (display only)
    energy,       ///< J (display only)
};

/// One unit a dimension may be written in: SI value = (number + offset) * times / over.
struct Unit {
    std::string_view name;
    double times = 1.0;
    double over = 1.0;
    double offset = 0.0;
    bool is_pressure = false;  ///< `times / over` gives pascal; divided by density and gravity to give head
};

/// The units a dimension is read in, the commonest first. Empty for plain numbers.
std::span<const Unit> units_of(Dimension dimension);

/// "a length", "a flow", ...: for messages.
std::string_view name_of(Dimension dimension);

/// A pair of units that may be written together ("5 ft 3 in"): the first whole, the second from 0 up to but not including `ratio`.
struct UnitPair {
    std::string_view large, small;
    double ratio = 0.0;
};
/// The pairs of a dimension; empty where it has none.
std::span<const UnitPair> unit_pairs_of(Dimension dimension);

/// The outcome of reading a text: a value in SI, or what is wrong (code and sentence) and what to write.
struct Quantity {
    double value = 0.0;
    std::string_view unit;  ///< the unit written (of the first part)
    std::string code;       ///< empty when well read: "no-unit", "unknown-unit", "wrong-unit", "decimal-comma", "not-a-number", ...
    std::string says, advice;
    /// Whether it was read.
    bool good() const { return code.empty(); }
};

/// Reads `text` as a quantity of `dimension`. Never throws. `density_kg_m3` turns pressures into head.
Quantity parse_quantity(std::string_view text, Dimension dimension, double density_kg_m3 = 1000.0);

/// The value in SI written in the named unit of the dimension (the inverse of reading). The unit must be one of `units_of`.
double in_unit(double si_value, Dimension dimension, std::string_view unit, double density_kg_m3 = 1000.0);

}  // namespace ebb::netfiles
