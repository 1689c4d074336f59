// Pump models, pipe series and fitting kinds.

#include <algorithm>
#include <cmath>
#include <utility>

#include "netfiles/reading.h"
#include "netfiles/words.h"
#include "solver/physics/constants.h"
#include "solver/physics/pump_curve.h"

namespace ebb::netfiles {
namespace {

using layout::said;

physics::PumpPoint read_point(const Reading& reading, const Element& element, const std::string& model) {
    physics::PumpPoint point;
    point.flow_m3_s = element.number("flow");
    point.head_m = element.number("head");
    point.power_w = element.number("power");
    point.npsh_required_m = element.number("npsh");
    const double efficiency = element.number("efficiency");
    if (said(efficiency) && said(point.power_w)) {
        element.complain("power-twice", "a point of " + model + " has both a power and an efficiency", "keep one of them", "efficiency");
    } else if (said(efficiency) && point.flow_m3_s > 0.0 && point.head_m > 0.0) {
        point.power_w = reading.context.density_kg_m3 * physics::kGravity_m_s2 * point.flow_m3_s * point.head_m / efficiency;
    }
    return point;
}

/// The points of a model; empty after a complaint.
std::vector<physics::PumpPoint> read_points(Reading& reading, const Element& element) {
    std::vector<physics::PumpPoint> points;
    const std::string name = element.text("name");
    bool good = true;
    for (const pugi::xml_node& child : element.children()) {
        const Element part(reading.context, child, element.file(), *find_element("point"), name);
        (void)part.children();
        good = good && part.sound();
        if (!good) {
            continue;
        }
        const physics::PumpPoint point = read_point(reading, part, name);
        if (!points.empty() && point.flow_m3_s <= points.back().flow_m3_s) {
            part.complain("curve-order", "the flows of pump model " + name + " do not rise from point to point",
                          "list the points from no flow to the greatest", "flow");
            good = false;
        } else if (!points.empty() && point.head_m > points.back().head_m) {
            part.complain("curve-rises",
                          "the head of pump model " + name + " rises from " + brief_number(points.back().head_m) + " m to " +
                              brief_number(point.head_m) + " m as the flow grows",
                          "a curve that rises has two flows at one head: correct the point, or leave out the points left of its crest", "head");
            good = false;
        }
        points.push_back(point);
    }
    return good ? points : std::vector<physics::PumpPoint>{};
}

void make_label_curves(Reading& reading, layout::PumpModel& model) {
    const physics::PumpLabel label{model.greatest_flow_m3_s, model.greatest_head_m};
    model.from_label = true;
    model.curve = physics::PumpCurve::from_label(label, physics::kLabelExponentCentral);
    model.curve_low = physics::PumpCurve::from_label(label, physics::kLabelExponentLow);
    model.curve_high = physics::PumpCurve::from_label(label, physics::kLabelExponentHigh);
    reading.assumptions.note({"shape of a pump curve from its label",
                              model.name,
                              {physics::kLabelExponentCentral, physics::kLabelExponentLow, physics::kLabelExponentHigh},
                              "",
                              "exponent n of H = H0 (1 - (Q/Qmax)^n); n = 2: common practice"},
                             model.name);
}

void make_curve(layout::PumpModel& model, const Element& element, const std::vector<physics::PumpPoint>& points) {
    const auto powered = std::ranges::count_if(points, [](const physics::PumpPoint& point) { return said(point.power_w); });
    const auto with_npsh = std::ranges::count_if(points, [](const physics::PumpPoint& point) { return said(point.npsh_required_m); });
    if (points.front().head_m <= 0.0) {
        element.complain("curve-flat", "pump model " + model.name + " has no head at its first point",
                         "give its head at no flow or little flow first");
        return;
    }
    if (points.size() < 2) {
        element.complain("curve-short", "pump model " + model.name + " has only one point",
                         "give at least two, or greatest-flow= and greatest-head= of the label");
        return;
    }
    model.has_power = powered > 0;
    model.has_npsh = with_npsh > 0;
    model.curve = physics::PumpCurve(points);
    model.greatest_flow_m3_s = points.back().flow_m3_s;
    model.greatest_head_m = points.front().head_m;
}

Ranged said_or(double value, const Ranged& otherwise) { return said(value) ? Ranged{value, value, value} : otherwise; }

/// True when the name is new; otherwise says so, with both places.
bool new_name(Reading& reading, const Element& element, std::unordered_map<std::string, layout::Place>& places, const std::string& kind) {
    const std::string name = element.text("name");
    if (name.empty()) {
        return false;
    }
    const auto [found, fresh] = places.emplace(name, element.place());
    if (!fresh) {
        reading.context.report.add(
            {"name-twice", name, "two " + kind + " are called \"" + printable(name) + "\"", "give one of them another name", "name"},
            element.place_of("name"), found->second);
    }
    return fresh;
}

}  // namespace

void read_pump_model(Reading& reading, const Element& element) {
    layout::PumpModel model;
    model.name = element.text("name");
    model.place = element.place();
    model.price = element.number("price");
    model.least_speed = element.number("least-speed");
    model.greatest_flow_m3_s = element.number("greatest-flow");
    model.greatest_head_m = element.number("greatest-head");
    const bool labelled = element.has("greatest-flow") || element.has("greatest-head");
    const bool pointed = !element.node().child("point").empty();
    const std::vector<physics::PumpPoint> points = read_points(reading, element);
    if (labelled && pointed) {
        element.complain("curve-twice", "pump model " + model.name + " has both points and a label", "keep the points: they say more",
                         element.has("greatest-flow") ? "greatest-flow" : "greatest-head");
    } else if (!labelled && !pointed && element.sound()) {
        element.complain("curve-missing", "pump model " + model.name + " has no curve",
                         "write at least two <point flow= head=/>, or greatest-flow= and greatest-head= of the label");
    } else if (pointed && !points.empty()) {
        make_curve(model, element, points);
    } else if (said(model.greatest_flow_m3_s) && said(model.greatest_head_m)) {
        make_label_curves(reading, model);
    } else if (labelled && element.sound()) {
        element.complain("curve-missing", "pump model " + model.name + " has only half a label",
                         "write both greatest-flow= and greatest-head=", element.has("greatest-flow") ? "greatest-flow" : "greatest-head");
    }
    reading.layout.pump_models.push_back(std::move(model));
}

void read_pipe_series(Reading& reading, const Element& element) {
    PipeSeries series;
    series.name = element.text("name");
    series.title = "from the file";
    series.source = "the file";
    series.roughness_m = said_or(element.number("roughness"), plain_plastic().roughness_m);
    series.hazen_williams_c = said_or(element.number("hazen-williams"), plain_plastic().hazen_williams_c);
    series.manning_n = said_or(element.number("manning"), plain_plastic().manning_n);
    for (const pugi::xml_node& child : element.children()) {
        const Element part(reading.context, child, element.file(), *find_element("size"), series.name);
        (void)part.children();
        PipeSize size;
        size.name = part.text("name");
        size.bore_m = size.bore_low_m = part.number("bore");
        size.wall_m = part.number("wall");
        size.outside_m = size.bore_m + 2.0 * size.wall_m;
        size.price_per_metre = part.number("price-per-metre");
        if (part.sound() && find_size(series, size.name) != nullptr) {
            part.complain("name-twice", "the series " + series.name + " has the size \"" + printable(size.name) + "\" twice", "keep one of them",
                          "name");
        } else {
            series.sizes.push_back(std::move(size));
        }
    }
    if (new_name(reading, element, reading.series_places, "pipe series")) {
        reading.catalogue.series.push_back(std::move(series));
    }
}

void read_fitting_kind(Reading& reading, const Element& element) {
    (void)element.children();
    const double loss = element.number("loss", 0.0);
    if (new_name(reading, element, reading.fitting_places, "fitting kinds")) {
        reading.catalogue.fittings.push_back({element.text("name"), "from the file", {loss, loss, loss}, "the file"});
    }
}

}  // namespace ebb::netfiles
