// The vertical scale. Stretches in which something stands are merged where they are near; what is left between them is empty, and where it is longer
// than all that is inhabited it is cut out: otherwise one tank on a hill would make every vessel of the farm a line.

#include "cli/views/report/profile_axis.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace ebb::cli::profile {
namespace {

constexpr double kMarginTop = 44.0, kMarginBottom = 34.0;
constexpr double kBreak = 40.0;            // height of a break on the drawing
constexpr double kTall = 465.0;            // what the drawing should take
constexpr double kTallest = 1500.0;        // what it may take so that an ordinary vessel stays legible
constexpr double kLeastVessel = 40.0;      // an ordinary vessel is at least so tall
constexpr double kGreatestVessel = 200.0;  // and at most
constexpr double kLongestEmpty = 1.0;      // of all that is inhabited: beyond, it is cut out
constexpr double kPad = 0.12;              // of an ordinary vessel, around everything
constexpr double kLeastTypical_m = 0.02;
constexpr double kMetresPerFoot = 0.3048;

std::vector<Stretch> merged(std::vector<Stretch> all, double nearer_m) {
    std::sort(all.begin(), all.end(), [](const Stretch& a, const Stretch& b) { return a.bottom_m < b.bottom_m; });
    std::vector<Stretch> merged;
    for (const Stretch& one : all) {
        if (!merged.empty() && one.bottom_m - merged.back().top_m <= nearer_m)
            merged.back().top_m = std::max(merged.back().top_m, one.top_m);
        else
            merged.push_back(one);
    }
    return merged;
}

double length_of(const std::vector<Stretch>& all) {
    double length = 0.0;
    for (const Stretch& one : all) length += one.top_m - one.bottom_m;
    return length;
}

}  // namespace

Axis::Axis(std::vector<Stretch> inhabited, double typical_m, double highest_head_m) {
    typical_m = std::max(std::isfinite(typical_m) ? typical_m : 1.0, kLeastTypical_m);
    std::erase_if(inhabited, [](const Stretch& one) { return !std::isfinite(one.bottom_m) || !std::isfinite(one.top_m); });
    if (inhabited.empty()) inhabited.push_back({0.0, typical_m});
    for (Stretch& one : inhabited) {
        if (one.top_m < one.bottom_m) std::swap(one.top_m, one.bottom_m);
        one.bottom_m -= kPad * typical_m;
        one.top_m += kPad * typical_m;
    }
    const double covered_m = length_of(merged(inhabited, 0.0));
    const std::vector<Stretch> drawn = merged(inhabited, kLongestEmpty * covered_m);
    const double total_m = length_of(drawn);
    scale_ = std::min({std::max(kTall / total_m, kLeastVessel / typical_m), kGreatestVessel / typical_m, kTallest / total_m});
    double y = kMarginTop;
    constexpr double kHeadRoom = 260.0;  // on the drawing: a head higher than that stays at its edge
    const double head_room = scale_ * (highest_head_m + kPad * typical_m - drawn.back().top_m);
    if (head_room > 0.0 && head_room < kHeadRoom) y += head_room;
    for (auto one = drawn.rbegin(); one != drawn.rend(); ++one) {
        if (!knots_.empty()) {
            breaks_.push_back(knots_.size() - 1);
            y += kBreak;
        }
        knots_.push_back({one->top_m, y});
        y += scale_ * (one->top_m - one->bottom_m);
        knots_.push_back({one->bottom_m, y});
    }
    height_ = y + kMarginBottom;
}

double Axis::y(double elevation_m) const {
    if (elevation_m >= knots_.front().elevation_m) return knots_.front().y - scale_ * (elevation_m - knots_.front().elevation_m);
    for (std::size_t i = 1; i < knots_.size(); ++i) {
        const Knot &above = knots_[i - 1], &below = knots_[i];
        if (elevation_m < below.elevation_m) continue;
        return above.y + (below.y - above.y) * (above.elevation_m - elevation_m) / (above.elevation_m - below.elevation_m);
    }
    return knots_.back().y + scale_ * (knots_.back().elevation_m - elevation_m);
}

double Axis::within(double elevation_m) const {
    constexpr double kEdge = 14.0;
    return std::clamp(y(elevation_m), kEdge, height_ - kEdge);
}

double Axis::elevation(double at) const {
    if (at <= knots_.front().y) return knots_.front().elevation_m + (knots_.front().y - at) / scale_;
    for (std::size_t i = 1; i < knots_.size(); ++i) {
        const Knot &above = knots_[i - 1], &below = knots_[i];
        if (at > below.y) continue;
        return above.elevation_m - (above.elevation_m - below.elevation_m) * (at - above.y) / (below.y - above.y);
    }
    return knots_.back().elevation_m - (at - knots_.back().y) / scale_;
}

std::vector<GridLine> grid(const Axis& axis, bool in_feet) {
    constexpr double kLeastStep = 38.0;  // on the drawing
    constexpr std::array kSteps = {1.0, 2.0, 5.0};
    // a little beyond the stretches too: heads may stand there
    const double unit_m = in_feet ? kMetresPerFoot : 1.0;
    double step = 0.01;
    for (std::size_t i = 0; step * unit_m * axis.pixels_per_metre() < kLeastStep; ++i)
        step = kSteps[(i + 1) % kSteps.size()] * std::pow(10.0, static_cast<double>((i + 1) / kSteps.size()) - 2.0);
    const int decimals = std::max(0, -static_cast<int>(std::floor(std::log10(step) + 1e-9)));
    std::vector<GridLine> lines;
    for (std::size_t i = 0; i + 1 < axis.knots().size(); i += 2) {  // knots of stretches come in pairs
        const double bottom = axis.knots()[i + 1].elevation_m / unit_m,
                     top = (i == 0 ? axis.elevation(kMarginTop) : axis.knots()[i].elevation_m) / unit_m;
        constexpr double kMost = 1000.0;  // a guard: no drawing has so many
        const double first = std::ceil(bottom / step);
        for (double k = first; k * step <= top && k < first + kMost; k += 1.0) {
            const bool datum = std::abs(k) < 0.5;
            const double elevation_m = k * step * unit_m;
            lines.push_back({elevation_m, fmt::format("{:.{}f} {}", datum ? 0.0 : k * step, decimals, in_feet ? "ft" : "m"), datum});
        }
    }
    return lines;
}

}  // namespace ebb::cli::profile
