#include "solver/diagnose/predict.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>

#include "solver/diagnose/places.h"
#include "solver/physics/constants.h"
#include "solver/physics/fittings.h"
#include "solver/settle/model.h"

namespace ebb::diagnose {

namespace {

using layout::Conditions;
using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kSpills_m3_s = 1e-7;  ///< a drop every few seconds is seen
constexpr double kOverflows_m3_s = 1e-7;
constexpr double kRaise_m = 0.5;  ///< walls of a vessel whose spill is caught
constexpr double kCatchBore_m = 0.30;
constexpr double kWatched_s = 600.0;  ///< how long a level is watched for its movement
constexpr double kMoves_m = 0.003;    ///< what is seen in that time

/// Positive nodes and their weights of Gauss-Legendre quadrature on (-1, 1), eight points (Abramowitz and Stegun, table 25.4, from memory).
constexpr std::array<double, 4> kGaussX = {0.1834346424956498, 0.5255324099163290, 0.7966664774136267, 0.9602898564975363};
constexpr std::array<double, 4> kGaussW = {0.3626837833783620, 0.3137066458778873, 0.2223810344533745, 0.1012285362903763};

/// What one visit's farm does.
struct Seen {
    settle::Solved solved;
    settle::Answer answer;
    std::vector<std::uint8_t> spills;  ///< per vessel
    double lost_m3_s = 0.0;
    std::int32_t missed_in = -1;
};

/// A bucket goes under a pipe whose end stands over the water of a vessel: above what it holds at the start, and above every lip it overflows by.
bool ends_in_air(const Layout& layout, const layout::Pipe& pipe) {
    if (pipe.to.ref.kind != Kind::vessel || pipe.to.height() <= 0.0) return false;
    const double start_m = layout.vessels[at(pipe.to.ref.index)].start_depth_m;
    bool above = !layout::said(start_m) || pipe.to.height() > start_m;
    for (const layout::Standpipe& standpipe : layout.standpipes)
        for (const layout::Insert& insert : standpipe.inserts) above = above && (!(standpipe.in == pipe.to.ref) || pipe.to.height() > insert.lip_m);
    return above;
}

/// Walls raised and what comes over them led into the sump: `vessel` spills, and its water stays in the farm.
void catch_spill(Layout& layout, std::int32_t vessel, std::int32_t sump) {
    layout::Vessel& spills = layout.vessels[at(vessel)];
    const layout::Vessel& into = layout.vessels[at(sump)];
    const double height_m = spills.rim_m - spills.floor_m;
    layout::Pipe pipe;
    pipe.id = "over-the-rim";
    pipe.from.id = spills.id;
    pipe.from.ref = {Kind::vessel, vessel};
    pipe.from.height_m = height_m;
    pipe.to.id = into.id;
    pipe.to.ref = {Kind::vessel, sump};
    pipe.to.height_m = std::max(into.rim_m - into.floor_m, 0.0);
    pipe.length_m = 0.1;
    pipe.bore_m = kCatchBore_m;
    pipe.roughness_m = 0.0;
    pipe.hazen_williams_c = 150.0;
    spills.rim_m += kRaise_m;
    spills.volume.push_back({height_m + kRaise_m, layout::volume_at_depth(spills, height_m + kRaise_m)});
    layout.pipes.push_back(pipe);
}

}  // namespace

struct Predictor::Impl {
    const Layout* drawn;
    std::vector<Visit> visits;
    std::vector<Observable> observables;
    std::vector<Conditions> drawn_conditions, conditions;
    std::vector<std::uint8_t> at_start;  ///< per visit
    Layout layout;
    std::vector<Injected> sump_leaks;  ///< of the faults in it, those that only the fall of a sump tells
    std::size_t solves = 0;
    settle::LevelTolerances tolerances;
    std::vector<std::uint8_t> wants_moves;                        ///< per visit
    std::vector<std::vector<double>> found_depths, begin_depths;  ///< per visit; begin: empty, or those of the sound farm

    /// Begins where the sound farm stands, with what was added or taken at the start.
    void begin_running(Layout& farm, std::size_t visit) const {
        if (begin_depths.empty() || at_start[visit] != 0) return;
        std::vector<double> begin(drawn->vessels.size());
        for (std::size_t v = 0; v < begin.size(); ++v) {
            const layout::Vessel &own = farm.vessels[v], &as_drawn = drawn->vessels[v];
            const auto start = [](const layout::Vessel& vessel) {
                return layout::volume_at_depth(vessel, layout::said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0);
            };
            const double runs_m3 = layout::volume_at_depth(as_drawn, begin_depths[visit][v]), now_m3 = runs_m3 + start(own) - start(as_drawn);
            if (std::isnan(runs_m3) || now_m3 < 0.0 || now_m3 > own.volume.back().volume_m3) return;
            begin[v] = now_m3 == runs_m3 ? begin_depths[visit][v] : layout::depth_at_volume(own, now_m3);
        }
        for (std::size_t v = 0; v < begin.size(); ++v) farm.vessels[v].start_depth_m = begin[v];
    }

    Seen settle_once(const Layout& farm, const Conditions& now, std::size_t visit, bool walk, std::unique_ptr<settle::Model>& model) {
        Seen seen;
        tolerances.walk = walk;
        model = std::make_unique<settle::Model>(network::compile(farm));
        seen.solved = settle::solve_model(*model, farm, now, at_start[visit] != 0, settle::start_of(farm), tolerances);
        solves += static_cast<std::size_t>(seen.solved.levels.network_solves);
        model->solver.look_at(seen.solved.settings, seen.solved.levels.point);
        if (seen.solved.state != settle::State::no_solution) settle::fill_answer(*model, farm, now, seen.solved, seen.answer);
        return seen;
    }

    /// Settles, catching what spills until nothing is lost any more: first by direct steps alone, for the way of a farm that spills is long and will
    /// not be gone; then, with everything caught, as it is.
    bool look(Layout farm, const Conditions& now, std::size_t visit, bool quick, bool running, Seen& seen, std::unique_ptr<settle::Model>& model,
              Layout& solved_farm) {
        const std::size_t vessels = farm.vessels.size();
        if (running) begin_running(farm, visit);
        std::vector<std::uint8_t> caught(vessels, 0);
        bool walk = at_start[visit] != 0;
        for (std::size_t round = 0; round < 2 * vessels + 2; ++round) {
            seen = settle_once(farm, now, visit, walk, model);
            if (seen.solved.state == settle::State::no_solution && !walk)
                seen = settle_once(farm, now, visit, true, model);  // where no direct step leads
            if (seen.solved.state == settle::State::no_solution) return false;
            bool more = false;
            for (std::size_t v = 0; v < vessels && at_start[visit] == 0; ++v) {
                const auto vessel = static_cast<std::int32_t>(v);
                const bool spills = seen.answer.vessels[v].spill_m3_s > kSpills_m3_s || seen.answer.vessels[v].spilled_m3 > 1e-6;
                if (!spills || caught[v] != 0) continue;
                const std::int32_t sump = missed_in(farm, {Kind::vessel, vessel});
                if (sump < 0 || sump == vessel) continue;  // over the rim of the sump itself: gone, and the sump stays full
                catch_spill(farm, vessel, sump);
                caught[v] = 1;
                more = true;
            }
            if (!more && (walk || quick)) break;
            walk = !more;
        }
        seen.spills.assign(vessels, 0);
        for (std::size_t v = 0; v < vessels; ++v) {
            const layout::Vessel& as_drawn = drawn->vessels[v];
            settle::VesselAnswer& vessel = seen.answer.vessels[v];
            seen.spills[v] = vessel.spill_m3_s > kSpills_m3_s ? 1 : 0;
            if (caught[v] == 0) continue;
            const double height_m = as_drawn.rim_m - as_drawn.floor_m;
            if (vessel.depth_m > height_m) {
                seen.spills[v] = 1;
                vessel.depth_m = height_m;
            }
        }
        add_lost(farm, seen);
        solved_farm = std::move(farm);
        return true;
    }

    /// What leaves the farm by leaks and over rims, in the state as solved.
    void add_lost(const Layout& farm, Seen& seen) const {
        for (std::size_t p = 0; p < farm.pipes.size(); ++p)
            if (farm.pipes[p].id == "over-the-rim") {
                seen.lost_m3_s += std::max(0.0, seen.answer.pipes[p].flow_m3_s);
                seen.missed_in = farm.pipes[p].to.ref.index;
            }
        for (std::size_t n = 0; n < farm.nozzles.size(); ++n)
            if (farm.nozzles[n].id == "leak") {
                seen.lost_m3_s += std::max(0.0, seen.answer.nozzles[n].flow_m3_s);
                seen.missed_in = farm.nozzles[n].into.index;
            }
        for (const Injected& leak : sump_leaks) {
            const double area_m2 = physics::bore_area_m2(leak.fault.size_at(leak.u));
            const double depth_m = std::max(0.0, seen.answer.vessels[at(leak.fault.at.index)].depth_m);
            seen.lost_m3_s += physics::kOrificeCoefficient * area_m2 * std::sqrt(2.0 * physics::kGravity_m_s2 * depth_m);
            seen.missed_in = leak.fault.at.index;
        }
    }

    /// How each vessel moves while what is lost is not brought back: -1, 0 or 1.
    std::vector<double> moves(const Layout& farm, const Conditions& now, std::size_t visit, const Seen& seen) {
        std::vector<double> moving(drawn->vessels.size(), 0.0);
        if (seen.lost_m3_s * kWatched_s < 1e-4 || seen.missed_in < 0 || at_start[visit] != 0) return moving;
        Layout less = farm;
        layout::Vessel& sump = less.vessels[at(seen.missed_in)];
        const double depth_m = layout::said(sump.start_depth_m) ? sump.start_depth_m : 0.0;
        const double left_m3 = std::max(0.0, layout::volume_at_depth(sump, depth_m) - seen.lost_m3_s * kWatched_s);
        sump.start_depth_m = layout::depth_at_volume(sump, left_m3);
        std::unique_ptr<settle::Model> model;
        const Seen after = settle_once(less, now, visit, true, model);
        if (after.solved.state == settle::State::no_solution) return moving;
        for (std::size_t v = 0; v < moving.size(); ++v) {
            const double change_m = after.answer.vessels[v].level_m - seen.answer.vessels[v].level_m;
            if (std::abs(change_m) > kMoves_m && seen.spills[v] == 0) moving[v] = change_m < 0.0 ? -1.0 : 1.0;
        }
        return moving;
    }

    /// Seconds from one depth to another of `vessel`, all else as it is.
    double time_between(const Observable& what, const Layout& farm, settle::Model& model, const Seen& seen) {
        const network::Network& net = model.network;
        const layout::Vessel& vessel = farm.vessels[at(what.of.index)];
        const auto node = at(net.vessel_node(what.of.index));
        const double from_m3 = layout::volume_at_depth(vessel, what.from_m), to_m3 = layout::volume_at_depth(vessel, what.to_m);
        double time_s = 0.0;
        network::Point point = seen.solved.levels.point;
        for (std::size_t g = 0; g < 2 * kGaussX.size(); ++g) {
            const double x = g < kGaussX.size() ? -kGaussX[kGaussX.size() - 1 - g] : kGaussX[g - kGaussX.size()];
            const double weight = kGaussW[g < kGaussX.size() ? kGaussX.size() - 1 - g : g - kGaussX.size()];
            const double volume_m3 = 0.5 * (from_m3 + to_m3) + 0.5 * x * (to_m3 - from_m3);
            point.head_m[node] = vessel.floor_m + layout::depth_at_volume(vessel, volume_m3);
            point.brim[at(what.of.index)] = 0;
            const network::Outcome outcome = model.solver.solve(seen.solved.settings, {}, tolerances.network, g > 0, point);
            ++solves;
            if (!outcome.converged) return layout::kNotSaid;
            double net_m3_s = 0.0;
            for (std::size_t l = 0; l < net.links.size(); ++l) {
                if (at(net.links[l].to) == node) net_m3_s += point.flow_m3_s[l];
                if (at(net.links[l].from) == node) net_m3_s -= point.flow_m3_s[l];
            }
            const double rate = net_m3_s * (to_m3 > from_m3 ? 1.0 : -1.0);
            if (rate <= 1e-9) return kNever_s;
            time_s += 0.5 * weight * std::abs(to_m3 - from_m3) / rate;
        }
        return std::min(time_s, kNever_s);
    }

    double flow_of(const Ref& of, const settle::Answer& answer) const {
        switch (of.kind) {
            case Kind::pipe: return answer.pipes[at(of.index)].flow_m3_s;
            case Kind::nozzle: return answer.nozzles[at(of.index)].flow_m3_s;
            case Kind::float_valve: return answer.float_valves[at(of.index)].flow_m3_s;
            case Kind::pump: return answer.pumps[at(of.index)].flow_m3_s;
            case Kind::filter: return answer.filters[at(of.index)].flow_m3_s;
            case Kind::supply: return answer.supplies[at(of.index)].flow_m3_s;
            default: return layout::kNotSaid;
        }
    }

    double pressure_at(const Ref& of, const Layout& farm, const settle::Answer& answer) const {
        switch (of.kind) {
            case Kind::tee: return answer.tees[at(of.index)].pressure_m;
            case Kind::pump: {
                layout::End end;
                end.ref = of;
                return answer.pumps[at(of.index)].outlet_head_m - layout::elevation_of(farm, end);
            }
            case Kind::filter: return answer.filters[at(of.index)].inlet_head_m - answer.filters[at(of.index)].outlet_head_m;
            default: return layout::kNotSaid;
        }
    }

    /// A siphon's vessel while it fills and empties, and the sump that gives and takes its water: the middle of their way, and the half. The answer
    /// holds the levels just before the siphon starts, the sump at its lowest.
    void cycling_depth(const Layout& farm, const Seen& seen, std::int32_t vessel, Predicted& predicted) const {
        for (std::size_t s = 0; s < farm.siphons.size(); ++s) {
            const Ref& in = farm.siphons[s].in;
            if (in.kind != Kind::vessel || seen.solved.cycling[s] == 0) continue;
            const double low_m = std::max(0.0, farm.siphons[s].breaks_at_m), high_m = farm.siphons[s].crest_m;
            if (in.index == vessel) {
                predicted = {0.5 * (low_m + high_m), 0.5 * (high_m - low_m)};
                return;
            }
            if (missed_in(farm, in) != vessel) continue;
            const layout::Vessel &bed = farm.vessels[at(in.index)], &sump = farm.vessels[at(vessel)];
            const double swing_m3 = layout::volume_at_depth(bed, high_m) - layout::volume_at_depth(bed, low_m);
            const double rise_m = layout::depth_at_volume(sump, layout::volume_at_depth(sump, predicted.value) + swing_m3) - predicted.value;
            predicted.value += 0.5 * rise_m;
            predicted.spread += 0.5 * rise_m;
        }
    }

    double siphon_does(const Layout& farm, const Seen& seen, std::size_t siphon) const {
        const bool does_not_stop = farm.siphons[siphon].crest_m < drawn->siphons[siphon].crest_m;  // as inject() draws it
        if (does_not_stop) return seen.answer.siphons[siphon].flow_m3_s > kOverflows_m3_s ? 2.0 : 0.0;
        if (seen.solved.cycling[siphon] != 0) return 3.0;
        const settle::SiphonAnswer& answer = seen.answer.siphons[siphon];
        if (answer.primed) return answer.flow_m3_s > kOverflows_m3_s ? 2.0 : 0.0;
        return answer.flow_m3_s > kOverflows_m3_s ? 1.0 : 0.0;
    }

    void fill(std::size_t visit, const Layout& farm, const Conditions& now, settle::Model& model, const Seen& seen, std::span<Predicted> predicted) {
        std::vector<double> moving;
        if (wants_moves[visit] != 0) moving = moves(farm, now, visit, seen);
        for (std::size_t o = 0; o < observables.size(); ++o) {
            const Observable& what = observables[o];
            if (at(what.visit) != visit) continue;
            const auto i = at(what.of.index);
            Predicted& here = predicted[o];
            here = {};
            switch (what.quantity) {
                case Quantity::depth:
                    here.value = seen.answer.vessels[i].depth_m;
                    cycling_depth(farm, seen, what.of.index, here);
                    break;
                case Quantity::flow: here.value = flow_of(what.of, seen.answer); break;
                case Quantity::pressure: here.value = pressure_at(what.of, farm, seen.answer); break;
                case Quantity::fall_time:
                case Quantity::rise_time: here.value = time_between(what, farm, model, seen); break;
                case Quantity::spills: here.value = seen.spills[i]; break;
                case Quantity::overflows:
                    here.value = seen.answer.standpipes[i].flow_m3_s - seen.answer.standpipes[i].through_holes_m3_s > kOverflows_m3_s ? 1.0 : 0.0;
                    break;
                case Quantity::siphon: here.value = siphon_does(farm, seen, i); break;
                case Quantity::moves: {
                    Predicted way{.value = 0.0};
                    cycling_depth(farm, seen, what.of.index, way);
                    here = way.spread > 0.0 ? Predicted{0.0, 1.0} : Predicted{moving[i], 0.0};
                    break;
                }
                case Quantity::draws_air: here.value = seen.answer.pumps[i].running && seen.answer.pumps[i].intake_bare ? 1.0 : 0.0; break;
            }
        }
    }

    bool predict(const Layout& farm, std::span<const Conditions> by_visit, bool quick, std::span<Predicted> predicted) {
        bool all = true;
        for (std::size_t visit = 0; visit < visits.size(); ++visit) {
            Seen seen;
            std::unique_ptr<settle::Model> model;
            Layout solved_farm;
            const auto found = [&](bool running) { return look(farm, by_visit[visit], visit, quick, running, seen, model, solved_farm); };
            if (found(true) || (!begin_depths.empty() && found(false))) {
                for (std::size_t v = 0; v < drawn->vessels.size(); ++v) found_depths[visit][v] = seen.answer.vessels[v].depth_m;
                fill(visit, solved_farm, by_visit[visit], *model, seen, predicted);
            } else {
                all = false;
                for (std::size_t o = 0; o < observables.size(); ++o)
                    if (at(observables[o].visit) == visit) predicted[o] = {};
            }
        }
        return all;
    }
};

Predictor::Predictor(const Layout& layout, std::span<const Visit> visits, std::span<const Observable> observables) : impl_(std::make_unique<Impl>()) {
    impl_->drawn = &layout;
    impl_->visits.assign(visits.begin(), visits.end());
    impl_->observables.assign(observables.begin(), observables.end());
    impl_->wants_moves.assign(visits.size(), 0);
    impl_->found_depths.assign(visits.size(), std::vector<double>(layout.vessels.size(), layout::kNotSaid));
    for (const Observable& what : observables)
        if (what.quantity == Quantity::moves) impl_->wants_moves[at(what.visit)] = 1;
    for (const Visit& visit : visits) {
        impl_->drawn_conditions.push_back(layout::conditions_of(layout, visit.arrangement));
        impl_->at_start.push_back(layout.arrangements[at(visit.arrangement)].at_start_levels ? 1 : 0);
    }
}

Predictor::~Predictor() = default;
Predictor::Predictor(Predictor&&) noexcept = default;

bool Predictor::predict(std::span<const Injected> faults, std::span<Predicted> predicted, bool quick) {
    assert(predicted.size() == impl_->observables.size());
    impl_->layout = *impl_->drawn;
    impl_->conditions = impl_->drawn_conditions;
    inject(faults, impl_->layout, impl_->conditions);
    impl_->sump_leaks.clear();
    for (const Injected& fault : faults)
        if (leaks_out_of_sump(*impl_->drawn, fault.fault)) impl_->sump_leaks.push_back(fault);
    return impl_->predict(impl_->layout, impl_->conditions, quick, predicted);
}

bool Predictor::predict_in(const Layout& layout, std::span<const Conditions> conditions, std::span<Predicted> predicted, bool quick) {
    impl_->sump_leaks.clear();
    return impl_->predict(layout, conditions, quick, predicted);
}

std::vector<std::vector<double>> Predictor::depths() const { return impl_->found_depths; }
void Predictor::run_in(std::vector<std::vector<double>> depths) { impl_->begin_depths = std::move(depths); }
const std::vector<Conditions>& Predictor::conditions() const { return impl_->drawn_conditions; }
std::size_t Predictor::solves() const { return impl_->solves; }

std::vector<Observable> observables_of(const Layout& layout, std::size_t visits, std::span<const Ref> gauges) {
    std::vector<Observable> list;
    for (std::size_t visit = 0; visit < visits; ++visit) {
        const auto add = [&](Quantity quantity, Kind kind, std::size_t index) {
            list.push_back({.quantity = quantity, .of = {kind, static_cast<std::int32_t>(index)}, .visit = static_cast<std::int32_t>(visit)});
        };
        for (std::size_t v = 0; v < layout.vessels.size(); ++v)
            for (const Quantity quantity : {Quantity::depth, Quantity::spills, Quantity::moves}) add(quantity, Kind::vessel, v);
        for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
            const layout::Pipe& pipe = layout.pipes[p];
            if (ends_in_air(layout, pipe)) add(Quantity::flow, Kind::pipe, p);
        }
        for (std::size_t n = 0; n < layout.nozzles.size(); ++n) add(Quantity::flow, Kind::nozzle, n);
        for (std::size_t f = 0; f < layout.float_valves.size(); ++f) add(Quantity::flow, Kind::float_valve, f);
        for (std::size_t s = 0; s < layout.standpipes.size(); ++s) add(Quantity::overflows, Kind::standpipe, s);
        for (std::size_t s = 0; s < layout.siphons.size(); ++s) add(Quantity::siphon, Kind::siphon, s);
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) add(Quantity::draws_air, Kind::pump, p);
        for (const Ref& gauge : gauges) add(Quantity::pressure, gauge.kind, gauge.index < 0 ? 0 : static_cast<std::size_t>(gauge.index));
    }
    return list;
}

}  // namespace ebb::diagnose
