#pragma once
// The order of things from left to right: what is joined stands near.

#include <cstdint>
#include <vector>

namespace ebb::cli::profile {

struct Link {
    std::int32_t a = 0, b = 0;
    double weight = 1.0;
};

/// What is to be put in order: widths on the drawing, what joins what, and the places that are said (NaN: not said).
struct Row {
    std::vector<double> width;
    std::vector<Link> links;
    std::vector<double> said;
    std::vector<std::int32_t> first;  ///< where to begin: sumps with pumps, supplies; the most important first
};

/// The indices of things from left to right. Things whose place is said come in that order; the same row gives the same order always.
std::vector<std::int32_t> ordered(const Row& row);

}  // namespace ebb::cli::profile
