#pragma once
// Where everything stands on the drawing. From left to right it is columns (a vessel, vessels one above the other, a pond) with gutters between
// them, in which tees, filters and whatever else stands free have their places and pipes go up and down.

#include <cstdint>
#include <string>
#include <vector>

#include "cli/views/report/profile_axis.h"
#include "solver/layout/layout.h"

namespace ebb::cli::profile {

struct Point {
    double x = 0.0, y = 0.0;
};
struct Box {
    double left = 0.0, top = 0.0, right = 0.0, bottom = 0.0;
    bool meets(const Box& other) const { return left < other.right && other.left < right && top < other.bottom && other.top < bottom; }
};

/// Where a thing that pipes can end at stands. Slots count from the left: even ones are gutters, odd ones columns.
struct Spot {
    Point at;
    std::int32_t slot = 0;
    std::int32_t vessel = -1;  ///< it stands in, if any
};

/// Vessels from the top down, or a pond.
struct Column {
    std::vector<std::int32_t> vessels = {};
    std::int32_t pond = -1;
    double left = 0.0, width = 0.0;
};

/// Between columns: lanes for the column on its left, free-standing things side by side, lanes for the column on its right.
struct Gutter {
    std::vector<std::vector<layout::Ref>> nodes;  ///< those that share a place stand one above the other
    std::int32_t left_lanes = 0, right_lanes = 0;
    double left = 0.0, width = 0.0;
};

struct Places {
    Axis axis;
    std::vector<Column> columns = {};
    std::vector<Gutter> gutters = {};  ///< one more than columns: gutter i is on the left of column i
    std::vector<Box> vessels = {}, ponds = {};
    std::vector<std::int32_t> vessel_column = {}, pond_column = {};
    std::vector<Spot> tees = {}, pumps = {}, filters = {}, nozzles = {}, supplies = {}, float_valves = {}, standpipes = {}, siphons = {};
    std::vector<double> label_right = {};  ///< of vessels: where the room for the label ends
    double width = 0.0;

    const Spot& spot(const layout::Ref& ref) const;
    Spot& spot(const layout::Ref& ref);
    std::int32_t slot(const layout::Ref& ref) const;  ///< also of vessels and ponds
    double left_lane(std::int32_t gutter, std::int32_t lane) const;
    double right_lane(std::int32_t gutter, std::int32_t lane) const;
};

/// Order and elevations; nothing has its horizontal place yet. `highest_head_m`: a head that should still be on the drawing, if it is not far off.
Places ordered_places(const layout::Layout& layout, double highest_head_m);

/// Horizontal places, once every gutter knows how many lanes it needs.
void place_across(const layout::Layout& layout, Places& places);

/// The text cut to so many letters, with three dots for the rest.
std::string shortened(const std::string& says, std::size_t letters);
std::string brief(const std::string& id);  ///< an id as it stands beside a pipe
std::size_t letters_in(double width, double size);

/// Width of a text as it will be drawn, about.
double text_width(std::size_t letters, double size);

inline constexpr double kNameSize = 12.5, kNameWidth = 14.0, kNumberSize = 10.0,
                        kPipeTextSize = 9.5;  ///< of letters, as profile.css has them; names are bold and so wider

}  // namespace ebb::cli::profile
