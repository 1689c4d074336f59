#pragma once
// The way of every pipe over the drawing, at the heights it really runs at.

#include <vector>

#include "cli/views/report/profile_places.h"

namespace ebb::cli::profile {

/// One pipe: corners from its from-end to its to-end, and the pieces of it that are seen in front of a vessel (the rest passes behind).
struct Route {
    std::vector<Point> points;
    std::vector<std::vector<Point>> in_front;
};

/// Routes of all pipes; gives `places` its horizontal places on the way.
std::vector<Route> routed(const layout::Layout& layout, Places& places);

}  // namespace ebb::cli::profile
