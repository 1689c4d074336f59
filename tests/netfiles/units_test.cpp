// Units against their definitions: NIST Special Publication 811 (2008), appendix B.8 and B.9 (inch, foot, US and imperial gallon,
// pound-force per square inch, degree Fahrenheit). Round numbers must come out as the compiler would read them.
#include <doctest/doctest.h>

#include <limits>
#include <string>
#include <utility>

#include "netfiles/units.h"
#include "solver/physics/constants.h"
#include "tests/near.h"

using namespace ebb::netfiles;

namespace {

double read(const char* text, Dimension dimension, double density = 1000.0) {
    const Quantity quantity = parse_quantity(text, dimension, density);
    CAPTURE(text);
    CAPTURE(quantity.says);
    CHECK(quantity.good());
    return quantity.value;
}

Quantity refused(const char* text, Dimension dimension) {
    const Quantity quantity = parse_quantity(text, dimension);
    CAPTURE(text);
    CHECK_FALSE(quantity.good());
    CHECK_FALSE(quantity.says.empty());
    CHECK_FALSE(quantity.advice.empty());
    return quantity;
}

}  // namespace

TEST_CASE("round numbers are the nearest double of what was written") {
    CHECK(read("12 mm", Dimension::length) == 0.012);
    CHECK(read("4.2 m", Dimension::length) == 4.2);
    CHECK(read("30cm", Dimension::length) == 0.3);
    CHECK(read("12 ft", Dimension::length) == 3.6576);
    CHECK(read("1 in", Dimension::length) == 0.0254);
    CHECK(read("5 ft 3 in", Dimension::length) == 1.6002);
    CHECK(read("-5 ft 3 in", Dimension::length) == -1.6002);
    CHECK(read("0 ft 6.5in", Dimension::length) == 0.1651);
    CHECK(read("530 l", Dimension::volume) == 0.53);
    CHECK(read("3.6 m3/h", Dimension::flow) == 0.001);
    CHECK(read("12 l/min", Dimension::flow) == 0.0002);
    CHECK(read("36 l/h", Dimension::flow) == 1e-5);
    CHECK(read("60 min", Dimension::time) == 3600.0);
    CHECK(read("1 h 30 min", Dimension::time) == 5400.0);
    CHECK(read("11 min 40 s", Dimension::time) == 700.0);
    CHECK(read("1 day", Dimension::time) == 86400.0);
    CHECK(read("40 %", Dimension::share) == 0.4);
    CHECK(read("0.42", Dimension::share) == 0.42);
    CHECK(read("30%", Dimension::share) == 0.3);
    CHECK(read("2.5", Dimension::number) == 2.5);
    CHECK(read("12", Dimension::count) == 12.0);
    CHECK(read("1000000", Dimension::count) == 1e6);
    CHECK(read("2m3", Dimension::volume) == 2.0);  // the figure of the unit is none of the number's
    CHECK(read("120 W", Dimension::power) == 120.0);
    CHECK(read("  7 m ", Dimension::length) == 7.0);
    CHECK(read("+7 m", Dimension::length) == 7.0);
    CHECK(read("1e2 m", Dimension::length) == 100.0);
    CHECK(read(".5 m", Dimension::length) == 0.5);
    CHECK(read("5. m", Dimension::length) == 5.0);
}

TEST_CASE("US and imperial units by their definitions") {
    CHECK(read("1 gal", Dimension::volume) == ebb::test::near(3.785411784e-3).epsilon(1e-15));  // 231 in3, exact
    CHECK(read("1 imp-gal", Dimension::volume) == ebb::test::near(4.54609e-3).epsilon(1e-15));  // exact
    CHECK(read("1 gpm", Dimension::flow) == ebb::test::near(6.30902e-5).epsilon(1e-6));         // SP 811: 6.309 020 E-05
    CHECK(read("1 gal/min", Dimension::flow) == read("1 gpm", Dimension::flow));
    CHECK(read("1 imp-gal/min", Dimension::flow) == ebb::test::near(7.57682e-5).epsilon(1e-6));  // SP 811: 4.546 09 E-03 / 60
    CHECK(read("72 degF", Dimension::temperature) == ebb::test::near(22.0 + 2.0 / 9.0).epsilon(1e-14));
    CHECK(read("32 degF", Dimension::temperature) == 0.0);
    CHECK(read("212 degF", Dimension::temperature) == ebb::test::near(100.0).epsilon(1e-15));
    CHECK(read("1 psi", Dimension::head) == ebb::test::near(6894.757 / 9806.65).epsilon(1e-7));  // SP 811: 6.894 757 E+03 Pa
    CHECK(read("1 psi", Dimension::head) / 0.3048 == ebb::test::near(2.307).epsilon(2e-4));      // feet of water, the trade's 2.31
    CHECK(read("3 bar", Dimension::head) == ebb::test::near(3e5 / 9806.65).epsilon(1e-15));
    CHECK(read("10 kPa", Dimension::head) == ebb::test::near(1.019716).epsilon(1e-6));  // SP 811: 1 mH2O (conventional) = 9.806 65 kPa
    CHECK(read("10 ft", Dimension::head) == 3.048);
    CHECK(read("5 m", Dimension::head) == 5.0);
}

TEST_CASE("a pressure becomes a head with the density of the water") {
    CHECK(read("1 bar", Dimension::head, 998.2) == ebb::test::near(1e5 / (998.2 * ebb::physics::kGravity_m_s2)).epsilon(1e-15));
    CHECK(read("1 m", Dimension::head, 998.2) == 1.0);
}

TEST_CASE("writing is the inverse of reading") {
    for (const Dimension dimension : {Dimension::length, Dimension::volume, Dimension::flow, Dimension::time, Dimension::head, Dimension::power,
                                      Dimension::temperature, Dimension::share}) {
        for (const Unit& unit : units_of(dimension)) {
            const std::string text = "3.75 " + std::string(unit.name);
            const double value = read(text.c_str(), dimension, 997.0);
            CHECK(in_unit(value, dimension, unit.name, 997.0) == ebb::test::near(3.75).epsilon(1e-14));
        }
    }
}

TEST_CASE("what is refused, and what is said instead") {
    struct Row {
        const char* text;
        Dimension dimension;
        const char* code;
        const char* advice_holds;
    };
    const Row rows[] = {
        {"4.2", Dimension::length, "no-unit", "\"4.2 m\""},
        {"12", Dimension::flow, "no-unit", "\"12 l/min\""},
        {"", Dimension::length, "not-a-number", "\"1.5 m\""},
        {"4,2 m", Dimension::length, "decimal-comma", "\"4.2 m\""},
        {",5 m", Dimension::length, "decimal-comma", "0.5 m"},
        {"1,200 l", Dimension::volume, "thousands-mark", "\"1200 l\" or \"1.200 l\""},
        {"1 200 l", Dimension::volume, "thousands-mark", "\"1200 l\""},
        {"1'200 l", Dimension::volume, "thousands-mark", "\"1200 l\""},
        {"1_200 l", Dimension::volume, "thousands-mark", "\"1200 l\""},
        {"0x10 m", Dimension::length, "hexadecimal", "decimal number"},
        {"0X1p3 m", Dimension::length, "hexadecimal", "decimal number"},
        {"1/2 in", Dimension::length, "fraction", "0.5"},
        {"nan m", Dimension::length, "not-finite", "a length"},
        {"-inf m", Dimension::length, "not-finite", "a length"},
        {"infinity", Dimension::number, "not-finite", "a plain number"},
        {"1e400 m", Dimension::length, "out-of-range", "number"},
        {"1e-400 m", Dimension::length, "out-of-range", "number"},
        {"51e305 min", Dimension::time, "out-of-range", "number"},  // finite as minutes, not as seconds
        {"m", Dimension::length, "not-a-number", "1.5 m"},
        {"- 3 m", Dimension::length, "not-a-number", "1.5 m"},
        {"3 M", Dimension::length, "unknown-unit", "\"3 m\""},
        {"3 metres", Dimension::length, "unknown-unit", "\"3 m\""},
        {"3'", Dimension::length, "unknown-unit", "\"3 ft\""},
        {"3\"", Dimension::length, "unknown-unit", "\"3 in\""},
        {"3 L", Dimension::volume, "unknown-unit", "\"3 l\""},
        {"3 gallons", Dimension::volume, "unknown-unit", "imp-gal"},
        {"3 m\xC2\xB3/h", Dimension::flow, "unknown-unit", "\"3 m3/h\""},
        {"3 lpm", Dimension::flow, "unknown-unit", "\"3 l/min\""},
        {"3 GPM", Dimension::flow, "unknown-unit", "\"3 gpm\""},
        {"22 C", Dimension::temperature, "unknown-unit", "\"22 degC\""},
        {"22 \xC2\xB0"
         "F",
         Dimension::temperature, "unknown-unit", "\"22 degF\""},
        {"3 furlongs", Dimension::length, "unknown-unit", "m, mm, cm, ft or in"},
        {"3 bar", Dimension::length, "wrong-unit", "m, mm, cm, ft or in"},
        {"3 m3", Dimension::flow, "wrong-unit", "l/min"},
        {"5 ft 14 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5.5 ft 3 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5 ft -3 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5.0 ft 3 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"1e1 ft 3 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5 ft 3e0 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5 ft .5 in", Dimension::length, "odd-pair", "5 ft 3 in"},
        {"5 ft 3", Dimension::length, "not-a-number", "5 ft 3 in"},
        {"5 ft 3 cm", Dimension::length, "not-a-number", "5 ft 3 in"},
        {"3 m", Dimension::number, "not-plain", "\"3\""},
        {"2.5", Dimension::count, "not-a-count", "whole"},
        {"0", Dimension::count, "not-a-count", "whole"},
        {"+3", Dimension::count, "not-a-count", "whole"},
        {"1000001", Dimension::count, "not-a-count", "1000000"},
        {"99999999", Dimension::count, "not-a-count", "whole"},
    };
    for (const Row& row : rows) {
        const Quantity quantity = refused(row.text, row.dimension);
        CAPTURE(row.text);
        CHECK(quantity.code == row.code);
        const std::string all = quantity.says + " " + quantity.advice;
        CAPTURE(all);
        const bool held = all.find(row.advice_holds) != std::string::npos ||
                          (std::string(row.advice_holds) == "whole" && all.find("how many") != std::string::npos);
        CHECK(held);
    }
}

TEST_CASE("any bytes are survived") {
    std::uint32_t state = 12345;
    const std::string alphabet = "0123456789.,+-eE xXmft/lin%gal\xC2\xB3'\"\t";
    for (int round = 0; round < 20000; ++round) {
        std::string text;
        state = state * 1664525U + 1013904223U;
        const std::size_t length = (state >> 20U) % 12U;
        for (std::size_t i = 0; i < length; ++i) {
            state = state * 1664525U + 1013904223U;
            text += alphabet[(state >> 16U) % alphabet.size()];
        }
        for (int dimension = 0; dimension <= static_cast<int>(Dimension::count); ++dimension) {
            const Quantity quantity = parse_quantity(text, static_cast<Dimension>(dimension));
            if (quantity.good()) {
                CHECK(quantity.value - quantity.value == 0.0);  // finite
            } else {
                CHECK_FALSE(quantity.advice.empty());
            }
        }
    }
}

TEST_CASE("every unit of flow, time, power and energy by its definition") {
    // 231 cubic inches and 4.54609 l; a minute of 60 s, an hour of 3600, a day of 86400
    constexpr double kGallon_m3 = 231.0 * 0.0254 * 0.0254 * 0.0254, kImperial_m3 = 4.54609e-3;
    const auto is = [](const char* text, Dimension dimension, double si) {
        CAPTURE(text);
        CHECK(read(text, dimension) == ebb::test::near(si).epsilon(1e-14));
    };
    for (const auto& [name, seconds] : {std::pair{"s", 1.0}, {"min", 60.0}, {"h", 3600.0}, {"day", 86400.0}}) {
        for (const auto& [volume, m3] : {std::pair{"l", 1e-3}, {"m3", 1.0}, {"gal", kGallon_m3}, {"imp-gal", kImperial_m3}})
            is(("7 " + std::string(volume) + "/" + name).c_str(), Dimension::flow, 7.0 * m3 / seconds);
        is(("7 " + std::string(name)).c_str(), Dimension::time, 7.0 * seconds);
    }
    is("7 kW", Dimension::power, 7000.0);
    is("7 kWh", Dimension::energy, 7.0 * 3.6e6);
    is("2 day 13 h", Dimension::time, 61.0 * 3600.0);
    is("2 h 13 min", Dimension::time, 133.0 * 60.0);
    is("2 min 13 s", Dimension::time, 133.0);
}
