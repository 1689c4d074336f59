// A flood over the layout, forwards from everything that gives water: the outlets of running pumps, ponds, supplies.
//
// Between tees and filters water may go either way along a pipe (a ring main has no direction); into and out of a vessel only the way the
// pipe is drawn, since a feed that could run backwards feeds nothing on purpose. Drains and one-way valves keep their direction. A vessel
// that is reached passes the water on by the pipes that leave it, its standpipes and its siphons; a pump that stands still passes none.
// Cost: each pipe is looked at twice at most.

#include "solver/settle/fed.h"

#include <cstddef>

namespace ebb::settle {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

constexpr std::size_t kKinds = static_cast<std::size_t>(Kind::valve) + 1;

class Flood {
public:
    Flood(const Layout& layout, const layout::Conditions& conditions) : layout_(layout), conditions_(conditions) {
        wet_[index_of(Kind::vessel)].resize(layout.vessels.size());
        wet_[index_of(Kind::pond)].resize(layout.ponds.size());
        wet_[index_of(Kind::tee)].resize(layout.tees.size());
        wet_[index_of(Kind::pump)].resize(layout.pumps.size());
        wet_[index_of(Kind::filter)].resize(layout.filters.size());
        wet_[index_of(Kind::nozzle)].resize(layout.nozzles.size());
        wet_[index_of(Kind::supply)].resize(layout.supplies.size());
        wet_[index_of(Kind::float_valve)].resize(layout.float_valves.size());
        wet_[index_of(Kind::standpipe)].resize(layout.standpipes.size());
        wet_[index_of(Kind::siphon)].resize(layout.siphons.size());
        for (std::size_t kind = 0; kind < kKinds; ++kind) pipes_at_[kind].resize(wet_[kind].size());
        for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
            note_pipe(layout.pipes[p].from.ref, p);
            note_pipe(layout.pipes[p].to.ref, p);
        }
        out_of_vessel_.resize(layout.vessels.size());
        for (std::size_t s = 0; s < layout.standpipes.size(); ++s)
            note_way_out(layout.standpipes[s].in, {Kind::standpipe, static_cast<std::int32_t>(s)});
        for (std::size_t s = 0; s < layout.siphons.size(); ++s) note_way_out(layout.siphons[s].in, {Kind::siphon, static_cast<std::int32_t>(s)});
    }

    std::vector<std::uint8_t> run() {
        for (std::size_t p = 0; p < layout_.ponds.size(); ++p) reach({Kind::pond, static_cast<std::int32_t>(p)});
        for (std::size_t s = 0; s < layout_.supplies.size(); ++s) reach({Kind::supply, static_cast<std::int32_t>(s)});
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p)
            if (conditions_.pump_speed[p] > 0.0) reach({Kind::pump, static_cast<std::int32_t>(p)});
        while (!waiting_.empty()) {
            const Ref here = waiting_.back();
            waiting_.pop_back();
            for (const std::size_t pipe : pipes_at_[index_of(here.kind)][static_cast<std::size_t>(here.index)]) along(layout_.pipes[pipe], here);
            if (here.kind == Kind::vessel)
                for (const Ref& way_out : out_of_vessel_[static_cast<std::size_t>(here.index)]) reach(way_out);
        }
        return wet_[index_of(Kind::vessel)];
    }

private:
    static std::size_t index_of(Kind kind) { return static_cast<std::size_t>(kind); }
    static bool joins_pipes(Kind kind) { return kind == Kind::tee || kind == Kind::filter; }

    void note_pipe(const Ref& end, std::size_t pipe) {
        if (end.index >= 0) pipes_at_[index_of(end.kind)][static_cast<std::size_t>(end.index)].push_back(pipe);
    }
    void note_way_out(const Ref& vessel, const Ref& way_out) {
        if (vessel.kind == Kind::vessel) out_of_vessel_[static_cast<std::size_t>(vessel.index)].push_back(way_out);
    }

    void along(const layout::Pipe& pipe, const Ref& here) {
        bool one_way = pipe.gravity;
        for (const std::int32_t v : pipe.valves) {
            if (conditions_.valve_opening[static_cast<std::size_t>(v)] <= 0.0) return;
            one_way = one_way || physics::valve_is_one_way(layout_.valves[static_cast<std::size_t>(v)].kind);
        }
        if (pipe.from.ref == here)
            arrive(pipe.to.ref);
        else if (!one_way && joins_pipes(pipe.from.ref.kind) && joins_pipes(pipe.to.ref.kind))
            arrive(pipe.from.ref);
    }

    void arrive(const Ref& there) {
        if (there.kind == Kind::nozzle)
            reach(layout_.nozzles[static_cast<std::size_t>(there.index)].into);
        else if (there.kind == Kind::float_valve)
            reach(layout_.float_valves[static_cast<std::size_t>(there.index)].into);
        else if (there.kind != Kind::pump)  // a running one is a source itself
            reach(there);
    }

    void reach(const Ref& there) {
        if (there.index < 0) return;
        std::uint8_t& wet = wet_[index_of(there.kind)][static_cast<std::size_t>(there.index)];
        if (wet == 0) waiting_.push_back(there);
        wet = 1;
    }

    const Layout& layout_;
    const layout::Conditions& conditions_;
    std::vector<std::uint8_t> wet_[kKinds];
    std::vector<std::vector<std::size_t>> pipes_at_[kKinds];
    std::vector<std::vector<Ref>> out_of_vessel_;
    std::vector<Ref> waiting_;
};

}  // namespace

std::vector<std::uint8_t> fed_vessels(const Layout& layout, const layout::Conditions& conditions) { return Flood(layout, conditions).run(); }

std::vector<std::uint8_t> feedable_vessels(const Layout& layout) {
    layout::Conditions open;
    open.valve_opening.assign(layout.valves.size(), 1.0);
    open.pump_speed.assign(layout.pumps.size(), 1.0);
    return Flood(layout, open).run();
}

}  // namespace ebb::settle
