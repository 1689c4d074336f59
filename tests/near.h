#pragma once
// What a figure is compared with, by a share of its own size.

#include <doctest/doctest.h>

namespace ebb::test {

/// doctest's Approx takes its share of 1 + |value| unless told otherwise, which lets a flow of 1e-4 m3/s be wrong by per cents at epsilon(1e-6). Here
/// the share is of the figures alone, and nothing equals nothing. For a figure that ought to be nothing, compare its size with a bound instead.
inline doctest::Approx near(double value) { return doctest::Approx(value).scale(1e-300); }

}  // namespace ebb::test
