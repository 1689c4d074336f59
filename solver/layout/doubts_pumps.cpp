// Doubts about pumps in arrangements: running against shut valves, fed through shut valves, too weak for the lift.

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include "solver/layout/doubting.h"

namespace ebb::layout {
namespace {

/// Walks along open pipes from one end of a pump. Water goes down the pipes from a pump's outlet (`downstream`), and is drawn up them
/// to its inlet otherwise.
class Walker {
public:
    enum class Until : std::uint8_t { first_water, everywhere };

    Walker(const Layout& layout, const PipeGraph& graph, const Conditions& conditions, bool downstream, Until until)
        : layout_(layout), graph_(graph), conditions_(conditions), downstream_(downstream), until_(until) {}

    std::size_t steps() const { return walked_.size(); }

    Walk from_pump(std::int32_t pump) {
        const Ref here{Kind::pump, pump};
        for (const std::int32_t pipe : graph_.at(here)) {
            const Pipe& candidate = layout_.pipes[static_cast<std::size_t>(pipe)];
            if (downstream_ ? candidate.from.ref == here : candidate.to.ref == here) {
                along(pipe, here);
            }
        }
        while (!waiting_.empty() && !(walk_.reaches_water && until_ == Until::first_water)) {
            const Ref ref = waiting_.back();
            waiting_.pop_back();
            for (const std::int32_t pipe : graph_.at(ref)) {
                along(pipe, ref);
            }
        }
        std::ranges::sort(walk_.shut_valves);
        walk_.shut_valves.erase(std::unique(walk_.shut_valves.begin(), walk_.shut_valves.end()), walk_.shut_valves.end());
        return walk_;
    }

private:
    /// Goes along a pipe from the end at `ref` to its other end, if valves let water pass in the direction it would have.
    void along(std::int32_t index, const Ref& ref) {
        if (!walked_.insert(index).second) {
            return;
        }
        const Pipe& pipe = layout_.pipes[static_cast<std::size_t>(index)];
        const bool outwards = pipe.from.ref == ref;         // walked from its from-end
        const bool flow_forward = outwards == downstream_;  // the direction water would have in it
        for (const std::int32_t valve : pipe.valves) {
            const auto v = static_cast<std::size_t>(valve);
            if (conditions_.valve_opening[v] <= 0.0) {
                walk_.shut_valves.push_back(valve);
                return;
            }
            if (!flow_forward && physics::valve_is_one_way(layout_.valves[v].kind)) {
                return;
            }
        }
        arrive(outwards ? pipe.to : pipe.from, outwards);
    }

    void arrive(const End& end, bool at_to_end) {
        switch (end.ref.kind) {
            case Kind::vessel:
            case Kind::pond:
            case Kind::nozzle: reach(elevation_of(layout_, end)); return;
            case Kind::float_valve: {
                const FloatValve& valve = layout_.float_valves[static_cast<std::size_t>(end.ref.index)];
                const Vessel& vessel = layout_.vessels[static_cast<std::size_t>(valve.into.index)];
                reach(said(valve.height_m) ? vessel.floor_m + valve.height_m : vessel.rim_m);
                return;
            }
            case Kind::supply: walk_.reaches_water = walk_.reaches_water || !downstream_; return;
            case Kind::pump: through_pump(end.ref, at_to_end); return;
            case Kind::tee:
                if (layout_.tees[static_cast<std::size_t>(end.ref.index)].vented) {
                    reach(elevation_of(layout_, end));
                    return;
                }
                [[fallthrough]];
            case Kind::filter:
                if (seen_.insert((static_cast<std::int64_t>(end.ref.kind) << 32) | end.ref.index).second) {
                    waiting_.push_back(end.ref);
                }
                return;
            default: return;
        }
    }

    /// Water passes a pump from inlet to outlet when it runs, or stands still with a loss of its own.
    void through_pump(const Ref& ref, bool at_inlet) {
        const Pump& pump = layout_.pumps[static_cast<std::size_t>(ref.index)];
        const bool runs = conditions_.pump_speed[static_cast<std::size_t>(ref.index)] > 0.0;
        const bool with_the_flow = at_inlet == downstream_;
        if (!with_the_flow || (!runs && !said(pump.stopped_flow_m3_s))) {
            return;
        }
        if (!downstream_ && pump.in.kind != Kind::none) {
            reach(elevation_of(layout_, {pump.in_id, pump.in, pump.intake_height_m}));
            return;
        }
        waiting_.push_back(ref);
    }

    void reach(double elevation_m) {
        walk_.reaches_water = true;
        if (said(elevation_m) && !(walk_.lowest_outlet_m <= elevation_m)) {
            walk_.lowest_outlet_m = elevation_m;
        }
    }

    const Layout& layout_;
    const PipeGraph& graph_;
    const Conditions& conditions_;
    bool downstream_;
    Until until_;
    Walk walk_;
    std::vector<Ref> waiting_;
    std::unordered_set<std::int32_t> walked_;
    std::unordered_set<std::int64_t> seen_;
};

/// Walks of many pumps. Those whose one pipe leads to (or comes from) the same tee share the walk from there on: along the pipe it came by a walk
/// gets back to the pump and no further.
class Walks {
public:
    Walks(const Layout& layout, const PipeGraph& graph, const Conditions& conditions, bool downstream, Walker::Until until)
        : layout_(layout), graph_(graph), conditions_(conditions), downstream_(downstream), until_(until) {}

    const Walk& from_pump(std::int32_t pump) {
        const std::int32_t tee = tee_beside(pump);
        if (tee >= 0) {
            const auto known = by_tee_.find(tee);
            if (known != by_tee_.end()) return known->second;
        }
        Walk& kept = tee >= 0 ? by_tee_[tee] : own_;
        Walker walker(layout_, graph_, conditions_, downstream_, until_);
        kept = walker.from_pump(pump);
        steps_ += walker.steps();
        return kept;
    }

    /// Pipes gone along in all.
    std::size_t steps() const { return steps_; }

private:
    /// The tee at the far end of a pump's only pipe, if no valve in that is shut; else -1.
    std::int32_t tee_beside(std::int32_t pump) const {
        const Ref here{Kind::pump, pump};
        std::int32_t tee = -1;
        for (const std::int32_t index : graph_.at(here)) {
            const Pipe& pipe = layout_.pipes[static_cast<std::size_t>(index)];
            if (!((downstream_ ? pipe.from : pipe.to).ref == here)) continue;
            const Ref& there = (downstream_ ? pipe.to : pipe.from).ref;
            const auto shut = [&](std::int32_t valve) { return conditions_.valve_opening[static_cast<std::size_t>(valve)] <= 0.0; };
            if (tee >= 0 || there.kind != Kind::tee || std::ranges::any_of(pipe.valves, shut)) return -1;
            tee = there.index;
        }
        return tee;
    }

    const Layout& layout_;
    const PipeGraph& graph_;
    const Conditions& conditions_;
    bool downstream_;
    Walker::Until until_;
    Walk own_;
    std::size_t steps_ = 0;
    std::unordered_map<std::int32_t, Walk> by_tee_;
};

/// In which arrangements something is so, and the valves that make it so in the first of them.
struct Blocked {
    std::vector<std::string_view> arrangements;
    std::vector<std::string_view> valves;
};

void note(Blocked& blocked, const Walk& walk, const Layout& layout, const Arrangement& arrangement) {
    if (walk.reaches_water) {
        return;
    }
    if (blocked.arrangements.empty()) {
        for (const std::int32_t valve : walk.shut_valves) {
            blocked.valves.push_back(layout.valves[static_cast<std::size_t>(valve)].id);
        }
    }
    blocked.arrangements.push_back(arrangement.name);
}

std::string where_text(const Blocked& blocked) {
    std::string text = in_quotes(blocked.arrangements[0]);
    if (blocked.arrangements.size() > 1) {
        text += " and " + std::to_string(blocked.arrangements.size() - 1) + " other arrangement" + (blocked.arrangements.size() > 2 ? "s" : "");
    }
    return text;
}

void tell(Doubts& doubts, const Pump& pump, const Blocked& outlet, const Blocked& inlet) {
    const auto valves_text = [](const Blocked& blocked) {
        return blocked.valves.empty() ? std::string("nothing it can pass") : "shut: " + join_labels(blocked.valves, "and");
    };
    if (!outlet.arrangements.empty()) {
        doubts.add(
            {"pump-against-shut", pump.id,
             "in " + where_text(outlet) + " pump " + pump.id + " runs against shut valves (" + valves_text(outlet) + "): should it run at all?",
             "write <stop pump=" + in_quotes(pump.id) + "/> there, or open a way; a pump without flow heats its water and wears"},
            pump.place);
    }
    if (!inlet.arrangements.empty()) {
        doubts.add(
            {"pump-starved", pump.id,
             "in " + where_text(inlet) + " pump " + pump.id + " runs but no water can come to it (" + valves_text(inlet) + "): should it run at all?",
             "write <stop pump=" + in_quotes(pump.id) + "/> there, or open its suction"},
            pump.place);
    }
}

}  // namespace

void doubt_shut_pumps(Doubts& doubts) {
    const Layout& layout = doubts.layout;
    if (layout.pumps.empty()) {
        return;
    }
    const PipeGraph graph(layout);
    std::vector<Blocked> outlets(layout.pumps.size());
    std::vector<Blocked> inlets(layout.pumps.size());
    for (std::size_t a = 0; a < layout.arrangements.size(); ++a) {
        const Conditions conditions = conditions_of(layout, static_cast<std::int32_t>(a));
        Walks down(layout, graph, conditions, true, Walker::Until::first_water);
        Walks up(layout, graph, conditions, false, Walker::Until::first_water);
        for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
            if (conditions.pump_speed[p] <= 0.0) {
                continue;
            }
            note(outlets[p], down.from_pump(static_cast<std::int32_t>(p)), layout, layout.arrangements[a]);
            if (layout.pumps[p].in.kind == Kind::none) {
                note(inlets[p], up.from_pump(static_cast<std::int32_t>(p)), layout, layout.arrangements[a]);
            }
        }
    }
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        tell(doubts, layout.pumps[p], outlets[p], inlets[p]);
    }
}

/// Shut-off head against the lift to the lowest outlet, everything open.
void doubt_lifts(Doubts& doubts) {
    constexpr double kUsualRatio = 12.0;  // shut-off head over lift: beyond this the head may have been meant in feet
    constexpr double kLeastLift_m = 0.5;  // below it the ratio says nothing
    constexpr double kFeetPerMetre = 1.0 / 0.3048;
    constexpr std::size_t kMostSteps = 20'000'000;  // of all walks together: beyond it the question is left out, and that is told
    const Layout& layout = doubts.layout;
    if (layout.pumps.empty()) {
        return;
    }
    const PipeGraph graph(layout);
    Conditions open;
    open.valve_opening.assign(layout.valves.size(), 1.0);
    open.pump_speed.assign(layout.pumps.size(), 1.0);
    Walks walks(layout, graph, open, true, Walker::Until::everywhere);
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        const Pump& pump = layout.pumps[p];
        if (walks.steps() > kMostSteps) {
            doubts.add(
                {"lift-not-checked", pump.id,
                 "whether the curve of pump " + pump.id + " and those after it fits their lift was not looked at: too many pumps on too long headers",
                 "check the heads of their models against the elevations by hand", ""},
                pump.place);
            return;
        }
        const double outlet_m = walks.from_pump(static_cast<std::int32_t>(p)).lowest_outlet_m;
        if (pump.in.kind == Kind::none || !said(outlet_m)) {
            continue;
        }
        double level_m = elevation_of(layout, {pump.in_id, pump.in, 0.0});
        level_m += pump.in.kind == Kind::vessel ? layout.vessels[static_cast<std::size_t>(pump.in.index)].start_depth_m : 0.0;
        const double lift_m = outlet_m - level_m;
        const double head_m = layout.pump_models[static_cast<std::size_t>(pump.model)].curve.shut_off_head_m({1.0, pump.count, pump.wear});
        if (head_m <= lift_m) {
            const bool feet = head_m * kFeetPerMetre > lift_m;
            doubts.add({"pump-too-low", pump.id,
                        "pump " + pump.id + " gives at most " + metres(head_m) + ", but the lowest way out is " + metres(lift_m) +
                            " above its water: " + (feet ? "are feet and metres mixed in its curve or in the elevations?" : "is its curve right?"),
                        "check the heads of model " + in_quotes(pump.model_name) + " and the elevations", "model"},
                       pump.place, layout.pump_models[static_cast<std::size_t>(pump.model)].place);
        } else if (lift_m >= kLeastLift_m && head_m > kUsualRatio * lift_m) {
            doubts.add({"pump-too-high", pump.id,
                        "pump " + pump.id + " gives up to " + metres(head_m) + " for a lift of " + metres(lift_m) + " (" + figure(head_m / lift_m) +
                            " times as much): are its heads in feet, or in kPa?",
                        "check the heads of model " + in_quotes(pump.model_name), "model"},
                       pump.place, layout.pump_models[static_cast<std::size_t>(pump.model)].place);
        }
    }
}

}  // namespace ebb::layout
