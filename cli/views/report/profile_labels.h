#pragma once
// Where texts go so that none lies on another: boxes that are taken, pipes that are better not crossed, and the best of several places.

#include <cstdint>
#include <map>
#include <optional>
#include <vector>

#include "cli/views/report/profile_places.h"

namespace ebb::cli::profile {

/// A place for a text: where it is anchored, whether it is turned to read upwards, and the box it takes.
struct TextPlace {
    Point at = {};
    bool upright = false;  ///< reads upwards, along a pipe that goes up or down
    const char* anchor = "middle";
    Box box = {};
    double penalty = 0.0;  ///< of places that are less good in themselves
};

class Room {
public:
    Room(double width, double height) : width_(width), height_(height) {}
    void take(const Box& box);                      ///< nothing may lie on it
    void add_line(const Point& a, const Point& b);  ///< better not crossed
    void add_wall(const Box& box);                  ///< a vessel: better outside, or inside, than across its wall
    bool is_free(const Box& box) const;
    bool is_outside(const Box& box) const;  ///< of every vessel

    /// The best free place, and takes it; none where all are taken, or all would lie along a pipe.
    std::optional<TextPlace> best(const std::vector<TextPlace>& places);

private:
    struct Stretch {
        Point a, b;
    };
    double line_cost(const Box& box) const;
    double wall_cost(const Box& box) const;

    double width_, height_;
    std::map<std::int32_t, std::vector<Box>> taken_;  // by a grid across
    std::map<std::int32_t, std::vector<Stretch>> lines_;
    std::map<std::int32_t, std::vector<Box>> walls_;
};

/// Places along a pipe for a text so wide: above and below what runs level, beside what goes up.
std::vector<TextPlace> along(const std::vector<Point>& points, double width, double size);

/// Places round a point.
std::vector<TextPlace> around(const Point& at, double away, double width, double size);

}  // namespace ebb::cli::profile
