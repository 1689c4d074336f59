#include "solver/diagnose/places.h"

#include <algorithm>

namespace ebb::diagnose {

namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

bool holds_water(const Ref& ref) { return ref.kind == Kind::vessel || ref.kind == Kind::pond || ref.kind == Kind::supply; }

/// The vessel that the first pump upstream of `start` stands in, or the first vessel that pipes bring water from. -1: none.
std::int32_t fed_from(const Layout& layout, const Ref& start) {
    std::vector<Ref> seen = {start};
    for (std::size_t i = 0; i < seen.size(); ++i) {
        const Ref here = seen[i];
        if (here.kind == Kind::pump && layout.pumps[at(here.index)].in.kind == Kind::vessel) return layout.pumps[at(here.index)].in.index;
        for (const layout::Pipe& pipe : layout.pipes) {
            if (!(pipe.to.ref == here) || std::find(seen.begin(), seen.end(), pipe.from.ref) != seen.end()) continue;
            if (!holds_water(pipe.from.ref)) seen.push_back(pipe.from.ref);
        }
        for (std::size_t n = 0; n < layout.nozzles.size() && here.kind == Kind::vessel; ++n)
            if (layout.nozzles[n].into == here) seen.push_back({Kind::nozzle, static_cast<std::int32_t>(n)});
    }
    return -1;
}

}  // namespace

std::int32_t pump_outlet(const Layout& layout, std::size_t pump) {
    const Ref ref{Kind::pump, static_cast<std::int32_t>(pump)};
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].from.ref == ref) return static_cast<std::int32_t>(p);
    return -1;
}

std::int32_t missed_in(const Layout& layout, const Ref& where) {
    std::int32_t sump = -1;
    const auto pumped_from = [&](std::int32_t vessel) {
        return std::any_of(layout.pumps.begin(), layout.pumps.end(), [&](const layout::Pump& pump) { return pump.in == Ref{Kind::vessel, vessel}; });
    };
    if (where.kind == Kind::vessel && pumped_from(where.index)) return where.index;
    sump = fed_from(layout, where);
    if (sump >= 0) return sump;
    for (std::int32_t v = 0; v < static_cast<std::int32_t>(layout.vessels.size()); ++v)
        if (pumped_from(v) && (sump < 0 || layout.vessels[at(v)].floor_m < layout.vessels[at(sump)].floor_m)) sump = v;
    for (std::int32_t v = 0; sump < 0 && v < static_cast<std::int32_t>(layout.vessels.size()); ++v)
        if (layout.vessels[at(v)].kind == layout::VesselKind::sump) sump = v;
    return sump;
}

bool leaks_out_of_sump(const Layout& layout, const Fault& fault) {
    return fault.kind == FaultKind::leak && fault.at.kind == Kind::vessel && missed_in(layout, fault.at) == fault.at.index;
}

}  // namespace ebb::diagnose
