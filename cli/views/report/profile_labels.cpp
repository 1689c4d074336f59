// Placing texts. Each is tried at several places; what it would cover is counted, and the cheapest place is taken. Texts placed first have the better
// choice, so the caller begins with what matters most.

#include "cli/views/report/profile_labels.h"

#include <algorithm>
#include <cmath>

namespace ebb::cli::profile {
namespace {

constexpr double kCell = 160.0;
constexpr double kMostCost = 40.0;  // beyond, a text is not legible there
constexpr double kClear = 3.0;      // between a pipe and its text

std::int32_t cell(double x) { return static_cast<std::int32_t>(std::floor(x / kCell)); }

double overlap(double a1, double a2, double b1, double b2) { return std::max(0.0, std::min(a2, b2) - std::max(a1, b1)); }

/// Length of a stretch inside a box, by the box it spans itself: exact for level and upright ones.
double length_inside(const Point& a, const Point& b, const Box& box) {
    const double across = overlap(std::min(a.x, b.x), std::max(a.x, b.x) + 0.1, box.left, box.right);
    const double up = overlap(std::min(a.y, b.y), std::max(a.y, b.y) + 0.1, box.top, box.bottom);
    return across > 0.0 && up > 0.0 ? std::max(across, up) : 0.0;
}

Box level_box(const Point& baseline, const char* anchor, double width, double size) {
    const double left = anchor[0] == 'm' ? baseline.x - width / 2.0 : anchor[0] == 's' ? baseline.x : baseline.x - width;
    constexpr double kAscent = 0.8, kDescent = 0.22;
    return {left, baseline.y - kAscent * size, left + width, baseline.y + kDescent * size};
}

}  // namespace

void Room::take(const Box& box) {
    for (std::int32_t i = cell(box.left); i <= cell(box.right); ++i) taken_[i].push_back(box);
}

void Room::add_line(const Point& a, const Point& b) {
    for (std::int32_t i = cell(std::min(a.x, b.x)); i <= cell(std::max(a.x, b.x)); ++i) lines_[i].push_back({a, b});
}

void Room::add_wall(const Box& box) {
    for (std::int32_t i = cell(box.left); i <= cell(box.right); ++i) walls_[i].push_back(box);
}

bool Room::is_free(const Box& box) const {
    if (box.left < 0.0 || box.top < 0.0 || box.right > width_ || box.bottom > height_) return false;
    for (std::int32_t i = cell(box.left); i <= cell(box.right); ++i) {
        const auto found = taken_.find(i);
        if (found != taken_.end() && std::any_of(found->second.begin(), found->second.end(), [&](const Box& other) { return other.meets(box); }))
            return false;
    }
    return true;
}

double Room::line_cost(const Box& box) const {
    constexpr double kAlong = 2.0;  // a line through the length of a text is worse than one across it
    double cost = 0.0;
    const auto found = lines_.find(cell((box.left + box.right) / 2.0));
    if (found == lines_.end()) return 0.0;
    const double thin = std::min(box.right - box.left, box.bottom - box.top);
    for (const Stretch& one : found->second) {
        const double inside = length_inside(one.a, one.b, box);
        cost += inside > 1.5 * thin ? kAlong * inside : 0.7 * inside;
    }
    return cost;
}

double Room::wall_cost(const Box& box) const {
    constexpr double kInside = 6.0, kAcross = 18.0;
    double cost = 0.0;
    const auto found = walls_.find(cell((box.left + box.right) / 2.0));
    if (found == walls_.end()) return 0.0;
    for (const Box& wall : found->second) {
        if (!wall.meets(box)) continue;
        const bool inside = wall.left <= box.left && wall.right >= box.right && wall.top <= box.top && wall.bottom >= box.bottom;
        cost += inside ? kInside : kAcross;
    }
    return cost;
}

bool Room::is_outside(const Box& box) const {
    for (std::int32_t i = cell(box.left); i <= cell(box.right); ++i) {
        const auto found = walls_.find(i);
        if (found != walls_.end() && std::any_of(found->second.begin(), found->second.end(), [&](const Box& wall) { return wall.meets(box); }))
            return false;
    }
    return true;
}

std::optional<TextPlace> Room::best(const std::vector<TextPlace>& places) {
    const TextPlace* chosen = nullptr;
    double least = kMostCost;
    for (const TextPlace& place : places) {
        if (!is_free(place.box)) continue;
        const double cost = place.penalty + line_cost(place.box) + wall_cost(place.box);
        if (cost >= least) continue;
        least = cost;
        chosen = &place;
    }
    if (chosen == nullptr) return std::nullopt;
    take(chosen->box);
    return *chosen;
}

std::vector<TextPlace> along(const std::vector<Point>& points, double width, double size) {
    std::vector<TextPlace> places;
    constexpr double kShortest = 0.9;  // of the text: a pipe much shorter has no text beside it
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        const Point &a = points[i], &b = points[i + 1];
        const double length = std::hypot(a.x - b.x, a.y - b.y);
        if (length < kShortest * width) continue;
        const bool upright = std::abs(a.x - b.x) < std::abs(a.y - b.y);
        const double room = std::max(0.0, (length - width) / 2.0 / length);
        constexpr int kHalfTries = 6;
        for (int step = 0; step <= 2 * kHalfTries; ++step) {  // from the middle outwards
            const double share = (step % 2 == 0 ? -1.0 : 1.0) * ((step + 1) / 2) / kHalfTries;
            const double t = 0.5 + share * room;
            const Point on{a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
            for (const bool other : {false, true}) {
                TextPlace place{.upright = upright, .penalty = std::abs(share) + (other ? 1.0 : 0.0)};
                if (upright) {
                    place.at = {other ? on.x + kClear + 0.78 * size : on.x - kClear, on.y};
                    place.box = {place.at.x - 0.8 * size, on.y - width / 2.0, place.at.x + 0.22 * size, on.y + width / 2.0};
                } else {
                    place.at = {on.x, other ? on.y + kClear + 0.78 * size : on.y - kClear};
                    place.box = level_box(place.at, "middle", width, size);
                }
                places.push_back(place);
            }
        }
    }
    return places;
}

std::vector<TextPlace> around(const Point& at, double away, double width, double size) {
    std::vector<TextPlace> places;
    const auto add = [&](double x, double y, const char* anchor, double penalty) {
        const Point where{at.x + x, at.y + y};
        places.push_back({where, false, anchor, level_box(where, anchor, width, size), penalty});
    };
    const double low = 0.35 * size;
    add(away, -away, "start", 0.0);
    add(-away, -away, "end", 0.5);
    add(away, away + 0.6 * size, "start", 1.0);
    add(-away, away + 0.6 * size, "end", 1.5);
    add(away + 2.0, low, "start", 2.0);
    add(-away - 2.0, low, "end", 2.5);
    add(0.0, -away - 2.0, "middle", 2.0);
    add(0.0, away + size, "middle", 2.5);
    add(away, -away - size, "start", 4.0);
    add(-away, -away - size, "end", 4.5);
    add(away, away + 1.6 * size, "start", 5.0);
    add(-away, away + 1.6 * size, "end", 5.5);
    return places;
}

}  // namespace ebb::cli::profile
