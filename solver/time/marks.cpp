#include "solver/time/marks.h"

#include <algorithm>
#include <cmath>

namespace ebb::time {

namespace {

using layout::Kind;

std::size_t at_index(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrained_m = 0.005;     ///< a bed within this of its lowest way out is drained (contract)
constexpr double kSlack_m = 1e-4;        ///< between the two thresholds of a mark that only tells
constexpr double kFinestSlack_m = 1e-7;  ///< the same of a lip or an intake, whose passing is timed
constexpr double kRimSlack_m = 1e-3;

}  // namespace

double Marks::lowest_way_out_m(const layout::Layout& layout, std::span<const std::int32_t> insert, std::size_t vessel) {
    double lowest = HUGE_VAL;
    const auto here = [&](const layout::Ref& ref) { return ref.kind == Kind::vessel && at_index(ref.index) == vessel; };
    const double floor = layout.vessels[vessel].floor_m;
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) {
        const layout::Standpipe& standpipe = layout.standpipes[s];
        if (!here(standpipe.in)) continue;
        lowest = std::min(lowest, floor + standpipe.inserts[at_index(insert[s])].lip_m);
        for (const auto& hole : standpipe.holes) lowest = std::min(lowest, floor + hole.height_m);
    }
    for (const auto& siphon : layout.siphons)
        if (here(siphon.in)) lowest = std::min(lowest, floor + siphon.breaks_at_m);
    for (const auto& pipe : layout.pipes)
        if (here(pipe.from.ref)) lowest = std::min(lowest, floor + pipe.from.height());
    for (const auto& pump : layout.pumps)
        if (here(pump.in)) lowest = std::min(lowest, floor + pump.intake_height_m);
    return std::isfinite(lowest) ? lowest : kUnknown;
}

Marks::Marks(const layout::Layout& layout, const network::Network& network, const Plan& plan) : layout_(&layout), network_(&network), plan_(&plan) {
    const auto add = [&](MarkKind kind, std::size_t index, std::size_t vessel, double low_m, double high_m) {
        marks_.push_back({.kind = kind, .index = index, .vessel = vessel, .low_m = low_m, .high_m = high_m});
    };
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s)
        if (layout.standpipes[s].in.kind == Kind::vessel) add(MarkKind::lip, s, at_index(layout.standpipes[s].in.index), 0.0, 0.0);
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const layout::Vessel& vessel = layout.vessels[v];
        add(MarkKind::rim, v, v, vessel.rim_m - kRimSlack_m, vessel.rim_m);
        if (layout::said(vessel.least_depth_m)) {
            const double least = vessel.floor_m + vessel.least_depth_m;
            add(MarkKind::least_depth, v, v, least, least + kFinestSlack_m);
        }
        const bool bed = vessel.kind == layout::VesselKind::bed || vessel.kind == layout::VesselKind::tier;
        const double out = lowest_way_out_m(layout, plan.conditions.insert, v);
        if (bed && layout::said(out)) add(MarkKind::drained, v, v, out + kDrained_m, out + kDrained_m + kSlack_m);
    }
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        if (layout.pumps[p].in.kind != Kind::vessel) continue;
        const double bare = network.pumps[p].intake_m + network::kBareBand_m;
        add(MarkKind::intake, p, at_index(layout.pumps[p].in.index), bare, bare + kFinestSlack_m);
    }
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const layout::End& end = layout.pipes[p].to;
        if (end.ref.kind != Kind::vessel || end.height() <= 0.0) continue;
        const layout::Vessel& vessel = layout.vessels[at_index(end.ref.index)];
        const double port = vessel.floor_m + end.height();
        if (port >= vessel.rim_m) continue;
        add(MarkKind::inlet, p, at_index(end.ref.index), port, port + kFinestSlack_m);
    }
    for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
        const auto from_here = [&](const auto& taking) { return at_index(taking.from.index) == v; };
        const bool taken = std::any_of(plan.routine.draws.begin(), plan.routine.draws.end(), from_here) ||
                           std::any_of(plan.routine.uptakes.begin(), plan.routine.uptakes.end(), from_here);
        const double film = layout.vessels[v].floor_m + WaterBalance::kLastFilm_m;
        if (taken) add(MarkKind::dregs, v, v, film, film + kRimSlack_m);
    }
    for (std::size_t s = 0; s < plan.routine.level_switches.size(); ++s) {
        const layout::LevelSwitch& level_switch = plan.routine.level_switches[s];
        const auto v = at_index(level_switch.watches.index);
        const double floor = layout.vessels[v].floor_m;
        add(MarkKind::level_switch, s, v, floor + level_switch.below_m, floor + level_switch.above_m);
    }
    for (std::size_t s = 0; s < layout.siphons.size(); ++s)
        if (layout.siphons[s].in.kind == Kind::vessel)
            add(MarkKind::siphon, s, at_index(layout.siphons[s].in.index), network.siphons[s].breaks_at_m, network.siphons[s].crest_m);
    for (std::size_t h = 0; h < plan.hoses.size(); ++h)
        if (std::isfinite(plan.hoses[h].greatest_m3)) add(MarkKind::hose, h, at_index(plan.hoses[h].vessel), 0.0, 0.0);
}

void Marks::place_lips(const network::Settings& settings, std::span<const std::int32_t> insert) {
    for (Mark& mark : marks_) {
        if (mark.kind == MarkKind::lip) {
            mark.high_m = settings.links[at_index(network_->standpipe_link[mark.index])].value;
            mark.low_m = mark.high_m - kFinestSlack_m;
        } else if (mark.kind == MarkKind::drained) {
            mark.low_m = lowest_way_out_m(*layout_, insert, mark.vessel) + kDrained_m;
            mark.high_m = mark.low_m + kSlack_m;
        }
    }
}

void Marks::look(const WaterBalance& balance, std::span<const double> state) {
    for (Mark& mark : marks_) {
        if (mark.kind == MarkKind::level_switch || mark.kind == MarkKind::siphon || mark.kind == MarkKind::hose) continue;
        const double level = balance.level_m(mark.vessel, state);
        const bool over = mark.kind == MarkKind::rim ? level > mark.high_m : level >= mark.high_m;  // full to the rim spills nothing yet
        if (over) mark.above = true;
        if (level <= mark.low_m) mark.above = false;
    }
}

bool Marks::values(WaterBalance& balance, std::span<const double> state, std::span<double> value) const {
    for (std::size_t i = 0; i < marks_.size(); ++i) {
        const Mark& mark = marks_[i];
        if (mark.kind == MarkKind::hose) {
            value[i] = state[balance.poured_at(mark.index)] - plan_->hoses[mark.index].greatest_m3;
            if (!balance.hose_open(mark.index)) value[i] = 1.0;
            continue;
        }
        const double level = balance.level_m(mark.vessel, state);
        if (mark.kind == MarkKind::siphon && !mark.above) {
            double flow = 0.0;
            if (level > mark.high_m) {
                if (!balance.solve_at(state)) return false;
                flow = balance.point().flow_m3_s[at_index(network_->siphon_link[mark.index])];
            }
            value[i] = flow - network_->siphons[mark.index].starts_with_m3_s;
            continue;
        }
        value[i] = level - (mark.above ? mark.low_m : mark.high_m);
    }
    return true;
}

}  // namespace ebb::time
