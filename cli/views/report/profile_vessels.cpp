// Vessels and ponds: a rectangle from floor to rim, the water in it to its level, media, and what stands inside it and belongs to it alone
// (standpipes, siphons). Also the scale at both sides, which everything stands on.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/page.h"
#include "cli/views/report/profile_sheet.h"
#include "cli/views/report/profile_words.h"

namespace ebb::cli::profile {
namespace {

using html::add;
using html::Node;
using html::tenths;
using layout::Kind;
using layout::Ref;
namespace words = profile_words;

constexpr double kInset = 8.0;      // of a vessel's label from its wall
constexpr double kTwoLines = 38.0;  // a vessel so tall has its depth under its name
constexpr double kOneLine = 15.0;

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

Node rectangle(Node parent, const char* name, const Box& box) {
    return add(parent, "rect",
               {{"class", name},
                {"x", tenths(box.left)},
                {"y", tenths(box.top)},
                {"width", tenths(box.right - box.left)},
                {"height", tenths(box.bottom - box.top)}});
}

void draw_media(Node group, const Sheet& sheet, const layout::Vessel& vessel, Box box) {
    if (!layout::said(vessel.void_fraction) && !layout::said(vessel.media_depth_m)) return;
    if (layout::said(vessel.media_depth_m)) box.top = std::max(box.top, sheet.places.axis.y(vessel.floor_m + vessel.media_depth_m));
    const Node media = rectangle(group, "media", box);
    Node(media).append_attribute("fill").set_value("url(#profile-media)");
}

/// Surface line with the triangle of a free surface standing on it, about y = 0.
void draw_surface(Node group, double left, double right, double mark_x, double y) {
    const Node surface = add(group, "g", {{"class", "surface"}, {"transform", translate(0.0, y)}});
    add(surface, "path", {{"class", "line"}, {"d", fmt::format("M{} 0H{}", tenths(left), tenths(right))}});
    add(surface, "path", {{"class", "level"}, {"d", fmt::format("M{0} -1l-5 -8h10Z", tenths(mark_x))}});
    add(surface, "path", {{"class", "ripple"}, {"d", fmt::format("M{0} 3h8M{1} 5.6h4", tenths(mark_x - 4.0), tenths(mark_x - 2.0))}});
}

std::string walls(const Box& box) {
    constexpr double kLip = 4.0;
    return fmt::format("M{0} {1}H{2}V{3}H{4}V{1}H{5}", tenths(box.left - kLip), tenths(box.top), tenths(box.left), tenths(box.bottom),
                       tenths(box.right), tenths(box.right + kLip));
}

std::string spill(const Box& box) {
    const double top = box.top - 2.0;
    return fmt::format("M{0} {1}q-7 0 -7 9M{2} {1}q7 0 7 9M{3} {4}v5M{5} {4}v5", tenths(box.left), tenths(top), tenths(box.right),
                       tenths(box.left - 7.0), tenths(top + 12.0), tenths(box.right + 7.0));
}

/// Above the rim or under the floor, where no pipe is in the way.
void label_beside(Node group, const Sheet& sheet, const Box& box, const std::string& id) {
    const double width = text_width(width_of(id), kNameWidth);
    std::vector<TextPlace> places;
    for (const double y : {box.top - 4.0, box.bottom + kNameSize, box.top - 4.0 - kNameSize, box.bottom + 2.0 * kNameSize})
        for (const double x :
             {box.left + 2.0, box.right - width - 2.0, (box.left + box.right - width) / 2.0, box.left - width - 6.0, box.right + 6.0})
            places.push_back({.at = {x, y},
                              .anchor = "start",
                              .box = {x, y - kNameSize, x + width, y + 3.0},
                              .penalty = 0.1 * static_cast<double>(places.size())});
    if (const auto place = sheet.room.best(places)) piece(text_at(group, *place, "name outside"), "", id);
}

void label_vessel(Node group, const Sheet& sheet, std::size_t i, const std::string& depth) {
    const layout::Vessel& vessel = sheet.scene.layout.vessels[i];
    const Box& box = sheet.places.vessels[i];
    const double height = box.bottom - box.top, width = sheet.places.label_right[i] - box.left - kInset;
    const std::string id = shortened(vessel.id, letters_in(width, kNameWidth));
    const double id_width = text_width(width_of(id), kNameWidth), depth_width = text_width(width_of(depth), kNumberSize);
    double y = box.bottom - (height >= kTwoLines ? 18.0 : (height - kNameSize) / 2.0 + 1.5);
    double left = box.left + kInset;
    if (height < kOneLine) return label_beside(group, sheet, box, vessel.id);  // too shallow for letters
    add(group, "text", {{"class", "name"}, {"x", tenths(left)}, {"y", tenths(y)}}, id);
    sheet.room.take({left, y - kNameSize, left + id_width, y + 3.0});
    if (height >= kTwoLines)
        y = box.bottom - 6.0;
    else if (id_width + depth_width + 5.0 <= width)
        left += id_width + 5.0;
    else
        return;
    add(group, "text", {{"class", "number depth"}, {"x", tenths(left)}, {"y", tenths(y)}}, depth);
    sheet.room.take({left, y - kNumberSize, left + depth_width, y + 2.5});
}

void draw_vessel(Node parent, const Sheet& sheet, std::size_t i) {
    const ProfileScene& scene = sheet.scene;
    const layout::Vessel& vessel = scene.layout.vessels[i];
    const Box& box = sheet.places.vessels[i];
    const bool known = i < scene.answer.vessels.size() && std::isfinite(scene.answer.vessels[i].level_m);
    const double level_m = known ? scene.answer.vessels[i].level_m : vessel.floor_m;
    constexpr double kDamp_m = 0.0005;
    const bool dry = known && level_m - vessel.floor_m < kDamp_m;
    const bool spills = known && !is_still(scene.answer.vessels[i].spill_m3_s);
    const Told all = told(scene, {Kind::vessel, static_cast<std::int32_t>(i)});
    Node group = thing(parent,
                       fmt::format("vessel {}{}{}", layout::name_of(vessel.kind),
                                   !known ? " unknown"
                                   : dry  ? " dry"
                                          : "",
                                   spills ? " spills" : ""),
                       "vessel", i, all);
    group.append_attribute("data-floor-m").set_value(metres(vessel.floor_m).c_str());
    group.append_attribute("data-rim-m").set_value(metres(vessel.rim_m).c_str());
    rectangle(group, "room", box);
    const double y = std::clamp(sheet.places.axis.y(level_m), box.top, box.bottom);
    rectangle(group, "water", {box.left, y, box.right, box.bottom});
    draw_media(group, sheet, vessel, box);
    const double mark_x = sheet.places.label_right[i] - 7.0;
    draw_surface(group, box.left, box.right, mark_x, y);
    if (known && !dry) sheet.room.take({mark_x - 5.0, y - 9.0, mark_x + 5.0, y + 6.0});
    add(group, "path", {{"class", "walls"}, {"d", walls(box)}});
    add(group, "path", {{"class", "spill"}, {"d", spill(box)}});
    std::string depth = known ? scene.speech.height(scene.answer.vessels[i].depth_m) : std::string("-");
    label_vessel(group, sheet, i, depth);
    sheet.room.add_wall(box);
}

void draw_pond(Node parent, const Sheet& sheet, std::size_t i) {
    const Box& box = sheet.places.ponds[i];
    const layout::Pond& pond = sheet.scene.layout.ponds[i];
    const Node group = thing(parent, "pond", "pond", i, told(sheet.scene, {Kind::pond, static_cast<std::int32_t>(i)}));
    rectangle(group, "water", box);
    draw_surface(group, box.left, box.right, box.left + 16.0, box.top);
    add(group, "path",
        {{"class", "bed-line"},
         {"d", fmt::format("M{} {}q{} 10 {} 0t{} 0t{} 0", tenths(box.left), tenths(box.bottom), tenths((box.right - box.left) / 6.0),
                           tenths((box.right - box.left) / 3.0), tenths((box.right - box.left) / 3.0), tenths((box.right - box.left) / 3.0))}});
    const std::string id = shortened(pond.id, letters_in(box.right - box.left - 2.0 * kInset, kNameWidth)),
                      level = sheet.scene.speech.level(pond.level_m);
    const double y = box.bottom - 20.0, left = box.left + kInset;
    add(group, "text", {{"class", "name"}, {"x", tenths(left)}, {"y", tenths(y)}}, id);
    add(group, "text", {{"class", "number"}, {"x", tenths(left)}, {"y", tenths(box.bottom - 8.0)}}, level);
    sheet.room.take({left, y - kNameSize, left + text_width(width_of(id), kNameWidth), box.bottom - 5.0});
    sheet.room.add_wall(box);
}

/// Along the tube where it is long enough, else round its foot.
void label_tube(Node group, const Sheet& sheet, const std::string& whole_id, double x, double lip, double foot) {
    const std::string id = brief(whole_id);
    const double width = text_width(width_of(id), kPipeTextSize);
    std::vector<TextPlace> places;
    constexpr double kLeftOf = 6.5, kRightOf = 14.0, kClear = 2.0;
    const double middle = std::min((lip + foot) / 2.0, foot - width / 2.0 - kClear);
    if (middle - width / 2.0 > lip - kTwoLines / 2.0)
        for (const double at : {x - kLeftOf, x + kRightOf})
            places.push_back({.at = {at, middle},
                              .upright = true,
                              .box = {at - 0.8 * kPipeTextSize, middle - width / 2.0, at + kClear, middle + width / 2.0},
                              .penalty = at > x ? 1.0 : 0.0});
    for (TextPlace place : around({x, foot}, kClear, width, kPipeTextSize)) {
        constexpr double kFoot = 10.0;
        place.penalty += kFoot;
        places.push_back(place);
    }
    if (const auto place = sheet.room.best(places)) piece(text_at(group, *place, "small"), "", id);
}

void draw_standpipe(Node parent, const Sheet& sheet, std::size_t i) {
    const layout::Standpipe& one = sheet.scene.layout.standpipes[i];
    const Spot& spot = sheet.places.standpipes[i];
    if (spot.vessel < 0) return;
    const double floor_m = sheet.scene.layout.vessels[index(spot.vessel)].floor_m;
    const std::size_t fitted = i < sheet.scene.conditions.insert.size() ? index(sheet.scene.conditions.insert[i]) : 0;
    Node group = thing(parent, "standpipe", "standpipe", i, told(sheet.scene, {Kind::standpipe, static_cast<std::int32_t>(i)}));
    std::string lips;
    for (const layout::Insert& insert : one.inserts) lips += (lips.empty() ? "" : " ") + metres(floor_m + insert.lip_m);
    group.append_attribute("data-lips").set_value(lips.c_str());
    group.append_attribute("data-floor-m").set_value(metres(floor_m).c_str());
    const double x = spot.at.x, foot = spot.at.y;
    constexpr double kHalf = 3.5;
    for (std::size_t k = 0; k < one.inserts.size(); ++k) {
        const double y = sheet.places.axis.y(floor_m + one.inserts[k].lip_m);
        add(group, "path", {{"class", "other-lip"}, {"d", fmt::format("M{} {}h5", tenths(x + kHalf), tenths(y))}});
    }
    const double lip = fitted < one.inserts.size() ? sheet.places.axis.y(floor_m + one.inserts[fitted].lip_m) : foot;
    rectangle(group, "tube", {x - kHalf, lip, x + kHalf, foot});
    add(group, "path", {{"class", "lip"}, {"d", fmt::format("M{} 0h11", tenths(x - 5.5))}, {"transform", translate(0.0, lip)}});
    sheet.room.take({x - kHalf - 1.0, lip - 2.0, x + kHalf + 4.0, foot});
    label_tube(group, sheet, one.id, x, lip, foot);
}

void draw_siphon(Node parent, const Sheet& sheet, std::size_t i) {
    const layout::Siphon& one = sheet.scene.layout.siphons[i];
    const Spot& spot = sheet.places.siphons[i];
    if (spot.vessel < 0) return;
    const double floor_m = sheet.scene.layout.vessels[index(spot.vessel)].floor_m;
    const double x = spot.at.x, foot = spot.at.y, crest = sheet.places.axis.y(floor_m + one.crest_m),
                 breaks = sheet.places.axis.y(floor_m + one.breaks_at_m);
    const Node group = thing(parent, "siphon", "siphon", i, told(sheet.scene, {Kind::siphon, static_cast<std::int32_t>(i)}));
    constexpr double kHalf = 2.5, kBell = 7.5;
    rectangle(group, "tube", {x - kHalf, crest, x + kHalf, foot});
    add(group, "path",
        {{"class", "bell"},
         {"d", fmt::format("M{0} {1}V{2}q0 -7 {3} -7t{3} 7V{1}", tenths(x - kBell), tenths(breaks), tenths(crest), tenths(kBell))}});
    add(group, "path", {{"class", "crest"}, {"d", fmt::format("M{} {}h22", tenths(x - 11.0), tenths(crest))}});
    sheet.room.take({x - kBell - 2.0, crest - 8.0, x + kBell + 2.0, foot});
    label_tube(group, sheet, one.id, x - kBell + kHalf, crest, foot);
}

void draw_break(Node svg, const Sheet& sheet, std::size_t upper) {
    const Knot &above = sheet.places.axis.knots()[upper], &below = sheet.places.axis.knots()[upper + 1];
    constexpr double kTooth = 12.0, kHigh = 4.0;
    std::string zigzag;
    for (const double y : {above.y + 0.35 * (below.y - above.y), above.y + 0.65 * (below.y - above.y)}) {
        zigzag += fmt::format("M0 {}", tenths(y));
        bool up = true;
        for (double x = kTooth; x < sheet.places.width + kTooth; x += kTooth, up = !up)
            zigzag += fmt::format("L{} {}", tenths(x), tenths(y + (up ? -kHigh : kHigh)));
    }
    const Node group = add(svg, "g", {{"class", "break"}});
    const Speech& speech = sheet.scene.speech;
    add(group, "title", {}, filled(words::kBreak, {{"above", speech.level(below.elevation_m)}, {"below", speech.level(above.elevation_m)}}));
    add(group, "path", {{"d", zigzag}});
}

}  // namespace

void draw_scale(Node svg, const Sheet& sheet) {
    const Node scale = add(svg, "g", {{"class", "scale"}, {"aria-hidden", "true"}});
    const double right = sheet.places.width;
    constexpr double kIn = 50.0;
    for (const GridLine& line : grid(sheet.places.axis, sheet.scene.layout.units == layout::UnitSystem::us)) {
        const double y = sheet.places.axis.y(line.elevation_m);
        add(scale, "path", {{"class", line.datum ? "datum" : "grid"}, {"d", fmt::format("M{} {}H{}", tenths(kIn), tenths(y), tenths(right - kIn))}});
        add(scale, "text", {{"x", tenths(kIn - 4.0)}, {"y", tenths(y + 3.5)}, {"text-anchor", "end"}}, line.says);
        add(scale, "text", {{"x", tenths(right - kIn + 4.0)}, {"y", tenths(y + 3.5)}}, line.says);
        if (line.datum)
            add(scale, "text", {{"class", "word"}, {"x", tenths(kIn - 4.0)}, {"y", tenths(y + 14.0)}, {"text-anchor", "end"}}, words::kDatum);
    }
    for (const std::size_t upper : sheet.places.axis.breaks()) draw_break(svg, sheet, upper);
}

void draw_scale_again(Node svg, const Sheet& sheet, double left) {
    const Node scale = add(svg, "g", {{"class", "scale"}});
    for (const GridLine& line : grid(sheet.places.axis, sheet.scene.layout.units == layout::UnitSystem::us))
        add(scale, "text", {{"x", tenths(left + 2.0)}, {"y", tenths(sheet.places.axis.y(line.elevation_m) + 3.5)}}, line.says);
}

void draw_vessels(Node svg, const Sheet& sheet) {
    const Node vessels = add(svg, "g", {{"class", "vessels"}});
    for (std::size_t i = 0; i < sheet.places.ponds.size(); ++i) draw_pond(vessels, sheet, i);
    for (const Column& column : sheet.places.columns)  // from left to right, so that the Tab key steps that way
        for (const std::int32_t vessel : column.vessels) draw_vessel(vessels, sheet, index(vessel));
    for (std::size_t i = 0; i < sheet.places.standpipes.size(); ++i) draw_standpipe(vessels, sheet, i);
    for (std::size_t i = 0; i < sheet.places.siphons.size(); ++i) draw_siphon(vessels, sheet, i);
}

}  // namespace ebb::cli::profile
