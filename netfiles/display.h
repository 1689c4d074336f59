#pragma once
// SI values as people read them: levels in mm and m, volumes in litres, durations in minutes; or US units.

#include <string>

#include "netfiles/units.h"
#include "solver/layout/layout.h"

namespace ebb::netfiles {

using layout::UnitSystem;

/// The value with its unit, in digits that suit its size: "340 mm", "1.32 m", "11.7 l/min", "3.42 m3/h", "290 l", "11 min 40 s", "96 W";
/// with UnitSystem::us "13.4 in", "4 ft 4 in", "3.1 gpm", "76.6 gal", "4.6 ft" (head). NaN gives "-".
std::string format_quantity(double value, Dimension dimension, UnitSystem units);

/// A level above the datum, always signed by its unit of the large kind: "1.325 m" or "4.35 ft".
std::string format_level(double value_m, UnitSystem units);

/// A small height such as a freeboard: "26 mm" or "1.0 in".
std::string format_height(double value_m, UnitSystem units);

/// A duration: "11 min 40 s", "2 h 05 min", "38 s", "3.2 days".
std::string format_duration(double seconds);

/// The SI unit of a dimension with a space before it, " m3/s"; empty where there is none.
std::string si_unit(Dimension dimension);

/// A number with about `digits` significant digits and no exponent where that can be helped.
std::string format_number(double value, int digits = 3);

/// A column of figures in one unit, for tables: the name of the unit that suits flows or heights in this system, and the bare number.
struct ColumnUnit {
    std::string_view name;
    double per_si = 1.0;  ///< shown = SI value * per_si
    int decimals = 2;
};
/// What heads a column of this dimension, and how its figures are written.
ColumnUnit column_unit(Dimension dimension, UnitSystem units);

}  // namespace ebb::netfiles
