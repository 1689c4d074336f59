#include "solver/time/water_paths.h"

#include <algorithm>
#include <cmath>

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kNothing_m3 = 1e-9;  ///< a drop: less than this through a pipe is no way of water
constexpr int kMostSweeps = 500;      ///< only rings of water need more than the number of nodes in a row
constexpr double kSettled = 1e-12;    ///< change of a share from sweep to sweep

/// Vessels, then tees, pumps and filters, then one node for everything outside.
class Nodes {
public:
    explicit Nodes(const layout::Layout& layout)
        : layout_(&layout), tees_(layout.vessels.size()), pumps_(tees_ + layout.tees.size()), filters_(pumps_ + layout.pumps.size()),
          outside_(filters_ + layout.filters.size()) {}

    std::size_t count() const { return outside_ + 1; }
    std::size_t outside() const { return outside_; }

    std::size_t of(const Ref& ref) const {
        if (const std::int32_t vessel = vessel_of(*layout_, ref); vessel >= 0) return at(vessel);
        switch (ref.kind) {
            case Kind::tee: return tees_ + at(ref.index);
            case Kind::pump: return layout_->pumps[at(ref.index)].in.kind == Kind::pond ? outside_ : pumps_ + at(ref.index);
            case Kind::filter: return filters_ + at(ref.index);
            default: return outside_;
        }
    }

private:
    const layout::Layout* layout_;
    std::size_t tees_, pumps_, filters_, outside_;
};

struct Way {
    std::size_t from = 0, to = 0;
    double volume_m3 = 0.0;
};

std::vector<Way> ways_of(const layout::Layout& layout, const Nodes& nodes, const Moved& moved) {
    std::vector<Way> ways;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const double net = moved.pipe_net_m3[p];
        if (std::abs(net) <= kNothing_m3) continue;
        const std::size_t from = nodes.of(layout.pipes[p].from.ref), to = nodes.of(layout.pipes[p].to.ref);
        ways.push_back({net > 0.0 ? from : to, net > 0.0 ? to : from, std::abs(net)});
    }
    return ways;
}

}  // namespace

std::int32_t vessel_of(const layout::Layout& layout, const Ref& ref) {
    const auto vessel = [](const Ref& where) { return where.kind == Kind::vessel ? where.index : -1; };
    switch (ref.kind) {
        case Kind::vessel: return ref.index;
        case Kind::standpipe: return vessel(layout.standpipes[at(ref.index)].in);
        case Kind::siphon: return vessel(layout.siphons[at(ref.index)].in);
        case Kind::nozzle: return vessel(layout.nozzles[at(ref.index)].into);
        case Kind::float_valve: return vessel(layout.float_valves[at(ref.index)].into);
        case Kind::pump: return vessel(layout.pumps[at(ref.index)].in);
        default: return -1;
    }
}

Arrived arrived_in(const layout::Layout& layout, const Moved& moved, std::size_t vessel) {
    const Nodes nodes(layout);
    const std::vector<Way> ways = ways_of(layout, nodes, moved);
    const std::size_t vessels = layout.vessels.size(), origins = vessels + 1;

    std::vector<double> coming(nodes.count(), 0.0), share(nodes.count() * origins, 0.0), mixed(share.size());
    for (const Way& way : ways) coming[way.to] += way.volume_m3;
    for (int sweep = 0; sweep < kMostSweeps; ++sweep) {
        std::fill(mixed.begin(), mixed.end(), 0.0);
        for (std::size_t v = 0; v < vessels; ++v) mixed[v * origins + v] = std::max(0.0, moved.left_m3[v]);
        for (const Way& way : ways)
            for (std::size_t o = 0; o < origins; ++o) mixed[way.to * origins + o] += way.volume_m3 * share[way.from * origins + o];
        double change = 0.0;
        for (std::size_t n = 0; n < nodes.count(); ++n) {
            const double all = coming[n] + (n < vessels ? std::max(0.0, moved.left_m3[n]) : 0.0);
            for (std::size_t o = 0; o < origins; ++o) {
                double& is = share[n * origins + o];
                double should = all > 0.0 ? mixed[n * origins + o] / all : 0.0;
                if (n == nodes.outside()) should = o == vessels ? 1.0 : 0.0;
                change = std::max(change, std::abs(should - is));
                is = should;
            }
        }
        if (change < kSettled) break;
    }

    Arrived arrived;
    arrived.from_vessel_m3.assign(vessels, 0.0);
    for (const Way& way : ways) {
        if (way.to != vessel) continue;
        for (std::size_t o = 0; o < vessels; ++o)
            if (o != vessel) arrived.from_vessel_m3[o] += way.volume_m3 * share[way.from * origins + o];
        arrived.from_outside_m3 += way.volume_m3 * share[way.from * origins + vessels];
    }
    return arrived;
}

}  // namespace ebb::time
