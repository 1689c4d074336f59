#include "netfiles/display.h"

#include <array>
#include <charconv>
#include <cmath>

namespace ebb::netfiles {
namespace {

constexpr double kFoot_m = 0.3048;
constexpr double kInch_m = 0.0254;
constexpr double kUsGallon_m3 = 3.785411784e-3;
constexpr double kLitre_m3 = 1e-3;
constexpr double kLitrePerMinute = 1e-3 / 60.0;
constexpr double kCubicMetrePerHour = 1.0 / 3600.0;
constexpr double kGallonPerMinute = kUsGallon_m3 / 60.0;

std::string fixed(double value, int decimals) {
    std::array<char, 400> buffer{};
    const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::fixed, decimals);
    std::string text = error == std::errc() ? std::string(buffer.data(), end) : "-";
    const bool only_zeros = text.find_first_of("123456789") == std::string::npos;
    return only_zeros && text.starts_with('-') ? text.substr(1) : text;
}

std::string two_digits(long value) { return (value < 10 ? "0" : "") + std::to_string(value); }

std::string with_unit(double value, std::string_view unit) { return format_number(value) + " " + std::string(unit); }

std::string feet_and_inches(double value_m) {
    const double inches = std::abs(value_m) / kInch_m;
    const double rounded = std::round(inches * 4.0) / 4.0;  // a tape measure reads quarters well
    if (rounded < 24.0) {
        return with_unit(value_m / kInch_m, "in");
    }
    const double whole_feet = std::floor(std::round(inches) / 12.0);
    const double rest = std::round(inches) - whole_feet * 12.0;
    return (value_m < 0 ? "-" : "") + fixed(whole_feet, 0) + " ft " + fixed(rest, 0) + " in";
}

std::string length_text(double value_m, UnitSystem units) {
    if (units == UnitSystem::us) {
        return feet_and_inches(value_m);
    }
    return std::abs(value_m) < 0.9995 ? fixed(value_m * 1000.0, std::abs(value_m) < 0.00995 ? 1 : 0) + " mm"
                                      : fixed(value_m, std::abs(value_m) < 99.95 ? 2 : 1) + " m";
}

std::string flow_text(double value_m3_s, UnitSystem units) {
    if (units == UnitSystem::us) {
        return with_unit(value_m3_s / kGallonPerMinute, "gpm");
    }
    return std::abs(value_m3_s) < 0.9995 * kCubicMetrePerHour ? with_unit(value_m3_s / kLitrePerMinute, "l/min")
                                                              : with_unit(value_m3_s / kCubicMetrePerHour, "m3/h");
}

std::string volume_text(double value_m3, UnitSystem units) {
    if (units == UnitSystem::us) {
        return with_unit(value_m3 / kUsGallon_m3, "gal");
    }
    return std::abs(value_m3) < 9.995 ? with_unit(value_m3 / kLitre_m3, "l") : with_unit(value_m3, "m3");
}

/// What may be beyond all numbers once it is turned into a smaller unit: it is shown in SI units as it is.
constexpr double kBeyondConversion = 1e300;

}  // namespace

std::string si_unit(Dimension dimension) {
    switch (dimension) {
        case Dimension::length:
        case Dimension::head: return " m";
        case Dimension::volume: return " m3";
        case Dimension::flow: return " m3/s";
        case Dimension::time: return " s";
        case Dimension::power: return " W";
        case Dimension::temperature: return " degC";
        case Dimension::velocity: return " m/s";
        case Dimension::energy: return " J";
        case Dimension::share:
        case Dimension::number:
        case Dimension::count: break;
    }
    return "";
}

std::string format_number(double value, int digits) {
    if (!std::isfinite(value)) {
        return "-";
    }
    if (value == 0.0) {
        return "0";
    }
    const double magnitude = std::abs(value);
    if (magnitude >= 1e9 || magnitude < 1e-6) {
        std::array<char, 64> buffer{};
        const auto [end, error] = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, std::chars_format::general, digits);
        return error == std::errc() ? std::string(buffer.data(), end) : "-";
    }
    // The power of ten of the value once it is rounded to the digits: 9.996 becomes 10.0.
    int power = static_cast<int>(std::floor(std::log10(magnitude)));
    if (std::round(magnitude * std::pow(10.0, digits - 1 - power)) >= std::pow(10.0, digits)) {
        ++power;
    }
    return fixed(value, std::max(0, digits - 1 - power));
}

std::string format_duration(double seconds) {
    if (!std::isfinite(seconds)) {
        return "-";
    }
    const std::string sign = seconds < 0 ? "-" : "";
    const double length = std::abs(seconds);
    if (length < 9.95) {
        return sign + format_number(length, 2) + " s";
    }
    const double whole = std::round(length);
    if (whole < 100.0) {
        return sign + fixed(whole, 0) + " s";
    }
    if (whole < 3600.0) {
        const long total = std::lround(whole);
        return sign + std::to_string(total / 60) + " min" + (total % 60 == 0 ? "" : " " + two_digits(total % 60) + " s");
    }
    if (whole < 48.0 * 3600.0) {
        const long minutes = std::lround(whole / 60.0);
        return sign + std::to_string(minutes / 60) + " h" + (minutes % 60 == 0 ? "" : " " + two_digits(minutes % 60) + " min");
    }
    const double days = length / 86400.0;
    if (days < 999.5) return sign + format_number(days, 3) + " days";
    // what takes years is known to three digits at best; more of them would only say how the last one was rounded
    const double years = days / 365.25, step = std::pow(10.0, std::floor(std::log10(years)) - 2.0);
    return sign + format_number(step * std::round(years / step), 3) + " years";
}

std::string format_level(double value_m, UnitSystem units) {
    if (!std::isfinite(value_m)) {
        return "-";
    }
    return units == UnitSystem::us ? fixed(value_m / kFoot_m, 2) + " ft" : fixed(value_m, 3) + " m";
}

std::string format_height(double value_m, UnitSystem units) {
    if (!std::isfinite(value_m)) {
        return "-";
    }
    return units == UnitSystem::us ? fixed(value_m / kInch_m, 1) + " in" : fixed(value_m * 1000.0, 0) + " mm";
}

std::string format_quantity(double value, Dimension dimension, UnitSystem units) {
    if (!std::isfinite(value)) {
        return "-";
    }
    if (std::abs(value) > kBeyondConversion) {
        return format_number(value) + si_unit(dimension);
    }
    const bool us = units == UnitSystem::us;
    switch (dimension) {
        case Dimension::length: return length_text(value, units);
        case Dimension::volume: return volume_text(value, units);
        case Dimension::flow: return flow_text(value, units);
        case Dimension::time: return format_duration(value);
        case Dimension::head: return us ? with_unit(value / kFoot_m, "ft") : fixed(value, std::abs(value) < 9.995 ? 2 : 1) + " m";
        case Dimension::power: return std::abs(value) < 9995.0 ? with_unit(value, "W") : with_unit(value / 1000.0, "kW");
        case Dimension::temperature: return us ? fixed(value * 9.0 / 5.0 + 32.0, 1) + " degF" : fixed(value, 1) + " degC";
        case Dimension::share: return with_unit(value * 100.0, "%");
        case Dimension::velocity: return us ? fixed(value / kFoot_m, 2) + " ft/s" : fixed(value, 2) + " m/s";
        case Dimension::energy: return with_unit(value / 3.6e6, "kWh");
        case Dimension::number:
        case Dimension::count: break;
    }
    return format_number(value);
}

ColumnUnit column_unit(Dimension dimension, UnitSystem units) {
    const bool us = units == UnitSystem::us;
    switch (dimension) {
        case Dimension::length: return us ? ColumnUnit{"in", 1.0 / kInch_m, 1} : ColumnUnit{"mm", 1000.0, 0};
        case Dimension::volume: return us ? ColumnUnit{"gal", 1.0 / kUsGallon_m3, 0} : ColumnUnit{"l", 1000.0, 0};
        case Dimension::flow: return us ? ColumnUnit{"gpm", 1.0 / kGallonPerMinute, 2} : ColumnUnit{"l/min", 1.0 / kLitrePerMinute, 1};
        case Dimension::time: return {"min", 1.0 / 60.0, 1};
        case Dimension::head: return us ? ColumnUnit{"ft", 1.0 / kFoot_m, 2} : ColumnUnit{"m", 1.0, 2};
        case Dimension::power: return {"W", 1.0, 0};
        case Dimension::temperature: return {us ? "degF" : "degC", us ? 1.8 : 1.0, 1};
        case Dimension::share: return {"%", 100.0, 0};
        case Dimension::velocity: return us ? ColumnUnit{"ft/s", 1.0 / kFoot_m, 2} : ColumnUnit{"m/s", 1.0, 2};
        case Dimension::energy: return {"kWh", 1.0 / 3.6e6, 2};
        case Dimension::number:
        case Dimension::count: break;
    }
    return {"", 1.0, 3};
}

}  // namespace ebb::netfiles
