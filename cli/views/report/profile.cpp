// The hydraulic profile put together: places, routes, then the layers of the drawing from the back to the front.

#include "cli/views/report/profile.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/report/profile_sheet.h"
#include "cli/views/report/profile_words.h"

namespace ebb::cli {
namespace {

using html::add;
using html::Node;
using html::tenths;
namespace words = profile_words;

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

/// What the script needs to turn elevations into places.
std::string axis_json(const profile::Axis& axis) {
    nlohmann::json knots = nlohmann::json::array();
    for (const profile::Knot& knot : axis.knots()) knots.push_back({knot.elevation_m, knot.y});
    return knots.dump();
}

void add_patterns(Node svg) {
    const Node pattern =
        add(add(svg, "defs"), "pattern", {{"id", "profile-media"}, {"width", "9"}, {"height", "9"}, {"patternUnits", "userSpaceOnUse"}});
    add(pattern, "circle", {{"class", "pebble"}, {"cx", "2.4"}, {"cy", "2.6"}, {"r", "1.5"}});
    add(pattern, "circle", {{"class", "pebble"}, {"cx", "6.8"}, {"cy", "6.9"}, {"r", "1.8"}});
}

Node add_svg(Node box, const profile::Places& places) {
    constexpr double kFits = 1150.0;  // drawings no wider shrink with the page
    const std::string width = tenths(places.width), height = tenths(places.axis.height());
    const Node svg = add(box, "svg",
                         {{"class", places.width <= kFits ? "fits" : "wide-drawing"},
                          {"viewBox", "0 0 " + width + " " + height},
                          {"width", width},
                          {"height", height},
                          {"role", "group"},
                          {"aria-label", std::string(words::kTitle)},
                          {"data-axis", axis_json(places.axis)}});
    return svg;
}

/// A drawing too wide for a sheet of paper is printed as strips, one below the other, each with the scale at its left.
void add_strips(Node box, const profile::Sheet& sheet) {
    constexpr double kWidest = 1500.0, kStrip = 1300.0, kOverlap = 24.0, kScale = 56.0;
    const double width = sheet.places.width, height = sheet.places.axis.height();
    if (width <= kWidest) return;
    box.attribute("class").set_value("profile-box has-strips");
    const Node strips = add(box, "div", {{"class", "strips"}, {"aria-hidden", "true"}});
    const double count = std::ceil((width - kWidest + kStrip) / kStrip), each = width / count;
    for (double k = 0.0; k < count; k += 1.0) {
        const double left = k * each - (k > 0.0 ? kScale : 0.0), right = (k + 1.0) * each + (k + 1.0 < count ? kOverlap : 0.0);
        const Node svg =
            add(strips, "svg", {{"class", "strip"}, {"viewBox", fmt::format("{} 0 {} {}", tenths(left), tenths(right - left), tenths(height))}});
        add(svg, "use", {{"href", "#profile-drawing"}});
        if (k == 0.0) continue;
        add(svg, "rect", {{"class", "blank"}, {"x", tenths(left)}, {"y", "0"}, {"width", tenths(kScale - kOverlap)}, {"height", tenths(height)}});
        profile::draw_scale_again(svg, sheet, left);
    }
}

/// The choice of a way; the script shows it and moves the line.
/// "PP to B6"
std::string way_of(const layout::Layout& layout, const profile::HeadPath& path) {
    return profile::filled(words::kHeadPath,
                           {{"from", profile::id_of(layout, path.things.front())}, {"to", profile::id_of(layout, path.things.back())}});
}

void add_choice(Node figure, const profile::Sheet& sheet, const std::vector<profile::HeadPath>& paths, std::int32_t chosen) {
    if (paths.empty()) return;
    const Node line = add(figure, "p", {{"class", "profile-choice"}, {"hidden", "hidden"}});
    const Node label = add(line, "label", {}, std::string(words::kHeadLine) + " ");
    const Node select = add(label, "select", {{"class", "profile-paths"}});
    add(select, "option", {{"value", ""}}, words::kNoHeadLine);
    constexpr std::size_t kMost = 6000;  // corners of all ways together: the page stays small however many vessels there are
    std::size_t corners = 0;
    for (std::size_t i = 0; i < paths.size(); ++i) {
        corners += paths[i].things.size();
        if (corners > kMost && static_cast<std::int32_t>(i) != chosen) continue;
        const layout::Layout& layout = sheet.scene.layout;
        Node option = add(select, "option", {{"value", std::to_string(i)}, {"data-path", profile::head_points_json(sheet, paths[i])}},
                          way_of(layout, paths[i]));
        if (static_cast<std::int32_t>(i) == chosen) option.append_attribute("selected").set_value("selected");
    }
}

void add_caption(Node figure, const ProfileScene& scene, const profile::Places& places, const profile::HeadPath* path) {
    std::string says(words::kCaption);
    if (!places.axis.breaks().empty()) says += " " + std::string(words::kCut);
    const Node caption = add(figure, "figcaption", {}, says + " ");
    add(caption, "span", {{"class", "profile-state"}}, scene.stated);  // both follow what is shown, by script
    html::text(caption, ". ");
    add(caption, "span", {{"class", "profile-way"}},
        path == nullptr ? std::string() : profile::filled(words::kHeadCaption, {{"way", way_of(scene.layout, *path)}}));
}

}  // namespace

void draw_profile(html::Node parent, const ProfileScene& scene) {
    const std::vector<profile::HeadPath> paths = profile::head_paths(scene.layout);
    const std::int32_t chosen = profile::farthest(scene, paths);
    const profile::HeadPath* path = chosen >= 0 ? &paths[index(chosen)] : nullptr;
    profile::Places places = profile::ordered_places(scene.layout, path != nullptr ? profile::highest_head(scene, *path) : layout::kNotSaid);
    const std::vector<profile::Route> routes = profile::routed(scene.layout, places);
    profile::Room room(places.width, places.axis.height());
    const profile::Sheet sheet{scene, places, routes, room, path};
    const Node figure = add(parent, "figure", {{"class", "profile"}});
    add_caption(figure, scene, places, path);
    const Node box = add(figure, "div", {{"class", "profile-box"}, {"tabindex", "0"}, {"role", "group"}, {"aria-label", std::string(words::kTitle)}});
    const Node whole = add_svg(box, places);
    add_patterns(whole);
    const Node svg = add(whole, "g", {{"id", "profile-drawing"}, {"class", "profile-drawing"}});
    const auto add_lines = [&](const std::vector<profile::Point>& points) {
        for (std::size_t i = 0; i + 1 < points.size(); ++i) room.add_line(points[i], points[i + 1]);
    };
    for (const profile::Route& route : routes) add_lines(route.points);
    add_lines(profile::head_points(sheet));
    profile::draw_scale(svg, sheet);
    profile::draw_pipes_behind(svg, sheet);
    profile::draw_vessels(svg, sheet);
    profile::draw_pipes(svg, sheet);
    profile::draw_devices(svg, sheet);
    profile::draw_head(svg, sheet);
    add_strips(box, sheet);
    add(figure, "output", {{"class", "profile-says"}, {"aria-live", "polite"}}, words::kHint);
    add_choice(figure, sheet, paths, chosen);
    profile::draw_key(figure);
}

nlohmann::json profile_data(const layout::Layout& /*layout*/) {
    const auto all = [](const auto& clauses) {
        nlohmann::json list = nlohmann::json::array();
        for (const std::string_view clause : clauses) list.push_back(std::string(clause));
        return list;
    };
    return {{"words",
             {{"vessel", all(words::kVessel)},
              {"pipe", all(words::kPipe)},
              {"pump", all(words::kPump)},
              {"tee", all(words::kTee)},
              {"valve", all(words::kValve)},
              {"standpipe", all(words::kStandpipe)},
              {"shut", std::string(words::kShut)},
              {"open", std::string(words::kOpen)},
              {"stopped", std::string(words::kStopped)},
              {"still", std::string(words::kStill)},
              {"corner", std::string(words::kHeadCorner)},
              {"way", std::string(words::kHeadCaption)},
              {"hint", std::string(words::kHint)}}}};
}

}  // namespace ebb::cli
