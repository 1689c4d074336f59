#pragma once
// Links of the lanes made linear, and what each of them puts into matrix and right side (Solver::evaluate, linearise() and bounded() of the single
// solve). A part of lane_kernel.h, for the sources it is for.

#include "solver/survey/lane_laws.h"

namespace ebb::survey {
namespace {

/// What the lanes of one advance() have in common while it goes on.
struct Pass {
    LaneData* home;  ///< where a copy of the LaneData came from: for calls that are not inlined, so that the copy can stay in registers
    Which active, secant;
    Eight head_tolerance, flow_tolerance;
    Which unsettled;  ///< some link is off its law
    Which not_all_by_law;
    Which sure;
};

/// A part of advance() that is compiled by itself.
#define EBB_PART inline __attribute__((noinline))

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
    if (d.linear_start != 0) least.value = choose(which_of(d.linear_start), zero - every(kInfinite), least.value);
    if (link.band >= 0) {
        const Eight band_most = get(d.band_most[link.band]), depth = from - every(link.band_zero_m), share = every(link.inverse_band);
        const Which banded = ~which_of(d.unbanded[l]), wet = depth > zero;
        most.value = choose(banded, choose(wet, band_most * depth * share, zero), most.value);
        most.slope = choose(banded, choose(wet, band_most * share, zero), most.slope);
    }
    // nothing but air comes back out of a vented node while air stands in it
    const unsigned one_way = d.one_way[l] | (link.to < d.plain ? d.air[link.to] : 0U);
    const Which over = q > most.value, barred = ~over & which_of(one_way) & (q < zero), back = ~over & ~barred & (q < least.value);
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
            from_rest<kOwn>(*pass.home, l, rest, drive_line, flow_line, loss_line, inverse_line);
            flow = get(flow_line);
            loss = get(loss_line);
            inverse = get(inverse_line);
        }
        if (to_mask(pass.secant) != 0) {
            const Which by_secant = pass.secant & (flow != every(0.0));  // elsewhere the loss may be 0
            inverse = choose(by_secant, lesser_of(flow / choose(by_secant, loss, every(1.0)), every(kMostInverseSlope)), inverse);
        }
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

/// An opening by the scalar code.
EBB_EIGHT Linear opened_rarely(LaneData& d, std::int32_t l, Eight from, Eight to) {
    Line from_line, to_line, q, a, b;
    put(from, from_line);
    put(to, to_line);
    d.openings(d.context, l, from_line, to_line, q, a, b);
    const Eight zero = every(0.0);
    return {get(q), get(a), get(b), zero, zero, 0, 0, 0, 0, 0};
}

EBB_EIGHT Linear opened(LaneData& d, std::int32_t l, Eight from, Eight to) {
    const LaneLink& link = d.link[l];
    return link.law == LaneLaw::standpipe ? standpipe(d, d.weir[link.weir], get(d.value[l]), from, to) : opened_rarely(d, l, from, to);
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
    const Eight rounding = every(network::kHeadRounding) * (every(1.0) + size_of(from) + size_of(to));
    const Eight off = size_of(get(d.flow[l]) - linear.q);
    const Which wrong = ((size_of(linear.error) > greater_of(pass.head_tolerance, rounding)) & (off > every(network::kNothing_m3_s))) |
                        (off > greater_of(pass.flow_tolerance, rounding * linear.inverse));
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
    const bool is_opening = link.law == LaneLaw::standpipe || link.law == LaneLaw::opening;
    bool is_plain = link.law == LaneLaw::plain && (d.one_way[l] | d.linear_start) == 0;
    if (is_plain) is_plain = (to_mask(get(d.flow[l]) == every(0.0)) & without(d.active, shut)) == 0;
    if (is_plain) {
        const Eight flow = get(d.flow[l]);
        Eight X = get(d.start_X[l]), loss, inverse;
        Which sure = pass.sure;
        loss_at<kOwn, false>(d, l, without(d.active, shut), flow, X, loss, inverse, sure);
        pass.sure = pass.sure & (sure | ~alive);
        put_where(pass.active, X, d.start_X[l]);
        const Eight error = loss - (from - to);
        linear = {flow - error * inverse, inverse, inverse, error, inverse, kAllLanes, 0, 0, 0, 0};
    } else if (is_opening) {
        linear = opened(d, l, from, to);
    } else {
        const LaneBits dry = link.law == LaneLaw::siphon ? static_cast<LaneBits>(~d.primed[l]) : LaneBits{0};
        linear = pressed<kOwn>(d, l, pass, alive & ~which_of(dry), from, to);
        if (dry != 0) linear = merge(which_of(dry), opened_rarely(d, l, from, to), linear);
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

}  // namespace
}  // namespace ebb::survey
