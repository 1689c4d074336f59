#include "solver/time/change_over.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <queue>
#include <set>

#include "solver/network/laws.h"
#include "solver/time/options_kept.h"
#include "solver/time/power_cut.h"

namespace ebb::time {

namespace {

using layout::Act;
using layout::Conditions;
using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kMinute_s = 60.0;       ///< between moves that need no waiting
constexpr double kLevelKey_m = 0.005;    ///< states with the same moves made and levels within this are one
constexpr double kInevitable_m = 0.001;  ///< a margin this much under what both arrangements have at rest is the way's own
constexpr double kPlenty_m = 1e3;

Move move_of(Act act, Kind kind, std::size_t index, const std::string& id, double value, double was) {
    Move move;
    move.setting.act = act;
    move.setting.about = {kind, static_cast<std::int32_t>(index)};
    move.setting.about_id = id;
    move.setting.value = value;
    move.was = was;
    return move;
}

/// The settings in which two arrangements differ.
std::vector<Move> moves_between(const layout::Layout& layout, const Conditions& from, const Conditions& to) {
    std::vector<Move> moves;
    for (std::size_t v = 0; v < layout.valves.size(); ++v) {
        const double is = to.valve_opening[v];
        if (from.valve_opening[v] == is) continue;
        const Act act = is <= 0.0 ? Act::close : is >= 1.0 ? Act::open : Act::throttle;
        moves.push_back(move_of(act, Kind::valve, v, layout.valves[v].id, is, from.valve_opening[v]));
    }
    for (std::size_t p = 0; p < layout.pumps.size(); ++p)
        if (from.pump_speed[p] != to.pump_speed[p])
            moves.push_back(
                move_of(to.pump_speed[p] > 0.0 ? Act::run : Act::stop, Kind::pump, p, layout.pumps[p].id, to.pump_speed[p], from.pump_speed[p]));
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) {
        if (from.insert[s] == to.insert[s]) continue;
        moves.push_back(move_of(Act::fit, Kind::standpipe, s, layout.standpipes[s].id, kUnknown, kUnknown));
        moves.back().setting.insert = layout.standpipes[s].inserts[at(to.insert[s])].name;
    }
    for (std::size_t f = 0; f < layout.filters.size(); ++f)
        if (from.filter_load[f] != to.filter_load[f])
            moves.push_back(move_of(Act::load, Kind::filter, f, layout.filters[f].id, to.filter_load[f], from.filter_load[f]));
    return moves;
}

/// A set of moves made, and where it led.
struct Node {
    std::vector<std::uint8_t> made;
    Memory memory;
    double margin_m = kPlenty_m;  ///< least on the way, beyond what is inevitable
    std::size_t depth = 0;
    std::int32_t parent = -1;
    ChangeStep step;
};

/// Few moves: the greatest margin first, then the deepest state. Many: the deepest first, then the greatest margin.
struct Waiting {
    double first, second;
    std::int32_t node;
    bool operator<(const Waiting& other) const {
        return first != other.first ? first < other.first : second != other.second ? second < other.second : node > other.node;
    }
};

class Searcher {
public:
    Searcher(Simulation& simulation, const ChangeOverWanted& wanted) : simulation_(&simulation), wanted_(&wanted), layout_(&simulation.layout()) {}
    ChangeOver answer();

private:
    Conditions conditions_with(const std::vector<std::uint8_t>& made) const;
    void apply(std::size_t move, Conditions& conditions) const;
    std::vector<double> margins_of(const Memory& memory, const Conditions& conditions) const;
    std::vector<double> depths_of(const Memory& memory) const;
    bool try_step(const Node& from, const std::vector<std::int32_t>& moves, Node& next);
    bool look_at_trouble(const Course& course, const Node& from, const std::vector<std::int32_t>& moves, const Conditions& conditions);
    void look_at_margins(const Course& course, const Conditions& conditions, const Node& from, Node& next);
    bool search(bool pairs);
    bool try_all(std::int32_t node, bool pairs);
    void read_back(std::int32_t node);
    void try_without_waiting(const Node& first);
    void compare_end(const Memory& end);

    Simulation* simulation_;
    const ChangeOverWanted* wanted_;
    const layout::Layout* layout_;
    Conditions from_, to_;
    ChangeOver answer_;
    std::vector<Node> nodes_;
    std::priority_queue<Waiting> queue_;
    std::set<std::pair<std::vector<std::uint8_t>, std::vector<long>>> known_;
    std::vector<double> inevitable_m_;  ///< per vessel, then per pump
    bool out_of_runs_ = false, any_trouble_ = false;
};

void Searcher::apply(std::size_t move, Conditions& conditions) const {
    const Ref& about = answer_.moves[move].setting.about;
    const auto i = at(about.index);
    switch (about.kind) {
        case Kind::valve: conditions.valve_opening[i] = to_.valve_opening[i]; break;
        case Kind::pump: conditions.pump_speed[i] = to_.pump_speed[i]; break;
        case Kind::standpipe: conditions.insert[i] = to_.insert[i]; break;
        default: conditions.filter_load[i] = to_.filter_load[i]; break;
    }
}

Conditions Searcher::conditions_with(const std::vector<std::uint8_t>& made) const {
    Conditions conditions = from_;
    for (std::size_t m = 0; m < made.size(); ++m)
        if (made[m] != 0) apply(m, conditions);
    return conditions;
}

std::vector<double> Searcher::depths_of(const Memory& memory) const {
    std::vector<double> depths;
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v) depths.push_back(layout::depth_at_volume(layout_->vessels[v], memory.volume_m3[v]));
    return depths;
}

double bare_depth_m(const layout::Pump& pump) { return pump.intake_height_m + network::kBareBand_m; }

bool stands_in_vessel(const layout::Pump& pump) { return pump.in.kind == Kind::vessel; }

/// At rest: freeboard of every vessel, and water over the intake of every running pump.
std::vector<double> Searcher::margins_of(const Memory& memory, const Conditions& conditions) const {
    const std::vector<double> depth = depths_of(memory);
    std::vector<double> margins;
    for (std::size_t v = 0; v < depth.size(); ++v) margins.push_back(layout_->vessels[v].rim_m - layout_->vessels[v].floor_m - depth[v]);
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const layout::Pump& pump = layout_->pumps[p];
        const bool counts = stands_in_vessel(pump) && conditions.pump_speed[p] > 0.0;
        margins.push_back(counts ? depth[at(pump.in.index)] - bare_depth_m(pump) : kPlenty_m);
    }
    return margins;
}

/// True when something spills or an intake goes bare; the trouble of the order that got furthest with the least on the floor is kept.
bool Searcher::look_at_trouble(const Course& course, const Node& from, const std::vector<std::int32_t>& moves, const Conditions& conditions) {
    const Event* first = nullptr;
    for (const Event& event : course.events) {
        const bool bare = event.what == Happening::intake_bare && conditions.pump_speed[at(event.about.index)] > 0.0;
        if (event.what != Happening::reaches_rim && !bare) continue;
        first = &event;
        break;
    }
    if (first == nullptr) return false;
    double spilled = 0.0;
    for (const VesselCourse& vessel : course.vessels) spilled += vessel.spilled_m3;
    std::vector<std::int32_t> after;
    for (std::size_t m = 0; m < from.made.size(); ++m)
        if (from.made[m] != 0) after.push_back(static_cast<std::int32_t>(m));
    ChangeTrouble& kept = answer_.trouble;
    const bool better = !any_trouble_ || after.size() > kept.after.size() || (after.size() == kept.after.size() && spilled < kept.spilled_m3);
    any_trouble_ = true;
    if (better) kept = {std::move(after), moves, first->what == Happening::reaches_rim, first->about, first->about_id, first->t_s, spilled};
    return true;
}

void Searcher::look_at_margins(const Course& course, const Conditions& conditions, const Node& from, Node& next) {
    next.margin_m = from.margin_m;
    Call& closest = next.step.closest;
    const auto offer = [&](double margin, double at_s, std::size_t place, const Ref& about, const std::string& id) {
        if (!(margin >= closest.margin_m)) closest = {about, id, margin, at_s};
        if (margin < inevitable_m_[place] - kInevitable_m) next.margin_m = std::min(next.margin_m, margin);
    };
    const std::size_t vessels = layout_->vessels.size();
    for (std::size_t v = 0; v < vessels; ++v)
        offer(course.vessels[v].least_freeboard_m, course.vessels[v].greatest_at_s, v, {Kind::vessel, static_cast<std::int32_t>(v)},
              layout_->vessels[v].id);
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const layout::Pump& pump = layout_->pumps[p];
        if (!stands_in_vessel(pump) || conditions.pump_speed[p] <= 0.0) continue;
        const VesselCourse& sump = course.vessels[at(pump.in.index)];
        offer(sump.least_depth_m - bare_depth_m(pump), sump.least_at_s, vessels + p, {Kind::pump, static_cast<std::int32_t>(p)}, pump.id);
    }
}

bool Searcher::try_step(const Node& from, const std::vector<std::int32_t>& moves, Node& next) {
    next.made = from.made;
    for (const std::int32_t move : moves) next.made[at(move)] = 1;
    next.depth = from.depth + moves.size();
    Plan plan;
    plan.arrangement = wanted_->to;
    plan.conditions = conditions_with(next.made);
    plan.start = from.memory;
    plan.lasts_s = wanted_->longest_wait_s;
    plan.until_still = true;
    const Course course = simulation_->run(plan);
    ++answer_.runs;
    if (course.ending != Ending::still && course.ending != Ending::time_over) return false;
    if (look_at_trouble(course, from, moves, plan.conditions)) return false;
    next.memory = course.end;
    next.step.moves = moves;
    next.step.still = course.ending == Ending::still;
    next.step.wait_s = still_from_s(course, wanted_->same_level_m);
    next.step.before_depth_m = depths_of(from.memory);
    next.step.after_depth_m = depths_of(course.end);
    look_at_margins(course, plan.conditions, from, next);
    return true;
}

/// Everything that can be done next from a state. False when the search should end.
bool Searcher::try_all(std::int32_t node, bool pairs) {
    const auto count = static_cast<std::int32_t>(answer_.moves.size());
    std::vector<std::vector<std::int32_t>> choices;
    for (std::int32_t m = 0; m < count; ++m) {
        if (nodes_[at(node)].made[at(m)] != 0) continue;
        choices.push_back({m});
        for (std::int32_t other = m + 1; pairs && other < count; ++other)
            if (nodes_[at(node)].made[at(other)] == 0) choices.push_back({m, other});
    }
    for (const auto& moves : choices) {
        if (simulation_->options().stop.stop_requested()) {
            answer_.end = ChangeEnd::cancelled;
            return false;
        }
        if (answer_.runs >= (answer_.moves.size() > kAllOrders ? kMostRuns : kMostRunsOfFew)) {
            out_of_runs_ = true;
            return false;
        }
        Node next;
        if (!try_step(nodes_[at(node)], moves, next)) continue;
        std::vector<long> levels;
        for (const double depth : next.step.after_depth_m) levels.push_back(std::lround(depth / kLevelKey_m));
        if (pairs && moves.size() == 2) next.margin_m -= kInevitable_m;  // one at a time where that does as well
        if (!known_.emplace(next.made, std::move(levels)).second) continue;
        next.parent = node;
        nodes_.push_back(std::move(next));
        const auto deep = static_cast<double>(nodes_.back().depth);
        const double margin = nodes_.back().margin_m;
        const auto index = static_cast<std::int32_t>(nodes_.size()) - 1;
        queue_.push(answer_.moves.size() > kAllOrders ? Waiting{deep, margin, index} : Waiting{margin, deep, index});
    }
    return true;
}

bool Searcher::search(bool pairs) {
    known_.clear();
    queue_ = {};
    nodes_.resize(1);
    queue_.push({0.0, 0.0, 0});
    while (!queue_.empty()) {
        const std::int32_t node = queue_.top().node;
        queue_.pop();
        if (nodes_[at(node)].depth == answer_.moves.size()) {
            read_back(node);
            return true;
        }
        if (!try_all(node, pairs)) return false;
    }
    return false;
}

void Searcher::read_back(std::int32_t node) {
    compare_end(nodes_[at(node)].memory);
    for (; nodes_[at(node)].parent >= 0; node = nodes_[at(node)].parent) answer_.steps.push_back(nodes_[at(node)].step);
    std::reverse(answer_.steps.begin(), answer_.steps.end());
    answer_.end = ChangeEnd::found;
}

/// The order found once more, a minute between the moves.
void Searcher::try_without_waiting(const Node& first) {
    Plan plan;
    plan.arrangement = wanted_->from;
    plan.conditions = from_;
    plan.start = first.memory;
    plan.lasts_s = wanted_->longest_wait_s;
    plan.until_still = true;
    double at_s = 0.0;
    for (const ChangeStep& step : answer_.steps) {
        layout::Change change;
        change.at_s = at_s;
        for (const std::int32_t move : step.moves) change.settings.push_back(answer_.moves[at(move)].setting);
        plan.routine.changes.push_back(std::move(change));
        at_s += kMinute_s;
    }
    const Course course = simulation_->run(plan);
    ++answer_.runs;
    const bool harm = std::any_of(course.events.begin(), course.events.end(),
                                  [](const Event& event) { return event.what == Happening::reaches_rim || event.what == Happening::intake_bare; });
    answer_.need_no_waiting = !harm && (course.ending == Ending::still || course.ending == Ending::time_over);
}

void Searcher::compare_end(const Memory& end) {
    if (answer_.settled_depth_m.empty()) return;
    const std::vector<double> depths = depths_of(end);
    for (std::size_t v = 0; v < depths.size(); ++v)
        if (std::abs(depths[v] - answer_.settled_depth_m[v]) > wanted_->same_level_m) answer_.elsewhere.push_back(static_cast<std::int32_t>(v));
    answer_.ends_as_settled = answer_.elsewhere.empty();
}

ChangeOver Searcher::answer() {
    from_ = layout::conditions_of(*layout_, wanted_->from);
    to_ = layout::conditions_of(*layout_, wanted_->to);
    answer_.moves = moves_between(*layout_, from_, to_);
    if (answer_.moves.empty()) {
        answer_.end = ChangeEnd::nothing_to_do;
        return std::move(answer_);
    }
    const SettledStart start = settled_memory(*layout_, from_), goal = settled_memory(*layout_, to_);
    if (!start.found) {
        answer_.end = ChangeEnd::cannot_begin;
        answer_.why = start.why;
        return std::move(answer_);
    }
    inevitable_m_ = margins_of(start.memory, from_);
    if (goal.found) {
        answer_.settled_depth_m = depths_of(goal.memory);
        const std::vector<double> there = margins_of(goal.memory, to_);
        for (std::size_t i = 0; i < there.size(); ++i) inevitable_m_[i] = std::min(inevitable_m_[i], there[i]);
    }
    const OptionsKept kept(*simulation_);
    simulation_->options().keep_series = true;
    simulation_->options().series_every_s = kUnknown;
    Node first;
    first.made.assign(answer_.moves.size(), 0);
    first.memory = start.memory;
    nodes_.push_back(first);
    bool found = search(false);
    if (!found && answer_.end == ChangeEnd::not_run && !out_of_runs_) {
        answer_.in_pairs = true;
        found = search(true);
    }
    if (found)
        try_without_waiting(first);
    else if (answer_.end == ChangeEnd::not_run)
        answer_.end = out_of_runs_ ? ChangeEnd::gave_up : ChangeEnd::none;
    return std::move(answer_);
}

}  // namespace

const char* name_of(ChangeEnd end) {
    static constexpr std::array<const char*, 7> kNames = {"not-run", "found", "nothing-to-do", "none", "gave-up", "cannot-begin", "cancelled"};
    return kNames[static_cast<std::size_t>(end)];
}

ChangeOver change_over(Simulation& simulation, const ChangeOverWanted& wanted) { return Searcher(simulation, wanted).answer(); }

}  // namespace ebb::time
