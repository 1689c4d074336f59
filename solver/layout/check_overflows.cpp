// Standpipes and siphons: lips, crests, and the one way out behind them.

#include <algorithm>
#include <cmath>

#include "solver/layout/checks.h"

namespace ebb::layout {
namespace {

/// The vessel by index, or nullptr when it could not be resolved or has no heights.
const Vessel* vessel_of(const Layout& layout, const Ref& ref) {
    if (ref.kind != Kind::vessel) {
        return nullptr;
    }
    const Vessel& vessel = layout.vessels[static_cast<std::size_t>(ref.index)];
    return vessel.rim_m > vessel.floor_m ? &vessel : nullptr;
}

void check_inserts(Checks& checks, const Standpipe& standpipe, const Vessel* vessel) {
    if (standpipe.inserts.empty()) {
        checks.add({"standpipe-no-insert", standpipe.id, "standpipe " + standpipe.id + " has no insert, so no lip",
                    "write <insert name=\"tall\" lip=\"0.26 m\"/> inside it"},
                   standpipe.place);
    }
    for (std::size_t i = 0; i < standpipe.inserts.size(); ++i) {
        const Insert& insert = standpipe.inserts[i];
        const Place& place = insert.place.line > 0 ? insert.place : standpipe.place;
        checks.given(insert.lip_m, {standpipe.id, "insert", "lip", place});
        const auto before = standpipe.inserts.begin() + static_cast<std::ptrdiff_t>(i);
        const auto twin = std::find_if(standpipe.inserts.begin(), before, [&](const Insert& other) { return other.name == insert.name; });
        if (twin != before) {
            checks.add({"name-twice", standpipe.id, "standpipe " + standpipe.id + " has two inserts called " + in_quotes(insert.name),
                        "give one of them another name", "name"},
                       place, twin->place);
        }
        if (vessel != nullptr && insert.lip_m > vessel->rim_m - vessel->floor_m + kSame_m) {
            checks.add({"lip-above-rim", standpipe.id,
                        "the lip of insert " + in_quotes(insert.name) + " of standpipe " + standpipe.id + " is " + metres(insert.lip_m) +
                            " above the floor of " + vessel->id + ", the rim only " + metres(vessel->rim_m - vessel->floor_m) +
                            ": the water would run over the rim first",
                        "write a lip below the rim; it is measured from the floor, not from the datum", "lip"},
                       place, vessel->place);
        }
    }
}

void check_standpipe(Checks& checks, Standpipe& standpipe, const Joint& joint) {
    standpipe.in = checks.resolve(standpipe.in_id, {Kind::vessel}, {standpipe.id, "standpipe", "in", standpipe.place});
    if (standpipe.in_id.empty()) {
        checks.add({"missing", standpipe.id, "standpipe " + standpipe.id + " does not say where it stands", "say in= with a vessel"},
                   standpipe.place);
    }
    checks.given(standpipe.bore_m, {standpipe.id, "standpipe", "bore", standpipe.place});
    const Vessel* vessel = vessel_of(checks.layout, standpipe.in);
    check_inserts(checks, standpipe, vessel);
    for (const DrainHole& hole : standpipe.holes) {
        const Place& place = hole.place.line > 0 ? hole.place : standpipe.place;
        checks.given(hole.diameter_m, {standpipe.id, "drain-hole", "diameter", place});
        if (vessel != nullptr && hole.height_m > vessel->rim_m - vessel->floor_m + kSame_m) {
            checks.add({"hole-above-rim", standpipe.id, "a drain-hole of standpipe " + standpipe.id + " is above the rim of " + vessel->id,
                        "write its height above the floor, below the lip", "height"},
                       place, vessel->place);
        }
    }
    const std::int32_t ways = joint.out.pipes;
    if (ways == 1 && joint.out.drains == 1) {
        return;
    }
    if (ways == 0) {
        checks.add({"standpipe-drains", standpipe.id, "no drain leads away from standpipe " + standpipe.id,
                    "write a <drain from=" + in_quotes(standpipe.id) + " .../>"},
                   standpipe.place);
        return;
    }
    const Pipe& first = checks.layout.pipes[static_cast<std::size_t>(joint.out.first)];
    if (ways == 1) {
        checks.add({"standpipe-drains", standpipe.id,
                    "pipe " + first.id + " leads away from standpipe " + standpipe.id + ", whose foot is open to the air",
                    "make it a drain: <drain id=" + in_quotes(first.id) + " .../>", "from"},
                   first.place, standpipe.place);
        return;
    }
    const Pipe& second = checks.layout.pipes[static_cast<std::size_t>(joint.out.second)];
    checks.add({"standpipe-drains", standpipe.id,
                std::to_string(ways) + " drains lead away from standpipe " + standpipe.id + ": " + first.id + " and " + second.id,
                "let exactly one lead away; branch at a vented tee", "from"},
               second.place, first.place);
}

void check_crest(Checks& checks, const Siphon& siphon, const Vessel* vessel) {
    const bool heights = checks.given(siphon.crest_m, {siphon.id, "siphon", "crest", siphon.place}) &&
                         checks.given(siphon.breaks_at_m, {siphon.id, "siphon", "breaks-at", siphon.place});
    checks.given(siphon.starts_with_m3_s, {siphon.id, "siphon", "starts-with", siphon.place});
    if (heights && siphon.breaks_at_m >= siphon.crest_m) {
        checks.add(
            {"siphon-order", siphon.id,
             "siphon " + siphon.id + " breaks at " + metres(siphon.breaks_at_m) + ", which is not below its crest at " + metres(siphon.crest_m),
             "write breaks-at= as the lower height: air gets in there when the vessel is nearly empty", "breaks-at"},
            siphon.place);
    }
    if (heights && vessel != nullptr && siphon.crest_m > vessel->rim_m - vessel->floor_m + kSame_m) {
        checks.add({"crest-above-rim", siphon.id,
                    "the crest of siphon " + siphon.id + " is " + metres(siphon.crest_m) + " above the floor of " + vessel->id + ", the rim only " +
                        metres(vessel->rim_m - vessel->floor_m) + ": the water would run over the rim first",
                    "write a crest below the rim; it is measured from the floor, not from the datum", "crest"},
                   siphon.place, vessel->place);
    }
}

void check_siphon(Checks& checks, Siphon& siphon, const Joint& joint) {
    siphon.in = checks.resolve(siphon.in_id, {Kind::vessel}, {siphon.id, "siphon", "in", siphon.place});
    if (siphon.in_id.empty()) {
        checks.add({"missing", siphon.id, "siphon " + siphon.id + " does not say where it stands", "say in= with a vessel"}, siphon.place);
    }
    checks.given(siphon.bore_m, {siphon.id, "siphon", "bore", siphon.place});
    check_crest(checks, siphon, vessel_of(checks.layout, siphon.in));
    if (joint.out.pipes == 1) {
        return;
    }
    if (joint.out.pipes == 0) {
        checks.add({"siphon-outlets", siphon.id, "no pipe leads away from siphon " + siphon.id,
                    "write a <pipe from=" + in_quotes(siphon.id) + " .../> or a drain"},
                   siphon.place);
        return;
    }
    const Pipe& first = checks.layout.pipes[static_cast<std::size_t>(joint.out.first)];
    const Pipe& second = checks.layout.pipes[static_cast<std::size_t>(joint.out.second)];
    checks.add({"siphon-outlets", siphon.id,
                std::to_string(joint.out.pipes) + " pipes lead away from siphon " + siphon.id + ": " + first.id + " and " + second.id,
                "let exactly one lead away; branch at a tee", "from"},
               second.place, first.place);
}

}  // namespace

void check_overflows(Checks& checks, const Joints& joints) {
    for (std::size_t i = 0; i < checks.layout.standpipes.size(); ++i) {
        check_standpipe(checks, checks.layout.standpipes[i], joints.standpipes[i]);
    }
    for (std::size_t i = 0; i < checks.layout.siphons.size(); ++i) {
        check_siphon(checks, checks.layout.siphons[i], joints.siphons[i]);
    }
}

}  // namespace ebb::layout
