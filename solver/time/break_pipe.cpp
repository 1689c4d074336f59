#include "solver/time/break_pipe.h"

#include <algorithm>
#include <cmath>

#include "solver/layout/validate.h"

namespace ebb::time {

namespace {

using layout::Kind;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kBelowBreak_m = 1.0;  ///< the surface that takes the water lies so far below; any positive depth does the same
constexpr int kMostSteps = 4;          ///< filters in a row that are passed to find one end whose height is known

double elevation_of(const layout::Layout& layout, const layout::End& end, int steps);

/// A filter has no height of its own in a layout: the lowest known end of the pipes that meet it stands for it.
double elevation_of_filter(const layout::Layout& layout, std::int32_t filter, int steps) {
    double lowest = layout::kNotSaid;
    if (steps == 0) return lowest;
    for (const layout::Pipe& pipe : layout.pipes) {
        const auto here = [&](const layout::End& end) { return end.ref.kind == Kind::filter && end.ref.index == filter; };
        if (!here(pipe.from) && !here(pipe.to)) continue;
        const double other = elevation_of(layout, here(pipe.from) ? pipe.to : pipe.from, steps - 1);
        lowest = std::isnan(lowest) ? other : std::fmin(lowest, other);
    }
    return lowest;
}

/// How high a pipe is open to the air when it breaks at this end; NaN where the layout does not say.
double elevation_of(const layout::Layout& layout, const layout::End& end, int steps) {
    if (end.ref.kind == Kind::filter) return elevation_of_filter(layout, end.ref.index, steps);
    if (end.ref.kind == Kind::pump) {
        const layout::Ref& in = layout.pumps[at(end.ref.index)].in;
        // below the rim of its own sump a break only lets water back into it
        if (in.kind == Kind::vessel) return layout.vessels[at(in.index)].rim_m;
        if (in.kind == Kind::pond) return layout.ponds[at(in.index)].level_m;
    }
    return layout::elevation_of(layout, end);
}

std::int32_t add_floor(layout::Layout& layout, const std::string& id, double elevation_m) {
    layout::Pond pond;
    pond.id = id;
    pond.level_m = elevation_m - kBelowBreak_m;
    layout.ponds.push_back(pond);
    return static_cast<std::int32_t>(layout.ponds.size()) - 1;
}

void end_at_floor(layout::End& end, const std::string& id) {
    end = {};
    end.id = id;
    end.height_m = kBelowBreak_m;
}

void make_stub(layout::Pipe& pipe) {
    pipe.length_m = pipe.bore_m;
    pipe.fittings.clear();
    pipe.valves.clear();
}

/// A tee whose header is broken has no third leg any more for the relations of header tees to hold.
void forget_header(layout::Layout& layout, const layout::End& end) {
    if (end.ref.kind == Kind::tee) layout.tees[at(end.ref.index)].loss = layout::TeeLoss::none;
}

}  // namespace

BrokenPipe break_pipe(const layout::Layout& layout, std::int32_t pipe) {
    BrokenPipe broken;
    const layout::Pipe& whole = layout.pipes[at(pipe)];
    const double from_m = elevation_of(layout, whole.from, kMostSteps), to_m = elevation_of(layout, whole.to, kMostSteps);
    if (std::isnan(from_m) && std::isnan(to_m)) {
        broken.why = "nothing in the layout says how high " + whole.id + " lies";
        return broken;
    }
    const bool at_from = !(to_m < from_m) && !std::isnan(from_m);
    broken.elevation_m = std::fmin(from_m, to_m);
    broken.at_id = at_from ? whole.from.id : whole.to.id;
    broken.pipe = pipe;
    broken.layout = layout;
    layout::Layout& copy = broken.layout;
    const std::string before_id = whole.id + " broken", beyond_id = whole.id + " broken, far side";
    broken.floor_before = add_floor(copy, before_id, broken.elevation_m);
    broken.floor_beyond = add_floor(copy, beyond_id, broken.elevation_m);
    forget_header(copy, whole.from);
    forget_header(copy, whole.to);

    layout::Pipe beyond = whole;
    beyond.id = whole.id + " beyond the break";
    beyond.gravity = false;  // what comes out of it comes backwards and fills it
    beyond.entry_loss = layout::kNotSaid;
    end_at_floor(beyond.from, beyond_id);
    layout::Pipe& before = copy.pipes[at(pipe)];
    end_at_floor(before.to, before_id);
    before.air_hole_m = before.exit_loss = layout::kNotSaid;
    make_stub(at_from ? before : beyond);
    copy.pipes.push_back(std::move(beyond));
    const std::vector<layout::Problem> problems = layout::validate(copy);
    broken.found = problems.empty();
    if (!broken.found) broken.why = "with " + whole.id + " broken the layout does not hold: " + problems.front().says;
    return broken;
}

}  // namespace ebb::time
