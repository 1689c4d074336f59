#include "netfiles/units.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <cstdlib>
#include <limits>

#include "netfiles/words.h"
#include "solver/physics/constants.h"

namespace ebb::netfiles {
namespace {

constexpr double kFootOver = 10000.0;
constexpr double kFootTimes = 3048.0;
constexpr double kInchTimes = 254.0;
constexpr double kUsGallonTimes = 3785411784.0;                 // of 1e12 m3: 231 in3
constexpr double kImperialGallonTimes = 454609.0;               // of 1e8 m3
constexpr double kPoundForcePerSquareInch = 6894.757293168361;  // 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)^2

constexpr std::array kLengths = {
    Unit{"m"}, Unit{"mm", 1.0, 1000.0}, Unit{"cm", 1.0, 100.0}, Unit{"ft", kFootTimes, kFootOver}, Unit{"in", kInchTimes, kFootOver},
};
constexpr std::array kVolumes = {
    Unit{"l", 1.0, 1000.0},
    Unit{"m3"},
    Unit{"gal", kUsGallonTimes, 1e12},
    Unit{"imp-gal", kImperialGallonTimes, 1e8},
};
constexpr std::array kFlows = {
    Unit{"l/min", 1.0, 60e3},
    Unit{"m3/h", 1.0, 3600.0},
    Unit{"l/h", 1.0, 3600e3},
    Unit{"l/s", 1.0, 1e3},
    Unit{"l/day", 1.0, 86400e3},
    Unit{"m3/s"},
    Unit{"m3/min", 1.0, 60.0},
    Unit{"m3/day", 1.0, 86400.0},
    Unit{"gpm", kUsGallonTimes, 60e12},
    Unit{"gal/min", kUsGallonTimes, 60e12},
    Unit{"gal/h", kUsGallonTimes, 3600e12},
    Unit{"gal/s", kUsGallonTimes, 1e12},
    Unit{"gal/day", kUsGallonTimes, 86400e12},
    Unit{"imp-gal/min", kImperialGallonTimes, 60e8},
    Unit{"imp-gal/h", kImperialGallonTimes, 3600e8},
    Unit{"imp-gal/s", kImperialGallonTimes, 1e8},
    Unit{"imp-gal/day", kImperialGallonTimes, 86400e8},
};
constexpr std::array kTimes = {Unit{"s"}, Unit{"min", 60.0}, Unit{"h", 3600.0}, Unit{"day", 86400.0}};
constexpr std::array kHeads = {
    Unit{"m"},
    Unit{"ft", kFootTimes, kFootOver},
    Unit{"mm", 1.0, 1000.0},
    Unit{"cm", 1.0, 100.0},
    Unit{"in", kInchTimes, kFootOver},
    Unit{"bar", 1e5, 1.0, 0.0, true},
    Unit{"kPa", 1e3, 1.0, 0.0, true},
    Unit{"psi", kPoundForcePerSquareInch, 1.0, 0.0, true},
};
constexpr std::array kPowers = {Unit{"W"}, Unit{"kW", 1000.0}};
constexpr std::array kTemperatures = {Unit{"degC"}, Unit{"degF", 5.0, 9.0, -32.0}};
constexpr std::array kShares = {Unit{"%", 1.0, 100.0}};
constexpr std::array kVelocities = {Unit{"m/s"}, Unit{"ft/s", kFootTimes, kFootOver}};
constexpr std::array kEnergies = {Unit{"kWh", 3.6e6}};

constexpr std::array kLengthPairs = {UnitPair{"ft", "in", 12.0}};
constexpr std::array kTimePairs = {UnitPair{"h", "min", 60.0}, UnitPair{"min", "s", 60.0}, UnitPair{"day", "h", 24.0}};

struct Dialect {
    std::string_view written, ours;
};
/// What people write for our units.
constexpr std::array kDialects = {
    Dialect{"'", "ft"},
    Dialect{"foot", "ft"},
    Dialect{"feet", "ft"},
    Dialect{"\"", "in"},
    Dialect{"''", "in"},
    Dialect{"inch", "in"},
    Dialect{"inches", "in"},
    Dialect{"metre", "m"},
    Dialect{"metres", "m"},
    Dialect{"meter", "m"},
    Dialect{"meters", "m"},
    Dialect{"L", "l"},
    Dialect{"litre", "l"},
    Dialect{"litres", "l"},
    Dialect{"liter", "l"},
    Dialect{"liters", "l"},
    Dialect{"lt", "l"},
    Dialect{"ltr", "l"},
    Dialect{"m^3", "m3"},
    Dialect{"m\xC2\xB3", "m3"},
    Dialect{"cum", "m3"},
    Dialect{"m\xC2\xB3/h", "m3/h"},
    Dialect{"m^3/h", "m3/h"},
    Dialect{"m3/hr", "m3/h"},
    Dialect{"m\xC2\xB3/hr", "m3/h"},
    Dialect{"cmh", "m3/h"},
    Dialect{"L/min", "l/min"},
    Dialect{"lpm", "l/min"},
    Dialect{"LPM", "l/min"},
    Dialect{"l/m", "l/min"},
    Dialect{"L/h", "l/h"},
    Dialect{"l/hr", "l/h"},
    Dialect{"L/hr", "l/h"},
    Dialect{"lph", "l/h"},
    Dialect{"LPH", "l/h"},
    Dialect{"L/s", "l/s"},
    Dialect{"GPM", "gpm"},
    Dialect{"GPH", "gal/h"},
    Dialect{"gph", "gal/h"},
    Dialect{"gal/hr", "gal/h"},
    Dialect{"gallon", "gal"},
    Dialect{"gallons", "gal"},
    Dialect{"gals", "gal"},
    Dialect{"Gal", "gal"},
    Dialect{"igal", "imp-gal"},
    Dialect{"impgal", "imp-gal"},
    Dialect{"imp gal", "imp-gal"},
    Dialect{"sec", "s"},
    Dialect{"second", "s"},
    Dialect{"seconds", "s"},
    Dialect{"minute", "min"},
    Dialect{"minutes", "min"},
    Dialect{"mins", "min"},
    Dialect{"hr", "h"},
    Dialect{"hrs", "h"},
    Dialect{"hour", "h"},
    Dialect{"hours", "h"},
    Dialect{"d", "day"},
    Dialect{"days", "day"},
    Dialect{"PSI", "psi"},
    Dialect{"mwc", "m"},
    Dialect{"mH2O", "m"},
    Dialect{"ftH2O", "ft"},
    Dialect{"C", "degC"},
    Dialect{"F", "degF"},
    Dialect{"\xC2\xB0"
            "C",
            "degC"},
    Dialect{"\xC2\xB0"
            "F",
            "degF"},
    Dialect{"deg C", "degC"},
    Dialect{"deg F", "degF"},
    Dialect{"w", "W"},
    Dialect{"watt", "W"},
    Dialect{"watts", "W"},
    Dialect{"kw", "kW"},
    Dialect{"percent", "%"},
    Dialect{"pct", "%"},
    Dialect{"kpa", "kPa"},
    Dialect{"KPa", "kPa"},
    Dialect{"Bar", "bar"},
};

constexpr std::array kAllDimensions = {Dimension::length, Dimension::volume, Dimension::flow,        Dimension::time,    Dimension::head,
                                       Dimension::power,  Dimension::share,  Dimension::temperature, Dimension::velocity};

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

std::string_view trim(std::string_view text) {
    while (!text.empty() && is_space(text.front())) {
        text.remove_prefix(1);
    }
    while (!text.empty() && is_space(text.back())) {
        text.remove_suffix(1);
    }
    return text;
}

Quantity wrong(std::string code, std::string says, std::string advice) {
    Quantity quantity;
    quantity.value = std::numeric_limits<double>::quiet_NaN();
    quantity.code = std::move(code);
    quantity.says = std::move(says);
    quantity.advice = std::move(advice);
    return quantity;
}

std::string in_quotes(std::string_view text) { return "\"" + printable(text) + "\""; }

/// "m, mm, cm, ft or in"
std::string list_of_units(Dimension dimension) {
    std::vector<std::string_view> names;
    for (const Unit& unit : units_of(dimension)) {
        names.push_back(unit.name);
    }
    return join_words(names, "or");
}

const Unit* find_unit(Dimension dimension, std::string_view name) {
    const auto units = units_of(dimension);
    const auto found = std::ranges::find(units, name, &Unit::name);
    return found == units.end() ? nullptr : &*found;
}

double to_si(double number, const Unit& unit, double density_kg_m3) {
    const double value = (number + unit.offset) * unit.times / unit.over;
    return unit.is_pressure ? value / (density_kg_m3 * physics::kGravity_m_s2) : value;
}

/// The longest beginning of `text` that is a decimal number of our language: digits, one point, an exponent.
std::size_t number_length(std::string_view text) {
    std::size_t at = 0;
    if (at < text.size() && (text[at] == '+' || text[at] == '-')) {
        ++at;
    }
    const std::size_t first = at;
    std::size_t digits = 0;
    while (at < text.size() && is_digit(text[at])) {
        ++at;
        ++digits;
    }
    if (at < text.size() && text[at] == '.') {
        ++at;
        while (at < text.size() && is_digit(text[at])) {
            ++at;
            ++digits;
        }
    }
    if (digits == 0) {
        return 0;
    }
    if (at < text.size() && (text[at] == 'e' || text[at] == 'E')) {
        std::size_t exponent = at + 1;
        if (exponent < text.size() && (text[exponent] == '+' || text[exponent] == '-')) {
            ++exponent;
        }
        if (exponent < text.size() && is_digit(text[exponent])) {
            while (exponent < text.size() && is_digit(text[exponent])) {
                ++exponent;
            }
            at = exponent;
        }
    }
    return at > first ? at : 0;
}

/// Digits before and after a mark that is not a point: what might have been meant.
Quantity foreign_mark(std::string_view text, std::size_t at) {
    std::size_t after = at + 1;
    while (after < text.size() && is_digit(text[after])) {
        ++after;
    }
    const std::string before(text.substr(0, at));
    const std::string behind(text.substr(at + 1, after - at - 1));
    const std::string rest(text.substr(after));
    if (text[at] == ',' && behind.size() != 3) {
        return wrong("decimal-comma", in_quotes(text) + " has a comma in the number",
                     "write a decimal point: " + in_quotes(before + "." + behind + rest));
    }
    if (text[at] == ',') {
        return wrong("thousands-mark", in_quotes(text) + " has a comma in the number, which could be a decimal or a thousands mark",
                     "write " + in_quotes(before + behind + rest) + " or " + in_quotes(before + "." + behind + rest));
    }
    return wrong("thousands-mark", in_quotes(text) + " has a thousands mark in the number", "write " + in_quotes(before + behind + rest));
}

Quantity not_a_number(std::string_view text, Dimension dimension) {
    const std::string sample =
        dimension == Dimension::count ? "3" : "1.5" + (units_of(dimension).empty() ? "" : " " + std::string(units_of(dimension)[0].name));
    const std::string_view body = !text.empty() && (text[0] == '+' || text[0] == '-') ? text.substr(1) : text;
    const bool word =
        body.starts_with("nan") || body.starts_with("inf") || body.starts_with("NaN") || body.starts_with("Inf") || body.starts_with("INF");
    if (word) {
        return wrong("not-finite", in_quotes(text) + " is not a finite number",
                     "write " + std::string(name_of(dimension)) + " such as " + in_quotes(sample));
    }
    return wrong("not-a-number",
                 (text.empty() ? "nothing is written" : in_quotes(text) + " does not begin with a number") +
                     (text.empty() ? " where " + std::string(name_of(dimension)) + " is wanted" : ""),
                 "write " + std::string(name_of(dimension)) + " such as " + in_quotes(sample));
}

Quantity out_of_range(std::string_view text) {
    return wrong("out-of-range", in_quotes(text) + " is outside what can be computed with", "write a number of this world");
}

/// Reads one number at the beginning of `text`; on success `rest` is what follows it, spaces removed.
Quantity read_number(std::string_view text, Dimension dimension, std::string_view& rest) {
    if (text.size() > 1 && text[0] == '0' && (text[1] == 'x' || text[1] == 'X')) {
        return wrong("hexadecimal", in_quotes(text) + " is written in hexadecimal", "write a decimal number, such as \"16\"");
    }
    const std::size_t length = number_length(text);
    if (length == 0) {
        return text.starts_with(',') && text.size() > 1 && is_digit(text[1])
                   ? wrong("decimal-comma", in_quotes(text) + " has a comma in the number",
                           "write a decimal point: " + in_quotes("0." + std::string(text.substr(1))))
                   : not_a_number(text, dimension);
    }
    const bool mark = length + 1 < text.size() && is_digit(text[length + 1]);
    if (mark && (text[length] == ',' || text[length] == '\'' || text[length] == '_')) {
        return foreign_mark(text, length);
    }
    if (mark && is_space(text[length])) {  // "1 200 l"
        return foreign_mark(text, length);
    }
    if (length < text.size() && text[length] == '/' && mark) {
        return wrong("fraction", in_quotes(text) + " is written as a fraction", "write a decimal number, such as \"0.5\" for 1/2");
    }
    std::string_view digits = text.substr(0, length);
    if (digits.front() == '+') {
        digits.remove_prefix(1);
    }
    Quantity quantity;
    const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), quantity.value);
    if (error == std::errc::result_out_of_range) {
        return out_of_range(text);
    }
    if (error != std::errc() || end != digits.data() + digits.size()) {
        return not_a_number(text, dimension);
    }
    rest = trim(text.substr(length));
    return quantity;
}

Quantity no_unit(std::string_view number, Dimension dimension) {
    const auto units = units_of(dimension);
    std::string advice = "write " + in_quotes(std::string(number) + " " + std::string(units[0].name));
    if (units.size() > 1) {
        advice += ", or another of its units: " + list_of_units(dimension);
    }
    return wrong("no-unit", in_quotes(number) + " has no unit; " + std::string(name_of(dimension)) + " is wanted", advice);
}

Quantity strange_unit(std::string_view text, std::string_view number, std::string_view unit, Dimension dimension) {
    const std::string units = list_of_units(dimension);
    const auto dialect = std::ranges::find(kDialects, unit, &Dialect::written);
    if (dialect != kDialects.end() && find_unit(dimension, dialect->ours) != nullptr) {
        return wrong("unknown-unit", in_quotes(unit) + " is not a unit here",
                     "write " + in_quotes(std::string(number) + " " + std::string(dialect->ours)) +
                         (dialect->ours == "gal" ? " (US; the other is imp-gal)" : ""));
    }
    for (const Dimension other : kAllDimensions) {
        if (find_unit(other, unit) != nullptr) {
            return wrong("wrong-unit", in_quotes(text) + " is " + std::string(name_of(other)) + "; " + std::string(name_of(dimension)) + " is wanted",
                         "write it in " + units);
        }
    }
    std::vector<std::string_view> names;
    for (const Unit& candidate : units_of(dimension)) {
        names.push_back(candidate.name);
    }
    const std::string near = nearest_word(unit, names);
    if (!near.empty()) {
        return wrong("unknown-unit", in_quotes(unit) + " is not a unit here",
                     "did you mean " + in_quotes(std::string(number) + " " + near) + "? Known are " + units);
    }
    return wrong("unknown-unit", in_quotes(unit) + " is not a unit here", "write " + std::string(name_of(dimension)) + " in " + units);
}

/// "5 ft 3 in": `first` is the number read, `unit_and_rest` begins with the unit of the first part.
Quantity parse_pair(std::string_view text, const Quantity& first, std::string_view unit_and_rest, Dimension dimension, const UnitPair& pair) {
    std::string_view rest = trim(unit_and_rest.substr(pair.large.size()));
    std::string_view tail;
    const Quantity second = read_number(rest, dimension, tail);
    const std::string sample = in_quotes("5 " + std::string(pair.large) + " 3 " + std::string(pair.small));
    if (!second.good() || tail != pair.small) {
        return wrong("not-a-number", in_quotes(text) + " cannot be read as " + std::string(name_of(dimension)), "write it as in " + sample);
    }
    const bool signed_number = text.front() == '-' || text.front() == '+';
    const std::string_view large_digits = text.substr(signed_number ? 1 : 0, number_length(text) - (signed_number ? 1 : 0));
    const std::string_view small_digits = rest.substr(0, number_length(rest));
    const bool whole = std::ranges::all_of(large_digits, is_digit) && large_digits.size() < 10;
    const bool plain = is_digit(small_digits.front()) && small_digits.find_first_of("eE") == std::string_view::npos;
    if (!whole || !plain || second.value >= pair.ratio) {
        return wrong("odd-pair",
                     in_quotes(text) + " is not a whole number of " + std::string(pair.large) + " and less than one " + std::string(pair.large) +
                         " in " + std::string(pair.small),
                     "write it as in " + sample + ", or in one unit");
    }
    const Unit& large = *find_unit(dimension, pair.large);
    const Unit& small = *find_unit(dimension, pair.small);
    const double sign = text.front() == '-' ? -1.0 : 1.0;
    const double in_small = std::abs(first.value) * pair.ratio + second.value;
    Quantity quantity;
    quantity.value = sign * to_si(in_small, small, 1.0);
    quantity.unit = large.name;
    return quantity;
}

Quantity parse_plain(std::string_view text, Dimension dimension) {
    std::string_view rest;
    Quantity quantity = read_number(text, dimension, rest);
    if (!quantity.good()) {
        return quantity;
    }
    if (!rest.empty()) {
        return wrong("not-plain", in_quotes(text) + " should be " + std::string(name_of(dimension)) + " without a unit",
                     "write " + in_quotes(text.substr(0, number_length(text))));
    }
    const bool plain_digits = std::ranges::all_of(text, is_digit);
    if (dimension == Dimension::count && (!plain_digits || text.front() == '0' || quantity.value > 1e6)) {
        return wrong("not-a-count", in_quotes(text) + " is not a whole number from 1 to 1000000", "write how many there are, such as \"3\"");
    }
    return quantity;
}

}  // namespace

std::span<const Unit> units_of(Dimension dimension) {
    switch (dimension) {
        case Dimension::length: return kLengths;
        case Dimension::volume: return kVolumes;
        case Dimension::flow: return kFlows;
        case Dimension::time: return kTimes;
        case Dimension::head: return kHeads;
        case Dimension::power: return kPowers;
        case Dimension::temperature: return kTemperatures;
        case Dimension::share: return kShares;
        case Dimension::velocity: return kVelocities;
        case Dimension::energy: return kEnergies;
        case Dimension::number:
        case Dimension::count: break;
    }
    return {};
}

std::string_view name_of(Dimension dimension) {
    constexpr std::array<std::string_view, 12> kNames = {"a length",           "a volume",       "a flow",        "a time",
                                                         "a head or pressure", "a power",        "a temperature", "a share or ratio",
                                                         "a plain number",     "a whole number", "a velocity",    "an energy"};
    return kNames[static_cast<std::size_t>(dimension)];
}

std::span<const UnitPair> unit_pairs_of(Dimension dimension) {
    if (dimension == Dimension::length || dimension == Dimension::head) {
        return kLengthPairs;
    }
    if (dimension == Dimension::time) {
        return kTimePairs;
    }
    return {};
}

Quantity parse_quantity(std::string_view whole_text, Dimension dimension, double density_kg_m3) {
    const std::string_view text = trim(whole_text);
    if (dimension == Dimension::number || dimension == Dimension::count) {
        return parse_plain(text, dimension);
    }
    std::string_view rest;
    Quantity quantity = read_number(text, dimension, rest);
    if (!quantity.good()) {
        return quantity;
    }
    const std::string_view number = text.substr(0, number_length(text));
    if (rest.empty()) {
        return dimension == Dimension::share ? quantity : no_unit(number, dimension);
    }
    const Unit* unit = find_unit(dimension, rest);
    if (unit == nullptr) {
        for (const UnitPair& pair : unit_pairs_of(dimension)) {
            const bool fits = rest.starts_with(pair.large) && rest.size() > pair.large.size() &&
                              (is_space(rest[pair.large.size()]) || is_digit(rest[pair.large.size()]));
            if (fits) {
                return parse_pair(text, quantity, rest, dimension, pair);
            }
        }
        return strange_unit(text, number, rest, dimension);
    }
    quantity.value = to_si(quantity.value, *unit, density_kg_m3);
    if (!std::isfinite(quantity.value)) {  // a number that its unit carries beyond the greatest
        return out_of_range(text);
    }
    quantity.unit = unit->name;
    return quantity;
}

double in_unit(double si_value, Dimension dimension, std::string_view name, double density_kg_m3) {
    const Unit* unit = find_unit(dimension, name);
    if (unit == nullptr) {
        return std::numeric_limits<double>::quiet_NaN();
    }
    const double value = unit->is_pressure ? si_value * density_kg_m3 * physics::kGravity_m_s2 : si_value;
    return value * unit->over / unit->times - unit->offset;
}

}  // namespace ebb::netfiles
