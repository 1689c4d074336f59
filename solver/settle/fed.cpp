// A flood over the layout, forwards from everything that gives water: the outlets of running pumps, ponds, supplies.
//
// Between tees and filters water may go either way along a pipe (a ring main has no direction); into and out of a vessel only the way the
// pipe is drawn, since a feed that could run backwards feeds nothing on purpose. Drains and one-way valves keep their direction. A vessel
// that is reached passes the water on by the pipes that leave it, its standpipes and its siphons; a pump that stands still passes none.
// Cost: each pipe is looked at twice at most.

#include "solver/settle/fed.h"

#include <algorithm>
#include <cstddef>
#include <utility>

namespace ebb::settle {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

constexpr std::size_t kKinds = static_cast<std::size_t>(Kind::valve) + 1;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }
bool joins_pipes(Kind kind) { return kind == Kind::tee || kind == Kind::filter; }

/// Numbers everything that a pipe can join.
class Places {
public:
    explicit Places(const Layout& layout) {
        std::size_t count[kKinds] = {};
        count[index_of(Kind::vessel)] = layout.vessels.size();
        count[index_of(Kind::pond)] = layout.ponds.size();
        count[index_of(Kind::tee)] = layout.tees.size();
        count[index_of(Kind::pump)] = layout.pumps.size();
        count[index_of(Kind::filter)] = layout.filters.size();
        count[index_of(Kind::nozzle)] = layout.nozzles.size();
        count[index_of(Kind::supply)] = layout.supplies.size();
        count[index_of(Kind::float_valve)] = layout.float_valves.size();
        count[index_of(Kind::standpipe)] = layout.standpipes.size();
        count[index_of(Kind::siphon)] = layout.siphons.size();
        for (std::size_t kind = 0; kind < kKinds; ++kind) {
            first_[kind] = total_;
            total_ += static_cast<std::int32_t>(count[kind]);
        }
    }
    std::int32_t of(const Ref& ref) const { return ref.index < 0 ? -1 : first_[index_of(ref.kind)] + ref.index; }
    std::int32_t total() const { return total_; }

private:
    static std::size_t index_of(Kind kind) { return static_cast<std::size_t>(kind); }
    std::int32_t first_[kKinds] = {};
    std::int32_t total_ = 0;
};

/// Where water that comes along a pipe to `end` is next; nowhere at a pump: a running one is a source itself.
Ref beyond(const Layout& layout, const Ref& end) {
    if (end.kind == Kind::nozzle) return layout.nozzles[at(end.index)].into;
    if (end.kind == Kind::float_valve) return layout.float_valves[at(end.index)].into;
    return end.kind == Kind::pump ? Ref{} : end;
}

}  // namespace

FedVessels::FedVessels(const Layout& layout) : fed_(layout.vessels.size()) {
    const Places places(layout);
    std::vector<std::pair<std::int32_t, Way>> ways;  // from where
    const auto add = [&](std::int32_t from, Way way) {
        if (from >= 0 && way.to >= 0) ways.emplace_back(from, way);
    };
    for (const layout::Pipe& pipe : layout.pipes) {
        const auto first = static_cast<std::int32_t>(valves_.size());
        bool one_way = pipe.gravity;
        for (const std::int32_t v : pipe.valves) {
            valves_.push_back(v);
            one_way = one_way || physics::valve_is_one_way(layout.valves[at(v)].kind);
        }
        const auto end = static_cast<std::int32_t>(valves_.size());
        add(places.of(pipe.from.ref), {places.of(beyond(layout, pipe.to.ref)), first, end});
        if (!one_way && joins_pipes(pipe.from.ref.kind) && joins_pipes(pipe.to.ref.kind))
            add(places.of(pipe.to.ref), {places.of(beyond(layout, pipe.from.ref)), first, end});
    }
    const auto add_way_out = [&](const Ref& vessel, Kind kind, std::size_t index) {
        if (vessel.kind == Kind::vessel) add(places.of(vessel), {places.of({kind, static_cast<std::int32_t>(index)})});
    };
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) add_way_out(layout.standpipes[s].in, Kind::standpipe, s);
    for (std::size_t s = 0; s < layout.siphons.size(); ++s) add_way_out(layout.siphons[s].in, Kind::siphon, s);

    way_start_.assign(at(places.total()) + 1, 0);
    for (const auto& [from, way] : ways) ++way_start_[at(from) + 1];
    for (std::size_t p = 1; p < way_start_.size(); ++p) way_start_[p] += way_start_[p - 1];
    ways_.resize(ways.size());
    std::vector<std::int32_t> fill(way_start_.begin(), way_start_.end() - 1);
    for (const auto& [from, way] : ways) ways_[at(fill[at(from)]++)] = way;

    const auto each = [&](Kind kind, std::size_t count, std::vector<std::int32_t>& list) {
        for (std::size_t i = 0; i < count; ++i) list.push_back(places.of({kind, static_cast<std::int32_t>(i)}));
    };
    each(Kind::pond, layout.ponds.size(), sources_);
    each(Kind::supply, layout.supplies.size(), sources_);
    each(Kind::pump, layout.pumps.size(), pumps_);
    each(Kind::vessel, layout.vessels.size(), vessel_place_);
    wet_.resize(at(places.total()));
    waiting_.reserve(wet_.size());
}

void FedVessels::reach(std::int32_t place) {
    if (wet_[at(place)] != 0) return;
    wet_[at(place)] = 1;
    waiting_.push_back(place);
}

const std::vector<std::uint8_t>& FedVessels::under(const layout::Conditions& conditions) {
    std::fill(wet_.begin(), wet_.end(), std::uint8_t{0});
    for (const std::int32_t source : sources_) reach(source);
    for (std::size_t p = 0; p < pumps_.size(); ++p)
        if (conditions.pump_speed[p] > 0.0) reach(pumps_[p]);
    while (!waiting_.empty()) {
        const std::int32_t here = waiting_.back();
        waiting_.pop_back();
        for (std::int32_t w = way_start_[at(here)]; w < way_start_[at(here) + 1]; ++w) {
            const Way& way = ways_[at(w)];
            bool open = true;
            for (std::int32_t v = way.first_valve; v < way.end_valve; ++v) open = open && conditions.valve_opening[at(valves_[at(v)])] > 0.0;
            if (open) reach(way.to);
        }
    }
    for (std::size_t v = 0; v < fed_.size(); ++v) fed_[v] = wet_[at(vessel_place_[v])];
    return fed_;
}

std::vector<std::uint8_t> fed_vessels(const Layout& layout, const layout::Conditions& conditions) { return FedVessels(layout).under(conditions); }

std::vector<std::uint8_t> feedable_vessels(const Layout& layout) {
    layout::Conditions open;
    open.valve_opening.assign(layout.valves.size(), 1.0);
    open.pump_speed.assign(layout.pumps.size(), 1.0);
    return FedVessels(layout).under(open);
}

}  // namespace ebb::settle
