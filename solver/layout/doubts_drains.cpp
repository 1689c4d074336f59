// Doubts about falls and lengths. Least falls of drains: 2 % up to 65 mm, 1 % from 75 to 150 mm, 0.5 % above, as plumbing codes have it.

#include <algorithm>
#include <cmath>

#include "solver/layout/doubting.h"

namespace ebb::layout {
namespace {

struct FallRule {
    double bore_up_to_m;
    double least_fall;
};
constexpr double kFeetPerMetre = 1.0 / 0.3048;
constexpr FallRule kFallRules[] = {{0.070, 0.02}, {0.160, 0.01}, {10.0, 0.005}};

double least_fall(double bore_m) {
    const auto* rule = std::ranges::find_if(kFallRules, [bore_m](const FallRule& candidate) { return bore_m <= candidate.bore_up_to_m; });
    return rule == std::end(kFallRules) ? kFallRules[2].least_fall : rule->least_fall;
}

/// Where an end lies as far as it is worth a question: what leads out of a siphon or into a float valve may begin and end anywhere at their wall.
double sure_elevation(const Layout& layout, const End& end) {
    return end.ref.kind == Kind::siphon || end.ref.kind == Kind::float_valve ? kNotSaid : elevation_of(layout, end);
}

void doubt_fall(Doubts& doubts, const Pipe& pipe) {
    const double from_m = sure_elevation(doubts.layout, pipe.from);
    const double to_m = sure_elevation(doubts.layout, pipe.to);
    if (!said(from_m) || !said(to_m)) {
        return;
    }
    const double fall_m = from_m - to_m;
    const double least = least_fall(pipe.bore_m);
    if (fall_m < -kSame_m) {
        doubts.add({"drain-adverse", pipe.id,
                    "drain " + pipe.id + " rises by " + metres(-fall_m) + " from " + pipe.from.id + " (" + metres(from_m) + ") to " + pipe.to.id +
                        " (" + metres(to_m) + "): should it not fall?",
                    "check the elevations and heights at its ends; as drawn it stands full of water"},
                   pipe.place);
    } else if (fall_m < least * pipe.length_m - kSame_m) {
        doubts.add({"drain-flat", pipe.id,
                    "drain " + pipe.id + " falls " + metres(std::max(fall_m, 0.0)) + " in " + metres(pipe.length_m) + " (" +
                        figure(std::max(fall_m, 0.0) / pipe.length_m * 100.0) + " %): is that enough?",
                    "plumbing codes want " + figure(least * 100.0) + " % at this bore, so that solids are carried along"},
                   pipe.place);
    }
}

void doubt_length(Doubts& doubts, const Pipe& pipe) {
    const double from_m = sure_elevation(doubts.layout, pipe.from);
    const double to_m = sure_elevation(doubts.layout, pipe.to);
    if (!said(from_m) || !said(to_m)) {
        return;
    }
    const double between_m = std::abs(from_m - to_m);
    // A port above a pump, or at a pond whose level stands for a lake, says little of the way there; 2 cm are forgiven.
    const bool sure = pipe.from.ref.kind != Kind::pond && pipe.to.ref.kind != Kind::pond;
    if (sure && between_m > pipe.length_m + 0.02) {
        doubts.add({"pipe-shorter-than-rise", pipe.id,
                    std::string(pipe.gravity ? "drain " : "pipe ") + pipe.id + " is " + metres(pipe.length_m) + " long, but its ends are " +
                        metres(between_m) + " apart in height" +
                        (between_m <= kFeetPerMetre * pipe.length_m ? ": are feet and metres mixed here?" : ": how does it get there?"),
                    "check the length and the elevations at both ends", "length"},
                   pipe.place);
    }
}

/// A siphon draws only while its vessel stands above the end of the pipe behind it.
void doubt_siphon_outlets(Doubts& doubts) {
    for (std::size_t i = 0; i < doubts.layout.siphons.size(); ++i) {
        const Siphon& siphon = doubts.layout.siphons[i];
        const Vessel& vessel = doubts.layout.vessels[static_cast<std::size_t>(siphon.in.index)];
        const Pipe& behind = doubts.layout.pipes[static_cast<std::size_t>(doubts.joints.siphons[i].out.first)];
        const double outlet_m = sure_elevation(doubts.layout, behind.to);
        if (said(outlet_m) && outlet_m > vessel.floor_m + siphon.breaks_at_m - kSame_m) {
            doubts.add({"siphon-outlet-high", siphon.id,
                        "the pipe behind siphon " + siphon.id + " ends at " + metres(outlet_m) + ", not below the level at which it breaks (" +
                            metres(vessel.floor_m + siphon.breaks_at_m) + "): can it ever empty the vessel?",
                        "lead the outlet lower than the floor of " + vessel.id},
                       behind.place, siphon.place);
        }
    }
}

}  // namespace

void doubt_drains(Doubts& doubts) {
    for (const Pipe& pipe : doubts.layout.pipes) {
        if (pipe.gravity) {
            doubt_fall(doubts, pipe);
        }
        doubt_length(doubts, pipe);
    }
    doubt_siphon_outlets(doubts);
}

}  // namespace ebb::layout
