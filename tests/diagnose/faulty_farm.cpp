#include "tests/diagnose/faulty_farm.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <pugixml.hpp>
#include <sstream>
#include <stdexcept>

#include "solver/settle/farm.h"

namespace ebb::faulty {
namespace {

using diagnose::Fault;
using diagnose::FaultKind;
using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

std::string number(double value) {
    std::ostringstream text;
    text.precision(12);
    text << value;
    return text.str();
}
std::string metres(double value) { return number(value) + " m"; }

const std::string& id_of(const Layout& layout, const Ref& ref) {
    const std::size_t index = at(ref.index);
    switch (ref.kind) {
        case Kind::vessel: return layout.vessels[index].id;
        case Kind::tee: return layout.tees[index].id;
        case Kind::pump: return layout.pumps[index].id;
        case Kind::filter: return layout.filters[index].id;
        case Kind::nozzle: return layout.nozzles[index].id;
        case Kind::supply: return layout.supplies[index].id;
        case Kind::float_valve: return layout.float_valves[index].id;
        case Kind::standpipe: return layout.standpipes[index].id;
        case Kind::siphon: return layout.siphons[index].id;
        case Kind::pipe: return layout.pipes[index].id;
        case Kind::valve: return layout.valves[index].id;
        default: throw std::logic_error("no fault is at such a thing");
    }
}

/// The layout's XML, to be drawn in.
class Drawing {
public:
    Drawing(const std::string& file, const std::string& arrangement, const Layout& drawn) : file_(file), drawn_(drawn) {
        if (!document_.load_file(file.c_str(), pugi::parse_full)) throw std::runtime_error("cannot read " + file);
        root_ = document_.child("layout");
        arrangement_ = root_.find_child_by_attribute("arrangement", "name", arrangement.c_str());
    }

    void put(const diagnose::Injected& injected);
    /// The fault comes to a farm that has run: what it holds then is where it begins.
    void begin_at(const std::vector<double>& depth_m) {
        for (std::size_t v = 0; v < depth_m.size(); ++v)
            if (!std::isnan(depth_m[v])) attribute(thing(drawn_.vessels[v].id), "start-depth", metres(std::max(0.0, depth_m[v])));
    }
    /// What runs over the rim is led into its sump, so that the farm loses nothing.
    void catch_spill(std::int32_t vessel);
    void lower_sump(const std::string& sump, double depth_m) { attribute(thing(sump), "start-depth", metres(depth_m)); }

    netfiles::ReadResult read() const {
        std::ostringstream text;
        document_.save(text, "", pugi::format_raw);
        netfiles::ReadResult read = netfiles::read_layout_as(file_, text.str());
        if (stuck_open_ >= 0) {  // above any level: no layout may be drawn so
            read.layout.float_valves[at(stuck_open_)].opens_at_m = 8.0;
            read.layout.float_valves[at(stuck_open_)].closes_at_m = 9.0;
        }
        return read;
    }

    /// What is not known of a pipe's losses is not what is not known of its blockage.
    void keep_blockage(Layout& varied) const {
        for (layout::Pipe& pipe : varied.pipes)
            if (pipe.id == blocked_) pipe.fittings.back().loss /= pipe.loss_factor;
    }

    /// By the names of the farm: what begins so belongs to the fish side.
    static std::string sump_of(const std::string& id) {
        for (const char* begin : {"JF", "T", "DT", "F", "rise-fish", "feed-T", "home-fish", "drain-T"})
            if (id.starts_with(begin)) return "FS";
        return "PS";
    }

    /// m3/s through a hole in the floor of `sump`, by E. Torricelli.
    double leaks(std::string& sump, const settle::Answer& answer) const {
        for (std::size_t v = 0; v < drawn_.vessels.size(); ++v) {
            if (drawn_.vessels[v].id != leaking_sump_) continue;
            sump = leaking_sump_;
            return 0.61 * 0.25 * M_PI * leak_m_ * leak_m_ * std::sqrt(2.0 * 9.80665 * answer.vessels[v].depth_m);
        }
        return 0.0;
    }

private:
    pugi::xml_node thing(const std::string& id) {
        const pugi::xml_node found = root_.find_node([&](const pugi::xml_node& node) { return node.attribute("id").as_string() == id; });
        if (!found) throw std::runtime_error("there is no " + id);
        return found;
    }
    static void attribute(pugi::xml_node node, const char* name, const std::string& value) {
        if (!node.attribute(name)) node.append_attribute(name);
        node.attribute(name).set_value(value.c_str());
    }
    void add_fitting(pugi::xml_node pipe, double loss) {
        blocked_ = pipe.attribute("id").as_string();
        pugi::xml_node fitting = pipe.append_child("fitting");
        attribute(fitting, "loss", number(loss));
    }
    void shrink(pugi::xml_node node, const char* name, double metres_now, double factor) { attribute(node, name, metres(metres_now * factor)); }
    void set(const char* act, const char* what, const std::string& id, const char* to = nullptr, const std::string& value = {}) {
        for (pugi::xml_node line = arrangement_.first_child(); line;) {
            const pugi::xml_node next = line.next_sibling();
            if (line.attribute(what).as_string() == id) arrangement_.remove_child(line);
            line = next;
        }
        pugi::xml_node line = arrangement_.append_child(act);
        attribute(line, what, id);
        if (to != nullptr) attribute(line, to, value);
    }
    void set_opening(const std::string& valve, double opening) {
        if (opening <= 0.0)
            set("close", "valve", valve);
        else
            set("throttle", "valve", valve, "to", number(opening));
    }
    /// The pump's model once more, its points drawn anew.
    void redraw_curve(std::int32_t pump, double flow, double head);
    void hole_in(const Fault& fault, double bore_m);
    void at_pump(const Fault& fault, double size);
    std::string outlet_of(std::int32_t pump) const {
        for (const layout::Pipe& pipe : drawn_.pipes)
            if (pipe.from.ref == Ref{Kind::pump, pump}) return pipe.id;
        throw std::logic_error("a pump without an outlet");
    }
    double opening_drawn(std::int32_t valve) const {
        for (std::size_t a = 0; a < drawn_.arrangements.size(); ++a)
            if (drawn_.arrangements[a].name == arrangement_.attribute("name").as_string())
                return layout::conditions_of(drawn_, static_cast<std::int32_t>(a)).valve_opening[at(valve)];
        return 1.0;
    }

    std::string file_;
    std::int32_t stuck_open_ = -1;
    std::string leaking_sump_;  ///< has a hole of leak_m_ in its floor
    double leak_m_ = 0.0;
    std::string blocked_;  ///< pipe that has a loss as its last fitting
    const Layout& drawn_;
    pugi::xml_document document_;
    pugi::xml_node root_, arrangement_;
};

void Drawing::redraw_curve(std::int32_t pump, double flow, double head) {
    const layout::PumpModel& model = drawn_.pump_models[at(drawn_.pumps[at(pump)].model)];
    const std::string folder = file_.substr(0, file_.rfind('/'));
    pugi::xml_document catalogue;
    for (const char* name : {"/catalogue/pumps.xml", "/catalogue/pumps_to_choose.xml"}) {
        if (!catalogue.load_file((folder + name).c_str())) throw std::runtime_error("no catalogue");
        const pugi::xml_node known = catalogue.child("catalogue").find_child_by_attribute("pump-model", "name", model.name.c_str());
        if (!known) continue;
        pugi::xml_node own = root_.insert_child_after("pump-model", root_.child("site"));
        attribute(own, "name", "redrawn");
        for (const pugi::xml_node& point : known.children("point")) {
            pugi::xml_node drawn = own.append_child("point");
            attribute(drawn, "flow", number(std::stod(point.attribute("flow").as_string()) * flow) + " m3/h");
            attribute(drawn, "head", number(std::stod(point.attribute("head").as_string()) * head) + " m");
        }
        attribute(thing(drawn_.pumps[at(pump)].id), "model", "redrawn");
        return;
    }
    throw std::runtime_error("the model is in no catalogue");
}

void Drawing::hole_in(const Fault& fault, double bore_m) {
    const std::string& id = id_of(drawn_, fault.at);
    const std::string sump = sump_of(id);
    double elevation_m = 0.0, floor_m = 0.0;
    for (const layout::Vessel& vessel : drawn_.vessels) {
        if (vessel.id == id) elevation_m = vessel.floor_m;
        if (vessel.id == sump) floor_m = vessel.floor_m;
    }
    for (const layout::Tee& tee : drawn_.tees)
        if (tee.id == id) elevation_m = tee.elevation_m;
    if (id == sump) {  // only that its level falls tells
        leaking_sump_ = id;
        leak_m_ = bore_m;
        return;
    }
    pugi::xml_node nozzle = root_.insert_child_before("nozzle", arrangement_);
    attribute(nozzle, "id", "hole");
    attribute(nozzle, "into", sump);
    attribute(nozzle, "height", metres(elevation_m - floor_m));
    attribute(nozzle, "holes", "1");
    attribute(nozzle, "hole-diameter", metres(bore_m));
    pugi::xml_node pipe = root_.insert_child_before("pipe", arrangement_);
    attribute(pipe, "id", "to-hole");
    attribute(pipe, "from", id);
    attribute(pipe, "to", "hole");
    attribute(pipe, "length", "5 mm");
    attribute(pipe, "bore", metres(6.0 * bore_m));
    attribute(pipe, "roughness", "0 mm");
    attribute(pipe, "entry-loss", "0");
}

void Drawing::at_pump(const Fault& fault, double size) {
    const std::string& id = id_of(drawn_, fault.at);
    constexpr double kImperialOverUs = 1.200950;  // gallons: 4.54609 over 3.785411784 litres
    constexpr double kFeetInMetre = 3.280840;
    switch (fault.kind) {
        case FaultKind::blocked_screen: add_fitting(thing(outlet_of(fault.at.index)), loss_of_opening(size)); break;
        case FaultKind::worn_pump: attribute(thing(id), "wear", number(size)); break;
        case FaultKind::slow_pump: set("run", "pump", id, "speed", number(size)); break;
        case FaultKind::backward_pump: redraw_curve(fault.at.index, 0.65, 0.5); break;
        case FaultKind::pump_stopped: set("stop", "pump", id); break;
        case FaultKind::pump_running: set("run", "pump", id); break;
        case FaultKind::check_missing: {
            // it hangs open: two velocity heads, and as much for the pump that stands (common practice), in the outlet pipe at 1 m/s
            double bore_m = 0.0;
            for (const layout::Pipe& pipe : drawn_.pipes)
                if (pipe.id == outlet_of(fault.at.index)) bore_m = pipe.bore_m;
            thing(id).remove_attribute("check-valve");
            pugi::xml_node stopped = thing(id).append_child("stopped");
            attribute(stopped, "flow", number(M_PI / 4.0 * bore_m * bore_m * 60000.0) + " l/min");
            attribute(stopped, "head", metres(4.0 / (2.0 * 9.80665)));
            break;
        }
        case FaultKind::check_stuck: {
            pugi::xml_node valve = thing(outlet_of(fault.at.index)).append_child("valve");
            attribute(valve, "id", "stuck");
            attribute(valve, "kind", "gate");
            set("close", "valve", "stuck");
            break;
        }
        case FaultKind::other_curve:
            redraw_curve(fault.at.index,
                         fault.which == 0   ? 1.0 / kImperialOverUs
                         : fault.which == 1 ? kImperialOverUs
                                            : 1.0,
                         fault.which == 2   ? 1.0 / kFeetInMetre
                         : fault.which == 3 ? kFeetInMetre
                                            : 1.0);
            break;
        case FaultKind::swapped_pumps: {
            const std::string& other = id_of(drawn_, fault.other);
            const std::string mine = thing(id).attribute("model").as_string(), others = thing(other).attribute("model").as_string();
            attribute(thing(id), "model", others);
            attribute(thing(other), "model", mine);
            break;
        }
        default: throw std::logic_error("not in the farm");
    }
}

void Drawing::put(const diagnose::Injected& injected) {
    const Fault& fault = injected.fault;
    const double size = fault.size_at(injected.u);
    const std::string& id = id_of(drawn_, fault.at);
    const auto i = at(fault.at.index);
    switch (fault.kind) {
        case FaultKind::blocked_pipe:
        case FaultKind::blocked_drain: add_fitting(thing(id), loss_of_opening(size)); break;
        case FaultKind::trapped_air: attribute(thing(id), "trapped-air", metres(size)); break;
        case FaultKind::outfall_low: attribute(thing(id), "to-height", metres(drawn_.pipes[i].to.height() - size)); break;
        case FaultKind::blocked_standpipe: shrink(thing(id), "bore", drawn_.standpipes[i].bore_m, std::sqrt(size)); break;
        case FaultKind::blocked_hole:
            shrink(thing(id).child("drain-hole"), "diameter", drawn_.standpipes[i].holes[0].diameter_m, std::sqrt(size));
            break;
        case FaultKind::blocked_siphon: shrink(thing(id), "bore", drawn_.siphons[i].bore_m, std::sqrt(size)); break;
        case FaultKind::blocked_nozzle: shrink(thing(id), "hole-diameter", drawn_.nozzles[i].hole_diameter_m, std::sqrt(size)); break;
        case FaultKind::siphon_does_not_start:
            attribute(thing(id), "starts-with", number(drawn_.siphons[i].starts_with_m3_s * size * 60000.0) + " l/min");
            break;
        case FaultKind::siphon_does_not_stop:
            // it sucks air at the notch where it should break, stands there and carries what comes, as a lip of that height would
            attribute(thing(id), "crest", metres(drawn_.siphons[i].breaks_at_m));
            attribute(thing(id), "breaks-at", "0 m");
            attribute(thing(id), "starts-with", "1000 l/min");
            break;
        case FaultKind::valve_elsewhere: set_opening(id, size); break;
        case FaultKind::swapped_valves: {
            const double mine = opening_drawn(fault.at.index), others = opening_drawn(fault.other.index);
            set_opening(id, others);
            set_opening(id_of(drawn_, fault.other), mine);
            break;
        }
        case FaultKind::swapped_ends: {
            pugi::xml_node one = thing(id), other = thing(id_of(drawn_, fault.other));
            for (const char* name : {"to", "to-height"}) {
                const std::string mine = one.attribute(name).as_string(), others = other.attribute(name).as_string();
                attribute(one, name, others);
                attribute(other, name, mine);
            }
            break;
        }
        case FaultKind::wrong_insert: set("fit", "standpipe", id, "insert", drawn_.standpipes[i].inserts[at(fault.which)].name); break;
        case FaultKind::standpipe_out:
            for (pugi::xml_node insert : thing(id).children("insert")) attribute(insert, "lip", "1 mm");
            break;
        case FaultKind::loose_standpipe: {
            pugi::xml_node hole = thing(id).append_child("drain-hole");
            attribute(hole, "height", "0 m");
            attribute(hole, "diameter", metres(size));
            break;
        }
        case FaultKind::dirty_filter:
            for (pugi::xml_node loss : thing(id).children("loss"))
                attribute(loss, "head", metres(std::stod(loss.attribute("head").as_string()) * size));
            break;
        case FaultKind::leak: hole_in(fault, size); break;
        case FaultKind::low_water:
            attribute(thing(id), "start-depth", metres(drawn_.vessels[i].start_depth_m * (1.0 - size)));
            break;  // straight walls
        case FaultKind::much_water: {
            const layout::Vessel& vessel = drawn_.vessels[i];
            attribute(thing(id), "start-depth", metres(vessel.start_depth_m + size * (vessel.rim_m - vessel.floor_m - vessel.start_depth_m)));
            break;
        }
        case FaultKind::supply_elsewhere: attribute(thing(id), "pressure", number(2.5 * size) + " bar"); break;
        case FaultKind::float_stuck_open: stuck_open_ = fault.at.index; break;
        case FaultKind::float_stuck_shut: attribute(thing(id), "opens-at", "1 mm"), attribute(thing(id), "closes-at", "2 mm"); break;
        default: at_pump(fault, size); break;
    }
}

void Drawing::catch_spill(std::int32_t vessel) {
    const layout::Vessel& spills = drawn_.vessels[at(vessel)];
    const std::string sump = sump_of(spills.id);
    const double height_m = spills.rim_m - spills.floor_m;
    attribute(thing(spills.id), "rim", metres(spills.rim_m + 0.4));
    if (pugi::xml_node table = thing(spills.id).child("volume"); table) {
        const auto& points = spills.volume;
        const double slope =
            (points.back().volume_m3 - points[points.size() - 2].volume_m3) / (points.back().depth_m - points[points.size() - 2].depth_m);
        pugi::xml_node point = thing(spills.id).append_child("volume");
        attribute(point, "at", metres(height_m + 0.4));
        attribute(point, "is", number((points.back().volume_m3 + 0.4 * slope) * 1000.0) + " l");
    }
    double sump_height_m = 0.0;
    for (const layout::Vessel& each : drawn_.vessels)
        if (each.id == sump) sump_height_m = each.rim_m - each.floor_m;
    pugi::xml_node pipe = root_.insert_child_before("pipe", arrangement_);
    attribute(pipe, "id", "gutter-" + spills.id);
    attribute(pipe, "from", spills.id);
    attribute(pipe, "from-height", metres(height_m));
    attribute(pipe, "to", sump);
    attribute(pipe, "to-height", metres(sump_height_m));
    attribute(pipe, "length", "0.2 m");
    attribute(pipe, "bore", "250 mm");
    attribute(pipe, "roughness", "0 mm");
}

struct Solved {
    bool good = false;
    Layout farm;
    settle::Answer answer;
};

Solved solve(const Drawing& drawing, const std::string& arrangement, std::span<const survey::Uncertainty> unknowns, std::span<const double> z) {
    Solved solved;
    netfiles::ReadResult read = drawing.read();
    if (!read.good()) throw std::runtime_error("the faulty farm is no layout: " + netfiles::show(read.problems[0], read.files));
    solved.farm = read.layout;
    std::int32_t index = 0;
    while (read.layout.arrangements[at(index)].name != arrangement) ++index;
    layout::Conditions conditions = layout::conditions_of(read.layout, index);
    if (!z.empty()) {
        survey::vary(read.layout, layout::conditions_of(read.layout, index), unknowns, z, solved.farm, conditions);
        drawing.keep_blockage(solved.farm);
    }
    settle::Options options;
    options.bands = options.ledgers = false;
    settle::Farm farm(solved.farm, options);
    solved.answer = farm.solve(conditions, false);
    solved.good =
        settle::solved(solved.answer.state) || solved.answer.state == settle::State::cycles || solved.answer.state == settle::State::spills_until_dry;
    return solved;
}

/// m3/s that leave the farm over rims and by the hole, as caught.
double lost(const Solved& solved, std::string& sump) {
    double sum = 0.0;
    for (std::size_t p = 0; p < solved.farm.pipes.size(); ++p)
        if (solved.farm.pipes[p].id.starts_with("gutter-") || solved.farm.pipes[p].id == "to-hole") {
            sum += std::max(0.0, solved.answer.pipes[p].flow_m3_s);
            sump = Drawing::sump_of(solved.farm.pipes[p].id == "to-hole" ? solved.farm.pipes[p].from.id : solved.farm.pipes[p].id.substr(7));
        }
    return sum;
}

}  // namespace

double loss_of_opening(double open) {
    struct Contraction {
        double area, coefficient;
    };
    constexpr std::array<Contraction, 11> kWeisbach = {{{0.0, 0.617},
                                                        {0.1, 0.624},
                                                        {0.2, 0.632},
                                                        {0.3, 0.643},
                                                        {0.4, 0.659},
                                                        {0.5, 0.681},
                                                        {0.6, 0.712},
                                                        {0.7, 0.755},
                                                        {0.8, 0.813},
                                                        {0.9, 0.892},
                                                        {1.0, 1.0}}};
    const auto below = static_cast<std::size_t>(std::min(9.0, std::floor(open * 10.0)));
    const double share = open * 10.0 - static_cast<double>(below);
    const double contraction = kWeisbach[below].coefficient + share * (kWeisbach[below + 1].coefficient - kWeisbach[below].coefficient);
    return std::pow(1.0 / (contraction * open) - 1.0, 2);
}

State farm_with(const std::string& file, const std::string& arrangement, const Layout& drawn, const diagnose::Injected* fault,
                std::span<const survey::Uncertainty> unknowns, std::span<const double> z) {
    State state;
    Drawing drawing(file, arrangement, drawn);
    const bool water = fault != nullptr && (fault->fault.kind == FaultKind::low_water || fault->fault.kind == FaultKind::much_water);
    if (fault != nullptr && !water) drawing.begin_at(farm_with(file, arrangement, drawn, nullptr).depth_m);
    if (fault != nullptr) drawing.put(*fault);
    const std::size_t vessels = drawn.vessels.size();
    std::vector<std::uint8_t> caught(vessels, 0);
    Solved solved;
    for (std::size_t round = 0; round <= vessels; ++round) {
        solved = solve(drawing, arrangement, unknowns, z);
        if (!solved.good) return state;
        bool more = false;
        for (std::size_t v = 0; v < vessels; ++v) {
            const bool spills = solved.answer.vessels[v].spill_m3_s > 1e-7 || solved.answer.vessels[v].spilled_m3 > 1e-6;
            if (!spills || caught[v] != 0 || drawn.vessels[v].id == "FS" || drawn.vessels[v].id == "PS") continue;
            drawing.catch_spill(static_cast<std::int32_t>(v));
            caught[v] = 1;
            more = true;
        }
        if (!more) break;
    }
    state.solved = true;
    if (fault != nullptr && fault->fault.kind == FaultKind::siphon_does_not_stop) state.runs_at_notch = fault->fault.at.index;
    state.spills.assign(vessels, 0);
    state.depth_m.assign(vessels, layout::kNotSaid);
    state.low_m = state.high_m = state.depth_m;
    state.moves.assign(vessels, 0.0);
    for (std::size_t v = 0; v < vessels; ++v) {
        const double height_m = drawn.vessels[v].rim_m - drawn.vessels[v].floor_m;
        state.depth_m[v] = solved.answer.vessels[v].depth_m;
        state.spills[v] = solved.answer.vessels[v].spill_m3_s > 1e-7 || (caught[v] != 0 && state.depth_m[v] > height_m) ? 1 : 0;
        if (caught[v] != 0) state.depth_m[v] = std::min(state.depth_m[v], height_m);
    }
    if (solved.answer.state == settle::State::cycles)
        for (std::size_t s = 0; s < solved.farm.siphons.size(); ++s) {
            const settle::SiphonAnswer& siphon = solved.answer.siphons[s];
            const std::size_t v = at(solved.farm.siphons[s].in.index);
            // one that neither dribbles, nor runs for ever, and whose vessel gets water, comes and goes
            if (siphon.primed || siphon.dribbles || siphon.runs_for_ever || !(solved.answer.vessels[v].inflow_m3_s > 1e-7)) continue;
            state.low_m[v] = std::max(0.0, solved.farm.siphons[s].breaks_at_m);
            state.high_m[v] = solved.farm.siphons[s].crest_m;
        }
    std::string sump;
    const double lost_m3_s = lost(solved, sump) + drawing.leaks(sump, solved.answer);
    if (lost_m3_s > 1e-7) {
        // ten minutes later: so much less in the sump, and what was there elsewhere stays in motion
        for (const layout::Vessel& vessel : drawn.vessels) {
            if (vessel.id != sump) continue;
            const double area_m2 = vessel.volume.back().volume_m3 / vessel.volume.back().depth_m;
            double start_m = vessel.start_depth_m;
            for (const layout::Vessel& own : solved.farm.vessels)
                if (own.id == sump) start_m = own.start_depth_m;
            drawing.lower_sump(sump, std::max(0.0, start_m - lost_m3_s * 600.0 / area_m2));
        }
        const Solved after = solve(drawing, arrangement, unknowns, z);
        for (std::size_t v = 0; v < vessels && after.good; ++v)
            if (state.spills[v] == 0) state.moves[v] = after.answer.vessels[v].depth_m - solved.answer.vessels[v].depth_m;
    }
    state.farm = std::move(solved.farm);
    state.answer = std::move(solved.answer);
    return state;
}

double value_of(const State& state, const diagnose::Observable& what, std::mt19937& random) {
    using diagnose::Quantity;
    const std::size_t i = at(what.of.index);
    switch (what.quantity) {
        case Quantity::depth: {
            if (std::isnan(state.low_m[i])) return state.depth_m[i];
            return std::uniform_real_distribution<double>(state.low_m[i], state.high_m[i])(random);
        }
        case Quantity::flow:
            if (what.of.kind == Kind::pipe) return state.answer.pipes[i].flow_m3_s;
            if (what.of.kind == Kind::nozzle) return state.answer.nozzles[i].flow_m3_s;
            return state.answer.float_valves[i].flow_m3_s;
        case Quantity::spills: return state.spills[i];
        case Quantity::overflows: return state.answer.standpipes[i].flow_m3_s - state.answer.standpipes[i].through_holes_m3_s > 1e-7 ? 1.0 : 0.0;
        case Quantity::siphon: {
            const settle::SiphonAnswer& siphon = state.answer.siphons[i];
            if (!std::isnan(state.low_m[at(state.farm.siphons[i].in.index)])) return 3.0;
            if (what.of.index == state.runs_at_notch) return siphon.flow_m3_s > 1e-7 ? 2.0 : 0.0;
            return siphon.runs_for_ever || (siphon.primed && siphon.flow_m3_s > 1e-7) ? 2.0 : siphon.dribbles ? 1.0 : 0.0;
        }
        case Quantity::moves: return state.moves[i] < -0.003 ? -1.0 : state.moves[i] > 0.003 ? 1.0 : 0.0;
        case Quantity::draws_air: return state.answer.pumps[i].running && state.answer.pumps[i].intake_bare ? 1.0 : 0.0;
        default: return layout::kNotSaid;
    }
}

}  // namespace ebb::faulty
