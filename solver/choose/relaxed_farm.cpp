// The farm as the relaxation sees it: what is certain of every allowed design, and nothing else.
//
// Certain of every settled (or given) state that the judge of designs would let pass:
//  - flows balance at tees and devices, and at vessels in settled arrangements, because nothing allowed runs over a rim;
//  - a pipe, filter, nozzle or running pump follows its law, or carries less where an opening, a check valve, a vented foot or a bare intake holds it
//    back (laws.h: the min-rule), never more and never the other way;
//  - overflows, siphons and float valves pass water one way; no more is used of them. Legs of tees on headers are not used either: their
//    losses hang together;
//  - a level lies between floor and rim; a vessel that must be fed and is settled stands at least as high as its lowest way out;
//  - no head is above the highest water, port or vented foot by more than all running pumps can add; none is taken to be 10 km below the lowest.
//
// Inventories of water are not used, nor anything that happens on the way.

#include "solver/choose/relaxed_farm.h"

#include <algorithm>
#include <cmath>

#include "solver/physics/fittings.h"
#include "solver/physics/part_full.h"
#include "solver/settle/fed.h"
#include "solver/settle/model.h"

namespace ebb::choose {

namespace {

using layout::Kind;
using layout::Layout;
using layout::said;
using network::kNoPort;
using network::Law;
using network::Link;
using network::LinkSetting;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kRiver_m3_s = 1e3;         // no flow of a farm is greater
constexpr double kAbyss_m = 1e4;            // no head of a farm is lower below the lowest thing
constexpr double kBelowFloor_m = 0.05;      // a vessel solved as nearly empty may stand a hair below its floor
constexpr double kTargetShare = 1e-8;       // by which a target counts as met before it is, generously
constexpr double kVesselSlack_m3_s = 1e-8;  // a settled level may still creep
constexpr double kWattsOfKilowatt = 1000.0;

std::size_t most_options(const SizingProblem& problem) {
    std::size_t most = 1;
    for (const Choice& choice : problem.choices) most = std::max(most, choice.cost.size());
    return most;
}

Layout with_option(const SizingProblem& problem, std::size_t option) {
    Design design;
    for (const Choice& choice : problem.choices) design.push_back(static_cast<std::uint8_t>(std::min(option, choice.cost.size() - 1)));
    return layout_with(problem, design);
}

/// Builds one case.
class CaseMaker {
public:
    CaseMaker(RelaxedFarm& farm, const std::vector<Layout>& layouts, std::int32_t arrangement)
        : farm_(farm), net_(farm.network()), layout_(*farm.problem->layout), conditions_(layout::conditions_of(layout_, arrangement)) {
        one_.arrangement = arrangement;
        settled_ = !layout_.arrangements[at(arrangement)].at_start_levels;
        const std::vector<std::uint8_t> unprimed(net_.siphons.size(), std::uint8_t{0});
        for (std::size_t k = 0; k < layouts.size(); ++k)
            one_.settings.push_back(network::settings_for(farm.networks[k], layouts[k], conditions_, unprimed));
        one_.first_flow = farm.root.flow.size();
        one_.first_head = farm.root.head.size();
    }

    RelaxedCase make() {
        std::vector<std::uint8_t> at_header(net_.links.size(), 0);
        for (const network::HeaderTee& tee : net_.header_tees)
            for (const auto& leg : tee.leg) at_header[at(leg.link)] = 1;
        one_.touching.resize(at(net_.node_count()));
        for (std::size_t l = 0; l < net_.links.size(); ++l)
            if (!one_.settings.front().links[l].shut) add_link(static_cast<std::int32_t>(l), at_header[l] != 0);
        balances();
        heads();
        inflows();
        pumps();
        return std::move(one_);
    }

private:
    void add_link(std::int32_t index, bool at_header) {
        const Link& link = net_.links[at(index)];
        const LinkSetting& setting = one_.settings.front().links[at(index)];
        RelaxedLink r;
        r.link = index;
        r.from = link.from;
        r.to = link.to;
        r.from_port_m = link.at_from.elevation_m;
        r.to_port_m = link.at_to.elevation_m;
        const bool overflow = link.law == Law::standpipe || link.law == Law::siphon || link.law == Law::float_valve;
        r.has_law = !overflow && !at_header;
        r.forwards_only = overflow || setting.one_way;
        r.hands_on = link.drains_vented;
        r.short_forwards = r.from_port_m > kNoPort || r.hands_on;
        r.short_backwards = r.forwards_only || r.to_port_m > kNoPort;
        if (link.element.kind == Kind::pipe) {
            for (std::size_t c = 0; c < farm_.problem->choices.size(); ++c) {
                const auto& pipes = farm_.problem->choices[c].pipes;
                if (std::find(pipes.begin(), pipes.end(), link.element.index) != pipes.end()) r.choice = static_cast<std::int32_t>(c);
            }
        }
        for (std::size_t k = 0; k < farm_.option_count(r); ++k) r.most_m3_s.push_back(r.choice < 0 ? kRiver_m3_s : limited_flow(r, k));
        const std::size_t place = one_.links.size();
        one_.touching[at(r.from)].emplace_back(place, -1.0);
        one_.touching[at(r.to)].emplace_back(place, 1.0);
        farm_.root.flow.push_back({r.forwards_only ? 0.0 : -kRiver_m3_s, kRiver_m3_s});
        one_.links.push_back(std::move(r));
    }

    /// Most flow that the limits let a chosen pipe of this size carry. A drain keeps to its fill, or, drowned, to the velocity of pipes under
    /// pressure.
    double limited_flow(const RelaxedLink& r, std::size_t option) const {
        const Link& link = farm_.networks[option].links[at(r.link)];
        const layout::Pipe& pipe = layout_.pipes[at(link.element.index)];
        const double velocity = greatest_velocity_m_s(*farm_.problem, link.element.index);
        double most = said(velocity) ? velocity * physics::bore_area_m2(link.bore_m) : kRiver_m3_s;
        if (pipe.gravity) {
            const double fill = farm_.problem->limits.greatest_drain_fill;
            if (!said(fill) || fill >= 1.0) return kRiver_m3_s;
            const auto height = [&](const network::Port& port, std::int32_t node) {
                return port.elevation_m > kNoPort ? port.elevation_m : net_.elevation_m[at(node)];
            };
            const double fall = height(link.at_from, link.from) - height(link.at_to, link.to);
            const physics::DrainFacts facts{.bore_m = link.bore_m, .slope = fall / pipe.length_m, .manning_n = pipe.manning_n};
            if (fall > 0.0) {
                const double ratio = fill < physics::kGreatestFlowFill ? physics::uniform_flow_ratio(fill) : physics::kGreatestFlowRatio;
                most = std::max(most, ratio * physics::full_bore_flow_m3_s(facts));
            }
        }
        return std::min(kRiver_m3_s, std::max(kSomeFlow_m3_s, most * (1.0 + kTargetShare)));
    }

    void balances() {
        one_.balanced.assign(at(net_.node_count()), 0);
        one_.slack_m3_s.assign(at(net_.node_count()), 0.0);
        for (std::int32_t n = 0; n < net_.node_count(); ++n) {
            if (net_.is_fixed(n) || (net_.is_vessel(n) && !settled_)) continue;
            one_.balanced[at(n)] = one_.touching[at(n)].empty() ? 0 : 1;
            one_.slack_m3_s[at(n)] = net_.is_vessel(n) ? kVesselSlack_m3_s : farm_.flow_slack_m3_s();
        }
    }

    void heads() {
        double lowest = HUGE_VAL, highest = -HUGE_VAL;
        const auto reach = [&](double elevation) {
            if (!(std::abs(elevation) < HUGE_VAL)) return;
            lowest = std::min(lowest, elevation);
            highest = std::max(highest, elevation);
        };
        for (const double elevation : net_.elevation_m) reach(elevation);
        for (const double head : net_.fixed_head_m) reach(head);
        for (const network::Storage& storage : net_.storage) reach(storage.rim_m);
        for (const RelaxedLink& link : one_.links) {
            reach(link.from_port_m);
            reach(link.to_port_m);
        }
        double lift = net_.header_tees.empty() ? 1.0 : kAbyss_m;
        for (const RelaxedLink& link : one_.links)
            if (net_.links[at(link.link)].law == Law::pump) lift += std::max(0.0, -farm_.law(one_, link, 0).loss_m(0.0));
        const settle::Start start = settle::start_of(layout_);
        for (std::int32_t n = 0; n < net_.node_count(); ++n) farm_.root.head.push_back(head_of(n, {lowest - lift - kAbyss_m, highest + lift}, start));
    }

    Interval head_of(std::int32_t node, Interval any, const settle::Start& start) const {
        if (net_.is_fixed(node)) {
            const double head = net_.fixed_head_m[at(node - net_.plain_count - net_.vessel_count)];
            return {head, head};
        }
        if (net_.is_vessel(node)) {
            const auto v = at(node - net_.plain_count);
            if (!settled_) return {start.level_m[v], start.level_m[v]};
            return {net_.storage[v].floor_m - kBelowFloor_m, net_.storage[v].rim_m + kHeadSlack_m};
        }
        // air stands in a vented node, or water above it; in the foot of a siphon water may hang
        const bool siphon_foot = std::any_of(net_.siphon_link.begin(), net_.siphon_link.end(), [&](auto l) { return net_.links[at(l)].to == node; });
        if (one_.settings.front().vented[at(node)] != 0 && !siphon_foot) any.low = net_.elevation_m[at(node)] - kHeadSlack_m;
        return any;
    }

    void inflows() {
        const std::vector<std::uint8_t> fed = settle::fed_vessels(layout_, conditions_), feedable = settle::feedable_vessels(layout_);
        const double more = 1.0 + std::max(farm_.problem->least_margin, -0.5);
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) {
            const layout::Vessel& vessel = layout_.vessels[v];
            if (fed[v] == 0 && feedable[v] != 0) continue;  // may be shut off on purpose, and then nothing is asked
            RelaxedInflow wanted;
            wanted.vessel = static_cast<std::int32_t>(v);
            if (said(vessel.inflow_m3_s)) wanted.least_m3_s = vessel.inflow_m3_s * more * (1.0 - kTargetShare);
            if (said(vessel.turnover_s)) wanted.turnover_s = vessel.turnover_s / more * (1.0 + kTargetShare);
            if (wanted.least_m3_s <= 0.0 && wanted.turnover_s <= 0.0) continue;
            if (settled_) {
                Interval& level = farm_.root.head[one_.first_head + at(net_.vessel_node(wanted.vessel))];
                level.low = std::max(level.low, std::min(lowest_way_out(wanted.vessel), level.high) - kHeadSlack_m);
            }
            one_.inflows.push_back(wanted);
        }
    }

    /// Water that comes in and stays level goes out again: somewhere, and not from below that way's edge.
    double lowest_way_out(std::int32_t vessel) const {
        const std::int32_t node = net_.vessel_node(vessel);
        double lowest = net_.storage[at(vessel)].rim_m;
        for (const RelaxedLink& r : one_.links) {
            const Link& link = net_.links[at(r.link)];
            if (link.to == node && !r.forwards_only) lowest = std::min(lowest, link.at_to.leaves_above_m);
            if (link.from != node) continue;
            if (link.law == Law::standpipe) {
                lowest = std::min(lowest, one_.settings.front().links[at(r.link)].value);
                for (const auto& hole : net_.standpipes[at(link.law_index)].holes) lowest = std::min(lowest, hole.elevation_m);
            } else if (link.law == Law::siphon) {
                const network::SiphonLaw& law = net_.siphons[at(link.law_index)];
                lowest = std::min({lowest, law.crest_m, law.breaks_at_m});
            } else {
                lowest = std::min(lowest, link.at_from.leaves_above_m);
            }
        }
        return lowest;
    }

    void pumps() {
        const Costing& costing = farm_.problem->costing;
        const double per_w = costing.hours_a_year[at(one_.arrangement)] / kWattsOfKilowatt * costing.price_per_kwh * costing.worth_of_a_year;
        for (std::size_t place = 0; place < one_.links.size(); ++place) {
            const Link& link = net_.links[at(one_.links[place].link)];
            const LinkSetting& setting = one_.settings.front().links[at(one_.links[place].link)];
            if (link.law != Law::pump || setting.resting || !(per_w > 0.0)) continue;
            if (!net_.pumps[at(link.law_index)].curve.knows_power()) continue;
            one_.pumps.push_back({.place = place, .law = link.law_index, .speed = setting.value, .money_per_w = per_w});
        }
    }

    RelaxedFarm& farm_;
    const network::Network& net_;
    const Layout& layout_;
    layout::Conditions conditions_;
    bool settled_ = true;
    RelaxedCase one_;
};

/// Nodes whose head is determined together with a neighbour's, whatever flows: joined by pipes that nothing can hold back.
std::vector<std::int32_t> joined_nodes(const network::Network& net, const RelaxedCase& one) {
    std::vector<std::int32_t> root(at(net.node_count()));
    for (std::size_t n = 0; n < root.size(); ++n) root[n] = static_cast<std::int32_t>(n);
    const auto find = [&root](std::int32_t n) {
        while (root[at(n)] != n) n = root[at(n)] = root[at(root[at(n)])];
        return n;
    };
    for (const RelaxedLink& link : one.links) {
        const Law law = net.links[at(link.link)].law;
        const bool plain = law == Law::darcy || law == Law::hazen || law == Law::filter;
        if (!plain || link.short_forwards || link.short_backwards || net.is_vessel(link.from) || net.is_vessel(link.to)) continue;
        root[at(find(link.from))] = find(link.to);
    }
    for (std::int32_t n = 0; n < net.node_count(); ++n) root[at(n)] = find(n);
    return root;
}

double scale_of_flows(const SizingProblem& problem) {
    double scale = 0.0;
    for (const layout::Tee& tee : problem.layout->tees) scale += tee.takes_m3_s;
    for (const layout::Vessel& vessel : problem.layout->vessels) {
        if (said(vessel.inflow_m3_s)) scale += vessel.inflow_m3_s;
        if (said(vessel.turnover_s)) scale += vessel.volume.back().volume_m3 / vessel.turnover_s;
    }
    constexpr double kSmall_m3_s = 1e-5;
    return std::max(scale, kSmall_m3_s);
}

}  // namespace

bool RelaxedLink::holds_from_below(const Interval& flow) const { return has_law && (!short_backwards || flow.low > kSomeFlow_m3_s); }
bool RelaxedLink::holds_from_above(const Interval& flow) const { return has_law && !hands_on && (!short_forwards || flow.high < -kSomeFlow_m3_s); }

RelaxedFarm::RelaxedFarm(const SizingProblem& of) : problem(&of), flow_scale_m3_s(scale_of_flows(of)) {
    std::vector<Layout> layouts;
    for (std::size_t k = 0; k < most_options(of); ++k) {
        layouts.push_back(with_option(of, k));
        networks.push_back(network::compile(layouts.back()));
    }
    for (const Choice& choice : of.choices) root.may.emplace_back(choice.cost.size(), std::uint8_t{1});
    for (const std::int32_t a : of.arrangements) cases.push_back(CaseMaker(*this, layouts, a).make());
    add_pressures(root);
}

bool RelaxedFarm::add_pressures(Box& box) const {
    constexpr double kLeastScale_m = 1.0;
    bool added = false;
    const network::Network& net = network();
    for (const RelaxedCase& one : cases) {
        const std::vector<std::int32_t> joined = joined_nodes(net, one);
        std::vector<std::uint8_t> determined(joined.size(), 0);
        for (std::int32_t n = net.plain_count + net.vessel_count; n < net.node_count(); ++n) determined[at(joined[at(n)])] = 1;
        for (std::size_t i = 0; i < one.links.size(); ++i) {
            // water that flows on into a vessel follows the law of its pipe, and so tells the head it comes from
            const RelaxedLink& link = one.links[i];
            if (link.has_law && !link.short_forwards && net.is_vessel(link.to) && box.flow[one.first_flow + i].low > kSomeFlow_m3_s)
                determined[at(joined[at(link.from)])] = 1;
        }
        for (std::size_t t = 0; t < problem->layout->tees.size(); ++t) {
            const layout::Tee& tee = problem->layout->tees[t];
            if (!said(tee.least_pressure_m) || determined[at(joined[at(net.tee_node[t])])] == 0) continue;
            const double over = problem->least_margin * std::max(tee.least_pressure_m, kLeastScale_m);
            const double least = tee.elevation_m + tee.least_pressure_m + over - kHeadSlack_m;
            Interval& head = box.head[one.first_head + at(net.tee_node[t])];
            if (head.low >= least) continue;
            head.low = least;
            added = true;
        }
    }
    return added;
}

}  // namespace ebb::choose
