// Readings files.

#include <algorithm>
#include <cmath>
#include <functional>
#include <tuple>
#include <unordered_map>
#include <utility>

#include "netfiles/document.h"
#include "netfiles/element.h"
#include "netfiles/readings.h"
#include "netfiles/words.h"
#include "solver/diagnose/fault.h"
#include "solver/layout/nearest.h"
#include "solver/physics/water.h"

namespace ebb::netfiles {
namespace {

using diagnose::Instrument;
using diagnose::Quantity;
using layout::Kind;
using layout::Layout;
using layout::Ref;
using layout::said;

constexpr std::size_t kMostReadings = 500;
constexpr double kOverRim_m = 0.02;  ///< water that runs over a rim stands this much above it at most
constexpr double kLeastFall_m = 0.002;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

std::string in_quotes(std::string_view text) { return "\"" + printable(text) + "\""; }

/// Every labelled thing of a layout.
class Things {
public:
    explicit Things(const Layout& layout) : layout_(layout) {
        enter(layout.vessels, Kind::vessel);
        enter(layout.ponds, Kind::pond);
        enter(layout.tees, Kind::tee);
        enter(layout.pumps, Kind::pump);
        enter(layout.filters, Kind::filter);
        enter(layout.nozzles, Kind::nozzle);
        enter(layout.supplies, Kind::supply);
        enter(layout.float_valves, Kind::float_valve);
        enter(layout.standpipes, Kind::standpipe);
        enter(layout.siphons, Kind::siphon);
        enter(layout.pipes, Kind::pipe);
        enter(layout.valves, Kind::valve);
    }
    Ref find(std::string_view id) const {
        const auto found = by_id_.find(id);
        return found == by_id_.end() ? Ref{Kind::none, -1} : found->second;
    }
    std::string nearest(std::string_view id, std::span<const Kind> kinds) const {
        std::vector<std::string_view> names;
        for (const auto& [name, ref] : by_id_)
            if (std::ranges::find(kinds, ref.kind) != kinds.end()) names.push_back(name);
        std::ranges::sort(names);
        return layout::nearest_word(id, names);
    }
    /// Pipes that bring water to a vessel.
    std::vector<std::string_view> feeds(std::int32_t vessel) const {
        std::vector<std::string_view> list;
        for (const layout::Pipe& pipe : layout_.pipes)
            if (pipe.to.ref == Ref{Kind::vessel, vessel}) list.push_back(pipe.id);
        for (const layout::Nozzle& nozzle : layout_.nozzles)
            if (nozzle.into == Ref{Kind::vessel, vessel}) list.push_back(nozzle.id);
        return list;
    }

private:
    template <typename Thing>
    void enter(const std::vector<Thing>& things, Kind kind) {
        for (std::size_t i = 0; i < things.size(); ++i) by_id_.emplace(things[i].id, Ref{kind, static_cast<std::int32_t>(i)});
    }
    const Layout& layout_;
    std::unordered_map<std::string_view, Ref> by_id_;
};

/// A kind as people call it, with its article.
std::string_view kind_words(Kind kind) {
    switch (kind) {
        case Kind::vessel: return "a vessel";
        case Kind::pond: return "a pond";
        case Kind::tee: return "a tee";
        case Kind::pump: return "a pump";
        case Kind::filter: return "a filter";
        case Kind::nozzle: return "a nozzle";
        case Kind::supply: return "a supply";
        case Kind::float_valve: return "a float valve";
        case Kind::standpipe: return "a standpipe";
        case Kind::siphon: return "a siphon";
        case Kind::pipe: return "a pipe or drain";
        case Kind::valve: return "a valve";
        default: return "nothing";
    }
}

class Reader {
public:
    Reader(const Layout& layout, const Documents& documents, Report& report, ReadingsResult& result)
        : layout_(layout), documents_(documents), context_{documents, report, physics::water_density_kg_m3(layout.water_temperature_c)},
          things_(layout), result_(result) {}

    void read() {
        const Element root(context_, documents_.root, 0, *find_element("readings"));
        result_.name = root.text("name");
        for (const pugi::xml_node& node : root.children()) {
            const Element element(context_, node, 0, *find_element(node.name()));
            if (element.name() == "gauge") gauge(element);
            if (element.name() == "how-often") how_often(element);
            if (element.name() == "when") when(element);
        }
        if (result_.readings.readings.empty() && context_.report.problems.empty())
            root.complain("no-readings", "nothing was read", "write what was read inside <when>: a level, a bucket, a siphon ...");
    }

private:
    /// The thing named by `attribute`, if it is of one of `kinds`.
    Ref thing(const Element& element, std::string_view attribute, std::initializer_list<Kind> kinds) const {
        const std::string id = element.text(attribute);
        if (id.empty()) return {Kind::none, -1};
        const Ref ref = things_.find(id);
        if (std::ranges::find(kinds, ref.kind) != kinds.end() && ref.index >= 0) return ref;
        std::vector<std::string_view> wanted;
        for (const Kind kind : kinds) wanted.push_back(kind_words(kind));
        if (ref.index < 0) {
            const std::string near = things_.nearest(id, std::span(kinds.begin(), kinds.size()));
            element.complain("dangling", "there is no " + in_quotes(id) + " in the layout",
                             near.empty() ? "name " + join_words(wanted, "or") + " of it" : "did you mean " + in_quotes(near) + "?", attribute);
            return {Kind::none, -1};
        }
        std::string advice = "name " + join_words(wanted, "or");
        if (ref.kind == Kind::vessel) {
            const std::vector<std::string_view> feeds = things_.feeds(ref.index);
            if (!feeds.empty() && std::ranges::find(kinds, Kind::pipe) != kinds.end()) advice = "name what brings it: " + join_words(feeds, "or");
        }
        element.complain("wrong-kind", in_quotes(id) + " is " + std::string(kind_words(ref.kind)), advice, attribute);
        return {Kind::none, -1};
    }

    void gauge(const Element& element) {
        const Ref ref = thing(element, "at", {Kind::tee, Kind::pump, Kind::filter});
        if (ref.index < 0 || std::ranges::find(result_.readings.gauges, ref) != result_.readings.gauges.end()) return;
        result_.readings.gauges.push_back(ref);
    }

    void how_often(const Element& element) {
        const std::string kind = element.text("kind");
        std::vector<std::string_view> names;
        for (const diagnose::FaultKindData& each : diagnose::fault_kinds()) names.emplace_back(each.name);
        if (!kind.empty() && std::ranges::find(names, kind) == names.end()) {
            const std::string near = layout::nearest_word(kind, names);
            element.complain("unknown-fault", "no kind of fault is called " + in_quotes(kind),
                             near.empty() ? "there are " + join_words(names, "and") : "did you mean " + in_quotes(near) + "?", "kind");
            return;
        }
        for (const diagnose::OwnChance& known : result_.readings.chances)
            if (known.kind == kind) {
                element.complain("contradiction", "how often " + in_quotes(kind) + " happens is said twice", "keep one of the lines", "kind");
                return;
            }
        if (element.sound()) result_.readings.chances.push_back({element.place(), kind, element.number("chance")});
    }

    void when(const Element& element) {
        std::int32_t arrangement = 0;
        const std::string name = element.text("arrangement");
        if (!name.empty()) {
            std::vector<std::string_view> names;
            for (const layout::Arrangement& each : layout_.arrangements) names.push_back(each.name);
            const auto found = std::ranges::find(names, name);
            if (found == names.end()) {
                const std::string near = layout::nearest_word(name, names);
                element.complain("unknown-arrangement", "the layout has no arrangement " + in_quotes(name),
                                 near.empty() ? "there are " + join_words(names, "and") : "did you mean " + in_quotes(near) + "?", "arrangement");
            } else {
                arrangement = static_cast<std::int32_t>(found - names.begin());
            }
        }
        visit_ = static_cast<std::int32_t>(result_.readings.visits.size());
        result_.readings.visits.push_back({element.place(), arrangement});
        for (const pugi::xml_node& node : element.children()) {
            if (result_.readings.readings.size() >= kMostReadings) {
                element.complain("too-many-readings", "more than " + std::to_string(kMostReadings) + " readings",
                                 "leave some out: a dozen tell as much");
                return;
            }
            one(Element(context_, node, 0, *find_element(node.name(), "when")));
        }
        const auto of_this = [this](const diagnose::Reading& reading) { return reading.what.visit == visit_; };
        if (std::ranges::none_of(result_.readings.readings, of_this)) result_.readings.visits.pop_back();  // nothing filled in
    }

    void one(const Element& element) {
        const std::string_view name = element.name();
        if (name == "level") level(element);
        if (name == "flow") flow(element);
        if (name == "bucket") bucket(element);
        if (name == "pressure") pressure(element);
        if (name == "time") time(element);
        if (name == "siphon") siphon(element);
        if (name == "overflow") yes_or_no(element, Quantity::overflows, Kind::standpipe);
        if (name == "spill") yes_or_no(element, Quantity::spills, Kind::vessel);
        if (name == "air") yes_or_no(element, Quantity::draws_air, Kind::pump);
    }

    void add(const Element& element, Quantity quantity, const Ref& of, double value, double sigma, Instrument by, double from_m = layout::kNotSaid,
             double to_m = layout::kNotSaid) {
        if (!element.sound() || of.index < 0) return;
        diagnose::Reading reading;
        reading.place = element.place();
        reading.what = {.quantity = quantity, .of = of, .from_m = from_m, .to_m = to_m, .visit = visit_};
        reading.value = value;
        reading.sigma = sigma;
        reading.by = by;
        result_.readings.readings.push_back(reading);
    }

    void level(const Element& element) {
        const Ref of = thing(element, "of", {Kind::vessel});
        const bool depth = element.has("depth"), rim = element.has("below-rim"), moves = element.has("moves");
        if (depth && rim) return element.complain("two-depths", "both depth= and below-rim= are said", "keep the one that was read", "below-rim");
        if (!depth && !rim && !moves && element.sound())
            return element.complain("no-depth", "the <level> does not say where the water stands", "write depth=, below-rim= or moves=");
        if (of.index < 0) return;
        if (moves)
            add(element, Quantity::moves, of,
                element.is("moves", "falls")   ? -1.0
                : element.is("moves", "rises") ? 1.0
                                               : 0.0,
                0.0, Instrument::glance);
        if (!depth && !rim) return;
        const layout::Vessel& vessel = layout_.vessels[at(of.index)];
        const double height_m = vessel.rim_m - vessel.floor_m;
        const double depth_m = depth ? element.number("depth") : height_m - element.number("below-rim");
        const std::string_view said_by = depth ? "depth" : "below-rim";
        if (depth_m > height_m + kOverRim_m)
            return element.complain("impossible-reading", vessel.id + " is " + brief_number(height_m) + " m deep, and water over its rim runs away",
                                    "read it again; depth= is counted from the floor, below-rim= from the rim down", said_by);
        if (depth_m < 0.0)
            return element.complain("impossible-reading", vessel.id + " is only " + brief_number(height_m) + " m deep",
                                    "read it again; below-rim= is counted from the rim down", said_by);
        const double plus_minus = element.number("plus-minus", diagnose::kTape_m);
        add(element, Quantity::depth, of, depth_m, 0.5 * plus_minus, Instrument::tape);
    }

    Ref passage(const Element& element) const {
        return thing(element, "of", {Kind::pipe, Kind::nozzle, Kind::float_valve, Kind::pump, Kind::filter, Kind::supply});
    }
    static double flow_sigma(double flow_m3_s, double share) { return 0.5 * std::max(share * std::abs(flow_m3_s), diagnose::kLeastFlow_m3_s); }

    void flow(const Element& element) {
        const double flow_m3_s = element.number("is");
        add(element, Quantity::flow, passage(element), flow_m3_s, flow_sigma(flow_m3_s, element.number("plus-minus", diagnose::kMeter)),
            Instrument::meter);
    }

    void bucket(const Element& element) {
        const double flow_m3_s = element.number("volume") / element.number("seconds");
        add(element, Quantity::flow, passage(element), flow_m3_s, flow_sigma(flow_m3_s, element.number("plus-minus", diagnose::kBucket)),
            Instrument::bucket);
    }

    void pressure(const Element& element) {
        const Ref at_place = thing(element, "at", {Kind::tee, Kind::pump, Kind::filter});
        const double head_m = element.number("is");
        const double plus_minus = element.number("plus-minus", std::max(diagnose::kGaugeLeast_m, diagnose::kGauge * std::abs(head_m)));
        add(element, Quantity::pressure, at_place, head_m, 0.5 * plus_minus, Instrument::gauge);
    }

    void time(const Element& element) {
        const Ref of = thing(element, "of", {Kind::vessel});
        if (of.index < 0 || !element.sound()) return;
        const layout::Vessel& vessel = layout_.vessels[at(of.index)];
        const double from_m = element.number("from"), to_m = element.number("to"), takes_s = element.number("takes");
        for (const std::string_view end : {"from", "to"})
            if (element.number(end) > vessel.rim_m - vessel.floor_m)
                return element.complain("impossible-reading", vessel.id + " is " + brief_number(vessel.rim_m - vessel.floor_m) + " m deep",
                                        "write a depth above its floor that it can hold", end);
        if (std::abs(from_m - to_m) < kLeastFall_m)
            return element.complain("no-way", "from= and to= are hardly apart", "write depths that differ by more than 2 mm", "to");
        add(element, from_m > to_m ? Quantity::fall_time : Quantity::rise_time, of, takes_s,
            0.5 * std::max(element.number("plus-minus", diagnose::kWatch) * takes_s, 1.0), Instrument::watch, from_m, to_m);
    }

    void siphon(const Element& element) {
        const Ref of = thing(element, "of", {Kind::siphon});
        const double does = element.is("does", "silent") ? 0.0 : element.is("does", "dribbles") ? 1.0 : element.is("does", "runs") ? 2.0 : 3.0;
        add(element, Quantity::siphon, of, does, 0.0, Instrument::glance);
    }

    void yes_or_no(const Element& element, Quantity quantity, Kind kind) {
        const Ref of = thing(element, "of", {kind});
        add(element, quantity, of, element.is("is", "yes") ? 1.0 : 0.0, 0.0, Instrument::glance);
    }

    const Layout& layout_;
    const Documents& documents_;
    ElementContext context_;
    Things things_;
    ReadingsResult& result_;
    std::int32_t visit_ = 0;
};

ReadingsResult read_documents(Documents documents, Report& report, const Layout& layout) {
    ReadingsResult result;
    if (documents.root) Reader(layout, documents, report, result).read();
    result.problems = std::move(report.problems);
    std::ranges::stable_sort(result.problems, [](const layout::Problem& one, const layout::Problem& other) {
        return std::tie(one.place.line, one.place.column) < std::tie(other.place.line, other.place.column);
    });
    result.files = std::move(documents.files);
    return result;
}

}  // namespace

ReadingsResult read_readings(const std::filesystem::path& path, const Layout& layout) {
    Report report;
    return read_documents(load_documents(path, WantedRoot::readings, report), report, layout);
}

ReadingsResult read_readings_text(std::string text, const std::string& name, const Layout& layout) {
    Report report;
    return read_documents(load_text(std::move(text), name, WantedRoot::readings, report), report, layout);
}

}  // namespace ebb::netfiles
