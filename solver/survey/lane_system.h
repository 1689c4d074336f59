#pragma once
// The lanes' matrix eliminated and their points moved by the solution; whether balances hold (Solver::step, mass_error, relax and the safeguards of
// the single solve). A part of lane_kernel.h, for the sources it is for.

#include "solver/survey/lane_links.h"

namespace ebb::survey {
namespace {

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

/// Takes one unknown out of the rows of the `m` it touches; returns where the next step of the programme begins. `kFresh`: between those nothing
/// stands yet but their diagonals.
template <int m, bool kFresh>
EBB_EIGHT const std::int32_t* eliminate(Line* matrix, Line* rhs, const std::int32_t* at, Eight inverse) {
    const std::int32_t* const touched = at + 2;
    const std::int32_t* const place = touched + 3 * m;
    const Eight right = get(rhs[at[0]]);
    Eight across[m];
    for (int j = 0; j < m; ++j) across[j] = get(matrix[touched[3 * j]]);
    for (int i = 0; i < m; ++i) {
        const Eight share = get(matrix[touched[3 * i + 1]]) * inverse;
        Line& below = rhs[touched[3 * i + 2]];
        put(get(below) - share * right, below);
        for (int j = 0; j < m; ++j) {
            Line& entry = matrix[place[m * i + j]];
            put((kFresh && i != j ? every(0.0) : get(entry)) - share * across[j], entry);
        }
    }
    return place + m * m;
}
EBB_EIGHT const std::int32_t* eliminate_many(Line* matrix, Line* rhs, const std::int32_t* at, Eight inverse) {
    const std::int32_t m = at[1];
    const std::int32_t* const touched = at + 2;
    const std::int32_t* place = touched + 3 * m;
    const Eight right = get(rhs[at[0]]);
    for (std::int32_t i = 0; i < m; ++i) {
        const Eight share = get(matrix[touched[3 * i + 1]]) * inverse;
        Line& below = rhs[touched[3 * i + 2]];
        put(get(below) - share * right, below);
        for (std::int32_t j = 0; j < m; ++j) {
            Line& entry = matrix[*place++];
            put(get(entry) - share * get(matrix[touched[3 * j]]), entry);
        }
    }
    return place;
}

/// Eliminates by the programme; in `rhs` the solution. Returns the lanes in which every pivot was positive and finite.
EBB_PART LaneBits solve(LaneData& d) {
    Line *const matrix = d.matrix, *const rhs = d.rhs;
    const std::int32_t unknowns = d.unknowns, plain = d.plain;
    // hold what nothing else holds (assembly.h)
    for (std::int32_t n = 0; n < plain; ++n) put(get(matrix[n]) * every(1.0 + kTinyShare), matrix[n]);
    const Eight zero = every(0.0);
    Which fine = zero == zero;
    const std::int32_t* at = d.programme;
    for (std::int32_t k = 0; k < unknowns; ++k) {
        const Eight pivot = get(matrix[at[0]]);
        fine = fine & (pivot > zero) & (pivot < every(kInfinite));
        const Eight inverse = every(1.0) / pivot;
        put(inverse, matrix[at[0]]);
        switch (at[1]) {
            case 1: at = eliminate<1, false>(matrix, rhs, at, inverse); break;
            case 2: at = eliminate<2, false>(matrix, rhs, at, inverse); break;
            case 3: at = eliminate<3, false>(matrix, rhs, at, inverse); break;
            case -2: at = eliminate<2, true>(matrix, rhs, at, inverse); break;
            case -3: at = eliminate<3, true>(matrix, rhs, at, inverse); break;
            default: at = eliminate_many(matrix, rhs, at, inverse); break;
        }
    }
    // the way back: the starts of the steps follow the programme
    const std::int32_t* const starts = at;
    for (std::int32_t k = unknowns; k-- > 0;) {
        at = d.programme + starts[k];
        const std::int32_t n = at[0], m = at[1] < 0 ? -at[1] : at[1];
        Eight x = get(rhs[n]);
        for (std::int32_t j = 0; j < m; ++j) x = x - get(matrix[at[2 + 3 * j]]) * get(rhs[at[4 + 3 * j]]);
        put(x * get(matrix[n]), rhs[n]);
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
    const Line *const change = d.change, *const q = d.q, *const a = d.a, *const b = d.b, *const x = d.rhs;
    Line* const flow = d.flow;
    const LaneLink* const links = d.link;
    const LaneBits* const cascade = d.cascade;
    for (std::int32_t l = 0, count = d.links; l < count; ++l) {
        Eight from = get(change[links[l].from]);
        if (cascade[l] != 0) from = choose(which_of(cascade[l]), get(x[links[l].from]), from);
        const Eight full = get(q[l]) + get(a[l]) * from - get(b[l]) * get(change[links[l].to]), old = get(flow[l]);
        const Eight went = relaxed == 0 ? full : choose(half, old + every(network::kRelaxShare) * (full - old), full);
        const Eight now = choose(moving, went, old);
        largest = greater_of(size_of(now), largest);
        put(now, flow[l]);
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

}  // namespace
}  // namespace ebb::survey
