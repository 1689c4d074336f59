// The signs of the drawing, about the origin, and what all parts of it use to write SVG. A pump is a circle with a triangle that points the way it
// pumps, a valve two triangles tip to tip, as the open standards of drawing have them; the others are our own. Colours and line weights stand in
// profile.css: a sign says what it is by its class.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "cli/views/report/profile_sheet.h"

namespace ebb::cli::profile {

using html::add;
using html::Node;
using html::tenths;

Node thing(Node parent, const std::string& classes, const std::string& key, std::size_t index, const Told& told) {
    const std::string sentence = told.sentence();
    const Node group = add(parent, "g",
                           {{"class", "thing " + classes},
                            {("data-" + key).c_str(), std::to_string(index)},
                            {"data-name", told.name},
                            {"tabindex", "0"},
                            {"role", "img"},
                            {"aria-label", sentence}});
    for (const Value& value : told.values) {
        if (!value.stays || value.says.empty() || value.says == "-") continue;
        Node(group).append_attribute(("data-says-" + std::string(value.name)).c_str()).set_value(value.says.c_str());
    }
    add(group, "title", {}, sentence);
    return group;
}

Node text_at(Node parent, const TextPlace& place, const std::string& classes) {
    const Node text = add(parent, "text", {{"class", classes}, {"text-anchor", place.anchor}});
    if (place.upright)
        Node(text)
            .append_attribute("transform")
            .set_value(fmt::format("translate({} {}) rotate(-90)", tenths(place.at.x), tenths(place.at.y)).c_str());
    else {
        Node(text).append_attribute("x").set_value(tenths(place.at.x).c_str());
        Node(text).append_attribute("y").set_value(tenths(place.at.y).c_str());
    }
    return text;
}

void piece(Node text, const std::string& classes, const std::string& says) {
    if (text.first_child()) html::text(text, " ");
    if (classes.empty())
        html::text(text, says);
    else
        add(text, "tspan", {{"class", classes}}, says);
}

std::string path_of(const std::vector<Point>& points) {
    std::string path;
    for (const Point& point : points) path += fmt::format("{}{} {}", path.empty() ? "M" : "L", tenths(point.x), tenths(point.y));
    return path;
}

std::string translate(double x, double y) { return fmt::format("translate({} {})", tenths(x), tenths(y)); }

std::string metres(double value) { return std::isfinite(value) ? fmt::format("{:.7g}", value) : std::string(); }

void sign_pump(Node parent) {
    add(parent, "circle", {{"class", "body"}, {"r", "8"}});
    add(parent, "path", {{"class", "mark"}, {"d", "M-6.4 4L0 -8L6.4 4Z"}});
}

void sign_valve(Node parent) {
    add(parent, "path", {{"class", "body"}, {"d", "M-8 -5V5L8 -5V5Z"}});
    add(parent, "path", {{"class", "half"}, {"d", "M-8 -5V5L0 0Z"}});
    add(parent, "path", {{"class", "bar"}, {"d", "M0 -7.5V7.5"}});
}

void sign_float_valve(Node parent) {
    add(parent, "path", {{"class", "body"}, {"d", "M-6 -4V4L6 -4V4Z"}});
    add(parent, "path", {{"class", "arm"}, {"d", "M0 0L12 8"}});
    add(parent, "circle", {{"class", "ball"}, {"cx", "13"}, {"cy", "9"}, {"r", "3.5"}});
}

void sign_filter(Node parent) {
    add(parent, "rect", {{"class", "body"}, {"x", "-12"}, {"y", "-12"}, {"width", "24"}, {"height", "24"}});
    add(parent, "path", {{"class", "sieve"}, {"d", "M-12 12L12 -12"}});
}

void sign_nozzle(Node parent) {
    add(parent, "path", {{"class", "body"}, {"d", "M-3 -3H3L6 3H-6Z"}});
    add(parent, "path", {{"class", "spray"}, {"d", "M-5 5L-7 10M0 5V11M5 5L7 10"}});
}

void sign_supply(Node parent) {
    add(parent, "rect", {{"class", "body"}, {"x", "-11"}, {"y", "-8"}, {"width", "22"}, {"height", "16"}, {"rx", "2"}});
    add(parent, "path", {{"class", "mark"}, {"d", "M-6 -4L5 0L-6 4Z"}});
}

void sign_tee(Node parent, bool vented) {
    add(parent, "circle", {{"class", "dot"}, {"r", vented ? "3.4" : "2.8"}});
    if (vented) add(parent, "path", {{"class", "vent"}, {"d", "M0 -3.4V-11M-3 -8.5L0 -11.5L3 -8.5"}});
}

}  // namespace ebb::cli::profile
