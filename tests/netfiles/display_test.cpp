// What people are shown. The figures are conversions by the definitions of the units (NIST SP 811); the wording is ours.
#include <doctest/doctest.h>

#include <limits>

#include "netfiles/display.h"

using namespace ebb::netfiles;

TEST_CASE("SI: millimetres and metres, litres and minutes") {
    constexpr UnitSystem si = UnitSystem::si;
    CHECK(format_quantity(0.34, Dimension::length, si) == "340 mm");
    CHECK(format_quantity(1.324, Dimension::length, si) == "1.32 m");
    CHECK(format_quantity(0.9999, Dimension::length, si) == "1.00 m");
    CHECK(format_quantity(-0.0264, Dimension::length, si) == "-26 mm");
    CHECK(format_quantity(0.0002, Dimension::flow, si) == "12.0 l/min");
    CHECK(format_quantity(0.00095, Dimension::flow, si) == "3.42 m3/h");
    CHECK(format_quantity(0.29, Dimension::volume, si) == "290 l");
    CHECK(format_quantity(18.04, Dimension::volume, si) == "18.0 m3");
    CHECK(format_quantity(3.4, Dimension::head, si) == "3.40 m");
    CHECK(format_quantity(96.2, Dimension::power, si) == "96.2 W");
    CHECK(format_quantity(0.61, Dimension::velocity, si) == "0.61 m/s");
    CHECK(format_quantity(0.4, Dimension::share, si) == "40.0 %");
    CHECK(format_level(-0.05, si) == "-0.050 m");
    CHECK(format_height(0.0264, si) == "26 mm");
    CHECK(format_height(-0.0001, si) == "0 mm");
    CHECK(format_quantity(0.0, Dimension::flow, si) == "0 l/min");
    CHECK(format_quantity(3.6e6, Dimension::energy, si) == "1.00 kWh");
    CHECK(format_quantity(86400.0, Dimension::time, si) == "24 h");
    CHECK(format_quantity(4.0, Dimension::count, si) == "4.00");
    CHECK(format_quantity(1e308, Dimension::length, si) == "1e+308 m");  // 1e311 mm is beyond all numbers
    CHECK(format_quantity(-1e308, Dimension::share, si) == "-1e+308");
    CHECK(format_quantity(std::numeric_limits<double>::infinity(), Dimension::flow, si) == "-");
}

TEST_CASE("US: feet and inches, gallons and gpm") {
    constexpr UnitSystem us = UnitSystem::us;
    CHECK(format_quantity(0.3048, Dimension::length, us) == "12.0 in");
    CHECK(format_quantity(1.6002, Dimension::length, us) == "5 ft 3 in");
    CHECK(format_quantity(1.8287, Dimension::length, us) == "6 ft 0 in");  // never "5 ft 12 in"
    CHECK(format_quantity(6.30902e-5, Dimension::flow, us) == "1.00 gpm");
    CHECK(format_quantity(0.3785411784, Dimension::volume, us) == "100 gal");
    CHECK(format_quantity(3.048, Dimension::head, us) == "10.0 ft");
    CHECK(format_level(0.3048, us) == "1.00 ft");
    CHECK(format_height(0.0254, us) == "1.0 in");
    CHECK(format_quantity(22.2222222, Dimension::temperature, us) == "72.0 degF");
}

TEST_CASE("durations as they are spoken") {
    CHECK(format_duration(38) == "38 s");
    CHECK(format_duration(700) == "11 min 40 s");
    CHECK(format_duration(605) == "10 min 05 s");
    CHECK(format_duration(3600) == "1 h");
    CHECK(format_duration(3599.7) == "1 h");
    CHECK(format_duration(7500) == "2 h 05 min");
    CHECK(format_duration(276480) == "3.20 days");
    CHECK(format_duration(999.0 * 86400.0) == "999 days");
    CHECK(format_duration(1000.0 * 86400.0) == "2.74 years");
    CHECK(format_duration(1705253.6 * 86400.0) == "4670 years");
    CHECK(format_duration(0.25) == "0.25 s");
    CHECK(format_duration(std::numeric_limits<double>::quiet_NaN()) == "-");
}

TEST_CASE("numbers keep their significant digits") {
    CHECK(format_number(9.996) == "10.0");
    CHECK(format_number(0.0123456) == "0.0123");
    CHECK(format_number(123456.0) == "123456");
    CHECK(format_number(-2.5, 2) == "-2.5");
    CHECK(format_number(1e12) == "1e+12");
    CHECK(format_number(std::numeric_limits<double>::infinity()) == "-");
}
