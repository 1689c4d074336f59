// The line of head along a way: a dash-dotted line over the farm, with a mark at each corner that says the head there.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include <nlohmann/json.hpp>

#include "cli/views/report/profile_sheet.h"
#include "cli/views/report/profile_words.h"

namespace ebb::cli::profile {
namespace {

using html::add;
using html::Node;
using html::tenths;
using layout::Kind;
namespace words = profile_words;

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

/// Where on the drawing a corner stands from left to right.
double x_of(const Sheet& sheet, const HeadPath& path, const Corner& corner) {
    constexpr double kBeside = 7.0;  // of a pump: so that its rising pipe stays seen
    if (corner.over.kind == Kind::pump) return sheet.places.spot(corner.over).at.x - kBeside;
    if (corner.over.kind != Kind::vessel && corner.over.kind != Kind::pond) return sheet.places.spot(corner.over).at.x;
    const std::vector<Point>& points = sheet.routes[index(path.pipes.back())].points;
    return points.empty() ? 0.0 : points.back().x;
}

const char* word_of(Follows follows) {
    switch (follows) {
        case Follows::level: return "level";
        case Follows::pump: return "pump";
        case Follows::tee: return "tee";
        case Follows::end: return "end";
        case Follows::answer: return "answer";
        case Follows::nothing: break;
    }
    return "fixed";
}

}  // namespace

std::string head_points_json(const Sheet& sheet, const HeadPath& path) {
    nlohmann::json points = nlohmann::json::array();
    for (const Corner& corner : corners(sheet.scene, path)) {
        nlohmann::json one = {{"x", std::round(x_of(sheet, path, corner) * 10.0) / 10.0},
                              {"follows", word_of(corner.follows)},
                              {"index", corner.over.index},
                              {"name", id_of(sheet.scene.layout, corner.over)}};
        if (corner.vessel >= 0) one["vessel"] = corner.vessel;
        if (std::isfinite(corner.port_m)) one["port"] = corner.port_m;
        if (std::isfinite(corner.head_m)) one["head"] = corner.head_m;
        points.push_back(std::move(one));
    }
    return nlohmann::json({{"points", std::move(points)}, {"pipes", path.pipes}}).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

std::vector<Point> head_points(const Sheet& sheet) {
    std::vector<Point> points;
    if (sheet.path == nullptr) return points;
    for (const Corner& corner : corners(sheet.scene, *sheet.path))
        if (std::isfinite(corner.head_m)) points.push_back({x_of(sheet, *sheet.path, corner), sheet.places.axis.within(corner.head_m)});
    return points;
}

void draw_head(Node svg, const Sheet& sheet) {
    const Node group = add(svg, "g", {{"class", "head"}});
    if (sheet.path == nullptr) return;
    const HeadPath& path = *sheet.path;
    const std::vector<Point> points = head_points(sheet);
    auto at = points.begin();
    add(group, "path", {{"class", "head-line"}, {"d", path_of(points)}});
    const Node marks = add(group, "g", {{"class", "head-marks"}});
    for (const Corner& corner : corners(sheet.scene, path)) {
        if (!std::isfinite(corner.head_m)) continue;
        const Node mark = add(marks, "circle", {{"class", "head-mark"}, {"cx", tenths(at->x)}, {"cy", tenths(at->y)}, {"r", "3"}});
        ++at;
        add(mark, "title", {},
            filled(words::kHeadCorner, {{"at", id_of(sheet.scene.layout, corner.over)}, {"head", sheet.scene.speech.level(corner.head_m)}}));
    }
}

}  // namespace ebb::cli::profile
