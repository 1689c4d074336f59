// Vessels and ponds: plan or volume table, media, targets.

#include <array>
#include <cmath>
#include <numbers>
#include <utility>

#include "netfiles/reading.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

using layout::said;
using layout::VesselKind;

constexpr double kSameDepth_m = 1e-6;  ///< depths nearer than this are the same: rim - floor is not exact in binary

const AssumedValue kVoidFraction = {
    "void fraction", "", {0.40, 0.25, 0.45}, "", "drainable pores of clay pebbles or gravel; old rooted beds 0.25 to 0.30: common practice"};

VesselKind kind_of(std::string_view name) {
    constexpr std::array<std::pair<std::string_view, VesselKind>, 6> kKinds = {{{"tank", VesselKind::tank},
                                                                                {"sump", VesselKind::sump},
                                                                                {"trough", VesselKind::trough},
                                                                                {"bed", VesselKind::bed},
                                                                                {"tier", VesselKind::tier},
                                                                                {"vessel", VesselKind::vessel}}};
    for (const auto& [word, kind] : kKinds) {
        if (word == name) {
            return kind;
        }
    }
    return VesselKind::vessel;
}

/// The plan area of diameter, or length and width; NaN (after a complaint) when they say too little or too much.
double plan_area(const Element& element, bool has_table) {
    const double diameter = element.number("diameter");
    const double length = element.number("length");
    const double width = element.number("width");
    const bool any = said(diameter) || said(length) || said(width);
    const std::string name(element.name());
    if (has_table && any) {
        element.complain("plan-twice", name + " " + element.about() + " has both a volume table and a plan", "keep one of them",
                         said(diameter) ? "diameter" : (said(length) ? "length" : "width"));
        return layout::kNotSaid;
    }
    if (has_table || !element.sound()) {
        return layout::kNotSaid;
    }
    if (said(diameter) && (said(length) || said(width))) {
        element.complain("plan-twice", name + " " + element.about() + " has both a diameter and a " + (said(length) ? "length" : "width"),
                         "a round plan has a diameter, a rectangular one a length and a width: keep one of them", "diameter");
        return layout::kNotSaid;
    }
    if (said(diameter)) {
        return std::numbers::pi / 4.0 * diameter * diameter;
    }
    if (said(length) && said(width)) {
        return length * width;
    }
    element.complain("plan-missing",
                     name + " " + element.about() +
                         (any ? (said(length) ? " has a length but no width" : " has a width but no length") : " has no plan"),
                     "write diameter=\"1.5 m\", or length=\"2 m\" width=\"1 m\", or a table of <volume at= is=/>");
    return layout::kNotSaid;
}

/// The volume table of the children; empty after a complaint.
std::vector<layout::VolumePoint> volume_table(Reading& reading, const Element& element, const std::vector<pugi::xml_node>& children,
                                              double height_m) {
    std::vector<layout::VolumePoint> table;
    bool good = true;
    for (const pugi::xml_node& child : children) {
        const Element point(reading.context, child, element.file(), *find_element("volume"), element.about());
        (void)point.children();
        const layout::VolumePoint next{point.number("at"), point.number("is")};
        good = good && point.sound();
        if (!good) {
            continue;
        }
        if (table.empty() && (next.depth_m != 0.0 || next.volume_m3 != 0.0)) {
            point.complain("volume-start", "the volume table of " + element.about() + " does not begin at the floor",
                           "begin it with <volume at=\"0 m\" is=\"0 l\"/>", "at");
            good = false;
        } else if (!table.empty() && (next.depth_m <= table.back().depth_m || next.volume_m3 <= table.back().volume_m3)) {
            point.complain("volume-order", "the volume table of " + element.about() + " does not rise here",
                           "list the points from the floor up, each deeper and holding more", next.depth_m <= table.back().depth_m ? "at" : "is");
            good = false;
        }
        table.push_back(next);
    }
    if (!good || !said(height_m)) {
        return {};
    }
    if (std::abs(table.back().depth_m - height_m) > kSameDepth_m || table.size() < 2) {
        element.complain("volume-end",
                         "the volume table of " + element.about() + " ends at " + brief_number(table.back().depth_m) + " m, the rim is " +
                             brief_number(height_m) + " m above the floor",
                         "end it at the rim: <volume at=\"" + brief_number(height_m) + " m\" is=\"...\"/>");
        return {};
    }
    table.back().depth_m = height_m;
    return table;
}

void read_media(Reading& reading, const Element& element, layout::Vessel& vessel) {
    if (vessel.kind != VesselKind::bed) {
        return;
    }
    vessel.media_depth_m = element.number("media-depth");
    vessel.void_fraction = element.number("void-fraction");
    if (!said(vessel.void_fraction)) {
        vessel.void_fraction = kVoidFraction.range.value;
        if (element.sound() && said(vessel.plan_area_m2)) {
            reading.assumptions.note(kVoidFraction, vessel.id);
        }
    }
}

}  // namespace

void read_vessel(Reading& reading, const Element& element) {
    layout::Vessel vessel;
    vessel.kind = kind_of(element.name());
    vessel.id = element.text("id");
    vessel.place = element.place();
    vessel.floor_m = element.number("floor");
    vessel.rim_m = element.number("rim");
    vessel.start_depth_m = element.number("start-depth");
    if (!said(vessel.start_depth_m) && (vessel.kind == VesselKind::bed || vessel.kind == VesselKind::tier)) {
        vessel.start_depth_m = 0.0;
    }
    vessel.least_depth_m = element.number("least-depth");
    vessel.x_m = element.number("x");
    vessel.turnover_s = element.number("turnover");
    vessel.inflow_m3_s = element.number("inflow");
    vessel.fills_within_s = element.number("fills-within");
    vessel.drains_within_s = element.number("drains-within");

    const std::vector<pugi::xml_node> children = element.children();
    vessel.plan_area_m2 = plan_area(element, !children.empty());
    read_media(reading, element, vessel);
    const double height_m = vessel.rim_m - vessel.floor_m;
    if (!children.empty()) {
        vessel.volume = volume_table(reading, element, children, height_m);
    } else if (said(vessel.plan_area_m2) && height_m > 0.0) {
        vessel.volume = layout::prism_volume(vessel.plan_area_m2, height_m, vessel.media_depth_m, vessel.void_fraction);
    }
    reading.layout.vessels.push_back(std::move(vessel));
}

void read_pond(Reading& reading, const Element& element) {
    (void)element.children();
    layout::Pond pond;
    pond.id = element.text("id");
    pond.place = element.place();
    pond.level_m = element.number("level");
    pond.x_m = element.number("x");
    reading.layout.ponds.push_back(std::move(pond));
}

}  // namespace ebb::netfiles
