// Filters, tees, nozzles, supplies and float valves.

#include <algorithm>
#include <cmath>

#include "solver/layout/checks.h"

namespace ebb::layout {
namespace {

std::string pipes_text(std::int32_t count) { return count == 0 ? "no pipe" : (count == 1 ? "one pipe" : std::to_string(count) + " pipes"); }

// ---- filters

void check_loss_points(Checks& checks, const Filter& filter, const std::vector<LossPoint>& points, std::string_view state) {
    for (std::size_t i = 1; i < points.size(); ++i) {
        if (points[i].flow_m3_s <= points[i - 1].flow_m3_s || points[i].head_m < points[i - 1].head_m) {
            checks.add({"filter-curve", filter.id, "the " + std::string(state) + " loss of filter " + filter.id + " does not rise with the flow",
                        "give each flow once, and no less head at a greater flow"},
                       filter.place);
            return;
        }
    }
}

void check_filters(Checks& checks, const Joints& joints) {
    for (std::size_t i = 0; i < checks.layout.filters.size(); ++i) {
        const Filter& filter = checks.layout.filters[i];
        if (filter.clean.empty()) {
            checks.add({"filter-no-clean", filter.id, "filter " + filter.id + " has no loss in the clean state",
                        "write <loss state=\"clean\" flow=\"6 m3/h\" head=\"0.6 m\"/> inside it"},
                       filter.place);
        }
        check_loss_points(checks, filter, filter.clean, "clean");
        check_loss_points(checks, filter, filter.dirty, "dirty");
        const Joint& joint = joints.filters[i];
        if (joint.in.pipes != 1 || joint.out.pipes != 1) {
            checks.add(
                {"filter-pipes", filter.id,
                 "filter " + filter.id + " has " + pipes_text(joint.in.pipes) + " leading to it and " + pipes_text(joint.out.pipes) + " leading away",
                 "lead exactly one pipe to it and one away; join others at a tee"},
                filter.place);
        }
    }
}

// ---- tees

void check_vented(Checks& checks, const Tee& tee, const Joint& joint) {
    if (joint.out.drains == 1 && joint.out.pipes == 1) {
        return;
    }
    const std::int32_t wrong = joint.out.pipes > joint.out.drains ? joint.out.pipes - joint.out.drains : 0;
    const std::string says = wrong > 0 ? "a pipe that is no drain leads away from the vented tee " + tee.id
                                       : std::to_string(joint.out.drains) + " drains lead away from the vented tee " + tee.id;
    checks.add({"vented-tee-drains", tee.id, (joint.out.pipes == 0 ? "no drain leads away from the vented tee " + tee.id : says),
                "let exactly one <drain from=" + in_quotes(tee.id) + " .../> lead away, and nothing else"},
               tee.place);
}

void check_header(Checks& checks, Tee& tee, const Joint& joint) {
    const std::int32_t joined = joint.in.pipes + joint.out.pipes;
    if (tee.vented) {
        checks.add({"tee-header", tee.id, "tee " + tee.id + " is vented and on a header", "keep vented= or loss=", "loss"}, tee.place);
        return;
    }
    if (joined != 3) {
        checks.add({"tee-header", tee.id, "tee " + tee.id + " has the loss of a header but joins " + pipes_text(joined),
                    "join exactly three pipes, or leave loss= out", "loss"},
                   tee.place);
        return;
    }
    const Ref branch = checks.resolve(tee.branch_id, {Kind::pipe}, {tee.id, "tee", "branch", tee.place});
    const std::int32_t here[] = {joint.in.first, joint.in.second, joint.out.first, joint.out.second};
    const bool third = joint.in.pipes == 3 || joint.out.pipes == 3;  // then the third pipe is not among the first two of each
    bool touches = branch.kind == Kind::pipe && std::ranges::find(here, branch.index) != std::end(here);
    if (branch.kind == Kind::pipe && third && !touches) {
        const Pipe& pipe = checks.layout.pipes[static_cast<std::size_t>(branch.index)];
        touches = pipe.from.id == tee.id || pipe.to.id == tee.id;
    }
    if (tee.branch_id.empty() || (branch.kind == Kind::pipe && !touches)) {
        checks.add({"tee-header", tee.id,
                    tee.branch_id.empty() ? "tee " + tee.id + " does not say which pipe is its branch"
                                          : "the branch " + in_quotes(tee.branch_id) + " does not end at tee " + tee.id,
                    "write branch= with the pipe at this tee that stands off the header", tee.branch_id.empty() ? "loss" : "branch"},
                   tee.place);
        return;
    }
    tee.branch = touches ? branch.index : -1;
}

void check_tees(Checks& checks, const Joints& joints) {
    for (std::size_t i = 0; i < checks.layout.tees.size(); ++i) {
        Tee& tee = checks.layout.tees[i];
        checks.given(tee.elevation_m, {tee.id, "tee", "elevation", tee.place});
        if (tee.vented) {
            check_vented(checks, tee, joints.tees[i]);
        }
        if (tee.loss == TeeLoss::header) {
            check_header(checks, tee, joints.tees[i]);
        }
    }
}

// ---- nozzles, supplies, float valves

void check_nozzle(Checks& checks, Nozzle& nozzle, const Joint& joint) {
    nozzle.into = checks.resolve(nozzle.into_id, {Kind::vessel, Kind::pond}, {nozzle.id, "nozzle", "into", nozzle.place});
    if (nozzle.into_id.empty()) {
        checks.add({"missing", nozzle.id, "nozzle " + nozzle.id + " does not say what it waters", "say into= with a vessel"}, nozzle.place);
    }
    const bool holes = nozzle.holes > 0 || said(nozzle.hole_diameter_m);
    const bool rated = said(nozzle.rated_flow_m3_s) || said(nozzle.rated_head_m);
    const bool whole = holes ? nozzle.holes > 0 && said(nozzle.hole_diameter_m) : said(nozzle.rated_flow_m3_s) && said(nozzle.rated_head_m);
    if (holes && rated) {
        checks.add({"nozzle-rating", nozzle.id, "nozzle " + nozzle.id + " has both holes and a rated flow",
                    "keep holes= and hole-diameter=, or rated= and at=", "rated"},
                   nozzle.place);
    } else if (!whole) {
        checks.add({"nozzle-rating", nozzle.id, "nozzle " + nozzle.id + " does not say how much it passes",
                    "write holes=\"12\" hole-diameter=\"3 mm\", or rated=\"0.8 m3/h\" at=\"5 m\""},
                   nozzle.place);
    }
    if (joint.in.pipes != 1) {
        checks.add(
            {"nozzle-pipes", nozzle.id,
             pipes_text(joint.in.pipes) + (joint.in.pipes == 1 ? " leads" : (joint.in.pipes == 0 ? " leads" : " lead")) + " to nozzle " + nozzle.id,
             "lead exactly one pipe to it: <pipe to=" + in_quotes(nozzle.id) + " .../>"},
            nozzle.place);
    }
}

void check_float_valve(Checks& checks, FloatValve& valve, const Joint& joint) {
    valve.into = checks.resolve(valve.into_id, {Kind::vessel}, {valve.id, "float-valve", "into", valve.place});
    if (valve.into_id.empty()) {
        checks.add({"missing", valve.id, "float-valve " + valve.id + " does not say what it fills", "say into= with a vessel"}, valve.place);
    }
    const bool depths = checks.given(valve.opens_at_m, {valve.id, "float-valve", "opens-at", valve.place}) &&
                        checks.given(valve.closes_at_m, {valve.id, "float-valve", "closes-at", valve.place});
    checks.given(valve.rated_flow_m3_s, {valve.id, "float-valve", "rated", valve.place});
    checks.given(valve.rated_head_m, {valve.id, "float-valve", "at", valve.place});
    if (depths && valve.opens_at_m >= valve.closes_at_m) {
        checks.add({"float-valve-order", valve.id,
                    "float-valve " + valve.id + " is fully open at " + metres(valve.opens_at_m) + " and shut at " + metres(valve.closes_at_m),
                    "it opens as the level falls: opens-at= must be the lower depth", "opens-at"},
                   valve.place);
    }
    if (depths && valve.into.kind == Kind::vessel) {
        const Vessel& vessel = checks.layout.vessels[static_cast<std::size_t>(valve.into.index)];
        if (vessel.rim_m > vessel.floor_m && valve.closes_at_m > vessel.rim_m - vessel.floor_m + kSame_m) {
            checks.add({"float-above-rim", valve.id,
                        "float-valve " + valve.id + " shuts at " + metres(valve.closes_at_m) + ", but the rim of " + vessel.id + " is " +
                            metres(vessel.rim_m - vessel.floor_m) + " above its floor",
                        "write depths below the rim", "closes-at"},
                       valve.place, vessel.place);
        }
    }
    if (joint.in.pipes != 1) {
        checks.add({"float-valve-pipes", valve.id,
                    pipes_text(joint.in.pipes) + (joint.in.pipes > 1 ? " lead" : " leads") + " to float-valve " + valve.id,
                    "lead exactly one pipe to it: <pipe to=" + in_quotes(valve.id) + " .../>"},
                   valve.place);
    }
}

}  // namespace

void check_devices(Checks& checks, const Joints& joints) {
    check_filters(checks, joints);
    check_tees(checks, joints);
    for (std::size_t i = 0; i < checks.layout.nozzles.size(); ++i) {
        check_nozzle(checks, checks.layout.nozzles[i], joints.nozzles[i]);
    }
    for (const Supply& supply : checks.layout.supplies) {
        checks.given(supply.head_m, {supply.id, "supply", "pressure", supply.place});
        checks.given(supply.elevation_m, {supply.id, "supply", "elevation", supply.place});
    }
    for (std::size_t i = 0; i < checks.layout.float_valves.size(); ++i) {
        check_float_valve(checks, checks.layout.float_valves[i], joints.float_valves[i]);
    }
}

}  // namespace ebb::layout
