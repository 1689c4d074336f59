// Solved heads and flows -> the numbers of the answer.

#include <algorithm>
#include <cmath>

#include "solver/physics/fittings.h"
#include "solver/physics/overflow.h"
#include "solver/physics/part_full.h"
#include "solver/physics/suction.h"
#include "solver/settle/heads.h"
#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

using layout::Kind;
using layout::Layout;
using network::Hold;
using network::Link;
using network::Network;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// A flow as reported: nothing backwards through what bars it, and exactly nothing where only the dust of rounding moves.
double reported(double flow, bool one_way) {
    constexpr double kDust_m3_s = 1e-13;
    if (std::abs(flow) < kDust_m3_s || (one_way && flow < 0.0)) return 0.0;
    return flow;
}

class Filler {
public:
    Filler(const Model& model, const Layout& layout, const layout::Conditions& conditions, const Solved& solved, Answer& answer)
        : net_(model.network), layout_(layout), conditions_(conditions), solved_(solved), point_(solved.levels.point),
          linears_(model.solver.linears()), answer_(answer), heads_(net_, solved.settings, point_, linears_) {}

    void fill() {
        answer_.vessels.reserve(layout_.vessels.size());
        answer_.tees.reserve(layout_.tees.size());
        answer_.pipes.reserve(layout_.pipes.size());
        vessels();
        for (std::size_t t = 0; t < layout_.tees.size(); ++t) {
            TeeAnswer tee;
            const auto node = net_.tee_node[t];
            tee.head_m = head(node);
            tee.pressure_m = tee.head_m - layout_.tees[t].elevation_m;
            tee.air = point_.air[at(node)] != 0;
            answer_.tees.push_back(tee);
        }
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) answer_.pipes.push_back(pipe(p));
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) answer_.pumps.push_back(pump(p));
        small_devices();
        for (std::size_t s = 0; s < layout_.standpipes.size(); ++s) answer_.standpipes.push_back(standpipe(s));
        for (std::size_t s = 0; s < layout_.siphons.size(); ++s) {
            SiphonAnswer siphon;
            siphon.primed = solved_.primed[s] != 0;
            siphon.flow_m3_s = flow(net_.siphon_link[s]);
            siphon.foot_head_m = head(net_.links[at(net_.siphon_link[s])].to);
            siphon.runs_for_ever = siphon.primed && answer_.state == State::settled;
            siphon.dribbles = !siphon.primed && solved_.cycling[s] == 0 && siphon.flow_m3_s > 0.0;
            answer_.siphons.push_back(siphon);
        }
        sources();
    }

private:
    double head(std::int32_t node) const { return heads_[node]; }
    double flow(std::int32_t link) const { return reported(point_.flow_m3_s[at(link)], solved_.settings.links[at(link)].one_way); }

    void vessels() {
        std::vector<double> in(layout_.vessels.size(), 0.0), out(layout_.vessels.size(), 0.0);
        for (std::size_t l = 0; l < net_.links.size(); ++l) {
            const Link& link = net_.links[l];
            const double q = flow(static_cast<std::int32_t>(l));
            if (net_.is_vessel(link.from)) (q > 0.0 ? out : in)[at(link.from - net_.plain_count)] += std::abs(q);
            if (net_.is_vessel(link.to)) (q > 0.0 ? in : out)[at(link.to - net_.plain_count)] += std::abs(q);
        }
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) {
            const layout::Vessel& vessel = layout_.vessels[v];
            const double level = point_.head_m[at(net_.plain_count) + v];
            VesselAnswer a;
            a.spill_m3_s = point_.spill_m3_s[v];
            a.level_m = std::min(level, vessel.rim_m);
            a.depth_m = std::max(0.0, a.level_m - vessel.floor_m);
            a.volume_m3 = std::max(0.0, layout::volume_at_depth(vessel, a.depth_m));
            a.inflow_m3_s = in[v];
            a.outflow_m3_s = out[v];
            a.freeboard_m = vessel.rim_m - a.level_m;
            if (a.inflow_m3_s > kNoFlow_m3_s) a.turnover_s = a.volume_m3 / a.inflow_m3_s;
            a.spilled_m3 = solved_.levels.lost[v].volume_m3;
            if (solved_.levels.lost[v].first_s >= 0.0) a.first_spill_s = solved_.levels.lost[v].first_s;
            answer_.vessels.push_back(a);
        }
    }

    PipeAnswer pipe(std::size_t index) const {
        const layout::Pipe& pipe = layout_.pipes[index];
        const std::int32_t l = net_.pipe_link[index];
        const Link& link = net_.links[at(l)];
        const network::LinkSetting& setting = solved_.settings.links[at(l)];
        const network::Linear& linear = linears_[at(l)];
        PipeAnswer a;
        a.flow_m3_s = flow(l);
        const double area = physics::bore_area_m2(pipe.bore_m);
        a.velocity_m_s = a.flow_m3_s / area;
        a.reynolds = std::abs(a.velocity_m_s) * pipe.bore_m / net_.water.kinematic_viscosity_m2_s;
        double cache = 0.0;
        a.loss_m = network::loss_at(net_, setting, link, a.flow_m3_s, cache).value;
        if (a.flow_m3_s > 0.0) a.loss_m += link.trapped_air_m;
        if (!point_.tee_loss_m.empty()) a.loss_m += a.tee_loss_m = point_.tee_loss_m[at(l)];
        if (a.loss_m == 0.0) a.loss_m = 0.0;  // no negative zero
        // a check valve holds back where the head across it is the wrong way round
        const auto driven_back = [&] {
            return network::port_head(link.at_from, heads_[link.from]) - network::port_head(link.at_to, heads_[link.to]) < -1e-9;
        };
        const bool known_ends = heads_.known(link.from) && heads_.known(link.to);
        const bool holds_back = heads_.bars(l) && known_ends && pipe.from.ref.kind != Kind::supply && driven_back();
        a.shut = setting.shut || holds_back;
        if (a.shut) a.loss_m = kUnknown;
        a.held_by_entrance = linear.hold == Hold::entrance_from || linear.hold == Hold::entrance_to;
        a.entrance_limits = a.held_by_entrance && std::abs(a.flow_m3_s) > kNoFlow_m3_s;
        if (pipe.gravity) drain(pipe, link, linear, a);
        return a;
    }

    /// Part full where air stands at its upper end and its lower end is not drowned; else full.
    void drain(const layout::Pipe& pipe, const Link& link, const network::Linear& linear, PipeAnswer& a) const {
        const double upper = link.at_from.elevation_m > network::kNoPort ? link.at_from.elevation_m : net_.elevation_m[at(link.from)];
        const bool to_port = link.at_to.elevation_m > network::kNoPort;
        const double lower = to_port ? link.at_to.elevation_m : net_.elevation_m[at(link.to)];
        const double end_head = point_.head_m[at(link.to)];
        const bool cascade = linear.hold == Hold::cascade;
        const bool air_in = cascade || linear.hold == Hold::entrance_from;
        const physics::DrainFacts facts{.bore_m = pipe.bore_m, .slope = (upper - lower) / pipe.length_m, .manning_n = pipe.manning_n};
        if (facts.slope > 0.0) {
            const physics::DrainFlow part = physics::drain_flow(facts, a.flow_m3_s);
            a.capacity_used = part.capacity_used;
            a.drowned = end_head > lower + pipe.bore_m;
            const bool part_full = air_in && part.part_full && !a.drowned;
            a.fill_ratio = part_full ? part.fill_ratio : 1.0;
            if (part_full) a.velocity_m_s = part.velocity_m_s;
        } else {
            a.fill_ratio = 1.0;
            a.drowned = end_head > lower + pipe.bore_m;
        }
        if (a.flow_m3_s == 0.0 && !a.drowned) a.fill_ratio = 0.0;
        if (air_in) a.loss_m = kUnknown;
    }

    PumpAnswer pump(std::size_t index) const {
        const layout::Pump& pump = layout_.pumps[index];
        const std::int32_t l = net_.pump_link[index];
        const Link& link = net_.links[at(l)];
        const network::PumpLaw& law = net_.pumps[at(link.law_index)];
        const double speed = conditions_.pump_speed[index];
        PumpAnswer a;
        a.running = speed > 0.0;
        a.from_label = layout_.pump_models[at(pump.model)].from_label;
        a.flow_m3_s = flow(l);
        a.inlet_head_m = head(link.from);
        a.outlet_head_m = head(link.to);
        const double elevation = pump.in_id.empty() ? pump.elevation_m
                                 : law.intake_m > network::kNoPort
                                     ? law.intake_m
                                     : net_.elevation_m[at(link.from)] + (layout::said(pump.intake_height_m) ? pump.intake_height_m : 0.0);
        a.npsh_available_m = physics::npsh_available_m(net_.water, a.inlet_head_m - elevation);
        if (!a.running) {
            a.power_w = 0.0;
            return a;
        }
        const physics::PumpDuty duty{.speed = speed, .count = pump.count, .wear = pump.wear};
        a.head_m = law.curve.head(a.flow_m3_s, duty).value;
        a.power_w = law.curve.power_w(a.flow_m3_s, duty);
        a.npsh_required_m = law.curve.npsh_required_m(a.flow_m3_s, duty);
        a.efficiency = law.curve.efficiency(a.flow_m3_s, duty, net_.water.density_kg_m3);
        a.best_point_ratio = a.flow_m3_s / law.curve.best_efficiency_flow_m3_s(duty);
        // bare, or so nearly that the intake and not the pump's curve holds the flow
        a.intake_bare = law.intake_m > network::kNoPort &&
                        (point_.head_m[at(link.from)] < law.intake_m + network::kBareBand_m || linears_[at(l)].hold == Hold::entrance_from);
        a.beyond_curve = a.flow_m3_s > law.curve.greatest_flow_m3_s(duty) * (1.0 + 1e-12);
        a.against_shut = !a.intake_bare && a.flow_m3_s <= 1e-9;
        return a;
    }

    void small_devices() {
        for (std::size_t f = 0; f < layout_.filters.size(); ++f) {
            const Link& link = net_.links[at(net_.filter_link[f])];
            FilterAnswer a;
            a.flow_m3_s = flow(net_.filter_link[f]);
            a.loss_m = net_.filters[f].loss(a.flow_m3_s, conditions_.filter_load[f]).value;
            a.inlet_head_m = head(link.from);
            a.outlet_head_m = head(link.to);
            answer_.filters.push_back(a);
        }
        for (std::size_t n = 0; n < layout_.nozzles.size(); ++n) {
            const Link& link = net_.links[at(net_.nozzle_link[n])];
            NozzleAnswer a;
            a.flow_m3_s = flow(net_.nozzle_link[n]);
            a.inlet_head_m = head(link.from);
            a.head_m = a.inlet_head_m - network::port_head(link.at_to, point_.head_m[at(link.to)]);
            answer_.nozzles.push_back(a);
        }
    }

    StandpipeAnswer standpipe(std::size_t index) const {
        const std::int32_t l = net_.standpipe_link[index];
        const Link& link = net_.links[at(l)];
        const network::StandpipeLaw& law = net_.standpipes[index];
        const double level = point_.head_m[at(link.from)], foot = point_.head_m[at(link.to)], lip = solved_.settings.links[at(l)].value;
        StandpipeAnswer a;
        a.flow_m3_s = flow(l);
        a.foot_head_m = head(link.to);
        a.depth_over_lip_m = level - lip;
        a.through_holes_m3_s = 0.0;
        for (const auto& hole : law.holes) {
            const double over = level - std::max(hole.elevation_m, foot);
            if (over > 0.0) a.through_holes_m3_s += physics::drain_hole_flow(hole.area_m2, over, hole.discharge_coefficient).value;
        }
        switch (physics::overflow_regime(law.bore_m, level - std::max(lip, foot))) {
            case physics::OverflowRegime::weir: a.regime = OverflowRegime::weir; break;
            case physics::OverflowRegime::orifice: a.regime = OverflowRegime::orifice; break;
            default: a.regime = OverflowRegime::dry; break;
        }
        if (foot > lip && level > lip) a.regime = OverflowRegime::drowned;
        full_pipe_state(index, link, a);
        return a;
    }

    /// Beyond the self-venting limit the downpipe may sweep its air out and run full: the level at which it would then pass the same flow.
    void full_pipe_state(std::size_t index, const Link& link, StandpipeAnswer& a) const {
        const network::StandpipeLaw& law = net_.standpipes[index];
        const std::int32_t drain = net_.drain_of[at(link.to)];
        if (a.regime == OverflowRegime::drowned || a.flow_m3_s <= physics::self_venting_limit_m3_s(law.bore_m)) return;
        const Link& behind = net_.links[at(drain)];
        double cache = 0.0;
        const double loss = network::loss_at(net_, solved_.settings.links[at(drain)], behind, a.flow_m3_s, cache).value;
        const double entry = physics::kEntryLoss * physics::velocity_head_coefficient(physics::bore_area_m2(law.bore_m)) * a.flow_m3_s * a.flow_m3_s;
        const double level = network::port_head(behind.at_to, point_.head_m[at(behind.to)]) + loss + entry;
        const double lip = solved_.settings.links[at(net_.standpipe_link[index])].value;
        a.full_pipe_level_m = std::max(level, lip);
        a.may_run_full = a.full_pipe_level_m < point_.head_m[at(link.from)] - 1e-4;
    }

    void sources() {
        std::vector<double> from_fixed(at(net_.fixed_count), 0.0);
        const std::int32_t first_fixed = net_.plain_count + net_.vessel_count;
        for (std::size_t l = 0; l < net_.links.size(); ++l) {
            const Link& link = net_.links[l];
            if (net_.is_fixed(link.from)) from_fixed[at(link.from - first_fixed)] += flow(static_cast<std::int32_t>(l));
            if (net_.is_fixed(link.to)) from_fixed[at(link.to - first_fixed)] -= flow(static_cast<std::int32_t>(l));
        }
        std::size_t fixed = 0;
        for (std::size_t p = 0; p < layout_.ponds.size(); ++p) answer_.ponds.push_back({.flow_m3_s = from_fixed[fixed++]});
        for (std::size_t s = 0; s < layout_.supplies.size(); ++s) answer_.supplies.push_back({.flow_m3_s = from_fixed[fixed++]});
        for (std::size_t v = 0; v < layout_.float_valves.size(); ++v) {
            const Link& link = net_.links[at(net_.float_link[v])];
            const network::FloatLaw& law = net_.float_valves[v];
            SourceAnswer a;
            a.flow_m3_s = flow(net_.float_link[v]);
            a.opening = std::clamp((law.closes_at_m - point_.head_m[at(link.to)]) / (law.closes_at_m - law.opens_at_m), 0.0, 1.0);
            a.inlet_head_m = head(link.from);
            answer_.float_valves.push_back(a);
        }
    }

    const Network& net_;
    const Layout& layout_;
    const layout::Conditions& conditions_;
    const Solved& solved_;
    const network::Point& point_;
    const std::vector<network::Linear>& linears_;
    Answer& answer_;
    Heads heads_;
};

}  // namespace

void fill_answer(const Model& model, const Layout& layout, const layout::Conditions& conditions, const Solved& solved, Answer& answer) {
    answer.state = solved.state;
    answer.why = solved.why;
    answer.counts.newton_steps = solved.levels.newton_steps;
    answer.counts.newton_steps_total = solved.levels.newton_steps_total;
    answer.counts.network_solves = solved.levels.network_solves;
    answer.counts.fallbacks = solved.levels.fallbacks;
    if (solved.levels.dry_after_s >= 0.0 && solved.state == State::spills_until_dry) answer.dry_after_s = solved.levels.dry_after_s;
    Filler(model, layout, conditions, solved, answer).fill();
}

}  // namespace ebb::settle
