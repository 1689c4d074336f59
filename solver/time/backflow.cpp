#include "solver/time/backflow.h"

#include <algorithm>
#include <cmath>

#include "solver/time/water_paths.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kTold_m3 = 2e-4;       ///< less than this back through a pipe is the film in it
constexpr double kAtPort_m = 5e-3;      ///< a level within this of a port or hole stopped there
constexpr double kEqual_m = 5e-3;       ///< two surfaces nearer than this are level
constexpr double kUnderLevel_m = 0.02;  ///< an air hole is drilled this far under the running level: waves and a lower day do not bare it

/// The other surface the pipe led to: nearest in level among the vessels that got the water; -1 when none is level with it.
std::int32_t level_with(const Layout& layout, const Backflow& flow, const std::vector<CutVessel>& vessels) {
    const auto level = [&](std::int32_t v) { return layout.vessels[at(v)].floor_m + vessels[at(v)].end_depth_m; };
    for (const std::int32_t other : flow.into)
        if (std::abs(level(other) - level(flow.vessel)) < kEqual_m) return other;
    return -1;
}

void say_end(const Layout& layout, const Course& cut, const std::vector<CutVessel>& vessels, Backflow& flow) {
    const layout::Pipe& pipe = layout.pipes[at(flow.pipe)];
    const double end = vessels[at(flow.vessel)].end_depth_m;
    const double port = pipe.to.height();
    const double hole = layout::said(pipe.air_hole_m) ? std::max(port, pipe.air_hole_m) : port;
    flow.down_to_depth_m = std::max(end, hole);
    flow.equal_with = level_with(layout, flow, vessels);
    if (hole > port && end <= hole + kAtPort_m) {
        flow.ended = BackflowEnd::air_hole;
    } else if (port > 0.0 && end <= port + kAtPort_m) {
        flow.ended = BackflowEnd::port;
    } else if (flow.equal_with >= 0) {
        flow.ended = BackflowEnd::levels_equal;
    } else {
        flow.ended = cut.ending == Ending::still ? BackflowEnd::balance : BackflowEnd::still_running;
    }
    if (flow.ended != BackflowEnd::levels_equal) flow.equal_with = -1;
}

/// An air hole just under the running level, where it would have kept water in the vessel.
void advise_hole(const Layout& layout, Backflow& flow) {
    const layout::Vessel& vessel = layout.vessels[at(flow.vessel)];
    const double hole = flow.from_depth_m - kUnderLevel_m;
    if (flow.evens_out || hole <= flow.down_to_depth_m + kAtPort_m) return;
    flow.air_hole_advised_m = hole;
    flow.saved_m3 = std::min(flow.volume_m3, layout::volume_at_depth(vessel, hole) - layout::volume_at_depth(vessel, flow.down_to_depth_m));
}

/// Flows between steps are taken as straight, the volumes of vessels are exact: by so much what left this one was more than its pipes say.
double exactness(const Layout& layout, const Moved& moved, const Course& cut, std::int32_t vessel) {
    double in = 0.0, out = 0.0;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const double net = moved.pipe_net_m3[p];
        const bool from = vessel_of(layout, layout.pipes[p].from.ref) == vessel, to = vessel_of(layout, layout.pipes[p].to.ref) == vessel;
        if (from) (net > 0.0 ? out : in) += std::abs(net);
        if (to) (net > 0.0 ? in : out) += std::abs(net);
    }
    const double left = moved.left_m3[at(vessel)];
    constexpr double kMost = 0.1;
    return cut.ending != Ending::not_run && out > 0.0 ? std::clamp((left + in) / out, 1.0 - kMost, 1.0 + kMost) : 1.0;
}

}  // namespace

std::vector<Backflow> backflows_of(const Layout& layout, const Memory& before, const Course& cut, const std::vector<CutVessel>& vessels) {
    Moved moved;
    for (const PipeCourse& pipe : cut.pipes) moved.pipe_net_m3.push_back(pipe.net_m3);
    for (const CutVessel& vessel : vessels) moved.left_m3.push_back(-vessel.gained_m3 - vessel.spilled_m3);

    std::vector<Backflow> found;
    for (std::size_t p = 0; p < layout.pipes.size(); ++p) {
        const layout::Pipe& pipe = layout.pipes[p];
        if (pipe.gravity || pipe.to.ref.kind != Kind::vessel || cut.pipes[p].backward_m3 < kTold_m3) continue;
        Backflow flow;
        flow.pipe = static_cast<std::int32_t>(p);
        flow.vessel = pipe.to.ref.index;
        flow.volume_m3 = cut.pipes[p].backward_m3 * exactness(layout, moved, cut, flow.vessel);
        flow.from_depth_m = layout::depth_at_volume(layout.vessels[at(flow.vessel)], before.volume_m3[at(flow.vessel)]);
        flow.evens_out = pipe.from.ref.kind == Kind::vessel;
        std::vector<CameFrom> got;
        for (std::size_t v = 0; v < layout.vessels.size(); ++v) {
            const double here = arrived_in(layout, moved, v).from_vessel_m3[at(flow.vessel)];
            if (here > kTold_m3) got.push_back({static_cast<std::int32_t>(v), here});
        }
        std::stable_sort(got.begin(), got.end(), [](const CameFrom& a, const CameFrom& b) { return a.volume_m3 > b.volume_m3; });
        for (const CameFrom& one : got) flow.into.push_back(one.vessel);
        if (flow.evens_out) flow.into = {pipe.from.ref.index};
        say_end(layout, cut, vessels, flow);
        advise_hole(layout, flow);
        found.push_back(std::move(flow));
    }
    std::stable_sort(found.begin(), found.end(), [](const Backflow& a, const Backflow& b) { return a.volume_m3 > b.volume_m3; });
    return found;
}

}  // namespace ebb::time
