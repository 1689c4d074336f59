// Ways of the water, upstream: from a vessel against the flow through pipes, tees, filters, nozzles and float valves, up to what gives the water.
// A pump ends a way at its outlet: its suction is not a place to throttle (common practice).

#include "solver/choose/balance_ways.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/balance.h"

namespace ebb::choose {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kStill_m3_s = 1e-9;

class Upstream {
public:
    Upstream(const Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer)
        : layout_(layout), conditions_(conditions), answer_(answer), seen_(layout.pipes.size(), 0) {}

    Way from(std::int32_t vessel) {
        visit({Kind::vessel, vessel});
        for (std::size_t n = 0; n < layout_.nozzles.size(); ++n)
            if (layout_.nozzles[n].into == Ref{Kind::vessel, vessel}) visit({Kind::nozzle, static_cast<std::int32_t>(n)});
        for (std::size_t f = 0; f < layout_.float_valves.size(); ++f)
            if (layout_.float_valves[f].into == Ref{Kind::vessel, vessel}) visit({Kind::float_valve, static_cast<std::int32_t>(f)});
        while (!waiting_.empty()) {
            const Ref here = waiting_.front();
            waiting_.erase(waiting_.begin());
            visit(here);
        }
        return way_;
    }

private:
    bool open(const layout::Pipe& pipe) const {
        return std::none_of(pipe.valves.begin(), pipe.valves.end(), [&](std::int32_t v) { return conditions_.valve_opening[at(v)] <= 0.0; });
    }

    /// Every pipe whose water arrives here is on the way, and what it comes from is next.
    void visit(const Ref& here) {
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) {
            const layout::Pipe& pipe = layout_.pipes[p];
            if (pipe.gravity || seen_[p] != 0 || !open(pipe)) continue;
            const double flow = answer_.pipes.empty() ? 0.0 : answer_.pipes[p].flow_m3_s;
            const bool backwards = flow < -kStill_m3_s;
            if (!((backwards ? pipe.from.ref : pipe.to.ref) == here)) continue;
            seen_[p] = 1;
            way_.pipes.push_back(static_cast<std::int32_t>(p));
            const Ref& before = backwards ? pipe.to.ref : pipe.from.ref;
            if (before.kind == Kind::tee || before.kind == Kind::filter) waiting_.push_back(before);
            if (before.kind == Kind::pump && std::find(way_.pumps.begin(), way_.pumps.end(), before.index) == way_.pumps.end())
                way_.pumps.push_back(before.index);
        }
    }

    const Layout& layout_;
    const layout::Conditions& conditions_;
    const settle::Answer& answer_;
    std::vector<std::uint8_t> seen_;
    std::vector<Ref> waiting_;
    Way way_;
};

}  // namespace

Way way_to(const Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer, std::int32_t vessel) {
    return Upstream(layout, conditions, answer).from(vessel);
}

std::vector<std::int32_t> valves_on_the_way(const Layout& layout, const layout::Conditions& conditions, const settle::Answer& answer,
                                            const std::vector<std::int32_t>& vessels) {
    std::vector<std::int32_t> valves;
    for (const std::int32_t vessel : vessels)
        for (const std::int32_t pipe : way_to(layout, conditions, answer, vessel).pipes)
            for (const std::int32_t valve : layout.pipes[at(pipe)].valves)
                if (!physics::valve_is_one_way(layout.valves[at(valve)].kind)) valves.push_back(valve);
    std::sort(valves.begin(), valves.end());
    valves.erase(std::unique(valves.begin(), valves.end()), valves.end());
    return valves;
}

}  // namespace ebb::choose
