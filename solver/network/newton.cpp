#include "solver/network/newton.h"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "solver/network/header_tees.h"
#include "solver/network/newton_rules.h"
#include "solver/physics/fittings.h"

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// A step solved by rounds is good when no balance is off by more than this share of the worst before it (a Newton step squares what is left, and is
/// not worth more digits), or of the largest flow.
constexpr double kRoundsShare = 1e-3, kRoundsEnough = 1e-15;

}  // namespace

Solver::Solver(const Network& network)
    : network_(&network), linear_(network.links.size()), kinks_(kinks_of(network)), old_flow_(network.links.size()),
      old_head_(at(network.node_count())), balance_(at(network.node_count())), anchor_(at(network.node_count())), taken_m3_s_(network.takes_m3_s) {}

Point Solver::cold_point(std::span<const double> levels_m) const {
    const Network& net = *network_;
    Point point;
    point.head_m.assign(at(net.node_count()), 0.0);
    std::copy(levels_m.begin(), levels_m.end(), point.head_m.begin() + net.plain_count);
    std::copy(net.fixed_head_m.begin(), net.fixed_head_m.end(), point.head_m.begin() + net.plain_count + net.vessel_count);
    point.flow_m3_s.assign(net.links.size(), 0.0);
    point.air.assign(at(net.plain_count), 0);
    point.brim.assign(at(net.vessel_count), 0);
    point.spill_m3_s.assign(at(net.vessel_count), 0.0);
    point.inverse_sqrt_friction.assign(net.links.size(), 0.0);
    return point;
}

void Solver::prepare(System& system, bool with_levels) {
    if (system.ready) return;
    const Network& net = *network_;
    system.size = net.plain_count + (with_levels ? net.vessel_count : 0);
    system.slot = place_links(net, system.size, system.factor);
    if (rhs_.size() < at(system.size)) rhs_.resize(at(system.size));
    system.ready = true;
}

namespace {

/// The common case of linearise(), without its questions.
Linear linearise_plain_pipe(const Network& net, const LinkSetting& setting, const Link& link, Point& point, std::size_t index) {
    const double flow = point.flow_m3_s[index];
    const physics::ValueSlope friction = physics::darcy_loss(net.darcy[at(link.law_index)], flow, point.inverse_sqrt_friction[index]);
    const double local = (flow >= 0.0 ? setting.k_forward : setting.k_reverse) * std::abs(flow);
    Linear linear;
    linear.slope = std::max(friction.slope + 2.0 * local, kLeastSlope);
    linear.a = linear.b = 1.0 / linear.slope;
    linear.error_m = friction.value + local * flow - (point.head_m[at(link.from)] - point.head_m[at(link.to)]);
    linear.q = flow - linear.error_m * linear.a;
    return linear;
}

}  // namespace

void Solver::evaluate(const Settings& settings, Point& point) {
    const Network& net = *network_;
    update_tee_losses(net, point);
    bool filled = false;
    for (std::size_t n = 0; n < settings.vented.size(); ++n) {
        if (settings.vented[n] == 0) {
            point.air[n] = 0;
            continue;
        }
        const double needed = head_needed(net, settings, point, net.drain_of[n]);
        // nodes above may have been looked at with this one's head as it was
        if ((needed <= net.elevation_m[n]) != (point.air[n] != 0)) full_step_ = false;
        if (needed <= net.elevation_m[n]) {
            point.air[n] = 1;
            point.head_m[n] = net.elevation_m[n];
        } else if (point.air[n] != 0) {
            point.air[n] = 0;
            filled = true;
            if (std::isfinite(needed)) point.head_m[n] = std::min(needed, net.elevation_m[n] + kMostRise_m);
        }
    }
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        double& level = point.head_m[at(net.vessel_node(v))];
        const double rim = net.storage[at(v)].rim_m;
        if (point.brim[at(v)] != 0 && point.spill_m3_s[at(v)] < 0.0) {
            point.brim[at(v)] = 0;
            point.spill_m3_s[at(v)] = 0.0;
        } else if (level > rim) {
            point.brim[at(v)] = 1;
            level = rim;
        }
    }
    if (filled) limit_feet(settings, point);
    const auto links = static_cast<std::int32_t>(net.links.size());
    const bool plain_allowed = !linear_start_ && point.tee_loss_m.empty();
    for (std::int32_t l = 0; l < links; ++l) {
        const Link& link = net.links[at(l)];
        const LinkSetting& setting = settings.links[at(l)];
        if (plain_allowed && link.plain_pipe && !setting.shut && !setting.one_way && point.flow_m3_s[at(l)] != 0.0)
            linear_[at(l)] = linearise_plain_pipe(net, setting, link, point, at(l));
        else
            linear_[at(l)] = linearise(net, settings, point, l, linear_start_);
    }
}

void Solver::cold_start(const Settings& settings, Point& point) {
    const Network& net = *network_;
    double mean = 0.0;
    for (std::int32_t n = net.plain_count; n < net.node_count(); ++n) mean += point.head_m[at(n)];
    mean /= std::max(1, net.vessel_count + net.fixed_count);
    for (std::int32_t n = 0; n < net.plain_count; ++n) point.head_m[at(n)] = mean;
    for (std::size_t n = 0; n < settings.vented.size(); ++n)
        if (settings.vented[n] != 0) {
            point.air[n] = 1;
            point.head_m[n] = net.elevation_m[n];
        }
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const bool drain = net.links[l].drains_vented && settings.vented[at(net.links[l].from)] != 0;
        point.flow_m3_s[l] = settings.links[l].shut || drain ? 0.0 : first_flow(net, settings.links[l], net.links[l]);
    }
}

/// A node that gets water while every way out of it is shut has nothing to step along: its step would be to the stars. The water in it rises to
/// the lowest of its ways out instead, and a little over it.
void Solver::lift_starved(const Settings& settings, Point& point) {
    const Network& net = *network_;
    std::fill(balance_.begin(), balance_.end(), HUGE_VAL);  // the lowest way out of each node
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const Link& link = net.links[l];
        if (settings.links[l].shut) continue;
        const double over_from = port_head(link.at_from, point.head_m[at(link.from)]), over_to = port_head(link.at_to, point.head_m[at(link.to)]);
        balance_[at(link.from)] = std::min(balance_[at(link.from)], over_to);
        if (!settings.links[l].one_way) balance_[at(link.to)] = std::min(balance_[at(link.to)], over_from);
        if (linear_[l].hold != Hold::entrance_from) continue;
        // what an intake or opening still lets in is held back once the head stands where the pump, or the water, can push it no further
        const bool pumps = link.law == Law::pump && !settings.links[l].resting;
        const double push = pumps ? -loss_at(net, settings.links[l], link, linear_[l].q, point.inverse_sqrt_friction[l]).value : 0.0;
        balance_[at(link.to)] = std::min(balance_[at(link.to)], over_from + push);
    }
    for (std::int32_t n = 0; n < net.plain_count; ++n) {
        if (std::abs(rhs_[at(n)]) <= kJump_m || point.air[at(n)] != 0) continue;
        full_step_ = false;
        if (rhs_[at(n)] > 0.0 && std::isfinite(balance_[at(n)])) point.head_m[at(n)] = balance_[at(n)] + kLift_m;
    }
}

/// The head in the pipe below a standpipe stays under the water that feeds it (unless the level at the drain's end stands higher): past it the
/// weir gives nothing and has no slope, and the step after next would be back where this one began.
void Solver::limit_feet(const Settings& settings, Point& point) {
    const Network& net = *network_;
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const Link& link = net.links[l];
        const bool weir = link.law == Law::standpipe || (link.law == Law::siphon && !settings.links[l].primed);
        if (!weir || point.air[at(link.to)] != 0) continue;
        const double edge = link.law == Law::standpipe ? settings.links[l].value : net.siphons[at(link.law_index)].crest_m;
        const Link& drain = net.links[at(net.drain_of[at(link.to)])];
        const double level = point.head_m[at(link.from)], below = port_head(drain.at_to, point.head_m[at(drain.to)]);
        double& foot = point.head_m[at(link.to)];
        if (level <= edge || below >= level || foot < level) continue;
        foot = level - kKeepShare * (level - std::max(edge, below));
        full_step_ = false;
    }
}

/// A step of level from `from_m` to `to_m`, stopped a little past the first kink it crosses upwards, and before the first it would cross downwards
/// from afar.
double Solver::limited_level(const Settings& settings, std::int32_t vessel, double from_m, double to_m) const {
    const Storage& storage = network_->storage[at(vessel)];
    double to = std::clamp(to_m, storage.floor_m, storage.rim_m + kRoomOverRim_m);
    for (const Kink& kink : kinks_[at(vessel)]) {
        const double edge = kink.lip_of >= 0 ? settings.links[at(kink.lip_of)].value : kink.elevation_m;
        if (from_m <= edge)
            to = std::min(to, std::max(from_m, edge + kink.scale_m));
        else if (from_m > edge + kNearKink * kink.scale_m)
            to = std::max(to, edge + kKeepShare * (from_m - edge));
    }
    return to;
}

/// The head of a node that the step does not change: a given level, air over a vented node, a vessel at its rim.
bool Solver::head_is_known(const System& system, const Point& point, std::int32_t node) const {
    const Network& net = *network_;
    return node >= system.size || (node < net.plain_count ? point.air[at(node)] != 0 : point.brim[at(node - net.plain_count)] != 0);
}

bool Solver::step(System& system, const Settings& settings, const Levels& levels, double proximal, std::span<const double> anchor, Point& point) {
    const Network& net = *network_;
    Factor& matrix = system.factor;
    const std::int32_t size = system.size;
    const auto is_known = [&](std::int32_t node) { return head_is_known(system, point, node); };
    std::fill(rhs_.begin(), rhs_.end(), 0.0);
    matrix.clear();
    bool symmetric = true, all_by_law = true;
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const Linear& linear = linear_[l];
        const Link& link = net.links[l];
        all_by_law = all_by_law && linear.slope > 0.0;
        if (link.from < size) rhs_[at(link.from)] -= linear.q;
        if (link.to < size) rhs_[at(link.to)] += linear.q;
        const double a = is_known(link.from) && linear.hold != Hold::cascade ? 0.0 : linear.a;
        const double b = is_known(link.to) ? 0.0 : linear.b;
        symmetric = add_link(matrix, link, system.slot[l], a, b) && symmetric;
    }
    for (std::int32_t n = 0; n < net.plain_count; ++n) {
        taken_m3_s_[at(n)] = settings.taken_m3_s(at(n), net.takes_m3_s[at(n)]);
        rhs_[at(n)] -= taken_m3_s_[at(n)];
        if (point.air[at(n)] != 0) continue;
        matrix.add_diagonal(n, kTinyProximal + proximal);
        if (proximal > 0.0) rhs_[at(n)] -= proximal * (point.head_m[at(n)] - anchor[at(n)]);
    }
    if (levels.unknown)
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            const std::int32_t n = net.vessel_node(v);
            const Storage& storage = net.storage[at(v)];
            const double level = point.head_m[at(n)];
            const physics::ValueSlope volume = volume_at_level(storage, level);
            rhs_[at(n)] -= (volume.value - levels.start_volume_m3[at(v)]) / levels.tau_s + point.spill_m3_s[at(v)];
            if (proximal > 0.0) rhs_[at(n)] -= proximal * (level - anchor[at(n)]);
            matrix.add_diagonal(n, point.brim[at(v)] != 0 ? 1.0 : volume.slope / levels.tau_s + proximal);
        }

    matrix.stiffen(net.plain_count, kTinyShare);
    const std::span<double> unknowns = std::span(rhs_).first(at(size));
    // what a solve by rounds leaves out of balance is in the balances of the next step
    const bool iterated = symmetric && matrix.can_iterate() && matrix.iterate(unknowns, kRoundsShare, kRoundsEnough * scale_of_flows(point));
    if (!iterated) {
        if (!matrix.factorise(symmetric)) return false;
        matrix.solve(unknowns);
    }

    std::copy(point.flow_m3_s.begin(), point.flow_m3_s.end(), old_flow_.begin());
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const Linear& linear = linear_[l];
        const Link& link = net.links[l];
        double flow = linear.q;
        if (linear.a != 0.0 && (linear.hold == Hold::cascade || !is_known(link.from))) flow += linear.a * rhs_[at(link.from)];
        if (linear.b != 0.0 && !is_known(link.to)) flow -= linear.b * rhs_[at(link.to)];
        point.flow_m3_s[l] = flow;
    }
    full_step_ = true;
    std::copy(point.head_m.begin(), point.head_m.end(), old_head_.begin());
    bool jumps = false;
    for (std::int32_t n = 0; n < size; ++n) {
        if (is_known(n)) {
            if (net.is_vessel(n)) point.spill_m3_s[at(n - net.plain_count)] += rhs_[at(n)];
            continue;
        }
        // where every link has a slope to step along no node starves, and thin pipes can ask for any head
        if (!all_by_law && n < net.plain_count && std::abs(rhs_[at(n)]) > kJump_m) {
            jumps = true;
            continue;
        }
        double head = point.head_m[at(n)] + rhs_[at(n)];
        if (net.is_vessel(n)) {
            const double clipped = limited_level(settings, n - net.plain_count, point.head_m[at(n)], head);
            full_step_ = full_step_ && clipped == head;
            head = clipped;
        }
        point.head_m[at(n)] = head;
    }
    if (jumps) lift_starved(settings, point);
    limit_feet(settings, point);
    return true;
}

double Solver::scale_of_flows(const Point& point) const {
    double largest = 0.0;
    for (const double flow : point.flow_m3_s) largest = std::max(largest, std::abs(flow));
    return largest;
}

double Solver::mass_error(const Levels& levels, double tolerance, double proximal, std::span<const double> anchor, const Point& point) {
    const Network& net = *network_;
    std::fill(balance_.begin(), balance_.end(), 0.0);
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        balance_[at(net.links[l].from)] -= point.flow_m3_s[l];
        balance_[at(net.links[l].to)] += point.flow_m3_s[l];
    }
    double worst = 0.0;
    for (std::int32_t n = 0; n < net.plain_count; ++n) {
        balance_[at(n)] -= taken_m3_s_[at(n)];
        if (proximal > 0.0 && point.air[at(n)] == 0) balance_[at(n)] -= proximal * (point.head_m[at(n)] - anchor[at(n)]);
        const double rounding = proximal > 0.0 ? 1e-14 * proximal * (1.0 + std::abs(point.head_m[at(n)])) : 0.0;
        worst = std::max(worst, std::abs(balance_[at(n)]) / (tolerance + rounding));
    }
    if (levels.unknown)
        for (std::int32_t v = 0; v < net.vessel_count; ++v) {
            const std::int32_t n = net.vessel_node(v);
            const double level = point.head_m[at(n)];
            const physics::ValueSlope volume = volume_at_level(net.storage[at(v)], level);
            double left = balance_[at(n)] - (volume.value - levels.start_volume_m3[at(v)]) / levels.tau_s - point.spill_m3_s[at(v)];
            if (proximal > 0.0) left -= proximal * (level - anchor[at(n)]);
            // what double precision can tell of a volume and of a level, over the step
            const double rounding = 1e-14 * ((levels.start_volume_m3[at(v)] + volume.slope * (1.0 + std::abs(level))) / levels.tau_s +
                                             proximal * (1.0 + std::abs(level)));
            worst = std::max(worst, std::abs(left) / (tolerance + rounding));
        }
    return worst;
}

bool Solver::arrived(const Levels& levels, const Tolerances& tolerances, double proximal, std::span<const double> anchor, const Point& point,
                     bool patience_lost) {
    const double largest = scale_of_flows(point);
    const double flow_tolerance = tolerances.flow_share * largest + kStillFlow_m3_s;
    bool fine = true;
    worst_error_m_ = 0.0;
    for (std::size_t l = 0; l < linear_.size(); ++l) {
        const Linear& linear = linear_[l];
        const double error = std::abs(linear.error_m);
        worst_error_m_ = std::max(worst_error_m_, error);
        if (linear.hold == Hold::cascade) continue;
        const Link& link = network_->links[l];
        // what double precision can tell of a difference of these heads
        const double from = std::abs(point.head_m[at(link.from)]), to = std::abs(point.head_m[at(link.to)]);
        const double rounding = kHeadRounding * (1.0 + from + to);
        const double off = std::abs(point.flow_m3_s[l] - linear.q);
        // behind a valve opened by a millionth no flow that could be told from nothing is worth this little head
        if (error > std::max(tolerances.head_m, rounding) && off > kNothing_m3_s) fine = false;
        if (off > flow_tolerance && off * linear.slope > rounding) fine = false;
        if (linear.slope == 0.0 && off > flow_tolerance) {
            // a bound of a flood over a thin band of level is worth the digits of that level, and the bound of a dead end no more than the dust
            const double digits = kHeadRounding * (linear.a * (1.0 + from) + std::abs(linear.b) * (1.0 + to));
            if (!patience_lost || off > std::max(flow_tolerance, kDust_m3_s) + digits) fine = false;
        }
        if (!fine) return false;
    }
    // over a long implicit step an imbalance is water made or lost: there only rounding is allowed
    const double loose = tolerances.flow_share * largest + kStillFlow_m3_s;
    // over an implicit step; at given levels, which may be those of one moment of many, a leak that a month does not notice
    const double strict = levels.unknown ? kRounding * largest + kStillMass_m3_s + kLostWater_m3 / levels.tau_s : kLeak * largest + kStillMass_m3_s;
    const double allowed = tolerances.keep_water && proximal == 0.0 && !patience_lost ? std::min(loose, strict) : loose;
    return mass_error(levels, allowed, proximal, anchor, point) <= 1.0;
}

Outcome Solver::iterate(System& system, const Settings& settings, const Levels& levels, const Tolerances& tolerances, double proximal,
                        std::span<const double> anchor, Point& point) {
    Outcome outcome;
    outcome.steps = 0;
    full_step_ = true;
    evaluate(settings, point);
    linear_start_ = false;
    while (!(full_step_ && arrived(levels, tolerances, proximal, anchor, point, outcome.steps > kStrictSteps))) {
        if (outcome.steps >= tolerances.greatest_steps) return outcome;
        if (!step(system, settings, levels, proximal, anchor, point)) return outcome;
        ++outcome.steps;
        // bounds that switch one another on and off can go round in a circle of full steps: shorter ones in between leave it
        if (outcome.steps > kFullSteps && outcome.steps % kRelaxRound != 0) relax(point);
        evaluate(settings, point);
    }
    outcome.converged = true;
    outcome.worst_error_m = worst_error_m_;
    return outcome;
}

std::int32_t Solver::worst_link(const Point& point) const {
    std::int32_t worst = 0;
    double worst_error = -1.0;
    for (std::size_t l = 0; l < linear_.size(); ++l) {
        // an error of head, or what a flow that is off its bound stands for: a metre for a litre a second
        const double error = std::max(std::abs(linear_[l].error_m), 1e3 * std::abs(point.flow_m3_s[l] - linear_[l].q));
        if (error <= worst_error) continue;
        worst = static_cast<std::int32_t>(l);
        worst_error = error;
    }
    return worst;
}

/// Takes half of the last step only.
void Solver::relax(Point& point) {
    for (std::size_t l = 0; l < linear_.size(); ++l) point.flow_m3_s[l] = std::lerp(old_flow_[l], point.flow_m3_s[l], kRelaxShare);
    for (std::size_t n = 0; n < point.head_m.size(); ++n) point.head_m[n] = std::lerp(old_head_[n], point.head_m[n], kRelaxShare);
    full_step_ = false;
}

Outcome Solver::creep(System& system, const Settings& settings, const Levels& levels, const Tolerances& tolerances, Point& point) {
    constexpr int kGreatestStages = 400;
    constexpr double kRelax = 0.3, kTighten = 16.0, kFirst = 1e-2, kLast = 1e-9, kMost = 1e6;
    Tolerances loose = tolerances;
    loose.head_m = 1e-6;
    loose.flow_share = 1e-7;
    loose.greatest_steps = 40;
    Outcome total;
    total.steps = 0;
    double proximal = kFirst;
    Point safe = point;
    for (int stage = 0; stage < kGreatestStages && proximal < kMost; ++stage) {
        std::copy(point.head_m.begin(), point.head_m.end(), anchor_.begin());
        const bool last = proximal < kLast;
        Tolerances now = last ? tolerances : loose;
        const Outcome outcome = iterate(system, settings, levels, now, last ? 0.0 : proximal, anchor_, point);
        total.steps += std::max(0, outcome.steps);
        if (outcome.converged) {
            if (last) {
                total.converged = true;
                total.worst_error_m = outcome.worst_error_m;
                return total;
            }
            safe = point;
            proximal *= kRelax;
        } else {
            point = safe;
            proximal *= kTighten;
        }
    }
    return total;
}

Outcome Solver::solve(const Settings& settings, const Levels& levels, const Tolerances& tolerances, bool warm, Point& point, bool safeguard) {
    System& system = levels.unknown ? levels_ : heads_;
    prepare(system, levels.unknown);
    linear_start_ = !warm;
    if (!warm) {
        system.factor.forget();  // a cold answer depends on nothing that was solved before
        cold_start(settings, point);
    }
    Outcome outcome = iterate(system, settings, levels, tolerances, 0.0, {}, point);
    if (outcome.converged || !safeguard) return outcome;
    const int wasted = outcome.steps;
    linear_start_ = true;
    cold_start(settings, point);
    outcome = creep(system, settings, levels, tolerances, point);
    outcome.steps += wasted;
    outcome.fallbacks = 1;
    return outcome;
}

}  // namespace ebb::network
