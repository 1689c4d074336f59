#include "cli/views/speech.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>

#include "netfiles/display.h"
#include "netfiles/units.h"

namespace ebb::cli {
namespace {

constexpr double kInchesPerFoot = 12.0;
constexpr double kPercent = 100.0;
constexpr double kPoundsPerSquareFootPerKilogram = 0.3048 * 0.3048 / 0.45359237;  // foot and pound by definition

constexpr double kLargeFlowLitresMinute = 1000.0;  // beyond, m3/h reads better
constexpr double kLargeVolumeLitres = 10000.0;     // beyond, m3

/// Fixed decimals, and never "-0".
std::string fixed(double value, int decimals) {
    std::string text = fmt::format("{:.{}f}", value, decimals);
    if (text.front() == '-' && text.find_first_not_of("-0.") == std::string::npos) {
        text.erase(0, 1);
    }
    return text;
}

/// Three significant digits down to thousandths.
std::string three_digits(double value) {
    const double size = std::abs(value);
    constexpr double kShownAsNothing = 0.0005;
    if (size < kShownAsNothing) {
        return "0";
    }
    constexpr double kHundred = 99.95;
    constexpr double kTen = 9.995;
    constexpr double kOne = 0.9995;
    const int decimals = size >= kHundred ? 0 : size >= kTen ? 1 : size >= kOne ? 2 : 3;
    return fixed(value, decimals);
}

std::string with_unit(double value, std::string_view unit) { return fmt::format("{} {}", three_digits(value), unit); }

/// A band so narrow that it says no more than its middle.
bool is_narrow(const settle::Band& band) {
    constexpr double kNarrow = 0.03;
    return band.high - band.low <= kNarrow * std::max(std::abs(band.low), std::abs(band.high));
}

/// "11-15 l/min": the unit once.
std::string span(const std::string& low, const std::string& high) {
    const auto low_space = low.rfind(' ');
    const auto high_space = high.rfind(' ');
    if (low == high) {
        return high;
    }
    if (low_space != std::string::npos && low.substr(low_space) == high.substr(high_space)) {
        return fmt::format("{}-{}", low.substr(0, low_space), high);
    }
    return fmt::format("{} to {}", low, high);
}

constexpr const char* kDash = "-";

double metres_in(double metres, std::string_view unit) { return netfiles::in_unit(metres, netfiles::Dimension::length, unit); }
double flow_in(double flow_m3_s, std::string_view unit) { return netfiles::in_unit(flow_m3_s, netfiles::Dimension::flow, unit); }
double volume_in(double volume_m3, std::string_view unit) { return netfiles::in_unit(volume_m3, netfiles::Dimension::volume, unit); }

}  // namespace

std::string Speech::flow(double flow_m3_s) const {
    if (std::isnan(flow_m3_s)) {
        return kDash;
    }
    if (us_) {
        return with_unit(flow_in(flow_m3_s, "gpm"), "gpm");
    }
    const double litres_minute = flow_in(flow_m3_s, "l/min");
    if (std::abs(litres_minute) >= kLargeFlowLitresMinute) {
        return with_unit(flow_in(flow_m3_s, "m3/h"), "m3/h");
    }
    return with_unit(litres_minute, "l/min");
}

std::string Speech::flow(double flow_m3_s, const settle::Band& band) const {
    return band.there() && !is_narrow(band) ? span(flow(band.low), flow(band.high)) : flow(flow_m3_s);
}

std::string Speech::level(double level_m) const {
    if (std::isnan(level_m)) {
        return kDash;
    }
    if (!us_) {
        return fmt::format("{} m", fixed(level_m, 3));
    }
    const double tenths = std::round(std::abs(metres_in(level_m, "in")) * 10.0);  // tenths of an inch
    const double feet = std::floor(tenths / (10.0 * kInchesPerFoot));
    const double inches = tenths / 10.0 - feet * kInchesPerFoot;
    const char* sign = level_m < 0.0 && tenths > 0.0 ? "-" : "";
    return feet > 0.0 ? fmt::format("{}{} ft {} in", sign, fixed(feet, 0), fixed(inches, 1)) : fmt::format("{}{} in", sign, fixed(inches, 1));
}

std::string Speech::level(double level_m, const settle::Band& band) const {
    constexpr double kSameToTheEye = 0.005;
    if (!band.there() || band.high - band.low < kSameToTheEye) {
        return level(level_m);
    }
    const std::string low = level(band.low);
    const std::string high = level(band.high);
    const bool plain = !us_ && band.low >= 0.0;  // "-0.14--0.12 m" and "3 ft 2 in-3 ft 4 in" cannot be read
    return low == high ? high : plain ? span(low, high) : fmt::format("{} to {}", low, high);
}

std::string Speech::height(double height_m) const {
    if (std::isnan(height_m)) {
        return kDash;
    }
    return us_ ? fmt::format("{} in", fixed(metres_in(height_m, "in"), 1)) : fmt::format("{} mm", fixed(metres_in(height_m, "mm"), 0));
}

std::string Speech::height(double height_m, const settle::Band& band) const {
    return band.there() && !is_narrow(band) ? span(height(band.low), height(band.high)) : height(height_m);
}

std::string Speech::bore(double bore_m) const {
    if (std::isnan(bore_m)) {
        return kDash;
    }
    return us_ ? fmt::format("{} in", fixed(metres_in(bore_m, "in"), 3)) : fmt::format("{} mm", fixed(metres_in(bore_m, "mm"), 1));
}

std::string Speech::length(double length_m) const {
    if (std::isnan(length_m)) {
        return kDash;
    }
    return us_ ? with_unit(metres_in(length_m, "ft"), "ft") : with_unit(length_m, "m");
}

std::string Speech::head(double head_m) const {
    if (std::isnan(head_m)) {
        return kDash;
    }
    return us_ ? fmt::format("{} ft", fixed(metres_in(head_m, "ft"), 2)) : fmt::format("{} m", fixed(head_m, 2));
}

std::string Speech::head(double head_m, const settle::Band& band) const {
    return band.there() && !is_narrow(band) ? span(head(band.low), head(band.high)) : head(head_m);
}

std::string Speech::volume(double volume_m3) const {
    if (std::isnan(volume_m3)) {
        return kDash;
    }
    if (us_) {
        return with_unit(volume_in(volume_m3, "gal"), "gal");
    }
    const double litres = volume_in(volume_m3, "l");
    if (std::abs(litres) >= kLargeVolumeLitres) {
        return with_unit(volume_m3, "m3");
    }
    return fmt::format("{} l", std::abs(litres) >= 10.0 ? fixed(litres, 0) : three_digits(litres));
}

std::string Speech::volume(double volume_m3, const settle::Band& band) const {
    return band.there() && !is_narrow(band) ? span(volume(band.low), volume(band.high)) : volume(volume_m3);
}

std::string Speech::velocity(double velocity_m_s, const settle::Band& band) const {
    return band.there() && !is_narrow(band) ? span(velocity(band.low), velocity(band.high)) : velocity(velocity_m_s);
}

std::string Speech::velocity(double velocity_m_s) const {
    if (std::isnan(velocity_m_s)) {
        return kDash;
    }
    return us_ ? fmt::format("{} ft/s", fixed(metres_in(velocity_m_s, "ft"), 2)) : fmt::format("{} m/s", fixed(velocity_m_s, 2));
}

std::string Speech::power(double power_w) const { return std::isnan(power_w) ? kDash : with_unit(power_w, "W"); }

std::string Speech::energy(double energy_j) {
    constexpr double kWattHourJ = 3600.0;
    constexpr double kKilo = 1000.0;
    if (std::isnan(energy_j)) {
        return kDash;
    }
    const double watt_hours = energy_j / kWattHourJ;
    return watt_hours < kKilo ? with_unit(watt_hours, "Wh") : with_unit(watt_hours / kKilo, "kWh");
}

std::string Speech::duration(double seconds) { return std::isnan(seconds) ? kDash : netfiles::format_duration(seconds); }

std::string Speech::duration(double seconds, const settle::Band& band) {
    if (!band.there() || is_narrow(band)) {
        return duration(seconds);
    }
    constexpr double kMinute = 60.0;
    constexpr double kHour = 3600.0;
    constexpr double kDay = 86400.0;
    constexpr double kTenMinutes = 600.0;
    const auto both = [&](double unit, int decimals, const char* name) {
        return span(fmt::format("{} {}", fixed(band.low / unit, decimals), name), fmt::format("{} {}", fixed(band.high / unit, decimals), name));
    };
    if (band.high < 2.0 * kHour) {
        return both(kMinute, band.low < kTenMinutes ? 1 : 0, "min");
    }
    return band.high < kDay ? both(kHour, 1, "h") : fmt::format("{} to {}", duration(band.low), duration(band.high));
}

std::string Speech::about(const std::string& said, bool is_about) { return is_about && said != kDash && said != "0" ? "about " + said : said; }

std::string Speech::roughness(double roughness_m) const {
    if (std::isnan(roughness_m)) {
        return kDash;
    }
    return us_ ? fmt::format("{:.6f} in", metres_in(roughness_m, "in")) : fmt::format("{:.4g} mm", metres_in(roughness_m, "mm"));
}

std::string Speech::temperature(double temperature_c) const {
    if (std::isnan(temperature_c)) {
        return kDash;
    }
    return us_ ? fmt::format("{:.4g} degF", netfiles::in_unit(temperature_c, netfiles::Dimension::temperature, "degF"))
               : fmt::format("{:.4g} degC", temperature_c);
}

std::string Speech::load(double load_kg_m2) const {
    if (std::isnan(load_kg_m2)) {
        return kDash;
    }
    return us_ ? with_unit(load_kg_m2 * kPoundsPerSquareFootPerKilogram, "lb/ft2") : with_unit(load_kg_m2, "kg/m2");
}

std::string Speech::share(double share) { return std::isnan(share) ? kDash : fmt::format("{} %", fixed(share * kPercent, 0)); }

std::string Speech::plain(double value) { return std::isnan(value) ? kDash : three_digits(value); }

}  // namespace ebb::cli
