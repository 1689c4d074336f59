// Pipes and drains: what they may begin and end at, and their ports.

#include <cmath>
#include <limits>

#include "solver/layout/checks.h"

namespace ebb::layout {
namespace {

bool is_open_water(const Ref& ref) { return ref.kind == Kind::vessel || ref.kind == Kind::pond; }

std::string word_of(const Pipe& pipe) { return pipe.gravity ? "drain" : "pipe"; }

/// A label that is there but of a kind this end cannot have gets a message of its own.
void resolve_ends(Checks& checks, Pipe& pipe) {
    const std::string word = word_of(pipe);
    const Referrer from{pipe.id, word, "from", pipe.place};
    const Referrer to{pipe.id, word, "to", pipe.place};
    if (pipe.gravity) {
        pipe.from.ref = checks.resolve(pipe.from.id, {Kind::vessel, Kind::standpipe, Kind::siphon, Kind::tee}, from);
        pipe.to.ref = checks.resolve(pipe.to.id, {Kind::vessel, Kind::pond, Kind::tee}, to);
    } else {
        pipe.from.ref = checks.resolve(
            pipe.from.id, {Kind::vessel, Kind::pond, Kind::tee, Kind::pump, Kind::filter, Kind::supply, Kind::standpipe, Kind::siphon}, from);
        pipe.to.ref =
            checks.resolve(pipe.to.id, {Kind::vessel, Kind::pond, Kind::tee, Kind::pump, Kind::filter, Kind::nozzle, Kind::float_valve}, to);
    }
    for (const bool at_from : {true, false}) {
        const End& end = at_from ? pipe.from : pipe.to;
        if (end.id.empty()) {
            checks.add({"missing", pipe.id, word + " " + pipe.id + " does not say where it " + (at_from ? "begins" : "ends"),
                        std::string("say ") + (at_from ? "from" : "to") + "= with a label"},
                       pipe.place);
        }
    }
    if (pipe.from.ref.kind != Kind::none && pipe.from.ref == pipe.to.ref) {
        checks.add(
            {"pipe-to-itself", pipe.id, word + " " + pipe.id + " begins and ends at " + in_quotes(pipe.from.id), "name two different things", "to"},
            pipe.place);
    }
}

/// Drains fall from an open foot, a port or a vented tee, to open water or a vented tee.
void check_drain_ends(Checks& checks, const Pipe& pipe) {
    for (const bool at_from : {true, false}) {
        const End& end = at_from ? pipe.from : pipe.to;
        if (end.ref.kind != Kind::tee) {
            continue;
        }
        const Tee& tee = checks.layout.tees[static_cast<std::size_t>(end.ref.index)];
        if (!tee.vented) {
            checks.add({"drain-unvented", pipe.id,
                        "drain " + pipe.id + (at_from ? " begins" : " ends") + " at tee " + tee.id + ", which lets no air in",
                        "write vented=\"yes\" on the tee, or make the drain a pipe", at_from ? "from" : "to"},
                       pipe.place, tee.place);
        }
    }
}

/// Height of the rim above the floor; infinite for ponds and where it does not matter.
double rim_height(const Layout& layout, const Ref& ref) {
    if (ref.kind != Kind::vessel) {
        return std::numeric_limits<double>::infinity();
    }
    const Vessel& vessel = layout.vessels[static_cast<std::size_t>(ref.index)];
    const double height_m = vessel.rim_m - vessel.floor_m;
    return height_m > 0.0 ? height_m : std::numeric_limits<double>::infinity();  // what is not above 0 has its own message
}

void check_heights(Checks& checks, const Pipe& pipe) {
    const std::string word = word_of(pipe);
    for (const bool at_from : {true, false}) {
        const End& end = at_from ? pipe.from : pipe.to;
        const std::string attribute = at_from ? "from-height" : "to-height";
        if (end.height() != 0.0 && end.ref.kind != Kind::none && !is_open_water(end.ref)) {
            checks.add({"height-nowhere", pipe.id,
                        word + " " + pipe.id + " has a " + attribute + " at " + in_quotes(end.id) + ", which is a " + name_of(end.ref.kind),
                        "leave it out: only vessels and ponds have heights of ports", attribute},
                       pipe.place);
        }
        if (end.height() < 0.0) {
            checks.add({"port-below-floor", pipe.id, word + " " + pipe.id + ": " + attribute + " is below the floor",
                        "write a height above the floor", attribute},
                       pipe.place);
        }
    }
    const double rim_m = rim_height(checks.layout, pipe.from.ref);
    if (pipe.from.height() > rim_m + kSame_m) {
        checks.add({"port-above-rim", pipe.id,
                    word + " " + pipe.id + " leaves " + pipe.from.id + " at " + metres(pipe.from.height()) + " above its floor, but the rim is at " +
                        metres(rim_m) + ": no water can leave there",
                    "write a height of " + metres(rim_m) + " or less; heights are above the floor, not above the datum", "from-height"},
                   pipe.place);
    }
    if (said(pipe.air_hole_m) && pipe.to.ref.kind != Kind::none && !is_open_water(pipe.to.ref)) {
        checks.add({"air-hole-nowhere", pipe.id, word + " " + pipe.id + " has an air-hole but does not end at a vessel", "leave it out", "air-hole"},
                   pipe.place);
    } else if (said(pipe.air_hole_m) && pipe.air_hole_m < pipe.to.height()) {
        checks.add({"air-hole-low", pipe.id,
                    word + " " + pipe.id + ": the air-hole (" + metres(pipe.air_hole_m) + ") is below the end of the pipe (" +
                        metres(pipe.to.height()) + ")",
                    "write the height of the hole above the floor, above the end of the pipe", "air-hole"},
                   pipe.place);
    }
}

void check_figures(Checks& checks, const Pipe& pipe) {
    const std::string word = word_of(pipe);
    const bool bore = checks.given(pipe.bore_m, {pipe.id, word, "bore", pipe.place});
    const bool length = checks.given(pipe.length_m, {pipe.id, word, "length", pipe.place});
    if ((bore && pipe.bore_m <= 0.0) || (length && pipe.length_m <= 0.0)) {
        checks.add({"not-positive", pipe.id, word + " " + pipe.id + " has no length or no bore", "write a length and a bore above nothing"},
                   pipe.place);
    }
    const bool hazen = checks.layout.friction == FrictionLaw::hazen_williams;
    const bool wall =
        checks.given(hazen ? pipe.hazen_williams_c : pipe.roughness_m, {pipe.id, word, hazen ? "hazen-williams" : "roughness", pipe.place});
    if (pipe.gravity) {
        checks.given(pipe.manning_n, {pipe.id, word, "manning", pipe.place});
    }
    if (bore && wall && !hazen && pipe.roughness_m > 0.1 * pipe.bore_m) {
        checks.add({"roughness-large", pipe.id,
                    word + " " + pipe.id + ": a roughness of " + figure(pipe.roughness_m * 1000.0) + " mm in a bore of " +
                        figure(pipe.bore_m * 1000.0) + " mm is no pipe",
                    "smooth plastic has roughness=\"0.0015 mm\"", "roughness"},
                   pipe.place);
    }
    for (const Fitting& fitting : pipe.fittings) {
        if (!said(fitting.loss) || fitting.loss < 0.0 || fitting.count < 1) {
            checks.add({"missing", pipe.id, "a fitting of " + pipe.id + " has no loss or count", "give its loss in velocity heads"}, pipe.place);
        }
    }
}

}  // namespace

void check_pipes(Checks& checks) {
    std::int32_t index = 0;
    for (Pipe& pipe : checks.layout.pipes) {
        resolve_ends(checks, pipe);
        if (pipe.gravity) {
            check_drain_ends(checks, pipe);
        }
        check_heights(checks, pipe);
        check_figures(checks, pipe);
        for (const std::int32_t valve : pipe.valves) {
            checks.layout.valves[static_cast<std::size_t>(valve)].pipe = index;
        }
        ++index;
    }
    for (const Valve& valve : checks.layout.valves) {
        checks.given(valve.loss, {valve.id, "valve", "loss", valve.place});
    }
}

}  // namespace ebb::layout
