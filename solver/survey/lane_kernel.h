#pragma once
// One step of Newton's method in eight lanes: network::Solver's evaluate(), arrived() and step() (newton.cpp) with a vector where they have a number.
//
// Equations, signs and safeguards are those of newton.h. What differs:
//   the levels are always among the unknowns; in a lane whose levels are given they are known like the level of a vessel at its rim
//   links go into matrix and right side while they are made linear, before it is known which lanes have arrived
//   the matrix is taken for unsymmetric always, and eliminated by a programme made once (lane_setup.cpp): no search, no indices to follow
//   Colebrook's equation gets one step of its own per step of Newton's (eight_friction.h); a lane arrives only when it is solved to rounding
//
// The programme: for each unknown in the order of elimination its number n, the count m of later unknowns it touches, then m times (the place of
// A(n, j), the place of A(j, n), j), then m times m places of A(i, j), row by row; m is written negative where nothing stands between those yet.
// Places and numbers are lines of `matrix`; the diagonal stands first. Elimination is from the top, right side included, with A(n, n) replaced by its
// inverse; the way back needs the first part only, read from the end of the programme by the starts that follow it. Storage: about 50 lines of 64
// bytes per link; it fits the second cache up to a thousand links.
//
// This header is included by one source for each set of instructions, which is compiled with -ffp-contract=off: every operation is rounded by
// itself, so that all of them give the same digits. Nothing in it may be shared between those sources, or the linker would keep one
// processor's code for all: everything stands in an unnamed namespace, no inline function of the standard library is used, and what is called is
// called through pointers (tests/survey/lane_symbols.py looks).
//
// Cost (tests/bench/lanes_bench.cpp: 145 links, 117 unknowns, levels unknown, one busy core of 2.3 GHz): 1.4 us per step of a lane with AVX-512, 1.9
// with AVX2, 3.4 with neither, against 12 us in the single solve; loading and the last evaluation of every lane included. Pipes of their own in
// every lane cost 3 % more.
//
// Failure: a lane whose matrix has a pivot that is not positive, or that has made its greatest number of steps, is reported and left.

#include "solver/survey/lane_links.h"
#include "solver/survey/lane_system.h"

namespace ebb::survey {
namespace {

/// Vented nodes: does their drain still carry what arrives?
template <bool kOwn>
EBB_PART LaneBits look_at_vents(LaneData& d, Pass& pass) {
    LaneBits filled = 0;
    for (std::int32_t i = 0; i < d.vents; ++i) {
        const LaneVent& vent = d.vent[i];
        const LaneBits was_air = d.air[vent.node], vented = static_cast<LaneBits>(d.vented[vent.node] & d.active);
        const LaneLink& link = d.link[vent.link];
        const Eight flow = get(d.flow[vent.link]), below = greater_of(get(d.head[link.to]), every(link.to_port_m));
        // where the drain can carry the flow with ease its friction need not be known
        const Which easy = (flow <= get(d.safe_flow[i])) & (below <= every(vent.safe_below_m));
        const LaneBits hard = without(vented, static_cast<LaneBits>(bits_of(easy) & ~d.shut[vent.link]));
        LaneBits air = without(vented, hard);
        Eight needed = every(kInfinite);
        const LaneBits asks = static_cast<LaneBits>(hard | without(d.active, d.vented[vent.node]));
        if (asks != 0) {
            const Which asking = which_of(asks), shut = which_of(d.shut[vent.link]);
            Eight X = get(d.start_X[vent.link]), loss, inverse;
            Which sure = pass.sure;
            loss_at<kOwn, false>(d, vent.link, asks, flow, X, loss, inverse, sure);
            pass.sure = pass.sure & (sure | shut | ~asking);
            put_where(asking, X, d.start_X[vent.link]);
            put(loss, d.vent_loss[i]);
            put(inverse, d.vent_inverse[i]);
            needed = choose(shut, every(kInfinite), below + loss);
            air = static_cast<LaneBits>(air | (bits_of(needed <= every(vent.elevation_m)) & hard));
        }
        const LaneBits fills = static_cast<LaneBits>(without(was_air, air) & vented);
        d.full_step = without(d.full_step, static_cast<LaneBits>((air ^ was_air) & vented));
        d.air[vent.node] = static_cast<LaneBits>(without(was_air, d.active) | air);
        Eight head = choose(which_of(air), every(vent.elevation_m), get(d.head[vent.node]));
        if (fills != 0)
            head = choose(which_of(fills) & (needed < every(kInfinite)), lesser_of(needed, every(vent.elevation_m + network::kMostRise_m)), head);
        put(head, d.head[vent.node]);
        filled |= fills;
    }
    return filled;
}

/// Vessels at their rims; the volume at each level; which heads are known; the rows of vessels in matrix and right side.
EBB_PART void look_at_vessels(LaneData& d, const Pass& pass) {
    const LaneBits given = static_cast<LaneBits>(~d.levels_unknown);
    const Eight inverse_tau = every(1.0) / get(d.tau);
    for (std::int32_t v = 0; v < d.vessels; ++v) {
        const LaneVessel& vessel = d.vessel[v];
        const std::int32_t n = d.plain + v;
        const Eight rim = every(vessel.rim_m);
        Eight level = get(d.head[n]), spill = get(d.spill[v]);
        const Which ends = which_of(d.brim[v]) & (spill < every(0.0)) & pass.active;
        const Which over = pass.active & ~ends & (level > rim);
        d.brim[v] = static_cast<LaneBits>(without(d.brim[v], bits_of(ends)) | bits_of(over));
        spill = choose(ends, every(0.0), spill);
        level = choose(over, rim, level);
        put(spill, d.spill[v]);
        put(level, d.head[n]);
        const Eight depth = level - every(vessel.floor_m);
        const LanePiece* piece = d.piece + vessel.first_piece;
        Eight from = every(piece->depth_m), volume = every(piece->volume_m3), area = every(piece->area_m2);
        for (++piece; piece != d.piece + vessel.end_piece; ++piece) {
            const Which higher = depth > every(piece->depth_m);
            from = choose(higher, every(piece->depth_m), from);
            volume = choose(higher, every(piece->volume_m3), volume);
            area = choose(higher, every(piece->area_m2), area);
        }
        volume = volume + area * (depth - from);
        put(volume, d.volume[v]);
        put(area, d.area[v]);
        d.known[n] = static_cast<LaneBits>(d.brim[v] | given);
        put(choose(which_of(d.known[n]), every(1.0), area * inverse_tau), d.matrix[n]);
        put(every(0.0) - ((volume - get(d.start_volume[v])) * inverse_tau + spill), d.rhs[n]);
    }
}

template <bool kOwn>
EBB_PART void look_at_links(LaneData& home, Pass& all) {
    // copies that nothing else can reach: what is stored through one pointer does not make the others to be read again
    LaneData d = home;
    Pass pass = all;
    pass.home = &home;
    for (std::int32_t l = 0; l < d.links; ++l) look_at_link<kOwn>(d, l, pass);
    all = pass;
}

/// Matrix and right side of plain nodes, and of places that no link fills, before the links.
EBB_PART void start_system(LaneData& d) {
    Line *const matrix = d.matrix, *const rhs = d.rhs;
    LaneBits* const known = d.known;
    const LaneBits* const air = d.air;
    const std::int32_t plain = d.plain, zeros = d.zeros;
    const std::int32_t* const zero_place = d.zero_place;
    const Eight zero = every(0.0);
    for (std::int32_t n = 0; n < plain; ++n) {
        known[n] = air[n];
        put(choose(which_of(air[n]), zero, every(kTinyProximal)), matrix[n]);
        put(zero, rhs[n]);
    }
    for (std::int32_t t = 0; t < d.takers; ++t) put(zero - get(d.taken[t]), rhs[d.taker[t]]);
    for (std::int32_t i = 0; i < zeros; ++i) put(zero, matrix[zero_place[i]]);
}

/// Makes every link linear at the lanes' points and fills matrix and right side.
template <bool kOwn>
EBB_EIGHT void evaluate(LaneData& d, Pass& pass) {
    const LaneBits filled = look_at_vents<kOwn>(d, pass);
    look_at_vessels(d, pass);
    if (filled != 0) limit_feet(d, filled);
    start_system(d);
    pass.flow_tolerance = get(d.flow_share) * get(d.largest_flow) + every(network::kStillFlow_m3_s);
    look_at_links<kOwn>(d, pass);
    LaneBits every_link = kAllLanes;
    for (std::int32_t l = 0; l < d.links; ++l) every_link = static_cast<LaneBits>(every_link & d.by_law[l]);
    pass.not_all_by_law = ~which_of(every_link);
}

template <bool kOwn>
void advance(LaneData& d, LaneBits& arrived, LaneBits& failed) {
    Pass pass;
    pass.active = which_of(d.active);
    pass.secant = which_of(d.linear_start);
    pass.head_tolerance = get(d.head_tolerance);
    pass.unsettled = ~which_of(kAllLanes);
    pass.not_all_by_law = pass.unsettled;
    pass.sure = which_of(kAllLanes);
    evaluate<kOwn>(d, pass);
    d.linear_start = 0;
    LaneBits near = static_cast<LaneBits>(d.active & d.full_step & bits_of(~pass.unsettled & pass.sure));
    if (near != 0) near = balanced(d, pass, near);
    arrived = near;
    failed = 0;
    for (int lane = 0; lane < kLanes; ++lane)
        if (d.steps[lane] >= d.greatest_steps[lane]) failed |= static_cast<LaneBits>(1U << lane);
    failed = static_cast<LaneBits>(without(d.active, arrived) & failed);
    d.active = without(d.active, static_cast<LaneBits>(arrived | failed));
    if (d.active == 0) return;
    const LaneBits solved = solve(d), lost = without(d.active, solved);
    failed |= lost;
    d.active = without(d.active, lost);
    LaneBits relaxed = 0;
    for (int lane = 0; lane < kLanes; ++lane) {
        if ((d.active >> lane & 1U) == 0) continue;
        const int steps = ++d.steps[lane];
        if (steps > network::kFullSteps && steps % network::kRelaxRound != 0) relaxed |= static_cast<LaneBits>(1U << lane);
    }
    move(d, pass, d.active, relaxed);
}

EBB_EIGHT void function(int which, const Line& x, Line& y) { put(which == 0 ? physics::ln(get(x)) : physics::exponential(get(x)), y); }

}  // namespace
}  // namespace ebb::survey
