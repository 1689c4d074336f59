// The answer held against the layout by code that did not produce it: no network, no matrix, no linear laws. Every pipe's loss is recomputed
// from its length, bore and fittings; every balance from the flows in the answer.

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/physics/friction.h"
#include "solver/physics/overflow.h"
#include "solver/settle/heads.h"
#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Largest error of a head that is promised, and errors that are not worth asking whether a flow that nobody could see makes them.
constexpr double kPromised_m = 1e-6, kHeadThatCounts_m = 1e-9;
constexpr double kPromisedShare = 1e-9;  ///< of the largest flow, the same of a balance
constexpr double kMostSaid = 1e12;

/// Whole, but for less than one.
std::string in_millimetres(double length_m) {
    if (length_m >= 1e-3) return std::to_string(std::lround(std::min(1000.0 * length_m, kMostSaid)));
    std::array<char, 32> text{};
    return {text.data(), std::to_chars(text.data(), text.data() + text.size(), 1000.0 * length_m, std::chars_format::fixed, 4).ptr};
}

class Verifier {
public:
    Verifier(const Layout& layout, const layout::Conditions& conditions, Answer& answer)
        : layout_(layout), conditions_(conditions), answer_(answer), water_(physics::water_at(layout.water_temperature_c, layout.altitude_m)) {}

    void run() {
        balances();
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) pipe(p);
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) pump(p);
        for (std::size_t f = 0; f < layout_.filters.size(); ++f) {
            const FilterAnswer& filter = answer_.filters[f];
            const double left = filter.inlet_head_m - filter.outlet_head_m - filter.loss_m;
            if (std::isnan(left)) takes_in_cut_off(filter.flow_m3_s, filter.loss_m);
            note_head(layout_.filters[f].id, left);
        }
        for (std::size_t s = 0; s < layout_.standpipes.size(); ++s) standpipe(s);
        cut_off();
        answer_.worst_flow_imbalance_m3_s = worst_flow_;
        answer_.worst_head_error_m = worst_head_;
        if (worst_head_ > kPromised_m)
            answer_.warnings.push_back({"recomputed-apart", worst_at_,
                                        "recomputed, the heads at " + worst_at_ + " are off by " + in_millimetres(worst_head_) +
                                            " mm: do not rely on them, nor on others where next to nothing flows; please report this layout"});
        if (worst_passing_ > kPromisedShare * largest_flow() + 2.0 * kNoFlow_m3_s)
            answer_.warnings.push_back({"recomputed-apart", worst_passing_at_,
                                        "recomputed, the flows at " + worst_passing_at_ + " are off by " +
                                            std::to_string(std::lround(std::min(6e7 * worst_passing_, kMostSaid))) +
                                            " ml/min: do not rely on them; please report this layout"});
    }

private:
    void note_head(const std::string& where, double error) {
        if (!(std::abs(error) > worst_head_)) return;
        worst_head_ = std::abs(error);
        worst_at_ = where;
    }
    static double beyond_dust(double flow_m3_s) { return std::max(0.0, std::abs(flow_m3_s) - kNoFlow_m3_s); }
    /// What comes and goes, or what a law gives, at a thing that holds no water. (Of vessels judge.cpp tells, which knows what creeps.)
    void note_flow(const std::string& where, double error) {
        if (std::abs(error) > worst_passing_) {
            worst_passing_ = std::abs(error);
            worst_passing_at_ = where;
        }
        note_vessel(error);
    }
    void note_vessel(double error) { worst_flow_ = std::max(worst_flow_, std::abs(error)); }
    double largest_flow() const {
        double largest = 0.0;
        for (const PipeAnswer& pipe : answer_.pipes) largest = std::max(largest, std::abs(pipe.flow_m3_s));
        return largest;
    }

    /// Head an end of a pipe sees; NaN at a cut-off thing.
    double head(const layout::End& end, bool leaving) const {
        const auto i = at(end.ref.index);
        switch (end.ref.kind) {
            case Kind::vessel: return std::max(answer_.vessels[i].level_m, layout_.vessels[i].floor_m + end.height());
            case Kind::pond: return layout_.ponds[i].level_m + std::max(0.0, end.height());
            case Kind::tee: return answer_.tees[i].head_m;
            case Kind::pump: return leaving ? answer_.pumps[i].outlet_head_m : answer_.pumps[i].inlet_head_m;
            case Kind::filter: return leaving ? answer_.filters[i].outlet_head_m : answer_.filters[i].inlet_head_m;
            case Kind::nozzle: return answer_.nozzles[i].inlet_head_m;
            case Kind::supply: return layout_.supplies[i].elevation_m + layout_.supplies[i].head_m;
            case Kind::float_valve: return answer_.float_valves[i].inlet_head_m;
            case Kind::standpipe: return answer_.standpipes[i].foot_head_m;
            case Kind::siphon: return answer_.siphons[i].foot_head_m;
            default: return kUnknown;
        }
    }

    /// Darcy-Weisbach or Hazen-Williams friction, from first principles.
    double friction(const layout::Pipe& pipe, double flow) const {
        if (layout_.friction == layout::FrictionLaw::hazen_williams)
            return physics::hazen_williams_loss(
                       physics::make_hazen_pipe(
                           {.length_m = pipe.length_m, .bore_m = pipe.bore_m, .coefficient = pipe.hazen_williams_c, .law = layout_.hazen}),
                       flow)
                .value;
        const double area = physics::bore_area_m2(pipe.bore_m), velocity = std::abs(flow) / area;
        const double reynolds = velocity * pipe.bore_m / water_.kinematic_viscosity_m2_s;
        const double per_factor = pipe.length_m / pipe.bore_m * velocity * velocity / (2.0 * physics::kGravity_m_s2);
        double loss = 0.0;
        if (reynolds > 0.0 && reynolds <= physics::kLaminarReynolds)
            loss = 64.0 / reynolds * per_factor;
        else if (reynolds >= physics::kTurbulentReynolds)
            loss = physics::colebrook_friction_factor(reynolds, pipe.roughness_m / pipe.bore_m) * per_factor;
        else if (reynolds > 0.0)
            loss = std::abs(physics::darcy_loss(physics::make_darcy_pipe({.length_m = pipe.length_m,
                                                                          .bore_m = pipe.bore_m,
                                                                          .roughness_m = pipe.roughness_m,
                                                                          .kinematic_viscosity_m2_s = water_.kinematic_viscosity_m2_s}),
                                                flow)
                                .value);
        return flow < 0.0 ? -loss : loss;
    }

    double local_heads(const layout::Pipe& pipe, bool forward) const {
        double heads = 0.0;
        for (const auto& fitting : pipe.fittings) heads += fitting.count * fitting.loss;
        for (const auto v : pipe.valves)
            heads += physics::valve_loss_coefficient(layout_.valves[at(v)].kind, conditions_.valve_opening[at(v)], layout_.valves[at(v)].loss);
        const auto surface = [](const layout::End& end) { return end.ref.kind == Kind::vessel || end.ref.kind == Kind::pond; };
        if (forward) {
            if (said(pipe.entry_loss))
                heads += pipe.entry_loss;
            else if (surface(pipe.from))
                heads += physics::kEntryLoss;
            if (said(pipe.exit_loss))
                heads += pipe.exit_loss;
            else if (surface(pipe.to))
                heads += physics::kExitLoss;
        } else {
            heads += surface(pipe.to) ? physics::kEntryLoss : 0.0;
            heads += surface(pipe.from) ? physics::kExitLoss : 0.0;
        }
        return pipe.loss_factor * heads;
    }

    bool closed(const layout::Pipe& pipe) const {
        return std::any_of(pipe.valves.begin(), pipe.valves.end(), [&](const auto v) { return conditions_.valve_opening[at(v)] <= 0.0; });
    }

    /// What is cut off has no heads to be held against; but where the balances hold, all losses together take what the pumps there give, whatever the
    /// heads are (B. D. H. Tellegen, Philips Research Reports 7 (1952) 259). Without a pump nothing moves.
    void takes_in_cut_off(double flow_m3_s, double loss_m) {
        taken_m4_s_ += flow_m3_s * loss_m;
        largest_cut_off_m3_s_ = std::max(largest_cut_off_m3_s_, std::abs(flow_m3_s));
    }
    void cut_off() {
        if (largest_cut_off_m3_s_ > kNoFlow_m3_s) note_head("what is cut off", taken_m4_s_ / largest_cut_off_m3_s_);
    }

    void pipe(std::size_t index) {
        const layout::Pipe& pipe = layout_.pipes[index];
        const PipeAnswer& a = answer_.pipes[index];
        if (closed(pipe)) return note_flow(pipe.id, a.flow_m3_s);
        const double taken = loss(pipe, a.flow_m3_s) + a.tee_loss_m;
        double left = head(pipe.from, true) - head(pipe.to, false) - taken;
        if (std::isnan(left)) return takes_in_cut_off(a.flow_m3_s, a.flow_m3_s > 0.0 ? taken + pipe.trapped_air_m : taken);
        if (pipe.trapped_air_m > 0.0) left = a.flow_m3_s > 0.0 ? left - pipe.trapped_air_m : std::max(0.0, left - pipe.trapped_air_m);
        const bool from_air = (pipe.from.ref.kind == Kind::tee && answer_.tees[at(pipe.from.ref.index)].air) ||
                              ((pipe.from.ref.kind == Kind::standpipe || pipe.from.ref.kind == Kind::siphon) && left > 0.0);
        if (left > 0.0 && (from_air || (a.held_by_entrance && a.flow_m3_s >= 0.0))) return;  // air takes up the rest
        if (left < 0.0 && a.held_by_entrance && a.flow_m3_s <= 0.0) return;
        if (a.flow_m3_s == 0.0 && a.shut) return;
        if (a.flow_m3_s == 0.0) {
            // at rest with a difference of head: only where no water stands before the port, or nothing may come back
            const layout::End& high = left > 0.0 ? pipe.from : pipe.to;
            if (high.ref.kind == Kind::vessel &&
                answer_.vessels[at(high.ref.index)].level_m <= layout_.vessels[at(high.ref.index)].floor_m + high.height() + 1e-9)
                return;
            if (high.ref.kind == Kind::vessel && left < 0.0 && said(pipe.air_hole_m)) return;
            if (high.ref.kind == Kind::pond && high.height() > 0.0) return;
            if (left < 0.0 && (pipe.from.ref.kind == Kind::supply)) return;
            if (left < 0.0 && std::isnan(a.loss_m)) return;
        }
        note_head(pipe.id, beyond_dust(pipe, a.flow_m3_s, left));
    }

    /// What is left of a head error when the flow may be off by the dust, which is no error: through a valve opened by a millionth it is worth
    /// metres of head.
    double beyond_dust(const layout::Pipe& pipe, double flow, double left) const {
        if (std::abs(left) < kHeadThatCounts_m) return left;
        const double now = loss(pipe, flow);
        return left - std::clamp(left, loss(pipe, flow - kNoFlow_m3_s) - now, loss(pipe, flow + kNoFlow_m3_s) - now);
    }

    /// Loss of a pipe with what stands in it, tees of headers excepted, m, by its length, bore and fittings.
    double loss(const layout::Pipe& pipe, double flow) const {
        const double velocity = flow / physics::bore_area_m2(pipe.bore_m);
        return friction(pipe, flow) + local_heads(pipe, flow >= 0.0) * velocity * std::abs(velocity) / (2.0 * physics::kGravity_m_s2);
    }

    void pump(std::size_t index) {
        const layout::Pump& pump = layout_.pumps[index];
        const PumpAnswer& a = answer_.pumps[index];
        if (!a.running && said(pump.stopped_flow_m3_s) && std::isnan(a.inlet_head_m)) {
            const double share = a.flow_m3_s / (pump.count * pump.stopped_flow_m3_s);
            takes_in_cut_off(a.flow_m3_s, pump.stopped_head_m * share * std::abs(share));
        }
        if (!a.running || a.intake_bare) return;
        const double left = a.outlet_head_m - a.inlet_head_m - a.head_m;
        if (std::isnan(left)) takes_in_cut_off(a.flow_m3_s, -a.head_m);
        if (a.flow_m3_s == 0.0 && left > 0.0) return;  // the system stands above its shut-off head
        if (!pump.in_id.empty() || !std::isnan(a.inlet_head_m)) note_head(pump.id, left);
    }

    /// Nothing can leave by the drain below a standpipe: it is shut, leads to what is cut off, ends no lower than the water around it stands, or is
    /// so long and thin that what stands over its end drives no flow that counts.
    bool passes_nothing(std::size_t standpipe, double level) const {
        const Ref here{Kind::standpipe, static_cast<std::int32_t>(standpipe)};
        const auto drain = std::find_if(layout_.pipes.begin(), layout_.pipes.end(), [&](const layout::Pipe& pipe) { return pipe.from.ref == here; });
        return drain != layout_.pipes.end() && (closed(*drain) || !(level - head(drain->to, false) > kHeadThatCounts_m + loss(*drain, kNoFlow_m3_s)));
    }

    void standpipe(std::size_t index) {
        const layout::Standpipe& standpipe = layout_.standpipes[index];
        const StandpipeAnswer& a = answer_.standpipes[index];
        const layout::Vessel& vessel = layout_.vessels[at(standpipe.in.index)];
        const double level = answer_.vessels[at(standpipe.in.index)].level_m;
        if (std::isnan(a.foot_head_m) && passes_nothing(index, level))
            return note_flow(standpipe.id, beyond_dust(a.flow_m3_s));  // it stands full to the level, and nothing goes over
        const double foot = std::isnan(a.foot_head_m) ? vessel.floor_m : a.foot_head_m;
        const double lip = vessel.floor_m + standpipe.inserts[at(conditions_.insert[index])].lip_m;
        // a level is known to rounding, the flow its square root gives less well: what 1e-9 m of level is worth is not an error
        physics::ValueSlope flow = physics::overflow_flow(standpipe.bore_m, level - std::max(lip, foot));
        for (const auto& hole : standpipe.holes) {
            const double over = level - std::max(vessel.floor_m + hole.height_m, foot);
            if (over <= 0.0) continue;
            const auto through = physics::drain_hole_flow(hole.count * physics::bore_area_m2(hole.diameter_m), over, hole.discharge_coefficient);
            flow.value += through.value;
            flow.slope += through.slope;
        }
        note_flow(standpipe.id, std::max(0.0, std::abs(flow.value - a.flow_m3_s) - 1e-9 * flow.slope));
    }

    void balances() {
        std::vector<double> vessel(layout_.vessels.size(), 0.0), tee(layout_.tees.size(), 0.0);
        const auto device = [&](const layout::End& end, bool leaving, double flow) {
            const auto i = at(end.ref.index);
            switch (end.ref.kind) {
                case Kind::vessel: vessel[i] += leaving ? -flow : flow; break;
                case Kind::tee: tee[i] += leaving ? -flow : flow; break;
                case Kind::pump: note_flow(end.id, flow - answer_.pumps[i].flow_m3_s); break;
                case Kind::filter: note_flow(end.id, flow - answer_.filters[i].flow_m3_s); break;
                case Kind::nozzle: note_flow(end.id, flow - answer_.nozzles[i].flow_m3_s); break;
                case Kind::float_valve: note_flow(end.id, flow - answer_.float_valves[i].flow_m3_s); break;
                case Kind::standpipe: note_flow(end.id, flow - answer_.standpipes[i].flow_m3_s); break;
                case Kind::siphon: note_flow(end.id, flow - answer_.siphons[i].flow_m3_s); break;
                default: break;
            }
        };
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) {
            device(layout_.pipes[p].from, true, answer_.pipes[p].flow_m3_s);
            device(layout_.pipes[p].to, false, answer_.pipes[p].flow_m3_s);
        }
        const auto into = [&](const Ref& ref, double flow) {
            if (ref.kind == Kind::vessel) vessel[at(ref.index)] += flow;
        };
        for (std::size_t i = 0; i < layout_.pumps.size(); ++i) into(layout_.pumps[i].in, -answer_.pumps[i].flow_m3_s);
        for (std::size_t i = 0; i < layout_.nozzles.size(); ++i) into(layout_.nozzles[i].into, answer_.nozzles[i].flow_m3_s);
        for (std::size_t i = 0; i < layout_.float_valves.size(); ++i) into(layout_.float_valves[i].into, answer_.float_valves[i].flow_m3_s);
        for (std::size_t i = 0; i < layout_.standpipes.size(); ++i) into(layout_.standpipes[i].in, -answer_.standpipes[i].flow_m3_s);
        for (std::size_t i = 0; i < layout_.siphons.size(); ++i) into(layout_.siphons[i].in, -answer_.siphons[i].flow_m3_s);
        for (std::size_t t = 0; t < tee.size(); ++t) note_flow(layout_.tees[t].id, tee[t] - layout_.tees[t].takes_m3_s);
        for (std::size_t v = 0; v < vessel.size(); ++v) {
            note_vessel(vessel[v] - (answer_.vessels[v].inflow_m3_s - answer_.vessels[v].outflow_m3_s));
            if (answer_.state == State::settled) note_vessel(vessel[v] - answer_.vessels[v].spill_m3_s);
        }
    }

    const Layout& layout_;
    const layout::Conditions& conditions_;
    Answer& answer_;
    physics::Water water_;
    double worst_flow_ = 0.0, worst_passing_ = 0.0, worst_head_ = 0.0;
    double taken_m4_s_ = 0.0, largest_cut_off_m3_s_ = 0.0;
    std::string worst_at_, worst_passing_at_;
};

}  // namespace

void verify(const Layout& layout, const layout::Conditions& conditions, Answer& answer) {
    if (answer.state == State::no_solution) return;
    Verifier(layout, conditions, answer).run();
}

}  // namespace ebb::settle
