// Pipes and drains with their flow, valves on them, and what else pipes lead to: pumps, tees, filters, nozzles, supplies, float valves. A pipe is
// drawn twice: its whole way behind the vessels, and in front of them the pieces that are seen there, with arrows and texts.

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

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

double length_of(const Point& a, const Point& b) { return std::hypot(a.x - b.x, a.y - b.y); }
double angle_of(const Point& a, const Point& b) {
    constexpr double kHalfTurn = 180.0, kPi = 3.14159265358979323846;
    return std::atan2(b.y - a.y, b.x - a.x) * kHalfTurn / kPi;
}
Point between(const Point& a, const Point& b, double share) { return {a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)}; }
Box box_about(const Point& at, double half_width, double half_height) {
    return {at.x - half_width, at.y - half_height, at.x + half_width, at.y + half_height};
}

double flow_of(const Sheet& sheet, std::size_t pipe) {
    return pipe < sheet.scene.answer.pipes.size() ? sheet.scene.answer.pipes[pipe].flow_m3_s : 0.0;
}

std::string classes_of(const Sheet& sheet, std::size_t pipe) {
    const layout::Pipe& one = sheet.scene.layout.pipes[pipe];
    const double flow = flow_of(sheet, pipe);
    const bool chosen = sheet.path != nullptr &&
                        std::find(sheet.path->pipes.begin(), sheet.path->pipes.end(), static_cast<std::int32_t>(pipe)) != sheet.path->pipes.end();
    return fmt::format("{}{}{}", one.gravity ? "drain" : "pipe",
                       is_still(flow) ? " still"
                       : flow < 0.0   ? " backwards"
                                      : "",
                       chosen ? " on-path" : "");
}

/// A wide pipe is drawn a little heavier.
const char* weight_of(const layout::Pipe& pipe) {
    constexpr double kSmall_m = 0.025, kLarge_m = 0.055;
    return pipe.bore_m < kSmall_m ? "thin" : pipe.bore_m > kLarge_m ? "thick" : "middle";
}

/// A place on a pipe.
struct OnPipe {
    Point at;
    double angle = 0.0;
};

/// Room for a sign on a pipe, and where along a stretch it would best stand: texts find room in what is left.
struct SignSize {
    double half_length, half_width, best_share;
};

/// A free place for a sign on one stretch of a pipe.
bool find_on_stretch(const Sheet& sheet, const Point& a, const Point& b, const SignSize& size, bool outside, OnPipe& found) {
    const double length = length_of(a, b);
    if (length < 2.0 * size.half_length + 2.0) return false;
    const bool upright = std::abs(a.x - b.x) < std::abs(a.y - b.y);
    for (const double away : {0.0, 0.12, -0.12, 0.25, -0.25, 0.38, -0.38, 0.5, -0.5}) {
        const double share = std::clamp(size.best_share + away, 0.0, 1.0);
        if (std::min(share, 1.0 - share) * length < size.half_length) continue;
        const Point at = between(a, b, share);
        const Box box = upright ? box_about(at, size.half_width, size.half_length) : box_about(at, size.half_length, size.half_width);
        if (!sheet.room.is_free(box) || (outside && !sheet.room.is_outside(box))) continue;
        found = {at, angle_of(a, b)};
        sheet.room.take(box);
        return true;
    }
    return false;
}

/// On the longest stretches of a pipe first, counted from its to-end when they are as good; not before a vessel if it can be helped.
bool find_on_pipe(const Sheet& sheet, const std::vector<Point>& points, const SignSize& size, OnPipe& found) {
    std::vector<std::pair<double, std::size_t>> stretches;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        constexpr double kEnough = 90.0, kLater = 4.0;  // longer is not better
        stretches.emplace_back(std::min(length_of(points[i], points[i + 1]), kEnough) + kLater * static_cast<double>(i), i);
    }
    std::sort(stretches.rbegin(), stretches.rend());
    for (const bool outside : {true, false})
        for (const auto& [worth, i] : stretches)
            if (find_on_stretch(sheet, points[i], points[i + 1], size, outside, found)) return true;
    return false;
}

/// Where nothing is free a sign still has to stand: in the middle of the longest stretch.
OnPipe in_the_middle(const std::vector<Point>& points) {
    OnPipe place{points.empty() ? Point{} : points.front()};
    double longest = 0.0;
    for (std::size_t i = 0; i + 1 < points.size(); ++i) {
        if (length_of(points[i], points[i + 1]) <= longest) continue;
        longest = length_of(points[i], points[i + 1]);
        place = {between(points[i], points[i + 1], 0.5), angle_of(points[i], points[i + 1])};
    }
    return place;
}

// ---------------------------------------------------------------------------------------------------------------- valves

void draw_valve(Node parent, const Sheet& sheet, std::size_t i, const OnPipe& place) {
    const layout::Valve& valve = sheet.scene.layout.valves[i];
    const double opening = i < sheet.scene.conditions.valve_opening.size() ? sheet.scene.conditions.valve_opening[i] : 1.0;
    const std::string says = opening_in_words(opening);
    const char* state = says == words::kShut ? "shut" : says == words::kOpen ? "open" : "throttled";
    const Node group = thing(parent, fmt::format("valve {}", state), "valve", i, told_valve(sheet.scene, i));
    const Node sign =
        add(group, "g", {{"class", "sign"}, {"transform", fmt::format("{} rotate({})", translate(place.at.x, place.at.y), tenths(place.angle))}});
    sign_valve(sign);
    constexpr double kAway = 8.0;
    const std::string name = brief(valve.id);
    const std::string opens = says == words::kOpen ? std::string() : says;
    const auto both = sheet.room.best(around(place.at, kAway, text_width(width_of(name) + 5, kPipeTextSize), kPipeTextSize));
    if (both) {
        const Node text = text_at(group, *both, "small");
        piece(text, "id", name);
        piece(text, "opening", opens);
        return;
    }
    const auto id = sheet.room.best(around(place.at, kAway, text_width(width_of(name), kPipeTextSize), kPipeTextSize));
    if (id) piece(text_at(group, *id, "small"), "id", name);
}

void draw_valves(Node svg, const Sheet& sheet) {
    const Node valves = add(svg, "g", {{"class", "valves"}});
    for (std::size_t p = 0; p < sheet.routes.size(); ++p)
        for (const std::int32_t valve : sheet.scene.layout.pipes[p].valves) {
            constexpr SignSize kValve = {9.0, 7.0, 0.2};
            OnPipe place;
            if (!find_on_pipe(sheet, sheet.routes[p].points, kValve, place)) place = in_the_middle(sheet.routes[p].points);
            draw_valve(valves, sheet, index(valve), place);
        }
}

// ---------------------------------------------------------------------------------------------------------------- arrows and texts

void draw_arrow(Node group, const Sheet& sheet, std::size_t pipe) {
    const double flow = flow_of(sheet, pipe);
    constexpr SignSize kArrow = {5.0, 4.0, 0.94};
    constexpr double kHalfTurn = 180.0;
    OnPipe place;
    if (!find_on_pipe(sheet, sheet.routes[pipe].points, kArrow, place)) return;
    add(group, "path",
        {{"class", "arrow"},
         {"d", "M-4 -3.6L5 0L-4 3.6Z"},
         {"data-angle", tenths(place.angle)},
         {"transform", fmt::format("{} rotate({})", translate(place.at.x, place.at.y), tenths(flow < 0.0 ? place.angle + kHalfTurn : place.angle))}});
}

/// Id, size and flow along the pipe; less where there is less room.
void label_pipe(Node group, const Sheet& sheet, std::size_t pipe) {
    const layout::Pipe& one = sheet.scene.layout.pipes[pipe];
    const double flow = flow_of(sheet, pipe);
    const std::string name = brief(one.id), size = size_of(sheet.scene, pipe),
                      flows = is_still(flow) ? std::string() : sheet.scene.speech.flow(std::abs(flow));
    const auto points = [&](std::size_t letters) {
        return sheet.room.best(along(sheet.routes[pipe].points, text_width(letters, kPipeTextSize), kPipeTextSize));
    };
    const std::size_t id = width_of(name), bore = width_of(size), amount = std::max<std::size_t>(width_of(flows), 8);
    const auto write = [&](const TextPlace& place, bool with_id, bool with_size, bool with_flow) {
        const Node text = text_at(group, place, "small");
        if (with_id) piece(text, "id", name);
        if (with_size) piece(text, "size", size);
        if (with_flow) piece(text, "flow", flows);
    };
    if (const auto all = points(id + bore + amount + 2)) return write(*all, true, true, true);
    if (const auto both = points(id + amount + 1)) return write(*both, true, false, true);
    if (const auto amounts = points(bore + amount + 1)) {  // on two lines
        write(*amounts, false, true, true);
    } else if (const auto alone = points(amount)) {
        write(*alone, false, false, true);
    }
    if (const auto name = points(id)) write(*name, true, false, false);
}

void draw_pipe(Node parent, const Sheet& sheet, std::size_t i) {
    const layout::Pipe& pipe = sheet.scene.layout.pipes[i];
    Node group = thing(parent, classes_of(sheet, i), "pipe", i, told_pipe(sheet.scene, i));
    group.append_attribute("data-bore-m").set_value(metres(pipe.bore_m).c_str());
    group.append_attribute("data-from").set_value(pipe.from.id.c_str());
    group.append_attribute("data-to").set_value(pipe.to.id.c_str());
    add(group, "path", {{"class", "touch"}, {"d", path_of(sheet.routes[i].points)}});
    for (const std::vector<Point>& piece : sheet.routes[i].in_front)
        add(group, "path", {{"class", fmt::format("line {}", weight_of(pipe))}, {"d", path_of(piece)}});
    draw_arrow(group, sheet, i);
    label_pipe(group, sheet, i);
}

// ---------------------------------------------------------------------------------------------------------------- things at pipes' ends

using Sign = void (*)(Node);

Node draw_sign(Node parent, const Sheet& sheet, const Ref& ref, const std::string& classes, const std::string& key, Sign sign) {
    const Spot& spot = sheet.places.spot(ref);
    const Node group = thing(parent, classes, key, index(ref.index), told(sheet.scene, ref));
    sign(add(group, "g", {{"class", "sign"}, {"transform", translate(spot.at.x, spot.at.y)}}));
    return group;
}

void label_sign(Node group, const Sheet& sheet, const Ref& ref, double away) {
    const std::string id = brief(id_of(sheet.scene.layout, ref));
    const auto place = sheet.room.best(around(sheet.places.spot(ref).at, away, text_width(width_of(id), kPipeTextSize), kPipeTextSize));
    if (place) piece(text_at(group, *place, "small"), "id", id);
}

std::string pump_classes(const Sheet& sheet, std::size_t i) {
    const bool runs = i < sheet.scene.answer.pumps.size() && sheet.scene.answer.pumps[i].running;
    return runs ? "pump running" : "pump stopped";
}

struct DeviceKind {
    Kind kind;
    std::size_t count;
    const char* key;
    Sign sign;
    double half_width, half_height;
};

std::vector<DeviceKind> device_kinds(const layout::Layout& layout) {
    return {{Kind::pump, layout.pumps.size(), "pump", sign_pump, 9.0, 9.0},
            {Kind::filter, layout.filters.size(), "filter", sign_filter, 13.0, 13.0},
            {Kind::supply, layout.supplies.size(), "supply", sign_supply, 12.0, 9.0},
            {Kind::nozzle, layout.nozzles.size(), "nozzle", sign_nozzle, 8.0, 10.0},
            {Kind::float_valve, layout.float_valves.size(), "float-valve", sign_float_valve, 15.0, 12.0}};
}

void take_rooms(const Sheet& sheet) {
    for (const DeviceKind& kind : device_kinds(sheet.scene.layout))
        for (std::size_t i = 0; i < kind.count; ++i)
            sheet.room.take(box_about(sheet.places.spot({kind.kind, static_cast<std::int32_t>(i)}).at, kind.half_width, kind.half_height));
    for (std::size_t i = 0; i < sheet.places.tees.size(); ++i) {
        constexpr double kDot = 4.0;
        sheet.room.take(box_about(sheet.places.tees[i].at, kDot, kDot));
    }
}

}  // namespace

void draw_pipes_behind(Node svg, const Sheet& sheet) {
    const Node behind = add(svg, "g", {{"class", "behind"}, {"aria-hidden", "true"}});
    for (std::size_t i = 0; i < sheet.routes.size(); ++i) {
        if (sheet.routes[i].points.size() < 2) continue;
        add(behind, "path",
            {{"class", fmt::format("line {} {}", weight_of(sheet.scene.layout.pipes[i]), classes_of(sheet, i))},
             {"data-line", std::to_string(i)},
             {"d", path_of(sheet.routes[i].points)}});
    }
}

void draw_pipes(Node svg, const Sheet& sheet) {
    take_rooms(sheet);
    const Node pipes = add(svg, "g", {{"class", "pipes"}});
    const Node valves = add(svg, "g", {{"class", "valves-above"}});  // drawn above the pipes, but placed before their texts
    draw_valves(valves, sheet);
    for (std::size_t i = 0; i < sheet.routes.size(); ++i) draw_pipe(pipes, sheet, i);
}

void draw_devices(Node svg, const Sheet& sheet) {
    const Node devices = add(svg, "g", {{"class", "devices"}});
    for (const DeviceKind& kind : device_kinds(sheet.scene.layout))
        for (std::size_t i = 0; i < kind.count; ++i) {
            const Ref ref{kind.kind, static_cast<std::int32_t>(i)};
            const std::string classes = kind.kind == Kind::pump ? pump_classes(sheet, i) : kind.key;
            label_sign(draw_sign(devices, sheet, ref, classes, kind.key, kind.sign), sheet, ref, kind.half_height);
        }
    for (std::size_t i = 0; i < sheet.places.tees.size(); ++i) {
        const bool vented = sheet.scene.layout.tees[i].vented;
        const Ref ref{Kind::tee, static_cast<std::int32_t>(i)};
        const Node group = thing(devices, vented ? "tee vented" : "tee", "tee", i, told(sheet.scene, ref));
        sign_tee(add(group, "g", {{"class", "sign"}, {"transform", translate(sheet.places.tees[i].at.x, sheet.places.tees[i].at.y)}}), vented);
        constexpr double kAway = 4.0;
        label_sign(group, sheet, ref, kAway);
    }
}

}  // namespace ebb::cli::profile
