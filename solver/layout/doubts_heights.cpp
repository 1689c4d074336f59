// Doubts about heights: inlets, lips, media, drains and sumps. The distances are common practice unless a source stands beside them.

#include <algorithm>
#include <cmath>
#include <limits>

#include "solver/layout/doubting.h"

namespace ebb::layout {
namespace {

constexpr double kLipBelowRim_m = 0.025;   ///< least distance of a lip below the rim
constexpr double kDryTop_m = 0.025;        ///< water should stop this far below the surface of the media
constexpr double kIntakeCover_m = 0.020;   ///< an intake needs this much water over it
constexpr double kAirGap_m = 0.025;        ///< of a top-up above the rim
constexpr double kFullSump = 0.90;         ///< a sump at rest fuller than this has no room for what comes home
constexpr double kSumpOfFlushedBed = 1.5;  ///< a sump should hold this many times the largest bed

std::string millimetres(double value_m) { return figure(std::round(value_m * 1000.0)) + " mm"; }

void doubt_inlets(Doubts& doubts) {
    for (const Pipe& pipe : doubts.layout.pipes) {
        if (pipe.to.ref.kind == Kind::vessel && !said(pipe.to.height_m)) {
            doubts.add({"inlet-height-unsaid", pipe.id,
                        std::string(pipe.gravity ? "drain " : "pipe ") + pipe.id + " does not say at what height it ends in " + pipe.to.id +
                            ": at the floor, under water?",
                        pipe.gravity ? "say to-height=, the invert above the floor; a drain that ends under water runs full and backs up"
                                     : "say to-height=, the invert above the floor; from an end under water the vessel runs back when the pump stops",
                        "to"},
                       pipe.place);
        }
    }
}

void doubt_lip(Doubts& doubts, const Vessel& vessel, double lip_m, const std::string& what, const Place& place) {
    const double below_m = height_of(vessel) - lip_m;
    if (below_m < kLipBelowRim_m - kSame_m) {
        doubts.add(
            {"lip-near-rim", vessel.id,
             what + " is only " + millimetres(below_m) + " below the rim of " + vessel.id + ": does that leave room for the water standing over it?",
             "common practice leaves 50 mm, and at least 25 mm"},
            place, vessel.place);
    } else if (said(vessel.media_depth_m) && vessel.media_depth_m - lip_m < kDryTop_m - kSame_m) {
        doubts.add({"media-flooded", vessel.id,
                    what + " lets the water rise to " + millimetres(std::abs(vessel.media_depth_m - lip_m)) +
                        (lip_m > vessel.media_depth_m ? " above" : " below") + " the surface of the media in " + vessel.id + ": is that meant?",
                    "common practice stops 25 to 50 mm below it, so that the top stays dry"},
                   place, vessel.place);
    }
}

void doubt_lips(Doubts& doubts) {
    for (const Standpipe& standpipe : doubts.layout.standpipes) {
        const Vessel& vessel = doubts.layout.vessels[static_cast<std::size_t>(standpipe.in.index)];
        for (const Insert& insert : standpipe.inserts) {
            doubt_lip(doubts, vessel, insert.lip_m, "the lip of insert " + in_quotes(insert.name) + " of " + standpipe.id,
                      insert.place.line > 0 ? insert.place : standpipe.place);
        }
    }
    for (const Siphon& siphon : doubts.layout.siphons) {
        const Vessel& vessel = doubts.layout.vessels[static_cast<std::size_t>(siphon.in.index)];
        doubt_lip(doubts, vessel, siphon.crest_m, "the crest of siphon " + siphon.id, siphon.place);
    }
}

double lowest_lip(const Standpipe& standpipe) { return std::ranges::min_element(standpipe.inserts, {}, &Insert::lip_m)->lip_m; }

/// A hole or port meant to empty a vessel that stands above the lip never sees water, or only when the lip is drowned.
void doubt_drains_above_lips(Doubts& doubts) {
    for (const Standpipe& standpipe : doubts.layout.standpipes) {
        for (const DrainHole& hole : standpipe.holes) {
            if (hole.height_m >= lowest_lip(standpipe)) {
                doubts.add({"drain-above-lip", standpipe.in_id,
                            "a drain-hole of " + standpipe.id + " is " + metres(hole.height_m) + " above the floor, its lowest lip at " +
                                metres(lowest_lip(standpipe)) + ": what should the hole drain?",
                            "put the hole below the lip"},
                           hole.place.line > 0 ? hole.place : standpipe.place);
            }
        }
    }
    std::vector<double> lips(doubts.layout.vessels.size(), std::numeric_limits<double>::infinity());
    for (const Standpipe& standpipe : doubts.layout.standpipes) {
        double& lip = lips[static_cast<std::size_t>(standpipe.in.index)];
        lip = std::min(lip, lowest_lip(standpipe));
    }
    for (const Pipe& pipe : doubts.layout.pipes) {
        const bool port = pipe.gravity && pipe.from.ref.kind == Kind::vessel;
        if (port && pipe.from.height() >= lips[static_cast<std::size_t>(pipe.from.ref.index)]) {
            doubts.add({"drain-above-lip", pipe.from.id,
                        "drain " + pipe.id + " leaves " + pipe.from.id + " at " + metres(pipe.from.height()) +
                            ", above the lip of its standpipe: the water goes over the lip first. Is that meant?",
                        "lower the port, or raise the lip", "from-height"},
                       pipe.place);
        }
    }
}

void doubt_air_gaps(Doubts& doubts) {
    for (const FloatValve& valve : doubts.layout.float_valves) {
        const Vessel& vessel = doubts.layout.vessels[static_cast<std::size_t>(valve.into.index)];
        if (said(valve.height_m) && valve.height_m < height_of(vessel) + kAirGap_m - kSame_m) {
            doubts.add({"no-air-gap", valve.id,
                        "the outlet of float-valve " + valve.id + " is not 25 mm above the rim of " + vessel.id +
                            ": could the farm's water be drawn back into the mains?",
                        "leave an air gap of two bores and at least 25 mm, or fit a backflow preventer; the local plumbing code decides", "height"},
                       valve.place);
        }
    }
}

void doubt_intakes(Doubts& doubts) {
    for (const Pump& pump : doubts.layout.pumps) {
        if (pump.in.kind != Kind::vessel) {
            continue;
        }
        const Vessel& vessel = doubts.layout.vessels[static_cast<std::size_t>(pump.in.index)];
        const double needs_m = pump.intake_height_m + kIntakeCover_m;
        if (vessel.start_depth_m < needs_m - kSame_m) {
            doubts.add({"intake-bare-at-start", pump.id,
                        "pump " + pump.id + " starts with " + metres(vessel.start_depth_m) + " of water in " + vessel.id + ", but its intake needs " +
                            metres(needs_m) + ": should it start dry?",
                        "raise start-depth, or lower the intake", "intake-height"},
                       pump.place, vessel.place);
        } else if (said(vessel.least_depth_m) && vessel.least_depth_m < needs_m - kSame_m) {
            doubts.add({"least-depth-bares-intake", pump.id,
                        "at the least depth of " + vessel.id + " (" + metres(vessel.least_depth_m) + ") the intake of " + pump.id +
                            " no longer has 20 mm of water over it: is that meant?",
                        "write a least-depth of " + metres(needs_m) + " or more", "intake-height"},
                       pump.place, vessel.place);
        }
    }
}

/// Water a bed gives back when it empties from its highest lip or crest.
double flushed_volume(const Doubts& doubts, std::size_t index) {
    double top_m = 0.0;
    const auto here = [index](const Ref& ref) { return ref.kind == Kind::vessel && static_cast<std::size_t>(ref.index) == index; };
    for (const Standpipe& standpipe : doubts.layout.standpipes) {
        if (here(standpipe.in)) {
            top_m = std::max(top_m, std::ranges::max_element(standpipe.inserts, {}, &Insert::lip_m)->lip_m);
        }
    }
    for (const Siphon& siphon : doubts.layout.siphons) {
        top_m = here(siphon.in) ? std::max(top_m, siphon.crest_m) : top_m;
    }
    return top_m > 0.0 ? volume_at_depth(doubts.layout.vessels[index], top_m) : 0.0;
}

}  // namespace

void doubt_heights(Doubts& doubts) {
    doubt_inlets(doubts);
    doubt_lips(doubts);
    doubt_drains_above_lips(doubts);
    doubt_air_gaps(doubts);
    doubt_intakes(doubts);
}

void doubt_sumps(Doubts& doubts) {
    double largest_m3 = 0.0;
    const Vessel* largest = nullptr;
    for (std::size_t i = 0; i < doubts.layout.vessels.size(); ++i) {
        const Vessel& vessel = doubts.layout.vessels[i];
        if (vessel.kind != VesselKind::bed) {
            continue;
        }
        const double volume_m3 = flushed_volume(doubts, i);
        if (volume_m3 > largest_m3) {
            largest_m3 = volume_m3;
            largest = &vessel;
        }
    }
    for (const Vessel& vessel : doubts.layout.vessels) {
        if (vessel.kind != VesselKind::sump) {
            continue;
        }
        const double holds_m3 = vessel.volume.back().volume_m3;
        if (largest != nullptr && holds_m3 < kSumpOfFlushedBed * largest_m3) {
            doubts.add({"sump-small", vessel.id,
                        "sump " + vessel.id + " holds " + figure(holds_m3 * 1000.0) + " l, the largest bed " + largest->id + " gives back " +
                            figure(largest_m3 * 1000.0) + " l: is there room when it empties?",
                        "common practice makes a sump hold at least one and a half times the largest bed"},
                       vessel.place, largest->place);
        }
        if (vessel.start_depth_m > kFullSump * height_of(vessel) + kSame_m) {
            doubts.add({"sump-full", vessel.id,
                        "sump " + vessel.id + " starts " + figure(std::round(100.0 * vessel.start_depth_m / height_of(vessel))) +
                            " % full: where does the water go that comes home when the pumps stop?",
                        "leave room above it, or start it lower", "start-depth"},
                       vessel.place);
        }
    }
}

void doubt_ways_out(Doubts& doubts) {
    std::vector<bool> out(doubts.layout.vessels.size(), false);
    std::vector<bool> in(doubts.layout.vessels.size(), false);
    const auto mark = [](std::vector<bool>& marks, const Ref& ref) {
        if (ref.kind == Kind::vessel) {
            marks[static_cast<std::size_t>(ref.index)] = true;
        }
    };
    for (const Standpipe& standpipe : doubts.layout.standpipes) {
        mark(out, standpipe.in);
    }
    for (const Siphon& siphon : doubts.layout.siphons) {
        mark(out, siphon.in);
    }
    for (const Pump& pump : doubts.layout.pumps) {
        mark(out, pump.in);
    }
    for (const Nozzle& nozzle : doubts.layout.nozzles) {
        mark(in, nozzle.into);
    }
    for (const FloatValve& valve : doubts.layout.float_valves) {
        mark(in, valve.into);
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        const Vessel& vessel = doubts.layout.vessels[i];
        const Joint& joint = doubts.joints.vessels[i];
        const bool fed = in[i] || joint.in.pipes > 0;
        const bool leaves = out[i] || joint.out.pipes > 0;
        if (fed && !leaves && joint.in.pipes + joint.out.pipes < 2) {
            doubts.add({"no-way-out", vessel.id, "water flows into " + vessel.id + " but nothing leads out of it: will it run over?",
                        "add a standpipe, a siphon, a drain or a pump"},
                       vessel.place);
        } else if (!fed && !leaves) {
            doubts.add({"joined-to-nothing", vessel.id,
                        std::string(name_of(vessel.kind)) + " " + vessel.id + " is joined to nothing: is something missing?",
                        "lead a pipe to it or away, or take it out"},
                       vessel.place);
        }
    }
    for (std::size_t i = 0; i < doubts.layout.tees.size(); ++i) {
        if (doubts.joints.tees[i].in.pipes + doubts.joints.tees[i].out.pipes == 0) {
            doubts.add({"joined-to-nothing", doubts.layout.tees[i].id, "tee " + doubts.layout.tees[i].id + " joins nothing: is something missing?",
                        "lead pipes to it, or take it out"},
                       doubts.layout.tees[i].place);
        }
    }
}

}  // namespace ebb::layout
