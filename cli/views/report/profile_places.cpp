// The layout algorithm. What stands where from left to right follows from the pipes alone: everything that stands by itself is put in a line in
// which pipes are short (profile_order.h); vessels become columns, and what stands free falls into the gutters between them. Two rectangles never
// overlap because every column has its own room, and only vessels whose elevations are apart share one.

#include "cli/views/report/profile_places.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include "cli/views/page.h"
#include "cli/views/report/profile_heights.h"
#include "cli/views/report/profile_order.h"

namespace ebb::cli::profile {
namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

constexpr double kLane = 12.5;        // a pipe with a line of text beside it
constexpr double kGutterPad = 8.0;    // free on both sides of a gutter
constexpr double kNodeApart = 30.0;   // free-standing things nearer than this do not stand one above the other
constexpr double kDevice = 18.0;      // a standpipe, a pump in its vessel
constexpr double kWallPad = 10.0;     // inside a vessel: room for the ends of pipes
constexpr double kScaleRoom = 62.0;   // left and right of everything, for the scale
constexpr double kStackGap_m = 0.04;  // vessels that share a column are at least so far apart

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }

double node_room(const Ref& ref) { return ref.kind == Kind::tee ? 14.0 : 34.0; }

// ---------------------------------------------------------------------------------------------------------------- columns

/// Where a vessel's water comes from: vessels may stand one above the other in a column only if they share it.
std::vector<std::set<std::pair<Kind, std::int32_t>>> feeders(const Layout& layout) {
    std::vector<std::set<std::pair<Kind, std::int32_t>>> all(layout.vessels.size());
    for (const layout::Pipe& pipe : layout.pipes) {
        const Ref home = home_of(layout, pipe.to.ref);
        if (home.kind == Kind::vessel) all[index(home.index)].emplace(pipe.from.ref.kind, pipe.from.ref.index);
    }
    return all;
}

bool may_share(const layout::Vessel& a, const layout::Vessel& b, const Axis& axis) {
    constexpr double kLeastGap = 30.0;  // on the drawing
    const layout::Vessel &upper = a.floor_m > b.floor_m ? a : b, &lower = a.floor_m > b.floor_m ? b : a;
    const bool one_place = !(std::abs(a.x_m - b.x_m) > kStackGap_m);  // also when one of them is not said
    return one_place && a.kind == b.kind && upper.floor_m - lower.rim_m > kStackGap_m && axis.y(lower.rim_m) - axis.y(upper.floor_m) > kLeastGap;
}

std::vector<Column> columns_of(const Layout& layout, const Axis& axis) {
    std::vector<Column> columns;
    const auto fed_by = feeders(layout);
    for (std::size_t i = 0; i < layout.vessels.size(); ++i) {
        const auto fits = [&](const Column& column) {
            return std::all_of(column.vessels.begin(), column.vessels.end(), [&](std::int32_t other) {
                const auto& theirs = fed_by[index(other)];
                return may_share(layout.vessels[i], layout.vessels[index(other)], axis) &&
                       std::any_of(fed_by[i].begin(), fed_by[i].end(), [&](const auto& feeder) { return theirs.count(feeder) > 0; });
            });
        };
        const auto shared = fed_by[i].empty() ? columns.end() : std::find_if(columns.begin(), columns.end(), fits);
        if (shared != columns.end())
            shared->vessels.push_back(static_cast<std::int32_t>(i));
        else
            columns.push_back({.vessels = {static_cast<std::int32_t>(i)}});
    }
    for (Column& column : columns)
        std::sort(column.vessels.begin(), column.vessels.end(),
                  [&](std::int32_t a, std::int32_t b) { return layout.vessels[index(a)].floor_m > layout.vessels[index(b)].floor_m; });
    for (std::size_t i = 0; i < layout.ponds.size(); ++i) columns.push_back({.pond = static_cast<std::int32_t>(i)});
    return columns;
}

double label_room(const std::string& id) {
    constexpr double kLeast = 46.0, kMost = 100.0;
    return std::clamp(text_width(width_of(id), kNameWidth) + 4.0, kLeast, kMost);
}

double least_width(layout::VesselKind kind) {
    switch (kind) {
        case layout::VesselKind::trough: return 88.0;
        case layout::VesselKind::sump: return 92.0;
        case layout::VesselKind::bed:
        case layout::VesselKind::tier: return 72.0;
        default: return 68.0;
    }
}

/// Things that stand in each vessel (first) and pond (second).
struct Inside {
    std::vector<std::vector<Ref>> vessels, ponds;
};
Inside inside_of(const Layout& layout) {
    Inside inside{std::vector<std::vector<Ref>>(layout.vessels.size()), std::vector<std::vector<Ref>>(layout.ponds.size())};
    const auto see = [&](Kind kind, std::size_t count) {
        for (std::size_t i = 0; i < count; ++i) {
            const Ref ref{kind, static_cast<std::int32_t>(i)};
            const Ref home = home_of(layout, ref);
            if (home.kind == Kind::vessel) inside.vessels[index(home.index)].push_back(ref);
            if (home.kind == Kind::pond) inside.ponds[index(home.index)].push_back(ref);
        }
    };
    see(Kind::pump, layout.pumps.size());
    see(Kind::standpipe, layout.standpipes.size());
    see(Kind::siphon, layout.siphons.size());
    see(Kind::nozzle, layout.nozzles.size());
    see(Kind::float_valve, layout.float_valves.size());
    return inside;
}

double width_of_column(const Layout& layout, const Column& column, const Inside& inside) {
    if (column.pond >= 0) {
        constexpr double kPond = 120.0;
        return std::max(kPond, 2.0 * kWallPad + label_room(layout.ponds[index(column.pond)].id) +
                                   kDevice * static_cast<double>(inside.ponds[index(column.pond)].size()));
    }
    double width = 0.0;
    for (const std::int32_t i : column.vessels) {
        const layout::Vessel& vessel = layout.vessels[index(i)];
        width = std::max({width, least_width(vessel.kind),
                          2.0 * kWallPad + label_room(vessel.id) + kDevice * static_cast<double>(inside.vessels[index(i)].size())});
    }
    return width;
}

// ---------------------------------------------------------------------------------------------------------------- the line

/// Everything that stands by itself, numbered: columns first, then what stands free.
struct Line {
    std::vector<Ref> free;
    Row row;
};

std::int32_t item_of(const Places& places, const Line& line, const Layout& layout, const Ref& ref) {
    const Ref home = home_of(layout, ref);
    if (home.kind == Kind::vessel) return places.vessel_column[index(home.index)];
    if (home.kind == Kind::pond) return places.pond_column[index(home.index)];
    const auto found = std::find(line.free.begin(), line.free.end(), home);
    return found == line.free.end() ? -1 : static_cast<std::int32_t>(places.columns.size()) + static_cast<std::int32_t>(found - line.free.begin());
}

/// Where along the farm the user says a thing stands; NaN when nothing is said.
double said_of(const Layout& layout, const Ref& ref) {
    const std::size_t i = index(ref.index);
    switch (ref.kind) {
        case Kind::tee: return layout.tees[i].x_m;
        case Kind::filter: return layout.filters[i].x_m;
        case Kind::supply: return layout.supplies[i].x_m;
        case Kind::pump: return layout.pumps[i].x_m;
        default: return layout::kNotSaid;
    }
}

double said_of(const Layout& layout, const Column& column) {
    if (column.pond >= 0) return layout.ponds[index(column.pond)].x_m;
    for (const std::int32_t vessel : column.vessels)
        if (layout::said(layout.vessels[index(vessel)].x_m)) return layout.vessels[index(vessel)].x_m;
    return layout::kNotSaid;
}

void find_first(const Layout& layout, const Places& places, Line& line) {
    for (std::size_t i = 0; i < layout.pumps.size(); ++i) {
        const std::int32_t item = item_of(places, line, layout, {Kind::pump, static_cast<std::int32_t>(i)});
        if (item >= 0) line.row.first.push_back(item);
    }
    for (std::size_t i = 0; i < layout.supplies.size(); ++i)
        line.row.first.push_back(item_of(places, line, layout, {Kind::supply, static_cast<std::int32_t>(i)}));
}

Line line_of(const Layout& layout, const Places& places) {
    Line line;
    for (std::size_t i = 0; i < layout.tees.size(); ++i) line.free.push_back({Kind::tee, static_cast<std::int32_t>(i)});
    for (std::size_t i = 0; i < layout.filters.size(); ++i) line.free.push_back({Kind::filter, static_cast<std::int32_t>(i)});
    for (std::size_t i = 0; i < layout.supplies.size(); ++i) line.free.push_back({Kind::supply, static_cast<std::int32_t>(i)});
    for (std::size_t i = 0; i < layout.pumps.size(); ++i)
        if (layout.pumps[i].in_id.empty()) line.free.push_back({Kind::pump, static_cast<std::int32_t>(i)});
    for (const Column& column : places.columns) line.row.width.push_back(column.width + 2.0 * kGutterPad + kLane);
    for (const Ref& ref : line.free) line.row.width.push_back(node_room(ref) / 2.0);
    for (const Column& column : places.columns) line.row.said.push_back(said_of(layout, column));
    for (const Ref& ref : line.free) line.row.said.push_back(said_of(layout, ref));
    for (const layout::Pipe& pipe : layout.pipes) {
        const std::int32_t a = item_of(places, line, layout, pipe.from.ref), b = item_of(places, line, layout, pipe.to.ref);
        if (a >= 0 && b >= 0 && a != b) line.row.links.push_back({a, b});
    }
    find_first(layout, places, line);
    return line;
}

// ---------------------------------------------------------------------------------------------------------------- slots

/// Free-standing things of one gutter, in their order: those far enough from each other share a place.
void put_in_gutter(Gutter& gutter, const Ref& ref, const Places& places) {
    const auto far_enough = [&](const Ref& other) { return std::abs(places.spot(other).at.y - places.spot(ref).at.y) > kNodeApart; };
    const bool narrow = ref.kind == Kind::tee;
    if (!gutter.nodes.empty() && narrow) {
        auto& last = gutter.nodes.back();
        if (std::all_of(last.begin(), last.end(), [&](const Ref& other) { return other.kind == Kind::tee && far_enough(other); })) {
            last.push_back(ref);
            return;
        }
    }
    gutter.nodes.push_back({ref});
}

void number_columns(Places& places) {
    for (std::size_t i = 0; i < places.columns.size(); ++i) {
        for (const std::int32_t vessel : places.columns[i].vessels) places.vessel_column[index(vessel)] = static_cast<std::int32_t>(i);
        if (places.columns[i].pond >= 0) places.pond_column[index(places.columns[i].pond)] = static_cast<std::int32_t>(i);
    }
}

void put_in_slots(const Layout& layout, Places& places) {
    const Line line = line_of(layout, places);
    const std::vector<std::int32_t> order = ordered(line.row);
    std::vector<Column> columns;
    places.gutters.assign(1, {});
    for (const std::int32_t item : order) {
        if (index(item) < places.columns.size()) {
            columns.push_back(places.columns[index(item)]);
            places.gutters.emplace_back();
        } else {
            const Ref ref = line.free[index(item) - places.columns.size()];
            put_in_gutter(places.gutters.back(), ref, places);
            places.spot(ref).slot = 2 * static_cast<std::int32_t>(places.gutters.size() - 1);
        }
    }
    places.columns = std::move(columns);
    number_columns(places);
}

void put_at_heights(const Layout& layout, Places& places) {
    const auto put = [&](std::vector<Spot>& spots, Kind kind, std::size_t count) {
        spots.resize(count);
        for (std::size_t i = 0; i < count; ++i) {
            const Ref ref{kind, static_cast<std::int32_t>(i)};
            spots[i].at.y = places.axis.y(elevation_of(layout, ref));
            const Ref home = home_of(layout, ref);
            if (home.kind == Kind::vessel) spots[i].vessel = home.index;
        }
    };
    put(places.tees, Kind::tee, layout.tees.size());
    put(places.pumps, Kind::pump, layout.pumps.size());
    put(places.filters, Kind::filter, layout.filters.size());
    put(places.nozzles, Kind::nozzle, layout.nozzles.size());
    put(places.supplies, Kind::supply, layout.supplies.size());
    put(places.float_valves, Kind::float_valve, layout.float_valves.size());
    put(places.standpipes, Kind::standpipe, layout.standpipes.size());
    put(places.siphons, Kind::siphon, layout.siphons.size());
    for (const layout::Vessel& vessel : layout.vessels)
        places.vessels.push_back({0.0, places.axis.y(vessel.rim_m), 0.0, places.axis.y(vessel.floor_m)});
    constexpr double kPondDepth = 52.0;
    for (const layout::Pond& pond : layout.ponds)
        places.ponds.push_back({0.0, places.axis.y(pond.level_m), 0.0, places.axis.y(pond.level_m) + kPondDepth});
}

// ---------------------------------------------------------------------------------------------------------------- across

/// Things in a vessel stand on the side their pipes go to.
void put_devices(const Layout& layout, Places& places, const std::vector<Ref>& devices, Box box, double* label_right) {
    std::vector<std::pair<double, Ref>> sorted;
    for (const Ref& ref : devices) {
        double sum = 0.0;
        int count = 0;
        for (const layout::Pipe& pipe : layout.pipes) {
            if (!(pipe.from.ref == ref) && !(pipe.to.ref == ref)) continue;
            sum += places.slot(pipe.from.ref == ref ? pipe.to.ref : pipe.from.ref);
            ++count;
        }
        sorted.emplace_back(count > 0 ? sum / count : 0.0, ref);
    }
    std::stable_sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    double x = box.right - kWallPad - kDevice * (static_cast<double>(devices.size()) - 0.5);
    if (label_right != nullptr) *label_right = x - kDevice / 2.0;
    for (const auto& [slot, ref] : sorted) {
        places.spot(ref).at.x = x;
        x += kDevice;
    }
}

/// Small farms have room to spare: it goes between the columns.
double spare_room(const Places& places) {
    constexpr double kPage = 1080.0, kMost = 70.0;
    double width = 2.0 * kScaleRoom;
    for (const Column& column : places.columns) width += column.width;
    for (const Gutter& gutter : places.gutters) {
        width += 2.0 * kGutterPad + kLane * (gutter.left_lanes + gutter.right_lanes);
        for (const auto& together : gutter.nodes) width += node_room(together.front());
    }
    return std::clamp((kPage - width) / static_cast<double>(places.gutters.size()), 0.0, kMost);
}

void put_side_by_side(Places& places, const std::vector<double>& spare) {
    double x = kScaleRoom;
    for (std::size_t i = 0; i < places.gutters.size(); ++i) {
        Gutter& gutter = places.gutters[i];
        gutter.left = x;
        double node_x = x + kGutterPad + kLane * gutter.left_lanes + spare[i] / 2.0;
        for (const auto& together : gutter.nodes) {
            double room = 0.0;
            for (const Ref& ref : together) room = std::max(room, node_room(ref));
            for (const Ref& ref : together) places.spot(ref).at.x = node_x + room / 2.0;
            node_x += room;
        }
        gutter.width = node_x + spare[i] / 2.0 + kLane * gutter.right_lanes + kGutterPad - x;
        x += gutter.width;
        if (i == places.columns.size()) break;
        places.columns[i].left = x;
        x += places.columns[i].width;
    }
    places.width = x + kScaleRoom;
}

/// Columns whose place is said come about as far apart as they are, where that does not tear the drawing apart. False when there is nothing to do.
bool stretch_as_said(const Layout& layout, const Places& places, std::vector<double>& spare) {
    struct Said {
        std::size_t column;
        double x_m, at;
    };
    std::vector<Said> all;
    for (std::size_t i = 0; i < places.columns.size(); ++i) {
        const double x_m = said_of(layout, places.columns[i]);
        if (layout::said(x_m)) all.push_back({i, x_m, places.columns[i].left + places.columns[i].width / 2.0});
    }
    if (all.size() < 2 || !(all.back().x_m > all.front().x_m)) return false;
    constexpr double kMost = 2.0;  // times as wide as it would be
    const double widest = kMost * (all.back().at - all.front().at) / (all.back().x_m - all.front().x_m);
    double scale = 0.0;  // on the drawing, for a metre
    for (std::size_t k = 1; k < all.size(); ++k)
        if (all[k].x_m > all[k - 1].x_m) scale = std::max(scale, (all[k].at - all[k - 1].at) / (all[k].x_m - all[k - 1].x_m));
    scale = std::min(scale, widest);
    double moved = 0.0;
    for (std::size_t k = 1; k < all.size(); ++k) {
        const double wanted = all.front().at + scale * (all[k].x_m - all.front().x_m), gap = std::max(0.0, wanted - all[k].at - moved);
        for (std::size_t gutter = all[k - 1].column + 1; gutter <= all[k].column; ++gutter)
            spare[gutter] += gap / static_cast<double>(all[k].column - all[k - 1].column);
        moved += gap;
    }
    return true;
}

}  // namespace

double text_width(std::size_t letters, double size) {
    constexpr double kLetter = 0.56;  // of the size, on the average of a sans-serif
    return kLetter * size * static_cast<double>(letters);
}

std::size_t letters_in(double width, double size) { return static_cast<std::size_t>(std::max(1.0, width / text_width(1, size))); }

std::string shortened(const std::string& says, std::size_t letters) {
    if (width_of(says) <= letters) return says;
    std::string cut;
    for (const char byte : says) {
        const bool begins = (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;  // a character of UTF-8
        if (begins && width_of(cut) + 1 >= letters) break;
        cut += byte;
    }
    return cut + "\u2026";
}

std::string brief(const std::string& id) {
    constexpr std::size_t kLong = 20;
    return shortened(id, kLong);
}

const Spot& Places::spot(const Ref& ref) const { return const_cast<Places*>(this)->spot(ref); }

Spot& Places::spot(const Ref& ref) {
    const std::size_t i = index(ref.index);
    switch (ref.kind) {
        case Kind::pump: return pumps[i];
        case Kind::filter: return filters[i];
        case Kind::nozzle: return nozzles[i];
        case Kind::supply: return supplies[i];
        case Kind::float_valve: return float_valves[i];
        case Kind::standpipe: return standpipes[i];
        case Kind::siphon: return siphons[i];
        default: return tees[i];
    }
}

std::int32_t Places::slot(const Ref& ref) const {
    if (ref.kind == Kind::vessel) return 2 * vessel_column[index(ref.index)] + 1;
    if (ref.kind == Kind::pond) return 2 * pond_column[index(ref.index)] + 1;
    return spot(ref).slot;
}

double Places::left_lane(std::int32_t gutter, std::int32_t lane) const { return gutters[index(gutter)].left + kGutterPad + kLane * (lane + 0.5); }

double Places::right_lane(std::int32_t gutter, std::int32_t lane) const {
    const Gutter& one = gutters[index(gutter)];
    return one.left + one.width - kGutterPad - kLane * (lane + 0.5);
}

Places ordered_places(const Layout& layout, double highest_head_m) {
    Places places{.axis = axis_of(layout, highest_head_m)};
    places.columns = columns_of(layout, places.axis);
    places.vessel_column.resize(layout.vessels.size());
    places.pond_column.resize(layout.ponds.size());
    places.label_right.resize(layout.vessels.size());
    number_columns(places);
    const Inside inside = inside_of(layout);
    for (Column& column : places.columns) column.width = width_of_column(layout, column, inside);
    put_at_heights(layout, places);
    put_in_slots(layout, places);
    const auto into_slot = [&](std::vector<Spot>& spots, Kind kind) {
        for (std::size_t i = 0; i < spots.size(); ++i) {
            const Ref home = home_of(layout, {kind, static_cast<std::int32_t>(i)});
            if (home.kind == Kind::vessel || home.kind == Kind::pond) spots[i].slot = places.slot(home);
        }
    };
    into_slot(places.pumps, Kind::pump);
    into_slot(places.nozzles, Kind::nozzle);
    into_slot(places.float_valves, Kind::float_valve);
    into_slot(places.standpipes, Kind::standpipe);
    into_slot(places.siphons, Kind::siphon);
    return places;
}

void place_across(const Layout& layout, Places& places) {
    std::vector<double> spare(places.gutters.size(), spare_room(places));
    put_side_by_side(places, spare);
    if (stretch_as_said(layout, places, spare)) put_side_by_side(places, spare);
    const Inside inside = inside_of(layout);
    for (const Column& column : places.columns) {
        const auto widen = [&](Box& box) {
            box.left = column.left;
            box.right = column.left + column.width;
        };
        for (const std::int32_t i : column.vessels) {
            widen(places.vessels[index(i)]);
            put_devices(layout, places, inside.vessels[index(i)], places.vessels[index(i)], &places.label_right[index(i)]);
        }
        if (column.pond >= 0) {
            widen(places.ponds[index(column.pond)]);
            put_devices(layout, places, inside.ponds[index(column.pond)], places.ponds[index(column.pond)], nullptr);
        }
    }
}

}  // namespace ebb::cli::profile
