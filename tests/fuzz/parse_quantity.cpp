// Any text as a quantity: the first byte says which dimension is wanted. What is well read is finite, reads the same again when it is written with
// all its digits in the unit it came in, and can be shown to people; what is not is refused with a sentence.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <string>

#include "netfiles/display.h"
#include "netfiles/units.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;
using netfiles::Dimension;

constexpr double kDensity_kg_m3 = 998.2;

std::string with_all_digits(double value) {
    char text[64];
    std::snprintf(text, sizeof text, "%.17g", value);
    return text;
}

void read_again(const netfiles::Quantity& read, Dimension dimension) {
    const double number = netfiles::in_unit(read.value, dimension, read.unit, kDensity_kg_m3);
    if (!std::isfinite(number) || std::abs(number) > 1e300) return;  // off the scale of the unit only
    const auto again = netfiles::parse_quantity(with_all_digits(number) + " " + std::string(read.unit), dimension, kDensity_kg_m3);
    fuzz::must(again.good(), "a quantity written in its unit is read again");
    // degrees are taken from an offset, which costs digits of what is near nothing
    const double still = dimension == Dimension::temperature ? 1e-12 * std::max(300.0, std::abs(read.value)) : 1e-300;
    fuzz::must(std::abs(again.value - read.value) <= 1e-14 * std::abs(read.value) + still, "a quantity read again has its value");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    const auto dimension = static_cast<Dimension>(data[0] % (static_cast<int>(Dimension::energy) + 1));
    const std::string text(data + 1, data + size);
    const netfiles::Quantity read = netfiles::parse_quantity(text, dimension, kDensity_kg_m3);
    if (!read.good()) {
        fuzz::must(!read.says.empty(), "a refusal says something");
        return 0;
    }
    fuzz::must(std::isfinite(read.value), "what is well read is finite");
    if (!read.unit.empty()) read_again(read, dimension);
    for (const auto units : {layout::UnitSystem::si, layout::UnitSystem::us}) {
        const std::string shown = netfiles::format_quantity(read.value, dimension, units);
        fuzz::must(!shown.empty() && shown != "-", "what is well read can be shown");
        fuzz::must(shown.find("nan") == std::string::npos && shown.find("inf") == std::string::npos, "what is shown is a number");
    }
    if (dimension == Dimension::time) fuzz::must(!netfiles::format_duration(read.value).empty(), "a duration can be shown");
    return 0;
}
