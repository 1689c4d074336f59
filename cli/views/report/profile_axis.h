#pragma once
// The vertical scale of the drawing: one scale everywhere, and long stretches of elevation in which nothing stands cut out.

#include <cstddef>
#include <string>
#include <vector>

namespace ebb::cli::profile {

/// Elevations between which something stands.
struct Stretch {
    double bottom_m = 0.0, top_m = 0.0;
};

/// An elevation and where it is drawn; y grows downwards. Straight between knots.
struct Knot {
    double elevation_m = 0.0, y = 0.0;
};

/// From an elevation to a place on the drawing.
class Axis {
public:
    /// `typical_m`: the height of an ordinary vessel, which is to stay legible. `highest_head_m`: shown too if it is not far above all that stands.
    Axis(std::vector<Stretch> inhabited, double typical_m, double highest_head_m);

    double y(double elevation_m) const;                 ///< also inside a break, and straight on beyond the ends
    double within(double elevation_m) const;            ///< the same, kept on the drawing
    double elevation(double y) const;                   ///< the way back
    double height() const { return height_; }           ///< of the drawing
    double pixels_per_metre() const { return scale_; }  ///< outside breaks
    const std::vector<Knot>& knots() const { return knots_; }

    /// Where the scale is cut: between these knots (the upper one of each pair).
    const std::vector<std::size_t>& breaks() const { return breaks_; }

private:
    std::vector<Knot> knots_;  ///< from the top down
    std::vector<std::size_t> breaks_;
    double scale_ = 1.0, height_ = 0.0;
};

/// One line of the grid.
struct GridLine {
    double elevation_m = 0.0;
    std::string says;
    bool datum = false;
};
/// Round elevations, in metres or feet, about as far apart as is easy to read.
std::vector<GridLine> grid(const Axis& axis, bool in_feet);

}  // namespace ebb::cli::profile
