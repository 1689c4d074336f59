#pragma once
// Layouts that a test writes out as text.

#include <doctest/doctest.h>

#include <string>

#include "netfiles/reader.h"

namespace ebb::diagnose {

/// The layout, which must be valid.
inline layout::Layout layout_of(const std::string& text) {
    netfiles::ReadResult read = netfiles::read_layout_text(text, "test.xml");
    for (const layout::Problem& problem : read.problems) FAIL_CHECK(netfiles::show(problem, read.files));
    REQUIRE(read.good());
    return read.layout;
}

/// The text with the first `old`, which must be there, replaced.
inline std::string changed(std::string text, const std::string& old, const std::string& now) {
    const std::size_t at = text.find(old);
    REQUIRE(at != std::string::npos);
    return text.replace(at, old.size(), now);
}

}  // namespace ebb::diagnose
