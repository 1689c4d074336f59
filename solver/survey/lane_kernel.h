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
// A(n, j), the place of A(j, n), j), then m times m places of A(i, j), row by row. Places and numbers are lines of `matrix`; the diagonal stands
// first. Elimination is from the top, right side included, with A(n, n) replaced by its inverse; the way back needs the first part only, read from
// the end of the programme by the starts that follow it. Storage: about 50 lines of 64 bytes per link; it fits the second cache up to a thousand
// links.
//
// This header is included by one source for each set of instructions, which is compiled with -ffp-contract=off: every operation is rounded by
// itself, so that all of them give the same digits. Nothing in it may be shared between those sources, or the linker would keep one
// processor's code for all: everything stands in an unnamed namespace, no inline function of the standard library is used, and what is called is
// called through pointers (tests/survey/lane_symbols.py looks).
//
// Failure: a lane whose matrix has a pivot that is not positive, or that has made its greatest number of steps, is reported and left.

#include "solver/survey/lane_laws.h"

namespace ebb::survey {
namespace {

/// What the lanes of one advance() have in common while it goes on.
struct Pass {
    Which active, secant;
    Eight head_tolerance, flow_tolerance;
    Which unsettled;  ///< some link is off its law
    Which not_all_by_law;
    Which sure;
};

/// A part of advance() that is compiled by itself.
#define EBB_PART __attribute__((noinline))

constexpr double kRoundingOfHeads = 16.0 * 2.2e-16;

/// Where the feet of weirs would stand at or over the water that feeds them they are put under it (Solver::limit_feet).
EBB_PART void limit_feet(LaneData& d, LaneBits lanes) {
    for (std::int32_t i = 0; i < d.feet; ++i) {
        const LaneFoot& foot = d.foot[i];
        const LaneLink &link = d.link[foot.link], &drain = d.link[foot.drain];
        const LaneBits free = without(lanes, static_cast<LaneBits>(d.air[link.to] | (foot.standpipe ? 0 : d.primed[foot.link])));
        if (free == 0) continue;
        const Eight edge = foot.standpipe ? get(d.value[foot.link]) : every(foot.crest_m);
        const Eight level = get(d.head[link.from]), below = greater_of(get(d.head[drain.to]), every(drain.to_port_m));
        const Eight stands = get(d.head[link.to]);
        const Which high = which_of(free) & (level > edge) & (below < level) & (stands >= level);
        const LaneBits bits = bits_of(high);
        if (bits == 0) continue;
        put_where(high, level - every(network::kKeepShare) * (level - greater_of(edge, below)), d.head[link.to]);
        d.full_step = without(d.full_step, bits);
    }
}

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
        if (fills != 0) head = choose(which_of(fills) & (needed < every(kInfinite)), needed, head);
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

/// Flow, slopes and bound of an h(Q) law with loss `loss` at `flow` (laws.cpp, bounded()).
template <bool kOwn>
EBB_EIGHT Linear bounded(LaneData& d, std::int32_t l, Which alive, Eight from, Eight to, Eight flow, Eight loss, Eight inverse) {
    const LaneLink& link = d.link[l];
    const Eight zero = every(0.0), from_port = every(link.from_port_m), to_port = every(link.to_port_m);
    const Eight error = loss - (greater_of(from, from_port) - greater_of(to, to_port)), q = flow - error * inverse;
    const bool bounds_forward = link.limited_from || link.port_from || link.band >= 0;
    if (!bounds_forward && (bits_of(alive & (q < zero)) & d.active) == 0)  // nothing bars the way on, and nothing goes back
        return {q, choose(from >= from_port, inverse, zero), choose(to >= to_port, inverse, zero), error, inverse, kAllLanes, 0, 0, 0, 0};
    Flow most{every(kInfinite), zero}, least{zero - every(kInfinite), zero};  // of `least` the slope is that of its size
    Opening opening{};
    if (link.limited_from || link.limited_to)
        opening = kOwn ? Opening{get(d.own_inverse_bore[l]), get(d.own_flow_scale[l]), get(d.own_slope_scale[l])}
                       : Opening{every(link.inverse_bore), every(link.opening_flow_scale), every(link.opening_slope_scale)};
    if (link.limited_from)
        most = entrance_limit(opening, from - every(link.from_leaves_m), q, alive & (q > zero));
    else if (link.port_from)
        most.value = choose(from_port > from, zero, most.value);
    if (link.limited_to) {
        least = entrance_limit(opening, to - every(link.to_leaves_m), zero - q, alive & (q < zero));
        least.value = zero - least.value;
    } else if (link.port_to) {
        least.value = choose(to_port > to, zero, least.value);
    }
    if (link.band >= 0) {
        const Eight band_most = get(d.band_most[link.band]), depth = from - every(link.band_zero_m), share = every(link.inverse_band);
        const Which banded = ~which_of(d.unbanded[l]), wet = depth > zero;
        most.value = choose(banded, choose(wet, band_most * depth * share, zero), most.value);
        most.slope = choose(banded, choose(wet, band_most * share, zero), most.slope);
    }
    const Which over = q > most.value, barred = ~over & which_of(d.one_way[l]) & (q < zero), back = ~over & ~barred & (q < least.value);
    const Which by_law = ~(over | barred | back);
    Linear linear;
    linear.q = choose(by_law, q, choose(over, most.value, choose(back, least.value, zero)));
    linear.a = choose(by_law, choose(from >= from_port, inverse, zero), choose(over, most.slope, zero));
    linear.b = choose(by_law, choose(to >= to_port, inverse, zero), choose(back, least.slope, zero));
    linear.error = choose(by_law, error, zero);
    linear.inverse = choose(by_law, inverse, zero);
    linear.by_law = bits_of(by_law);
    linear.cascade = 0;
    linear.entrance_from = bits_of(over);
    linear.entrance_to = bits_of(back);
    linear.one_way = bits_of(barred);
    return linear;
}

/// An h(Q) law, whatever stands at its ends.
template <bool kOwn>
EBB_EIGHT Linear pressed(LaneData& d, std::int32_t l, Pass& pass, Which alive, Eight from, Eight to) {
    const LaneLink& link = d.link[l];
    Eight flow = get(d.flow[l]), loss, inverse;
    const LaneBits cascade = link.vent >= 0 ? d.air[d.vent[link.vent].node] : LaneBits{0};
    if (link.vent >= 0) {
        loss = get(d.vent_loss[link.vent]);
        inverse = get(d.vent_inverse[link.vent]);
    } else {
        Eight X = get(d.start_X[l]);
        Which sure = pass.sure;
        loss_at<kOwn, false>(d, l, static_cast<LaneBits>(bits_of(alive) & d.active), flow, X, loss, inverse, sure);
        pass.sure = pass.sure & (sure | ~alive);
        put_where(pass.active, X, d.start_X[l]);
    }
    if (!link.is_pump) {
        const Eight drive = greater_of(from, every(link.from_port_m)) - greater_of(to, every(link.to_port_m));
        const Which still = alive & (flow == every(0.0)) & ~which_of(cascade);
        const LaneBits rest = bits_of(still & ~pass.secant & (size_of(drive) > every(kDriveThatCounts_m)));
        if (rest != 0) {
            Line drive_line, flow_line, loss_line, inverse_line;
            put(drive, drive_line);
            put(flow, flow_line);
            put(loss, loss_line);
            put(inverse, inverse_line);
            from_rest<kOwn>(d, l, rest, drive_line, flow_line, loss_line, inverse_line);
            flow = get(flow_line);
            loss = get(loss_line);
            inverse = get(inverse_line);
        }
        if (to_mask(pass.secant) != 0)
            inverse = choose(pass.secant & (flow != every(0.0)), lesser_of(flow / loss, every(kMostInverseSlope)), inverse);
    }
    Linear linear = bounded<kOwn>(d, l, alive, from, to, flow, loss, inverse);
    if (cascade != 0) {
        const Which air = which_of(cascade);
        linear.q = choose(air, flow, linear.q);
        linear.a = choose(air, every(1.0), linear.a);
        linear.b = choose(air, every(0.0), linear.b);
        linear.error = choose(air, every(0.0), linear.error);
        linear.inverse = choose(air, every(0.0), linear.inverse);
        linear.cascade = cascade;
        linear.by_law = without(linear.by_law, cascade);
        linear.entrance_from = without(linear.entrance_from, cascade);
        linear.entrance_to = without(linear.entrance_to, cascade);
        linear.one_way = without(linear.one_way, cascade);
    }
    return linear;
}

EBB_EIGHT Linear opened(LaneData& d, std::int32_t l, Eight from, Eight to) {
    const LaneLink& link = d.link[l];
    if (link.law == LaneLaw::standpipe) return standpipe(d, d.weir[link.weir], get(d.value[l]), from, to);
    Line from_line, to_line, q, a, b;
    put(from, from_line);
    put(to, to_line);
    d.openings(d.context, l, from_line, to_line, q, a, b);
    const Eight zero = every(0.0);
    return {get(q), get(a), get(b), zero, zero, 0, 0, 0, 0, 0};
}

EBB_EIGHT Linear merge(Which first, const Linear& x, const Linear& y) {
    const LaneBits bits = bits_of(first);
    const auto both = [bits](LaneBits p, LaneBits r) { return static_cast<LaneBits>((p & bits) | without(r, bits)); };
    return {choose(first, x.q, y.q),
            choose(first, x.a, y.a),
            choose(first, x.b, y.b),
            choose(first, x.error, y.error),
            choose(first, x.inverse, y.inverse),
            both(x.by_law, y.by_law),
            both(x.cascade, y.cascade),
            both(x.entrance_from, y.entrance_from),
            both(x.entrance_to, y.entrance_to),
            both(x.one_way, y.one_way)};
}

/// Tests a link against what it carries, and puts it into matrix and right side.
EBB_EIGHT void take_in(LaneData& d, std::int32_t l, Pass& pass, const Linear& linear, Eight from, Eight to) {
    const LaneLink& link = d.link[l];
    put(linear.q, d.q[l]);
    put(linear.a, d.a[l]);
    put(linear.b, d.b[l]);
    const Eight rounding = every(kRoundingOfHeads) * (every(1.0) + size_of(from) + size_of(to));
    const Eight off = size_of(get(d.flow[l]) - linear.q);
    const Which wrong =
        (size_of(linear.error) > greater_of(pass.head_tolerance, rounding)) | (off > greater_of(pass.flow_tolerance, rounding * linear.inverse));
    pass.unsettled = pass.unsettled | (linear.cascade == 0 ? wrong : wrong & ~which_of(linear.cascade));
    const Eight zero = every(0.0);
    const LaneBits known_from = without(d.known[link.from], linear.cascade), known_to = d.known[link.to];
    const Eight a = known_from == 0 ? linear.a : choose(which_of(known_from), zero, linear.a);
    const Eight b = known_to == 0 ? linear.b : choose(which_of(known_to), zero, linear.b);
    if (link.from < d.unknowns) {
        put(get(d.rhs[link.from]) - linear.q, d.rhs[link.from]);
        put(get(d.matrix[link.from]) + a, d.matrix[link.from]);
    }
    if (link.to < d.unknowns) {
        put(get(d.rhs[link.to]) + linear.q, d.rhs[link.to]);
        put(get(d.matrix[link.to]) + b, d.matrix[link.to]);
    }
    if (link.from_to < 0) return;
    if (link.first_in_matrix) {
        put(zero - b, d.matrix[link.from_to]);
        put(zero - a, d.matrix[link.to_from]);
    } else {
        put(get(d.matrix[link.from_to]) - b, d.matrix[link.from_to]);
        put(get(d.matrix[link.to_from]) - a, d.matrix[link.to_from]);
    }
}

/// A drain that stands under air in every lane, or is shut: it carries what arrives.
EBB_EIGHT void hand_on(LaneData& d, std::int32_t l, LaneBits cascade) {
    const LaneLink& link = d.link[l];
    const Which air = which_of(cascade);
    const Eight zero = every(0.0), q = choose(air, get(d.flow[l]), zero), a = choose(air, every(1.0), zero);
    put(q, d.q[l]);
    put(a, d.a[l]);
    put(zero, d.b[l]);
    d.by_law[l] = d.at_entrance_from[l] = d.at_entrance_to[l] = d.at_one_way[l] = 0;
    d.cascade[l] = cascade;
    put(get(d.rhs[link.from]) - q, d.rhs[link.from]);
    put(get(d.matrix[link.from]) + a, d.matrix[link.from]);
    if (link.to < d.unknowns) put(get(d.rhs[link.to]) + q, d.rhs[link.to]);
    if (link.to_from < 0) return;
    if (link.first_in_matrix) {
        put(zero, d.matrix[link.from_to]);
        put(zero - a, d.matrix[link.to_from]);
    } else {
        put(get(d.matrix[link.to_from]) - a, d.matrix[link.to_from]);
    }
}

template <bool kOwn>
EBB_EIGHT void look_at_link(LaneData& d, std::int32_t l, Pass& pass) {
    const LaneLink& link = d.link[l];
    const LaneBits shut = d.shut[l];
    if (link.vent >= 0) {
        const LaneBits air = d.air[d.vent[link.vent].node];
        if (without(d.active, static_cast<LaneBits>(air | shut)) == 0) {
            // a shut drain that still has a flow is off its law; the step takes the flow away
            if ((shut & d.active) != 0) pass.unsettled = pass.unsettled | (which_of(shut) & (size_of(get(d.flow[l])) > pass.flow_tolerance));
            hand_on(d, l, without(air, shut));
            return;
        }
    }
    const Eight from = get(d.head[link.from]), to = get(d.head[link.to]);
    const Which alive = ~which_of(shut);
    Linear linear;
    if (link.law == LaneLaw::plain && (d.one_way[l] | d.linear_start) == 0) {
        const Eight flow = get(d.flow[l]);
        const Which resting = alive & (flow == every(0.0)) & pass.active;
        if (to_mask(resting) == 0) {
            Eight X = get(d.start_X[l]), loss, inverse;
            Which sure = pass.sure;
            loss_at<kOwn, false>(d, l, without(d.active, shut), flow, X, loss, inverse, sure);
            pass.sure = pass.sure & (sure | ~alive);
            put_where(pass.active, X, d.start_X[l]);
            const Eight error = loss - (from - to);
            linear = {flow - error * inverse, inverse, inverse, error, inverse, kAllLanes, 0, 0, 0, 0};
        } else {
            linear = pressed<kOwn>(d, l, pass, alive, from, to);
        }
    } else if (link.law == LaneLaw::standpipe || link.law == LaneLaw::opening) {
        linear = opened(d, l, from, to);
    } else if (link.law == LaneLaw::siphon) {
        const Which primed = which_of(d.primed[l]);
        linear = merge(primed, pressed<kOwn>(d, l, pass, alive & primed, from, to), opened(d, l, from, to));
    } else {
        linear = pressed<kOwn>(d, l, pass, alive, from, to);
    }
    if (shut != 0) {
        const Eight zero = every(0.0);
        linear.q = choose(alive, linear.q, zero);
        linear.a = choose(alive, linear.a, zero);
        linear.b = choose(alive, linear.b, zero);
        linear.error = choose(alive, linear.error, zero);
        linear.inverse = choose(alive, linear.inverse, zero);
        linear.by_law = without(linear.by_law, shut);
        linear.cascade = without(linear.cascade, shut);
        linear.entrance_from = without(linear.entrance_from, shut);
        linear.entrance_to = without(linear.entrance_to, shut);
        linear.one_way = without(linear.one_way, shut);
    }
    d.by_law[l] = linear.by_law;
    d.cascade[l] = linear.cascade;
    d.at_entrance_from[l] = linear.entrance_from;
    d.at_entrance_to[l] = linear.entrance_to;
    d.at_one_way[l] = linear.one_way;
    take_in(d, l, pass, linear, from, to);
}

template <bool kOwn>
EBB_PART void look_at_links(LaneData& d, Pass& pass) {
    for (std::int32_t l = 0; l < d.links; ++l) look_at_link<kOwn>(d, l, pass);
}

/// Makes every link linear at the lanes' points and fills matrix and right side.
template <bool kOwn>
EBB_EIGHT void evaluate(LaneData& d, Pass& pass) {
    const LaneBits filled = look_at_vents<kOwn>(d, pass);
    look_at_vessels(d, pass);
    if (filled != 0) limit_feet(d, filled);
    for (std::int32_t n = 0; n < d.plain; ++n) {
        d.known[n] = d.air[n];
        put(choose(which_of(d.air[n]), every(0.0), every(1e-14)), d.matrix[n]);
        put(every(0.0), d.rhs[n]);
    }
    for (std::int32_t t = 0; t < d.takers; ++t) put(every(0.0) - get(d.taken[t]), d.rhs[d.taker[t]]);
    for (std::int32_t m = d.first_fill; m < d.matrix_lines; ++m) put(every(0.0), d.matrix[m]);
    pass.flow_tolerance = get(d.flow_share) * get(d.largest_flow) + every(network::kStillFlow_m3_s);
    look_at_links<kOwn>(d, pass);
    LaneBits every_link = kAllLanes;
    for (std::int32_t l = 0; l < d.links; ++l) every_link = static_cast<LaneBits>(every_link & d.by_law[l]);
    pass.not_all_by_law = ~which_of(every_link);
}

/// In which of `lanes` the balances of all nodes hold (Solver::mass_error).
EBB_PART LaneBits balanced(LaneData& d, const Pass& pass, LaneBits lanes) {
    const Eight zero = every(0.0);
    for (std::int32_t n = 0; n < d.unknowns; ++n) put(zero, d.balance[n]);
    const Eight largest = get(d.largest_flow);
    for (std::int32_t l = 0; l < d.links; ++l) {
        const LaneLink& link = d.link[l];
        const Eight flow = get(d.flow[l]);
        if (link.from < d.unknowns) put(get(d.balance[link.from]) - flow, d.balance[link.from]);
        if (link.to < d.unknowns) put(get(d.balance[link.to]) + flow, d.balance[link.to]);
    }
    for (std::int32_t t = 0; t < d.takers; ++t) put(get(d.balance[d.taker[t]]) - get(d.taken[t]), d.balance[d.taker[t]]);
    const Eight tau = get(d.tau), inverse_tau = every(1.0) / tau;
    const Which unknown = which_of(d.levels_unknown);
    const Eight strict =
        choose(unknown, every(network::kRounding) * largest + every(network::kStillMass_m3_s) + every(network::kLostWater_m3) * inverse_tau,
               every(network::kLeak) * largest + every(network::kStillMass_m3_s));
    LaneBits strictly = d.keep_water;
    for (int lane = 0; lane < kLanes; ++lane)
        if (d.steps[lane] > network::kStrictSteps) strictly = without(strictly, static_cast<LaneBits>(1U << lane));
    const Eight allowed = choose(which_of(strictly), lesser_of(strict, pass.flow_tolerance), pass.flow_tolerance);
    Which off = every(0.0) != every(0.0);
    for (std::int32_t n = 0; n < d.plain; ++n) off = off | ~(size_of(get(d.balance[n])) <= allowed);
    for (std::int32_t v = 0; v < d.vessels; ++v) {
        const Eight level = get(d.head[d.plain + v]), start = get(d.start_volume[v]);
        const Eight left = get(d.balance[d.plain + v]) - (get(d.volume[v]) - start) * inverse_tau - get(d.spill[v]);
        const Eight rounding = every(1e-14) * (start + get(d.area[v]) * (every(1.0) + size_of(level))) * inverse_tau;
        off = off | (unknown & ~(size_of(left) <= allowed + rounding));
    }
    return static_cast<LaneBits>(lanes & bits_of(~off));
}

/// Eliminates by the programme; in `change` the solution. Returns the lanes in which every pivot was positive and finite.
EBB_PART LaneBits solve(LaneData& d) {
    // hold what nothing else holds (assembly.h)
    for (std::int32_t n = 0; n < d.plain; ++n) put(get(d.matrix[n]) * every(1.0 + 1e-12), d.matrix[n]);
    const Eight zero = every(0.0);
    Which fine = zero == zero;
    const std::int32_t* at = d.programme;
    for (std::int32_t k = 0; k < d.unknowns; ++k) {
        const std::int32_t n = at[0], m = at[1];
        const std::int32_t* const touched = at + 2;
        const std::int32_t* place = touched + 3 * m;
        const Eight pivot = get(d.matrix[n]);
        fine = fine & (pivot > zero) & (pivot < every(kInfinite));
        const Eight inverse = every(1.0) / pivot, right = get(d.rhs[n]);
        put(inverse, d.matrix[n]);
        for (std::int32_t i = 0; i < m; ++i) {
            const Eight share = get(d.matrix[touched[3 * i + 1]]) * inverse;
            Line& below = d.rhs[touched[3 * i + 2]];
            put(get(below) - share * right, below);
            for (std::int32_t j = 0; j < m; ++j) {
                Line& entry = d.matrix[*place++];
                put(get(entry) - share * get(d.matrix[touched[3 * j]]), entry);
            }
        }
        at = place;
    }
    // the way back: the starts of the steps follow the programme
    const std::int32_t* const starts = at;
    for (std::int32_t k = d.unknowns; k-- > 0;) {
        at = d.programme + starts[k];
        const std::int32_t n = at[0], m = at[1];
        Eight x = get(d.rhs[n]);
        for (std::int32_t j = 0; j < m; ++j) x = x - get(d.matrix[at[2 + 3 * j]]) * get(d.rhs[at[4 + 3 * j]]);
        put(x * get(d.matrix[n]), d.rhs[n]);
    }
    return bits_of(fine);
}

/// A step of level stopped a little past the first kink upwards, and before one that it would cross downwards from afar (Solver::limited_level).
EBB_EIGHT Eight limited_level(const LaneData& d, const LaneVessel& vessel, Eight from, Eight to) {
    to = lesser_of(greater_of(to, every(vessel.floor_m)), every(vessel.rim_m + network::kRoomOverRim_m));
    for (std::int32_t k = vessel.first_kink; k < vessel.end_kink; ++k) {
        const LaneKink& kink = d.kink[k];
        const Eight edge = kink.lip_of >= 0 ? get(d.value[kink.lip_of]) : every(kink.elevation_m), over = from - edge;
        const Which below = from <= edge, afar = ~below & (from > edge + every(network::kNearKink * kink.scale_m));
        to = choose(below, lesser_of(to, greater_of(from, edge + every(kink.scale_m))), to);
        to = choose(afar, greater_of(to, edge + every(network::kKeepShare) * over), to);
    }
    return to;
}

/// Moves the lanes of `moving` by the solution in `rhs`; `relaxed` ones by half of it.
EBB_PART void move(LaneData& d, const Pass& pass, LaneBits moving_bits, LaneBits relaxed) {
    const Which moving = which_of(moving_bits), half = which_of(relaxed);
    const Eight zero = every(0.0);
    if (relaxed != 0)
        for (std::int32_t n = 0; n < d.unknowns; ++n) d.old_head[n] = d.head[n];
    d.full_step |= moving_bits;
    LaneBits jumping = 0;
    for (std::int32_t n = 0; n < d.plain; ++n) {
        const Eight x = get(d.rhs[n]), step = choose(which_of(d.known[n]), zero, x);
        put(step, d.change[n]);
        const Which jump = (size_of(step) > every(network::kJump_m)) & pass.not_all_by_law;
        jumping |= bits_of(jump);
        put_where(moving & ~jump, get(d.head[n]) + step, d.head[n]);
    }
    for (std::int32_t v = 0; v < d.vessels; ++v) {
        const std::int32_t n = d.plain + v;
        const Eight x = get(d.rhs[n]), step = choose(which_of(d.known[n]), zero, x), level = get(d.head[n]), to = level + step;
        put(step, d.change[n]);
        const Eight clipped = limited_level(d, d.vessel[v], level, to);
        const Which free = moving & ~which_of(d.known[n]);
        d.full_step = without(d.full_step, bits_of(free & (clipped != to)));
        put_where(free, clipped, d.head[n]);
        const LaneBits spills = static_cast<LaneBits>(d.brim[v] & d.levels_unknown & moving_bits);
        if (spills != 0) put_where(which_of(spills), get(d.spill[v]) + x, d.spill[v]);
    }
    Eight largest = zero;
    for (std::int32_t l = 0; l < d.links; ++l) {
        const LaneLink& link = d.link[l];
        Eight from = get(d.change[link.from]);
        if (d.cascade[l] != 0) from = choose(which_of(d.cascade[l]), get(d.rhs[link.from]), from);
        const Eight flow = get(d.q[l]) + get(d.a[l]) * from - get(d.b[l]) * get(d.change[link.to]), old = get(d.flow[l]);
        const Eight went = relaxed == 0 ? flow : choose(half, old + every(network::kRelaxShare) * (flow - old), flow);
        const Eight now = choose(moving, went, old);
        largest = greater_of(size_of(now), largest);
        put(now, d.flow[l]);
    }
    put(largest, d.largest_flow);
    jumping = static_cast<LaneBits>(jumping & moving_bits);
    for (int lane = 0; jumping != 0 && lane < kLanes; ++lane)
        if ((jumping >> lane & 1U) != 0) d.lift_starved(d.context, lane);
    limit_feet(d, moving_bits);
    if (relaxed == 0) return;
    for (std::int32_t n = 0; n < d.unknowns; ++n) {
        const Eight old = get(d.old_head[n]), head = get(d.head[n]);
        put_where(half, old + every(network::kRelaxShare) * (head - old), d.head[n]);
    }
    d.full_step = without(d.full_step, relaxed);
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
