// Every fault at every place where it can be.

#include <algorithm>
#include <cmath>

#include "solver/diagnose/fault.h"
#include "solver/diagnose/places.h"

namespace ebb::diagnose {

namespace {

using layout::Conditions;
using layout::Kind;
using layout::Layout;
using layout::Ref;
using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kSameOpening = 0.02;   ///< nobody sets a valve finer
constexpr std::size_t kFewPlaces = 60;  ///< up to here any two of a kind may have been swapped; beyond, neighbours only
constexpr double kLeastDrop_m = 0.02;   ///< a leg that falls less holds no air worth speaking of

class List {
public:
    List(const Layout& layout, std::span<const Conditions> arrangements, std::span<const double> chances)
        : layout_(layout), arrangements_(arrangements), chances_(chances) {}

    std::vector<Fault> make() {
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) pipe(p);
        for (std::size_t s = 0; s < layout_.standpipes.size(); ++s) standpipe(s);
        for (std::size_t s = 0; s < layout_.siphons.size(); ++s)
            for (const FaultKind kind : {FaultKind::siphon_does_not_start, FaultKind::siphon_does_not_stop, FaultKind::blocked_siphon})
                add(kind, Kind::siphon, s);
        for (std::size_t n = 0; n < layout_.nozzles.size(); ++n) add(FaultKind::blocked_nozzle, Kind::nozzle, n);
        for (std::size_t v = 0; v < layout_.valves.size(); ++v) valve(v);
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) pump(p);
        for (std::size_t f = 0; f < layout_.filters.size(); ++f) add(FaultKind::dirty_filter, Kind::filter, f);
        for (std::size_t t = 0; t < layout_.tees.size(); ++t)
            if (!layout_.tees[t].vented) add(FaultKind::leak, Kind::tee, t);
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) vessel(v);
        sources();
        swaps();
        return std::move(faults_);
    }

private:
    Fault* add(FaultKind kind, Kind of, std::size_t index) {
        const FaultKindData& data = data_of(kind);
        const auto k = static_cast<std::size_t>(kind);
        const double chance = k < chances_.size() ? chances_[k] : data.chance;
        if (chance <= 0.0) return nullptr;
        faults_.push_back({.kind = kind,
                           .at = {of, static_cast<std::int32_t>(index)},
                           .other = {},
                           .which = -1,
                           .chance = chance,
                           .scale = data.scale,
                           .least = data.least,
                           .most = data.most});
        return &faults_.back();
    }

    template <typename Holds>
    bool in_some(const Holds& holds) const {
        return std::any_of(arrangements_.begin(), arrangements_.end(), holds);
    }

    void pipe(std::size_t index) {
        const layout::Pipe& pipe = layout_.pipes[index];
        add(pipe.gravity ? FaultKind::blocked_drain : FaultKind::blocked_pipe, Kind::pipe, index);
        const double from_m = layout::elevation_of(layout_, pipe.from), to_m = layout::elevation_of(layout_, pipe.to);
        const bool between_waters = pipe.from.ref.kind == Kind::vessel && pipe.to.ref.kind == Kind::vessel;
        const bool falls = from_m - to_m >= kLeastDrop_m && pipe.to.ref.kind != Kind::float_valve;  // mains press air on through a float valve
        if (pipe.gravity || between_waters || falls)
            if (Fault* fault = add(FaultKind::trapped_air, Kind::pipe, index); fault != nullptr && !pipe.gravity && !between_waters)
                fault->most = std::min(fault->most, from_m - to_m);
        if (pipe.to.ref.kind == Kind::vessel && pipe.to.height() > 2.0 * data_of(FaultKind::outfall_low).least)
            if (Fault* fault = add(FaultKind::outfall_low, Kind::pipe, index)) fault->most = std::min(0.95 * pipe.to.height(), 2.0 * fault->most);
    }

    void standpipe(std::size_t index) {
        const layout::Standpipe& standpipe = layout_.standpipes[index];
        add(FaultKind::blocked_standpipe, Kind::standpipe, index);
        if (!standpipe.holes.empty()) add(FaultKind::blocked_hole, Kind::standpipe, index);
        for (std::size_t i = 0; i < standpipe.inserts.size() && standpipe.inserts.size() > 1; ++i) {
            const auto insert = static_cast<std::int32_t>(i);
            if (!in_some([&](const Conditions& conditions) { return conditions.insert[index] != insert; })) continue;
            if (Fault* fault = add(FaultKind::wrong_insert, Kind::standpipe, index)) fault->which = insert;
        }
        add(FaultKind::standpipe_out, Kind::standpipe, index);
        if (Fault* fault = add(FaultKind::loose_standpipe, Kind::standpipe, index)) fault->most = std::min(fault->most, standpipe.bore_m);
    }

    /// Half of the valves that are not where they should be are at an end of their travel, if they should not be there.
    void valve(std::size_t index) {
        Fault* fault = add(FaultKind::valve_elsewhere, Kind::valve, index);
        if (fault == nullptr) return;
        constexpr double kAtAnEnd = 0.5;
        const bool shut = in_some([&](const Conditions& conditions) { return conditions.valve_opening[index] <= 0.0; });
        const bool open = in_some([&](const Conditions& conditions) { return conditions.valve_opening[index] >= 1.0; });
        fault->at_least = shut ? 0.0 : open ? kAtAnEnd : 0.5 * kAtAnEnd;
        fault->at_most = open ? 0.0 : shut ? kAtAnEnd : 0.5 * kAtAnEnd;
    }

    void pump(std::size_t index) {
        const layout::Pump& pump = layout_.pumps[index];
        const bool runs = in_some([&](const Conditions& conditions) { return conditions.pump_speed[index] > 0.0; });
        const bool stands = in_some([&](const Conditions& conditions) { return conditions.pump_speed[index] <= 0.0; });
        if (!pump.in_id.empty() && pump_outlet(layout_, index) >= 0) add(FaultKind::blocked_screen, Kind::pump, index);
        if (runs) {
            for (const FaultKind kind : {FaultKind::worn_pump, FaultKind::slow_pump, FaultKind::backward_pump, FaultKind::pump_stopped})
                add(kind, Kind::pump, index);
            for (std::int32_t which = 0; which < kOtherCurves; ++which)
                if (Fault* fault = add(FaultKind::other_curve, Kind::pump, index)) fault->which = which;
        }
        if (stands) add(FaultKind::pump_running, Kind::pump, index);
        if (pump.check_valve) {
            if (stands) add(FaultKind::check_missing, Kind::pump, index);
            if (runs && pump_outlet(layout_, index) >= 0) add(FaultKind::check_stuck, Kind::pump, index);
        }
    }

    void vessel(std::size_t index) {
        const layout::Vessel& vessel = layout_.vessels[index];
        add(FaultKind::leak, Kind::vessel, index);
        const bool gives = std::any_of(layout_.pumps.begin(), layout_.pumps.end(), [&](const layout::Pump& pump) {
            return pump.in == Ref{Kind::vessel, static_cast<std::int32_t>(index)};
        });
        const double depth_m = said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0;
        if (!gives && vessel.kind != layout::VesselKind::sump) return;
        if (depth_m > 0.0) add(FaultKind::low_water, Kind::vessel, index);
        if (depth_m < vessel.rim_m - vessel.floor_m) add(FaultKind::much_water, Kind::vessel, index);
    }

    void sources() {
        for (std::size_t s = 0; s < layout_.supplies.size(); ++s) add(FaultKind::supply_elsewhere, Kind::supply, s);
        for (std::size_t f = 0; f < layout_.float_valves.size(); ++f)
            for (const FaultKind kind : {FaultKind::float_stuck_open, FaultKind::float_stuck_shut}) add(kind, Kind::float_valve, f);
        for (std::size_t p = 0; p < layout_.ponds.size(); ++p) add(FaultKind::pond_elsewhere, Kind::pond, p);
    }

    void add_swap(FaultKind kind, Kind of, std::size_t one, std::size_t other) {
        if (Fault* fault = add(kind, of, one)) fault->other = {of, static_cast<std::int32_t>(other)};
    }

    void swaps() {
        const auto place_of = [&](std::size_t valve) { return layout_.pipes[at(layout_.valves[valve].pipe)].from.ref; };
        for (std::size_t i = 0; i < layout_.valves.size(); ++i)
            for (std::size_t j = i + 1; j < layout_.valves.size(); ++j) {
                if (layout_.valves.size() > kFewPlaces && !(place_of(i) == place_of(j))) continue;
                if (in_some([&](const Conditions& c) { return std::abs(c.valve_opening[i] - c.valve_opening[j]) > kSameOpening; }))
                    add_swap(FaultKind::swapped_valves, Kind::valve, i, j);
            }
        for (std::size_t i = 0; i < layout_.standpipes.size(); ++i)
            for (std::size_t j = i + 1; j < layout_.standpipes.size() && layout_.standpipes.size() <= kFewPlaces; ++j)
                if (same_inserts(layout_.standpipes[i], layout_.standpipes[j]) &&
                    in_some([&](const Conditions& c) { return c.insert[i] != c.insert[j]; }))
                    add_swap(FaultKind::swapped_inserts, Kind::standpipe, i, j);
        for (std::size_t i = 0; i < layout_.pumps.size(); ++i)
            for (std::size_t j = i + 1; j < layout_.pumps.size() && layout_.pumps.size() <= kFewPlaces; ++j)
                if (layout_.pumps[i].model != layout_.pumps[j].model) add_swap(FaultKind::swapped_pumps, Kind::pump, i, j);
        swapped_ends();
    }

    static bool same_inserts(const layout::Standpipe& x, const layout::Standpipe& y) {
        return x.inserts.size() > 1 && std::equal(x.inserts.begin(), x.inserts.end(), y.inserts.begin(), y.inserts.end(),
                                                  [](const layout::Insert& one, const layout::Insert& other) { return one.name == other.name; });
    }

    /// Two pipes that start at one place and end at different vessels.
    void swapped_ends() {
        std::vector<std::size_t> order;
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p)
            if (layout_.pipes[p].from.ref.kind == Kind::tee && layout_.pipes[p].to.ref.kind == Kind::vessel) order.push_back(p);
        std::stable_sort(order.begin(), order.end(),
                         [&](auto x, auto y) { return layout_.pipes[x].from.ref.index < layout_.pipes[y].from.ref.index; });
        for (std::size_t i = 0; i < order.size(); ++i)
            for (std::size_t j = i + 1; j < order.size() && j < i + kFewPlaces; ++j) {
                const layout::Pipe &one = layout_.pipes[order[i]], &other = layout_.pipes[order[j]];
                if (!(one.from.ref == other.from.ref)) break;
                if (!(one.to.ref == other.to.ref)) add_swap(FaultKind::swapped_ends, Kind::pipe, order[i], order[j]);
            }
    }

    const Layout& layout_;
    std::span<const Conditions> arrangements_;
    std::span<const double> chances_;
    std::vector<Fault> faults_;
};

}  // namespace

std::vector<Fault> faults_of(const Layout& layout, std::span<const Conditions> arrangements, std::span<const double> chances) {
    return List(layout, arrangements, chances).make();
}

}  // namespace ebb::diagnose
