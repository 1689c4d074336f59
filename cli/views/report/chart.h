#pragma once
// Plots: what is to be seen in one, as plain data, and the painter that has the charting library draw it as SVG. Values come in the units they are
// shown in; sentences too.

#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "cli/views/report/html.h"

namespace ebb::cli {

inline constexpr double kOpenEnd = std::numeric_limits<double>::quiet_NaN();

struct Axis {
    std::string label;
    double least = kOpenEnd, most = kOpenEnd;  ///< NaN: as the values want it
};

/// Points joined by a line, or by themselves. A NaN in y breaks the line.
struct PlotSeries {
    enum class Look : unsigned char { line, dashed, points };
    std::string name;  ///< in the legend; empty: not there
    Look look = Look::line;
    int ink = 0;  ///< which colour, dash and shape
    std::vector<double> x, y;
    std::vector<std::string> says;  ///< of every point, or none
};

/// A stretch of the axis along the bottom.
struct PlotSpan {
    double from = 0.0, to = 0.0;
    std::string name, says;
    int ink = 0;
};
struct PlotLine {
    double y = 0.0;
    std::string name;
};

struct Plot {
    std::string says;  ///< what is to be seen, for those who do not see it
    Axis x, y;
    std::vector<PlotSeries> series;
    std::vector<PlotSpan> spans;
    std::vector<PlotLine> lines;  ///< level lines, named
    double height = 300.0;
};

/// Bands and points on one line for each thing.
struct RowPlot {
    struct Band {
        double from = 0.0, to = 0.0;
        std::string says;
        int ink = 0;
        bool pale = false;
    };
    struct Point {
        double x = 0.0;
        std::string says;
        int ink = 1;
    };
    struct Row {
        std::string name, after;  ///< after: a figure behind the end
        std::vector<Band> bands;
        std::vector<Point> points;
    };
    std::string says;
    Axis x;
    std::vector<Row> rows;
};

/// Levels against one axis of time, one strip for each vessel.
struct StripPlot {
    struct Strip {
        std::string name, says;
        std::vector<double> x, y;
        double least = 0.0, most = 1.0;
        std::string least_says, most_says;
        std::vector<PlotLine> lines;
    };
    struct Mark {
        double x = 0.0;
        std::string says;
        int ink = 0;
    };
    std::string says;
    Axis x;
    std::vector<Strip> strips;
    std::vector<Mark> marks;
    std::vector<PlotSpan> spans;
};

/// Holds the charting library, which takes a moment to load: one for a whole page.
class Painter {
public:
    Painter();
    ~Painter();
    Painter(const Painter&) = delete;
    Painter& operator=(const Painter&) = delete;

    /// The drawing as a `figure` with a caption; returns the figure.
    html::Node draw(html::Node parent, const Plot& plot, std::string_view caption);
    html::Node draw(html::Node parent, const RowPlot& plot, std::string_view caption);
    html::Node draw(html::Node parent, const StripPlot& plot, std::string_view caption);

private:
    struct Engine;
    std::unique_ptr<Engine> engine_;
};

/// Fewer points for the same line: none of those left out is further than `tolerance` (in y) from the line through those kept. The first and the last
/// stay.
struct Points {
    std::vector<double> x, y;
};
Points thinned(const std::vector<double>& x, const std::vector<double>& y, double tolerance);

}  // namespace ebb::cli
