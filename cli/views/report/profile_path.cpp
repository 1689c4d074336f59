// Ways are found breadth first, so the way with the fewest pipes comes first. They pass tees, filters and dry pumps, and end at a vessel, a pond, a
// nozzle or a float valve; drains carry no pressure and are not followed.

#include "cli/views/report/profile_path.h"

#include <algorithm>
#include <cmath>
#include <deque>
#include <map>
#include <set>
#include <utility>

#include "cli/views/report/profile_numbers.h"

namespace ebb::cli::profile {
namespace {

using layout::Kind;
using layout::Layout;
using layout::Ref;
using Key = std::pair<Kind, std::int32_t>;

std::size_t index(std::int32_t i) { return static_cast<std::size_t>(i); }
Key key(const Ref& ref) { return {ref.kind, ref.index}; }

/// Pipes under pressure at every thing.
std::map<Key, std::vector<std::int32_t>> pipes_at(const Layout& layout) {
    std::map<Key, std::vector<std::int32_t>> all;
    for (std::size_t i = 0; i < layout.pipes.size(); ++i) {
        if (layout.pipes[i].gravity) continue;
        all[key(layout.pipes[i].from.ref)].push_back(static_cast<std::int32_t>(i));
        all[key(layout.pipes[i].to.ref)].push_back(static_cast<std::int32_t>(i));
    }
    return all;
}

/// The vessel or pond that is fed where a way ends; kind none where it does not end.
Ref fed_by(const Layout& layout, const Ref& end) {
    if (end.kind == Kind::vessel || end.kind == Kind::pond) return end;
    if (end.kind == Kind::nozzle) return layout.nozzles[index(end.index)].into;
    if (end.kind == Kind::float_valve) return layout.float_valves[index(end.index)].into;
    return {};
}

struct Step {
    Key before;
    std::int32_t pipe;
};

HeadPath way_back(const std::map<Key, Step>& came, Key at) {
    HeadPath path;
    while (true) {
        path.things.push_back({at.first, at.second});
        const Step& step = came.at(at);
        if (step.pipe < 0) break;
        path.pipes.push_back(step.pipe);
        at = step.before;
    }
    std::reverse(path.things.begin(), path.things.end());
    std::reverse(path.pipes.begin(), path.pipes.end());
    return path;
}

void walk(const Layout& layout, const std::map<Key, std::vector<std::int32_t>>& joined, const Ref& source, std::vector<HeadPath>& paths) {
    std::map<Key, Step> came = {{key(source), {key(source), -1}}};
    std::set<Key> fed;
    std::deque<Ref> waiting = {source};
    while (!waiting.empty()) {
        const Ref at = waiting.front();
        waiting.pop_front();
        const auto pipes = joined.find(key(at));
        if (pipes == joined.end()) continue;
        for (const std::int32_t i : pipes->second) {
            const layout::Pipe& pipe = layout.pipes[index(i)];
            const bool forward = pipe.from.ref == at;
            const Ref next = forward ? pipe.to.ref : pipe.from.ref;
            const Ref end = fed_by(layout, next);
            if (!forward && (end.kind != Kind::none || at == source || next.kind != Kind::tee))
                continue;  // a vessel before a pump is no end of its way
            if (!came.insert({key(next), {key(at), i}}).second) continue;
            if (end.kind == Kind::none)
                waiting.push_back(next);
            else if (fed.insert(key(end)).second)
                paths.push_back(way_back(came, key(next)));
        }
    }
}

double level_of(const ProfileScene& scene, std::int32_t vessel) {
    return index(vessel) < scene.answer.vessels.size() ? scene.answer.vessels[index(vessel)].level_m : layout::kNotSaid;
}

template <class Answers>
const typename Answers::value_type* answer_of(const Answers& answers, const Ref& ref) {
    return index(ref.index) < answers.size() ? &answers[index(ref.index)] : nullptr;
}

void add_pump(const ProfileScene& scene, const Ref& ref, std::vector<Corner>& all) {
    const layout::Pump& pump = scene.layout.pumps[index(ref.index)];
    const settle::PumpAnswer* answer = answer_of(scene.answer.pumps, ref);
    const double head_m = answer != nullptr ? answer->head_m : layout::kNotSaid;
    if (pump.in.kind == Kind::vessel) {
        const double level_m = level_of(scene, pump.in.index);
        all.push_back({ref, level_m, Follows::level, pump.in.index});
        all.push_back({ref, level_m + head_m, Follows::pump, pump.in.index});
    } else if (pump.in.kind == Kind::pond) {
        const double level_m = scene.layout.ponds[index(pump.in.index)].level_m;
        all.push_back({ref, level_m});
        all.push_back({ref, level_m + head_m, Follows::pump, -1, level_m});
    } else if (answer != nullptr) {
        all.push_back({ref, answer->inlet_head_m, Follows::answer});
        all.push_back({ref, answer->outlet_head_m, Follows::answer});
    }
}

void add_end(const ProfileScene& scene, const Ref& ref, const layout::End& end, std::vector<Corner>& all) {
    const Layout& layout = scene.layout;
    if (ref.kind == Kind::vessel) {
        const double port_m = layout.vessels[index(ref.index)].floor_m + end.height();
        const double level_m = level_of(scene, ref.index);
        all.push_back({ref, std::isnan(level_m) ? port_m : std::max(level_m, port_m), Follows::end, ref.index, port_m});
    } else if (ref.kind == Kind::pond) {
        all.push_back({ref, layout.ponds[index(ref.index)].level_m + std::max(0.0, end.height())});
    } else if (ref.kind == Kind::nozzle) {
        if (const auto* answer = answer_of(scene.answer.nozzles, ref)) all.push_back({ref, answer->inlet_head_m, Follows::answer});
        const layout::Nozzle& nozzle = layout.nozzles[index(ref.index)];
        if (nozzle.into.kind == Kind::vessel) all.push_back({ref, layout.vessels[index(nozzle.into.index)].floor_m + nozzle.height_m});
    } else if (ref.kind == Kind::float_valve) {
        if (const auto* answer = answer_of(scene.answer.float_valves, ref)) all.push_back({ref, answer->inlet_head_m, Follows::answer});
    }
}

}  // namespace

std::vector<HeadPath> head_paths(const Layout& layout) {
    std::vector<HeadPath> paths;
    const auto joined = pipes_at(layout);
    for (std::size_t i = 0; i < layout.pumps.size(); ++i) walk(layout, joined, {Kind::pump, static_cast<std::int32_t>(i)}, paths);
    for (std::size_t i = 0; i < layout.supplies.size(); ++i) walk(layout, joined, {Kind::supply, static_cast<std::int32_t>(i)}, paths);
    return paths;
}

std::vector<Corner> corners(const ProfileScene& scene, const HeadPath& path) {
    std::vector<Corner> all;
    for (std::size_t k = 0; k < path.things.size(); ++k) {
        const Ref& ref = path.things[k];
        if (ref.kind == Kind::pump) {
            add_pump(scene, ref, all);
        } else if (ref.kind == Kind::supply) {
            const layout::Supply& supply = scene.layout.supplies[index(ref.index)];
            all.push_back({ref, supply.elevation_m + supply.head_m});
        } else if (ref.kind == Kind::tee) {
            const settle::TeeAnswer* answer = answer_of(scene.answer.tees, ref);
            all.push_back({ref, answer != nullptr ? answer->head_m : layout::kNotSaid, Follows::tee});
        } else if (ref.kind == Kind::filter) {
            if (const settle::FilterAnswer* answer = answer_of(scene.answer.filters, ref)) {
                all.push_back({ref, answer->inlet_head_m, Follows::answer});
                all.push_back({ref, answer->outlet_head_m, Follows::answer});
            }
        } else {
            add_end(scene, ref, scene.layout.pipes[index(path.pipes.back())].to, all);
        }
    }
    return all;
}

std::int32_t farthest(const ProfileScene& scene, const std::vector<HeadPath>& paths) {
    std::int32_t best = -1;
    double most = -HUGE_VAL;
    for (std::size_t i = 0; i < paths.size(); ++i) {
        double length_m = 0.0;
        bool flows = true;
        for (const std::int32_t pipe : paths[i].pipes) {
            flows = flows && index(pipe) < scene.answer.pipes.size() && !is_still(scene.answer.pipes[index(pipe)].flow_m3_s);
            if (std::isfinite(scene.layout.pipes[index(pipe)].length_m)) length_m += scene.layout.pipes[index(pipe)].length_m;
        }
        constexpr double kFar = 1e9;  // the head of the mains is drawn where no pump runs: it stands far above the farm
        if (paths[i].things.front().kind == Kind::supply) length_m -= kFar;
        if (!flows || !(length_m > most)) continue;
        most = length_m;
        best = static_cast<std::int32_t>(i);
    }
    return best;
}

double highest_head(const ProfileScene& scene, const HeadPath& path) {
    double highest = layout::kNotSaid;
    for (const Corner& corner : corners(scene, path))
        if (std::isfinite(corner.head_m) && !(corner.head_m <= highest)) highest = corner.head_m;
    return highest;
}

}  // namespace ebb::cli::profile
