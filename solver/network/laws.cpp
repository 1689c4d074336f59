#include "solver/network/laws.h"

#include <algorithm>
#include <cmath>

#include "solver/physics/fittings.h"
#include "solver/physics/opening.h"
#include "solver/physics/overflow.h"

namespace ebb::network {

namespace {

using physics::ValueSlope;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Head taken as more than will ever push water through a pump at rest or a siphon, m.
constexpr double kMostPush_m = 10.0;

/// Loss at which a link is first made linear where nothing better is known, m.
constexpr double kFirstLoss_m = 0.5;

/// What a round opening lets in at a depth over its invert, less the dust.
ValueSlope entrance_limit(double bore_m, double depth_m) {
    const ValueSlope flow = physics::opening_flow(bore_m, depth_m);
    if (flow.value <= kDust_m3_s) return {0.0, 0.0};
    return {flow.value - kDust_m3_s, flow.slope};
}

/// Nothing at no depth, `most` at `band_m` of it, in proportion between and beyond.
ValueSlope band_limit(double most_m3_s, double depth_m, double band_m) {
    if (depth_m <= 0.0) return {0.0, 0.0};
    return {most_m3_s * depth_m / band_m, most_m3_s / band_m};
}

/// Bounds an h(Q) law's predicted step by what may flow, and fills q, a, b, hold.
struct Bounds {
    ValueSlope most{HUGE_VAL, 0.0};    ///< forward, by the head at from
    ValueSlope least{-HUGE_VAL, 0.0};  ///< backward (negative flow), value and slope of its magnitude by the head at to
    bool one_way = false;
};

Linear bounded(const ValueSlope& loss, double flow, double from_head, double to_head, bool from_follows, bool to_follows, const Bounds& bounds) {
    Linear linear;
    linear.slope = std::max(loss.slope, kLeastSlope);
    const double drive = from_head - to_head;
    const double error = loss.value - drive;
    const double q = flow - error / linear.slope;
    if (q > bounds.most.value) {
        linear.q = bounds.most.value;
        linear.a = bounds.most.slope;
        linear.hold = Hold::entrance_from;
    } else if (bounds.one_way && q < 0.0) {
        linear.hold = Hold::one_way;
    } else if (q < bounds.least.value) {
        linear.q = bounds.least.value;
        linear.b = bounds.least.slope;
        linear.hold = Hold::entrance_to;
    } else {
        linear.q = q;
        linear.error_m = error;
        linear.a = from_follows ? 1.0 / linear.slope : 0.0;
        linear.b = to_follows ? 1.0 / linear.slope : 0.0;
        return linear;
    }
    linear.slope = 0.0;
    return linear;
}

/// A flow whose loss is within a few times of `drive`: two rounds of the square law from a slow flow.
double flow_near_drive(const Network& network, const LinkSetting& setting, const Link& link, double drive, double flow,
                       double& inverse_sqrt_friction) {
    const double least = link.bore_m > 0.0 ? kSlow_m_s * physics::bore_area_m2(link.bore_m) : kSmallDevice_m3_s;
    double guess = std::copysign(std::max(std::abs(flow), least), drive);
    for (int round = 0; round < kRoundsFromRest; ++round) {
        const double loss = loss_at(network, setting, link, guess, inverse_sqrt_friction).value;
        guess *= std::clamp(std::sqrt(drive / loss), kLeastRound, kMostRound);
    }
    return guess;
}

Linear linearise_standpipe(const StandpipeLaw& law, double lip_m, double level_m, double foot_m) {
    Linear linear;
    const auto pass = [&](const ValueSlope& flow, double edge_m) {
        linear.q += flow.value;
        linear.a += flow.slope;
        if (foot_m > edge_m) linear.b += flow.slope;
    };
    pass(physics::overflow_flow(law.bore_m, level_m - std::max(lip_m, foot_m)), lip_m);
    // at rest exactly at a hole its slope is that of the first drop over it: without it Newton would jump to and fro
    constexpr double kFirstDrop_m = 1e-14;
    for (const auto& hole : law.holes) {
        const double over = level_m - std::max(hole.elevation_m, foot_m);
        if (over < 0.0) continue;
        ValueSlope flow = physics::drain_hole_flow(hole.area_m2, std::max(over, kFirstDrop_m), hole.discharge_coefficient);
        if (over < kFirstDrop_m) flow.value = flow.slope * over;
        pass(flow, hole.elevation_m);
    }
    return linear;
}

Linear linearise_float(const FloatLaw& law, const Port& outlet, double inlet_m, double level_m) {
    Linear linear;
    const double range = law.closes_at_m - law.opens_at_m;
    const double opening = std::clamp((law.closes_at_m - level_m) / range, 0.0, 1.0);
    const double outlet_head = port_head(outlet, level_m);
    if (opening <= 0.0 || inlet_m <= outlet_head) return linear;
    const ValueSlope open = physics::square_law_flow(law.coefficient, inlet_m - outlet_head);
    linear.q = opening * open.value;
    linear.a = opening * open.slope;
    if (level_m > outlet.elevation_m) linear.b += opening * open.slope;
    if (opening < 1.0) linear.b += open.value / range;
    return linear;
}

}  // namespace

ValueSlope loss_at(const Network& network, const LinkSetting& setting, const Link& link, double flow, double& inverse_sqrt_friction) {
    const double k = flow >= 0.0 ? setting.k_forward : setting.k_reverse;
    switch (link.law) {
        case Law::darcy: {
            const ValueSlope friction = physics::darcy_loss(network.darcy[at(link.law_index)], flow, inverse_sqrt_friction);
            return {friction.value + k * flow * std::abs(flow), friction.slope + 2.0 * k * std::abs(flow)};
        }
        case Law::hazen: {
            const ValueSlope friction = physics::hazen_williams_loss(network.hazen[at(link.law_index)], flow);
            return {friction.value + k * flow * std::abs(flow), friction.slope + 2.0 * k * std::abs(flow)};
        }
        case Law::pump: {
            const PumpLaw& law = network.pumps[at(link.law_index)];
            if (setting.resting) return physics::square_law_loss(setting.value, flow);
            const ValueSlope head = law.curve.head(flow, {.speed = setting.value, .count = law.count, .wear = law.wear});
            return {-head.value, std::max(-head.slope, law.least_slope)};
        }
        case Law::filter: return network.filters[at(link.law_index)].loss(flow, setting.value);
        case Law::siphon: return physics::square_law_loss(network.siphons[at(link.law_index)].coefficient, flow);
        default: return physics::square_law_loss(setting.value, flow);
    }
}

double first_flow(const Network& network, const LinkSetting& setting, const Link& link) {
    switch (link.law) {
        case Law::darcy:
        case Law::hazen: {
            const double usual = 0.5 * physics::bore_area_m2(link.bore_m);
            // behind a valve that is all but shut this would be a loss of kilometres, and Newton halves its way down from there
            return setting.k_forward * usual * usual > kFirstLoss_m ? std::sqrt(kFirstLoss_m / setting.k_forward) : usual;
        }
        case Law::pump: {
            const PumpLaw& law = network.pumps[at(link.law_index)];
            if (setting.resting) return std::sqrt(kFirstLoss_m / setting.value);
            return 0.5 * law.curve.greatest_flow_m3_s({.speed = setting.value, .count = law.count, .wear = law.wear});
        }
        case Law::filter: {
            constexpr double kProbe_m3_s = 1e-3;
            return kProbe_m3_s * std::sqrt(kFirstLoss_m / network.filters[at(link.law_index)].loss(kProbe_m3_s, setting.value).value);
        }
        case Law::siphon: return setting.primed ? std::sqrt(kFirstLoss_m / network.siphons[at(link.law_index)].coefficient) : 0.0;
        case Law::square: return std::sqrt(kFirstLoss_m / setting.value);
        default: return 0.0;
    }
}

Linear linearise_opening(const Network& network, const LinkSetting& setting, const Link& link, double from, double to) {
    if (link.law == Law::standpipe) return linearise_standpipe(network.standpipes[at(link.law_index)], setting.value, from, to);
    if (link.law == Law::float_valve) return linearise_float(network.float_valves[at(link.law_index)], link.at_to, from, to);
    const SiphonLaw& law = network.siphons[at(link.law_index)];
    const ValueSlope over = physics::crest_weir_flow(law.bore_m, from - std::max(law.crest_m, to));
    Linear linear;
    linear.q = over.value;
    linear.a = over.slope;
    linear.b = to > law.crest_m ? over.slope : 0.0;
    return linear;
}

Band band_of(const Network& network, const LinkSetting& setting, const Link& link) {
    if (link.law == Law::siphon && !setting.runs_to_break) {
        const SiphonLaw& law = network.siphons[at(link.law_index)];
        return {std::sqrt(kMostPush_m / law.coefficient), law.breaks_at_m, kBreakBand_m};
    }
    if (link.law == Law::pump && network.pumps[at(link.law_index)].intake_m > kNoPort) {
        const PumpLaw& law = network.pumps[at(link.law_index)];
        const physics::PumpDuty duty{.speed = setting.value, .count = law.count, .wear = law.wear};
        const double most = setting.resting ? std::sqrt(kMostPush_m / setting.value)
                                            : std::min(law.curve.zero_head_flow_m3_s(duty), 2.0 * law.curve.greatest_flow_m3_s(duty));
        return {most, law.intake_m, kBareBand_m};
    }
    return {HUGE_VAL, 0.0, 1.0};
}

double head_needed(const Network& network, const Settings& settings, Point& point, std::int32_t index) {
    const Link& link = network.links[at(index)];
    const LinkSetting& setting = settings.links[at(index)];
    if (setting.shut) return HUGE_VAL;
    const double loss = loss_at(network, setting, link, point.flow_m3_s[at(index)], point.inverse_sqrt_friction[at(index)]).value;
    return port_head(link.at_to, point.head_m[at(link.to)]) + link.trapped_air_m + loss;
}

Linear linearise(const Network& network, const Settings& settings, Point& point, std::int32_t index, bool secant) {
    const Link& link = network.links[at(index)];
    const LinkSetting& setting = settings.links[at(index)];
    Linear linear;
    if (setting.shut) {
        linear.hold = Hold::shut;
        return linear;
    }
    const double from = point.head_m[at(link.from)], to = point.head_m[at(link.to)];
    double flow = point.flow_m3_s[at(index)];
    if (link.law == Law::standpipe || link.law == Law::float_valve || (link.law == Law::siphon && !setting.primed))
        return linearise_opening(network, setting, link, from, to);
    if (link.drains_vented && point.air[at(link.from)] != 0) {
        // air stands over it: it carries what arrives, and its flow is the unknown of its node
        linear.q = flow;
        linear.a = 1.0;
        linear.hold = Hold::cascade;
        return linear;
    }
    const double from_shown = port_head(link.at_from, from) - link.trapped_air_m, to_shown = port_head(link.at_to, to);
    Bounds bounds;
    // nothing but air comes back out of a vented node while air stands in it
    const bool into_air = at(link.to) < point.air.size() && point.air[at(link.to)] != 0;
    bounds.one_way = setting.one_way || link.law == Law::siphon || into_air;
    if (link.at_from.limited) bounds.most = entrance_limit(link.bore_m, from - link.at_from.leaves_above_m);
    if (link.at_to.limited) {
        const ValueSlope back = entrance_limit(link.bore_m, to - link.at_to.leaves_above_m);
        bounds.least = {-back.value, back.slope};
    }
    if (!link.at_from.limited && link.at_from.elevation_m > from) bounds.most = {0.0, 0.0};  // a pond below its port gives nothing
    if (!link.at_to.limited && link.at_to.elevation_m > to && link.law != Law::square) bounds.least = {0.0, 0.0};
    // a cold start knows no head yet: what feeds a vessel over its water would be held at nothing, and pumps shut against it, one after the other
    if (secant) bounds.least = {-HUGE_VAL, 0.0};
    const Band band = band_of(network, setting, link);
    if (band.most_m3_s < HUGE_VAL) bounds.most = band_limit(band.most_m3_s, from - band.zero_m, band.band_m);
    ValueSlope loss = loss_at(network, setting, link, flow, point.inverse_sqrt_friction[at(index)]);
    const double drive = from_shown - to_shown;
    if (!secant && link.law != Law::pump && flow == 0.0 && std::abs(drive) > kDriveThatCounts_m) {
        flow = flow_near_drive(network, setting, link, drive, flow, point.inverse_sqrt_friction[at(index)]);
        loss = loss_at(network, setting, link, flow, point.inverse_sqrt_friction[at(index)]);
    }
    if (!point.tee_loss_m.empty()) {
        loss.value += point.tee_loss_m[at(index)];
        loss.slope += point.tee_slope[at(index)];
    }
    if (secant && flow != 0.0 && link.law != Law::pump) loss.slope = loss.value / flow;
    return bounded(loss, flow, from_shown, to_shown, from >= link.at_from.elevation_m, to >= link.at_to.elevation_m, bounds);
}

}  // namespace ebb::network
