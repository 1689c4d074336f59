// Pumps, filters, tees, nozzles, supplies, float valves, standpipes and siphons.

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "netfiles/reading.h"
#include "solver/physics/constants.h"

namespace ebb::netfiles {
namespace {

using layout::said;

const AssumedValue kHoleCoefficient = {"discharge coefficient of holes",
                                       "",
                                       {0.61, 0.58, 0.65},
                                       "",
                                       "sharp-edged orifice, handbook value; worn or rounded holes pass more: common practice"};
const AssumedValue kSiphonLoss = {
    "loss of a siphon", "", {2.0, 1.0, 4.0}, "", "velocity heads of bell and turns besides the entrance: common practice"};

/// Flow over the crest that surely or just possibly starts a siphon, as a multiple of A sqrt(g D): 0.3 never, 1 surely (practice of gravity flow in
/// upright pipes).
constexpr double kSiphonStart = 0.5;
constexpr double kSiphonStartLow = 0.3;
constexpr double kSiphonStartHigh = 1.0;

std::vector<pugi::xml_node> no_children(const Element& element) { return element.children(); }

}  // namespace

void read_pump(Reading& reading, const Element& element) {
    layout::Pump pump;
    pump.id = element.text("id");
    pump.place = element.place();
    pump.model_name = element.text("model");
    pump.in_id = element.text("in");
    pump.intake_height_m = element.number("intake-height");
    pump.elevation_m = element.number("elevation");
    pump.x_m = element.number("x");
    pump.count = element.count("count", 1);
    pump.wear = element.number("wear", 0.0);
    pump.check_valve = element.is("check-valve", "yes");
    for (const pugi::xml_node& child : element.children()) {
        const Element stopped(reading.context, child, element.file(), *find_element("stopped"), element.about());
        no_children(stopped);
        pump.stopped_flow_m3_s = stopped.number("flow");
        pump.stopped_head_m = stopped.number("head");
    }
    if (pump.in_id.empty() && said(pump.intake_height_m) && element.sound()) {
        element.complain("pump-where", "pump " + pump.id + " has an intake-height but stands in nothing",
                         "write in=\"...\" with the vessel it stands in", "intake-height");
    }
    if (!pump.in_id.empty() && said(pump.elevation_m)) {
        element.complain("pump-where", "pump " + pump.id + " stands in " + pump.in_id + " and has an elevation of its own",
                         "a submersible pump has in= and intake-height=, one fed by a pipe has elevation=: keep one of them", "elevation");
    }
    reading.layout.pumps.push_back(std::move(pump));
}

void read_filter(Reading& reading, const Element& element) {
    layout::Filter filter;
    filter.id = element.text("id");
    filter.place = element.place();
    filter.x_m = element.number("x");
    const std::vector<pugi::xml_node> children = element.children();
    for (const pugi::xml_node& child : children) {
        const Element loss(reading.context, child, element.file(), *find_element("loss"), element.about());
        no_children(loss);
        if (loss.sound()) {
            (loss.is("state", "dirty") ? filter.dirty : filter.clean).push_back({loss.number("flow"), loss.number("head")});
        } else {
            reading.unsound_things.insert(element.about());
        }
    }
    std::ranges::stable_sort(filter.clean, {}, &layout::LossPoint::flow_m3_s);
    std::ranges::stable_sort(filter.dirty, {}, &layout::LossPoint::flow_m3_s);
    reading.layout.filters.push_back(std::move(filter));
}

void read_tee(Reading& reading, const Element& element) {
    no_children(element);
    layout::Tee tee;
    tee.id = element.text("id");
    tee.place = element.place();
    tee.elevation_m = element.number("elevation");
    tee.x_m = element.number("x");
    tee.vented = element.is("vented", "yes");
    tee.takes_m3_s = element.number("takes", 0.0);
    tee.least_pressure_m = element.number("least-pressure");
    tee.loss = element.is("loss", "header") ? layout::TeeLoss::header : layout::TeeLoss::none;
    tee.branch_id = element.text("branch");
    tee.branch_angle_deg = element.number("branch-angle", 90.0);
    if (tee.loss == layout::TeeLoss::none && (element.has("branch") || element.has("branch-angle"))) {
        element.complain("tee-header", "tee " + tee.id + " names a branch but not the loss it makes", "write loss=\"header\", or leave branch= out",
                         element.has("branch") ? "branch" : "branch-angle");
    }
    reading.layout.tees.push_back(std::move(tee));
}

void read_nozzle(Reading& reading, const Element& element) {
    no_children(element);
    layout::Nozzle nozzle;
    nozzle.id = element.text("id");
    nozzle.place = element.place();
    nozzle.into_id = element.text("into");
    nozzle.height_m = element.number("height", 0.0);
    nozzle.holes = element.count("holes", 0);
    nozzle.hole_diameter_m = element.number("hole-diameter");
    nozzle.discharge_coefficient = element.number("discharge-coefficient", kHoleCoefficient.range.value);
    nozzle.rated_flow_m3_s = element.number("rated");
    nozzle.rated_head_m = element.number("at");
    const bool by_holes = element.has("holes") || element.has("hole-diameter");
    const bool by_rating = element.has("rated") || element.has("at");
    if (!by_rating && by_holes && !element.has("discharge-coefficient") && element.sound()) {
        reading.assumptions.note(kHoleCoefficient, nozzle.id);
    }
    reading.layout.nozzles.push_back(std::move(nozzle));
}

void read_supply(Reading& reading, const Element& element) {
    no_children(element);
    layout::Supply supply;
    supply.id = element.text("id");
    supply.place = element.place();
    supply.head_m = element.number("pressure");
    supply.elevation_m = element.number("elevation");
    supply.x_m = element.number("x");
    reading.layout.supplies.push_back(std::move(supply));
}

void read_float_valve(Reading& reading, const Element& element) {
    no_children(element);
    layout::FloatValve valve;
    valve.id = element.text("id");
    valve.place = element.place();
    valve.into_id = element.text("into");
    valve.opens_at_m = element.number("opens-at");
    valve.closes_at_m = element.number("closes-at");
    valve.rated_flow_m3_s = element.number("rated");
    valve.rated_head_m = element.number("at");
    valve.height_m = element.number("height");
    reading.layout.float_valves.push_back(std::move(valve));
}

void read_standpipe(Reading& reading, const Element& element) {
    layout::Standpipe standpipe;
    standpipe.id = element.text("id");
    standpipe.place = element.place();
    standpipe.in_id = element.text("in");
    standpipe.bore_m = element.number("bore");
    for (const pugi::xml_node& child : element.children()) {
        const bool is_insert = std::string_view(child.name()) == "insert";
        const Element part(reading.context, child, element.file(), *find_element(child.name()), element.about());
        no_children(part);
        if (!part.sound()) {
            reading.unsound_things.insert(element.about());
        }
        if (is_insert) {
            standpipe.inserts.push_back({part.text("name"), part.number("lip"), part.place()});
            continue;
        }
        layout::DrainHole hole;
        hole.height_m = part.number("height", 0.0);
        hole.diameter_m = part.number("diameter");
        hole.count = part.count("count", 1);
        hole.discharge_coefficient = part.number("discharge-coefficient", kHoleCoefficient.range.value);
        hole.place = part.place();
        if (!part.has("discharge-coefficient") && part.sound()) {
            reading.assumptions.note(kHoleCoefficient, standpipe.id);
        }
        standpipe.holes.push_back(hole);
    }
    reading.layout.standpipes.push_back(std::move(standpipe));
}

void read_siphon(Reading& reading, const Element& element) {
    no_children(element);
    layout::Siphon siphon;
    siphon.id = element.text("id");
    siphon.place = element.place();
    siphon.in_id = element.text("in");
    siphon.bore_m = element.number("bore");
    siphon.crest_m = element.number("crest");
    siphon.breaks_at_m = element.number("breaks-at");
    siphon.starts_with_m3_s = element.number("starts-with");
    siphon.loss = element.number("loss", kSiphonLoss.range.value);
    if (!element.has("loss") && element.sound()) {
        reading.assumptions.note(kSiphonLoss, siphon.id);
    }
    if (!element.has("starts-with") && said(siphon.bore_m) && element.sound()) {
        const double scale = std::numbers::pi / 4.0 * siphon.bore_m * siphon.bore_m * std::sqrt(physics::kGravity_m_s2 * siphon.bore_m);
        siphon.starts_with_m3_s = kSiphonStart * scale;
        reading.assumptions.note({"flow that starts a siphon",
                                  siphon.id,
                                  {kSiphonStart * scale, kSiphonStartLow * scale, kSiphonStartHigh * scale},
                                  "m3/s",
                                  "0.5 A sqrt(g D), surely at 1.0, never below 0.3: common practice"},
                                 siphon.id);
    }
    reading.layout.siphons.push_back(std::move(siphon));
}

}  // namespace ebb::netfiles
