#pragma once
// The laws of links in eight lanes at once: what laws.cpp says of one link, for sources of one processor each (lane_kernel.h).
//
// Every function returns what holds in all lanes; where lanes differ in which law or bound holds, all of them are reckoned and each lane takes its
// own. Work that no lane needs is left out, but never in a way that a lane's digits could tell: they depend on that lane alone.

#include "solver/network/newton_rules.h"
#include "solver/physics/eight_friction.h"
#include "solver/survey/lane_data.h"

namespace ebb::survey {
namespace {

using physics::choose;
using physics::Eight;
using physics::every;
using physics::greater_of;
using physics::lesser_of;
using physics::size_of;
using physics::square_root;
using physics::to_mask;
using physics::Which;
using physics::which_of;

EBB_EIGHT Eight get(const Line& line) { return physics::load(line.lane); }
EBB_EIGHT void put(Eight x, Line& line) { physics::store(x, line.lane); }
/// Puts `x` only in the lanes of `which`.
EBB_EIGHT void put_where(Which which, Eight x, Line& line) { put(choose(which, x, get(line)), line); }
EBB_EIGHT LaneBits bits_of(Which which) { return static_cast<LaneBits>(to_mask(which)); }
EBB_EIGHT LaneBits without(LaneBits from, LaneBits these) { return static_cast<LaneBits>(from & ~these); }

constexpr double kInfinite = __builtin_huge_val();
// the numbers of solver/network/laws.h and solver/physics, whose headers bring the standard library with them; lane_solver.cpp asserts that they
// agree
constexpr double kMostInverseSlope = 1e6, kDriveThatCounts_m = 1e-3, kLeastRound = 0.02, kMostRound = 50.0, kDust_m3_s = 1e-13;
constexpr double kTinyProximal = 1e-14, kTinyShare = 1e-13;  // assembly.h
constexpr int kRoundsFromRest = 2;
constexpr double kLinearCore_m = 1e-8, kFirstDrop_m = 1e-14;

struct Flow {
    Eight value, slope;  ///< m3/s, m3/s per m
};

/// The link made linear, and what holds it. `error` is 0 and `inverse` 0 where a bound or an opening holds.
struct Linear {
    Eight q, a, b, error, inverse;
    LaneBits by_law, cascade, entrance_from, entrance_to, one_way;
};

/// What a round opening lets in (physics/opening.cpp), in multiples of sqrt(g) D^2.5, at e = depth/D > 0.
EBB_EIGHT Flow opening_flow(Eight e) {
    constexpr double kCritical[] = {0.5311912916118542,    -0.0872189421610577,    -0.006686016684339147,  -0.0006105211939043863,
                                    0.0001154419460250226, 0.0001196161852309509,  5.790211520625647e-05,  2.037466038146621e-05,
                                    4.779239158038941e-06, -9.433109542015156e-08, -1.090581824326299e-06, -7.728167768961366e-07,
                                    -2.116128911707279e-07};
    constexpr double kFitEnd = 1.1, kCrossing = 1.086845609875289, kCrossingFlow = 0.5190349996412, kLift = 10.0, kSealed = 2.0;
    const Eight t = every(2.0 / kFitEnd) * e - every(1.0);
    Eight value = every(kCritical[12]), slope = every(0.0);
    for (int i = 12; i-- > 0;) {
        slope = slope * t + value;
        value = value * t + every(kCritical[i]);
    }
    Flow flow{value * e * e, (every(2.0) * value + slope * every(2.0 / kFitEnd) * e) * e};
    const Which deep = e >= every(kCrossing);
    if (to_mask(deep) != 0) {
        const Eight over = greater_of(e, every(kCrossing)) - every(0.5);
        const Eight open = every(kCrossingFlow) * square_root(over * every(1.0 / (kCrossing - 0.5))), open_slope = every(0.5) * open / over;
        constexpr double kSpan = kSealed - kCrossing;
        const Eight u = lesser_of((e - every(kCrossing)) * every(1.0 / kSpan), every(1.0));
        const Eight lift = every(1.0) + every(kLift - 1.0) * u * u * (every(3.0) - every(2.0) * u);
        const Eight lift_slope = every((kLift - 1.0) * 6.0 / kSpan) * u * (every(1.0) - u);
        flow.value = choose(deep, lift * open, flow.value);
        flow.slope = choose(deep, lift * open_slope + lift_slope * open, flow.slope);
    }
    return flow;
}

/// Numbers of a round opening, per lane.
struct Opening {
    Eight inverse_bore, flow_scale, slope_scale;
};

/// What an entrance lets in at most against `wanted` >= 0 of it: where it bounds, value and slope; elsewhere at least `wanted`.
EBB_EIGHT Flow entrance_limit(const Opening& opening, Eight depth, Eight wanted, Which asks) {
    // critical flow is nowhere below 0.43 of e^2, up to the crossing and beyond
    constexpr double kLeastShare = 0.43, kLeastUpTo = 1.08;
    const Eight e = depth * opening.inverse_bore, low = greater_of(lesser_of(e, every(kLeastUpTo)), every(0.0));
    const Which asked = asks & (wanted > every(kLeastShare) * low * low * opening.flow_scale - every(kDust_m3_s));
    const Which wet = e > every(0.0);
    Flow limit{choose(wet, every(kInfinite), every(0.0)), every(0.0)};
    if (to_mask(asked & wet) != 0) {
        const Flow flow = opening_flow(e);
        const Eight value = flow.value * opening.flow_scale;
        const Which more = wet & (value > every(kDust_m3_s));
        limit.value = choose(asked, choose(more, value - every(kDust_m3_s), every(0.0)), limit.value);
        limit.slope = choose(asked & more, flow.slope * opening.slope_scale, limit.slope);
    }
    return limit;
}

/// k Q sqrt(Q^2 + q0^2) of nozzles: loss, and one over its slope.
EBB_EIGHT void square_loss(Eight coefficient, Eight flow, Eight& loss, Eight& inverse) {
    const Eight core2 = every(kLinearCore_m) / coefficient, flow2 = flow * flow, root = square_root(flow2 + core2);
    loss = coefficient * flow * root;
    inverse = root / (coefficient * (every(2.0) * flow2 + core2));
}

/// Hazen-Williams and a local loss.
template <typename Pipe>
EBB_EIGHT void hazen_loss(Pipe pipe, Eight flow, Eight local, Eight& loss, Eight& inverse) {
    const Eight size = size_of(flow), slow = pipe[2], n = pipe[1];
    const Eight secant = pipe[0] * physics::power(greater_of(size, slow), n - every(1.0));
    const Which is_slow = size <= slow;
    const Eight friction = choose(is_slow, flow * (pipe[3] + pipe[4] * size), secant * flow);
    const Eight slope = choose(is_slow, pipe[3] + every(2.0) * pipe[4] * size, n * secant);
    loss = friction + local * flow * size;
    inverse = every(1.0) / (slope + every(2.0) * local * size);
}

template <bool kOwn>
struct PipeOf {
    using Type = physics::SharedPipe;
    static EBB_EIGHT Type at(const LaneData& d, std::int32_t pipe) { return {d.pipe_numbers + pipe * physics::kPipeNumbers}; }
};
template <>
struct PipeOf<true> {
    using Type = physics::OwnPipes;
    static EBB_EIGHT Type at(const LaneData& d, std::int32_t pipe) { return {d.pipe_numbers + pipe * (physics::kPipeNumbers * kLanes)}; }
};

/// The local losses of a pipe with this flow.
EBB_EIGHT Eight local_coefficient(const LaneData& d, std::int32_t l, Eight flow) {
    const Which back = flow < every(0.0);
    const Eight forward = get(d.k_forward[l]);
    return to_mask(back) == 0 ? forward : choose(back, get(d.k_reverse[l]), forward);
}

/// Loss of an h(Q) law at `flow` in the lanes of `asks`: its value and one over its slope. `sure` loses the lanes in which friction is not solved to
/// rounding yet.
template <bool kOwn, bool kExact>
EBB_EIGHT void loss_at(LaneData& d, std::int32_t l, LaneBits asks, Eight flow, Eight& X, Eight& loss, Eight& inverse, Which& sure) {
    const LaneLink& link = d.link[l];
    if (link.law == LaneLaw::plain || link.law == LaneLaw::darcy) {
        const physics::EightLoss friction =
            physics::darcy_loss_eight<kExact>(PipeOf<kOwn>::at(d, link.pipe), flow, local_coefficient(d, l, flow), X, asks);
        loss = friction.loss_m;
        inverse = friction.inverse_slope;
        sure = sure & friction.sure;
    } else if (link.law == LaneLaw::hazen) {
        hazen_loss(PipeOf<kOwn>::at(d, link.pipe), flow, local_coefficient(d, l, flow), loss, inverse);
    } else if (link.law == LaneLaw::square) {
        square_loss(get(d.value[l]), flow, loss, inverse);
    } else {
        Line at, value, slope;
        put(flow, at);
        d.losses(d.context, l, at, value, slope);
        loss = get(value);
        inverse = every(1.0) / get(slope);
    }
    inverse = lesser_of(inverse, every(kMostInverseSlope));
}

/// A link that opens from rest is made linear near the flow that the drive will bring (laws.h). Only lanes of `rest` change.
template <bool kOwn>
__attribute__((noinline)) void from_rest(LaneData& d, std::int32_t l, LaneBits rest_bits, const Line& drive_line, Line& flow_line, Line& loss_line,
                                         Line& inverse_line) {
    const LaneLink& link = d.link[l];
    const Which rest = which_of(rest_bits);
    const Eight drive = choose(rest, get(drive_line), every(1.0));
    const Eight least = kOwn ? get(d.own_from_rest[l]) : every(link.flow_from_rest_m3_s);
    Eight guess = physics::with_sign(least, drive), X = get(d.start_X[l]), loss = drive, inverse = drive;
    Which sure = rest;
    for (int round = 0;; ++round) {
        loss_at<kOwn, true>(d, l, rest_bits, guess, X, loss, inverse, sure);
        if (round == kRoundsFromRest) break;
        // lanes that are not asked may have no loss at all: they are thrown away, but nothing is divided by it
        const Which lossy = size_of(loss) > every(0.0);
        const Eight ratio = choose(lossy, drive / choose(lossy, loss, every(1.0)), every(kMostRound * kMostRound));
        guess = guess * lesser_of(greater_of(square_root(ratio), every(kLeastRound)), every(kMostRound));
    }
    put_where(rest, guess, flow_line);
    put_where(rest, loss, loss_line);
    put_where(rest, inverse, inverse_line);
    put_where(rest & which_of(d.active), X, d.start_X[l]);
}

/// A standpipe: weir or mouth over the lip, and its holes (laws.cpp, overflow.cpp).
EBB_EIGHT Linear standpipe(const LaneData& d, const LaneWeir& weir, Eight lip, Eight level, Eight foot) {
    const Eight zero = every(0.0), depth = level - greater_of(lip, foot);
    const Which over = depth > zero, mouth = depth > every(weir.crossing_m);
    const Eight root = square_root(greater_of(depth, zero)), part = every(weir.weir_factor) * root;
    Eight q = choose(over, part * depth, zero), a = choose(over, every(1.5) * part, zero);
    if (to_mask(mouth) != 0) {
        const Eight flow = every(weir.mouth_factor) * root;
        q = choose(mouth, flow, q);
        a = choose(mouth, every(0.5) * flow / choose(mouth, depth, every(1.0)), a);
    }
    Eight b = choose(foot > lip, a, zero);
    for (std::int32_t h = weir.first_hole; h < weir.end_hole; ++h) {
        const LaneHole& hole = d.hole[h];
        const Eight above = level - greater_of(every(hole.elevation_m), foot);
        const Which runs = above >= zero;
        const Eight head = greater_of(above, every(kFirstDrop_m));
        // the inverse of the square law, Q = s/g with g^2 = (q0^2 + r)/2, r^2 = q0^4 + 4 s^2; its slope g/(k r)
        const Eight core2 = every(hole.core2), s = head * every(hole.inverse_coefficient);
        const Eight r = square_root(core2 * core2 + every(4.0) * s * s), g2 = every(0.5) * (core2 + r), g = square_root(g2);
        const Eight inverse = every(1.0) / (g * r), slope = choose(runs, every(hole.inverse_coefficient) * g2 * inverse, zero);
        q = q + choose(above < every(kFirstDrop_m), slope * greater_of(above, zero), s * r * inverse);
        a = a + slope;
        b = b + choose(foot > every(hole.elevation_m), slope, zero);
    }
    return {q, a, b, zero, zero, 0, 0, 0, 0, 0};
}

}  // namespace
}  // namespace ebb::survey
