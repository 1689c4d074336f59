#include "solver/time/run.h"

#include <algorithm>
#include <cmath>

#include "solver/settle/taking.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }
Ref ref(Kind kind, std::size_t index) { return {kind, static_cast<std::int32_t>(index)}; }

constexpr int kMostRounds = 12;              ///< of switches that set one another off at one moment
constexpr double kMissed_m = 1e-9;           ///< a mark on the wrong side by more was passed without a sign change
constexpr double kStill_m_s = 1e-7;          ///< a third of a millimetre an hour
constexpr std::int64_t kStuckSteps = 20000;  ///< so many steps ...
constexpr double kStuck_s = 1.0;             ///< ... within this: no progress
constexpr int kMostFailures = 20;            ///< restarts after a step that could not be made, without progress in between
constexpr std::int64_t kClockKind = 0;

/// Kinds of section that are no clock's.
std::int64_t siphon_kind(std::size_t siphon) { return 1 + 2 * static_cast<std::int64_t>(siphon); }
std::int64_t switch_kind(std::size_t index) { return 2 + 2 * static_cast<std::int64_t>(index); }

/// The link of a thing that a plan shuts.
std::int32_t link_of(const network::Network& network, const Ref& about) {
    switch (about.kind) {
        case Kind::pipe: return network.pipe_link[at(about.index)];
        case Kind::nozzle: return network.nozzle_link[at(about.index)];
        case Kind::float_valve: return network.float_link[at(about.index)];
        case Kind::standpipe: return network.standpipe_link[at(about.index)];
        case Kind::siphon: return network.siphon_link[at(about.index)];
        case Kind::filter: return network.filter_link[at(about.index)];
        case Kind::pump: return network.pump_link[at(about.index)];
        default: return -1;
    }
}

}  // namespace

Run::Run(const layout::Layout& layout, const network::Network& network, network::Solver& solver, const Options& options, const Plan& plan)
    : layout_(&layout), network_(&network), options_(&options), plan_(&plan), clock_(layout, plan),
      balance_(layout, network, solver, options.network, plan), marks_(layout, network, plan), recorder_(layout, network, plan, options, course_),
      repeats_(network, options.repeat_tolerance_m) {
    course_.name = plan.name;
    course_.arrangement = plan.arrangement;
}

void Run::emit(Happening what, const Ref& about, std::string id, std::string because, double level_m, bool switches) {
    course_.events.push_back({.t_s = time_s_,
                              .what = what,
                              .about = about,
                              .about_id = std::move(id),
                              .because = std::move(because),
                              .level_m = level_m,
                              .switches = switches});
}

void Run::fail(Ending ending, std::string why) {
    course_.ending = ending;
    course_.why = std::move(why);
    ended_ = true;
}

std::vector<std::uint8_t> Run::memory() const {
    std::vector<std::uint8_t> memory = primed_;
    memory.insert(memory.end(), holds_.begin(), holds_.end());
    return memory;
}

std::string Run::why_not_solved(const std::string& what) const {
    return what + (settle::any_taken(*layout_) ? ": " + settle::may_take_too_much(*layout_) : "; please report this layout");
}

/// Puts the present moment's conditions into the equation and solves it there.
bool Run::stand() {
    network::Settings settings = network::settings_for(*network_, *layout_, moment_.conditions, primed_);
    for (const std::int32_t link : network_->siphon_link) settings.links[at(link)].runs_to_break = true;
    for (const Ref& about : plan_->shut)
        if (const std::int32_t link = link_of(*network_, about); link >= 0) settings.links[at(link)].shut = true;
    network::shut_over_shut_drains(*network_, settings);
    if (const std::vector<std::int32_t> starved = settle::starved_tees(*network_, *layout_, settings); !starved.empty()) {
        settings.dry.assign(at(network_->plain_count), 0);  // a tap to which every way is shut gives nothing
        for (const std::int32_t tee : starved) settings.dry[at(network_->tee_node[at(tee)])] = 1;
    }
    balance_.stand(std::move(settings), moment_.draw_runs);
    marks_.place_lips(balance_.settings(), moment_.conditions.insert);
    if (balance_.solve_at(state_)) return true;
    fail(Ending::no_solution, why_not_solved("the network could not be solved at the levels of this moment"));
    return false;
}

bool Run::by_itself(const std::string& what) {
    if (!guard_.switched(time_s_, what)) return true;
    fail(Ending::chatters, guard_.complaint());
    return false;
}

bool Run::flip_switch(std::size_t index, bool holds) {
    holds_[index] = holds;
    const layout::LevelSwitch& level_switch = plan_->routine.level_switches[index];
    return by_itself("the level-switch of " + level_switch.watches_id + " on " + level_switch.about_id);
}

bool Run::flip_siphon(std::size_t index, bool primed) {
    primed_[index] = primed;
    const layout::Siphon& siphon = layout_->siphons[index];
    emit(primed ? Happening::siphon_starts : Happening::siphon_breaks, ref(Kind::siphon, index), siphon.id, {},
         balance_.level_m(at(siphon.in.index), state_));
    if (primed)
        recorder_.beds().siphon_starts(time_s_, at(siphon.in.index));
    else
        recorder_.beds().siphon_breaks(time_s_, at(siphon.in.index));
    return by_itself("siphon " + siphon.id);
}

void Run::announce_things(const Moment& before, const Moment& now) {
    for (std::size_t v = 0; v < layout_->valves.size(); ++v) {
        const double was = before.conditions.valve_opening[v], is = now.conditions.valve_opening[v];
        if (was == is) continue;
        const Ref about = ref(Kind::valve, v);
        const Happening what = is <= 0.0 ? Happening::valve_closes : was <= 0.0 ? Happening::valve_opens : Happening::setting_changes;
        emit(what, about, layout_->valves[v].id, clock_.because(about, time_s_));
    }
    for (std::size_t p = 0; p < layout_->pumps.size(); ++p) {
        const Ref about = ref(Kind::pump, p);
        const std::string& id = layout_->pumps[p].id;
        if (before.pump_wanted[p] != now.pump_wanted[p]) {
            const bool by_failure = before.failed[p] != now.failed[p];
            std::string why = !by_failure ? clock_.because(about, time_s_) : now.failed[p] != 0 ? "it has failed" : "it is mended";
            if (!now.power && now.pump_wanted[p] != 0) why += why.empty() ? "once there is power" : ", once there is power";
            emit(now.pump_wanted[p] != 0 ? Happening::pump_restarts : Happening::pump_stops, about, id, why);
        } else if (now.power && before.power && before.conditions.pump_speed[p] != now.conditions.pump_speed[p]) {
            emit(Happening::setting_changes, about, id, clock_.because(about, time_s_));
        }
    }
    for (std::size_t s = 0; s < layout_->standpipes.size(); ++s)
        if (before.conditions.insert[s] != now.conditions.insert[s])
            emit(Happening::setting_changes, ref(Kind::standpipe, s), layout_->standpipes[s].id, "change");
    for (std::size_t f = 0; f < layout_->filters.size(); ++f)
        if (before.conditions.filter_load[f] != now.conditions.filter_load[f])
            emit(Happening::setting_changes, ref(Kind::filter, f), layout_->filters[f].id, "change");
}

void Run::announce(const Moment& before, const Moment& now) {
    if (before.power != now.power) emit(now.power ? Happening::power_returns : Happening::power_fails, {}, "", "power");
    announce_things(before, now);
    for (std::size_t d = 0; d < now.draw_runs.size(); ++d) {
        if (before.draw_runs[d] == now.draw_runs[d]) continue;
        const layout::Draw& draw = plan_->routine.draws[d];
        emit(now.draw_runs[d] != 0 ? Happening::draw_begins : Happening::draw_ends, draw.from, draw.from_id, "draw");
    }
}

/// What stands from this moment on: the clock's settings, and every switch and siphon that goes over at once.
bool Run::settle_switches() {
    for (int round = 0; round < kMostRounds; ++round) {
        Moment now = clock_.at_moment(time_s_, holds_);
        announce(moment_, now);
        moment_ = std::move(now);
        if (!stand()) return false;
        bool changed = false;
        for (std::size_t s = 0; s < holds_.size(); ++s) {
            const auto v = at(plan_->routine.level_switches[s].watches.index);
            const bool holds = clock_.switch_holds_at(s, balance_.depth_m(v, state_), holds_[s] != 0);
            if (holds == (holds_[s] != 0)) continue;
            if (!flip_switch(s, holds)) return false;
            changed = true;
        }
        for (std::size_t s = 0; s < primed_.size(); ++s) {
            const double level = balance_.point().head_m[at(network_->links[at(network_->siphon_link[s])].from)];
            const double flow = balance_.point().flow_m3_s[at(network_->siphon_link[s])];
            const network::SiphonLaw& law = network_->siphons[s];
            const bool primed = primed_[s] != 0 ? level > law.breaks_at_m : flow >= law.starts_with_m3_s;
            if (primed == (primed_[s] != 0)) continue;
            if (!flip_siphon(s, primed)) return false;
            changed = true;
        }
        if (!changed) return true;
    }
    fail(Ending::chatters, guard_.complaint());
    return false;
}

/// After anything that switched: marks that belong to switches follow, the integration begins anew.
bool Run::restart() {
    for (std::size_t i = 0; i < marks_.count(); ++i) {
        Mark& mark = marks_.at(i);
        if (mark.kind == MarkKind::siphon) mark.above = primed_[mark.index] != 0;
        if (mark.kind == MarkKind::level_switch) mark.above = plan_->routine.level_switches[mark.index].stops_below != (holds_[mark.index] != 0);
        if (mark.kind == MarkKind::hose) mark.above = !balance_.hose_open(mark.index);
    }
    if (!balance_.solve_at(state_)) return stand();
    for (const Mark& mark : marks_.all()) {
        if (mark.kind != MarkKind::intake) continue;
        recorder_.intake(mark.index, !mark.above);
        const bool runs = moment_.conditions.pump_speed[mark.index] > 0.0;
        if (runs && runs_[mark.index] == 0 && !mark.above)
            emit(Happening::intake_bare, ref(Kind::pump, mark.index), layout_->pumps[mark.index].id, {}, balance_.level_m(mark.vessel, state_),
                 false);
        runs_[mark.index] = runs;
    }
    recorder_.begin(time_s_, state_, balance_, moment_);
    stepper_->restart(time_s_, state_);
    next_clock_s_ = clock_.next_after(time_s_);
    ++course_.counts.restarts;
    return true;
}

bool Run::begin() {
    const std::size_t vessels = layout_->vessels.size();
    primed_ = plan_->start.primed.empty() ? std::vector<std::uint8_t>(layout_->siphons.size(), 0) : plan_->start.primed;
    holds_ = plan_->start.switch_acts.empty() ? clock_.switches_at_ease() : plan_->start.switch_acts;
    state_.assign(balance_.size(), 0.0);
    std::copy(plan_->start.volume_m3.begin(), plan_->start.volume_m3.end(), state_.begin());
    mark_values_.assign(marks_.count(), 0.0);
    runs_.assign(layout_->pumps.size(), 0);
    total_at_start_m3_ = balance_.total_m3(state_);
    course_.water_m3 = total_at_start_m3_;
    course_.worst_water_error_m3 = 0.0;

    std::vector<double> absolute(balance_.size(), 0.0);
    double area = 0.0;
    for (std::size_t v = 0; v < vessels; ++v) {
        absolute[v] = absolute[balance_.spilled_at(v)] = options_->level_tolerance_m * balance_.mean_area_m2(v);
        area += balance_.mean_area_m2(v);
    }
    constexpr double kLeastArea_m2 = 0.01;  // of a farm that is all ponds
    std::fill(absolute.begin() + static_cast<std::ptrdiff_t>(2 * vessels), absolute.end(),
              options_->level_tolerance_m * std::max(area, kLeastArea_m2));
    Equation equation{
        .size = balance_.size(),
        .mark_count = marks_.count(),
        .rates = [this](double, std::span<const double> state, std::span<double> rate) { return balance_.rates(state, rate); },
        .prepare = [this](std::span<const double> state, double gamma, bool keep) { return balance_.prepare(state, gamma, keep); },
        .solve = [this](std::span<const double> b, std::span<double> x) { balance_.solve(b, x); },
        .marks = [this](double, std::span<const double> state, std::span<double> value) { return marks_.values(balance_, state, value); }};
    stepper_ = std::make_unique<Stepper>(std::move(equation), options_->relative_tolerance, absolute);

    moment_ = clock_.before_start(holds_);
    if (!stand()) return false;
    recorder_.begin(0.0, state_, balance_, moment_);
    recorder_.beds().before(recorder_.inflow());
    marks_.look(balance_, state_);
    if (!settle_switches()) return false;
    marks_.look(balance_, state_);
    for (const Mark& mark : marks_.all())
        if (mark.kind == MarkKind::drained) recorder_.beds().empty(mark.vessel, !mark.above);
    next_section_s_ = clock_.once_only_until_s();
    if (!restart()) return false;
    for (const Mark& mark : marks_.all())  // what stands at its rim from the beginning, and gets more
        if (mark.kind == MarkKind::rim && mark.above && recorder_.inflow()[mark.vessel] > recorder_.outflow()[mark.vessel]) tell_passing(mark);
    return true;
}

bool Run::somebody_takes(std::size_t vessel) const {
    for (std::size_t d = 0; d < plan_->routine.draws.size(); ++d)
        if (moment_.draw_runs[d] != 0 && at(plan_->routine.draws[d].from.index) == vessel) return true;
    for (const auto& uptake : plan_->routine.uptakes)
        if (at(uptake.from.index) == vessel) return true;
    return false;
}

/// Something only told of: flags, sentences, bed cycles.
void Run::tell_passing(const Mark& mark) {
    const auto say = [&](Happening what, Kind kind, std::size_t index, const std::string& id) {
        emit(what, ref(kind, index), id, {}, balance_.level_m(mark.vessel, state_), false);
    };
    const std::string& vessel = layout_->vessels[mark.vessel].id;
    switch (mark.kind) {
        case MarkKind::lip:
            say(mark.above ? Happening::reaches_lip : Happening::falls_below_lip, Kind::vessel, mark.vessel, vessel);
            if (mark.above) recorder_.beds().reaches_lip(time_s_, mark.vessel);
            break;
        case MarkKind::rim:
            say(mark.above ? Happening::reaches_rim : Happening::leaves_rim, Kind::vessel, mark.vessel, vessel);
            if (mark.above && std::isnan(course_.vessels[mark.vessel].first_spill_s)) course_.vessels[mark.vessel].first_spill_s = time_s_;
            break;
        case MarkKind::intake:
            if (moment_.conditions.pump_speed[mark.index] > 0.0)
                say(mark.above ? Happening::intake_covered : Happening::intake_bare, Kind::pump, mark.index, layout_->pumps[mark.index].id);
            recorder_.intake(mark.index, !mark.above);
            break;
        case MarkKind::least_depth:
            if (!mark.above) say(Happening::below_least_depth, Kind::vessel, mark.vessel, vessel);
            break;
        case MarkKind::inlet:
            say(mark.above ? Happening::inlet_submerged : Happening::inlet_free, Kind::pipe, mark.index, layout_->pipes[mark.index].id);
            break;
        case MarkKind::dregs:
            if (!mark.above && somebody_takes(mark.vessel)) say(Happening::draw_short, Kind::vessel, mark.vessel, vessel);
            break;
        case MarkKind::drained:
            if (mark.above) {
                recorder_.beds().empty(mark.vessel, false);
                break;
            }
            say(Happening::drained, Kind::vessel, mark.vessel, vessel);
            recorder_.beds().drained(time_s_, mark.vessel);
            break;
        default: break;
    }
}

/// A mark has been passed. False when the run has ended.
bool Run::pass(std::size_t index) {
    Mark& mark = marks_.at(index);
    switch (mark.kind) {
        case MarkKind::level_switch: {
            const bool above = !mark.above;
            return flip_switch(mark.index, plan_->routine.level_switches[mark.index].stops_below != above) && section(switch_kind(mark.index));
        }
        case MarkKind::siphon: {
            const bool breaks = mark.above;
            return flip_siphon(mark.index, !breaks) && (!breaks || section(siphon_kind(mark.index)));
        }
        case MarkKind::hose:
            balance_.close_hose(mark.index);
            emit(Happening::hose_ends, ref(Kind::vessel, mark.vessel), layout_->vessels[mark.vessel].id, "hose");
            return true;
        default:
            mark.above = !mark.above;
            tell_passing(mark);
            return true;
    }
}

bool Run::section(std::int64_t kind) {
    // where a clock has a period, sections are its own; where clocks have none in common there is no cycle to look for
    const bool clocked = std::isfinite(clock_.common_period_s());
    if (clocked != (kind == kClockKind) || std::isnan(clock_.common_period_s()) || time_s_ < clock_.once_only_until_s()) return true;
    const bool repeats = repeats_.section(kind, time_s_, state_, memory(), recorder_.totals(time_s_, state_, balance_));
    if (repeats && plan_->until_repeats) {
        course_.ending = Ending::repeats;
        ended_ = true;
        return false;
    }
    return true;
}

bool Run::is_still() const { return std::isinf(next_clock_s_) && recorder_.fastest_level_m_s() < kStill_m_s; }

/// A mark that stood exactly at its threshold when the integration began has no sign to change: it is looked at by hand.
bool Run::check_missed_marks() {
    bool switched = false;
    if (!marks_.values(balance_, state_, mark_values_)) return true;
    for (std::size_t i = 0; i < marks_.count(); ++i) {
        const Mark& mark = marks_.all()[i];
        const bool missed = mark.above ? mark_values_[i] < -kMissed_m : mark_values_[i] > kMissed_m;
        if (!missed || (mark.kind == MarkKind::hose && mark.above)) continue;
        switched = switched || mark.kind == MarkKind::level_switch || mark.kind == MarkKind::siphon || mark.kind == MarkKind::hose;
        if (!pass(i)) return false;
    }
    if (!switched) return true;
    return settle_switches() && restart();
}

bool Run::take_step() {
    const bool clocked = std::isfinite(clock_.common_period_s());
    const double stop_s = std::min({plan_->lasts_s, next_clock_s_, clocked ? next_section_s_ : HUGE_VAL});
    const Stepped stepped = stop_s <= time_s_ ? Stepped::stop : stepper_->step(stop_s);
    if (stepped == Stepped::failed) {
        if (++failures_ > kMostFailures) {
            fail(Ending::no_solution, why_not_solved("no step in time could be made however short"));
            return false;
        }
        return stand() && restart();
    }
    const double reached_s = stepped == Stepped::stop ? stop_s : stepper_->time_s();
    if (reached_s > time_s_) failures_ = 0;
    time_s_ = reached_s;
    std::copy(stepper_->state().begin(), stepper_->state().end(), state_.begin());
    if (stepped == Stepped::mark || stepped == Stepped::stop) {
        if (!balance_.solve_at(state_)) return stand();
    }
    recorder_.step(time_s_, state_, balance_, *stepper_);
    course_.worst_water_error_m3 = std::max(course_.worst_water_error_m3, std::abs(balance_.total_m3(state_) - total_at_start_m3_));
    if (++stuck_steps_ >= kStuckSteps) {
        if (time_s_ - stuck_since_s_ < kStuck_s) {
            if (settle::any_taken(*layout_))
                fail(Ending::no_solution, why_not_solved("the levels cannot be followed from here on"));
            else
                fail(Ending::chatters, "the levels tremble without getting anywhere");
            return false;
        }
        stuck_steps_ = 0;
        stuck_since_s_ = time_s_;
    }
    bool switched = false;
    if (stepped == Stepped::mark) {
        const std::vector<int> crossed = stepper_->crossed();
        for (std::size_t i = 0; i < crossed.size(); ++i) {
            if (crossed[i] == 0) continue;
            const MarkKind kind = marks_.all()[i].kind;
            if (kind == MarkKind::hose && !balance_.hose_open(marks_.all()[i].index)) continue;
            switched = switched || kind == MarkKind::level_switch || kind == MarkKind::siphon || kind == MarkKind::hose;
            if (!pass(i)) return false;
        }
    }
    if (stepped == Stepped::stop && clocked && time_s_ >= next_section_s_) {
        if (!section(kClockKind)) return false;
        next_section_s_ = clock_.once_only_until_s() +
                          (std::round((time_s_ - clock_.once_only_until_s()) / clock_.common_period_s()) + 1.0) * clock_.common_period_s();
    }
    if (time_s_ >= next_clock_s_ && !at_end()) switched = true;                   // what the clock does at the very end is the next run's
    if (switched) return settle_switches() && restart() && check_missed_marks();  // an insert swapped may put a lip past the level
    if (!check_missed_marks()) return false;
    // where slopes jump the method's memory of the past is worth nothing
    return !balance_.passed_kink(state_) || restart();
}

Course Run::go() {
    if (begin()) {
        std::int64_t rounds = 0;
        while (!ended_ && !at_end()) {
            if (options_->stop.stop_requested()) {
                course_.ending = Ending::cancelled;
                break;
            }
            constexpr std::int64_t kNowAndThen = 256;
            if (options_->progress && ++rounds % kNowAndThen == 0) options_->progress(time_s_ / plan_->lasts_s);
            if (!take_step()) break;
            if (plan_->until_still && is_still() && time_s_ > 0.0) {
                course_.ending = Ending::still;
                break;
            }
        }
        if (course_.ending == Ending::not_run) course_.ending = Ending::time_over;
    }
    finish();
    return std::move(course_);
}

void Run::finish() {
    course_.lasted_s = time_s_;
    const auto wanted = [&](std::size_t d) {
        const layout::Draw& draw = plan_->routine.draws[d];
        const double every = layout::said(draw.every_s) ? draw.every_s : HUGE_VAL;
        double run_s = 0.0;
        for (double begin = draw.at_s; begin < time_s_; begin += every)
            run_s += std::max(0.0, std::min(begin + draw.over_s, time_s_) - std::max(begin, 0.0));
        return draw.volume_m3 / draw.over_s * run_s;
    };
    for (std::size_t d = 0; d < course_.draws.size(); ++d) course_.draws[d].wanted_m3 = wanted(d);
    for (std::size_t u = 0; u < course_.uptakes.size(); ++u) course_.uptakes[u].wanted_m3 = plan_->routine.uptakes[u].rate_m3_s * time_s_;
    for (std::size_t t = 0; t < course_.tees.size(); ++t) course_.tees[t].wanted_m3 = layout_->tees[t].takes_m3_s * time_s_;

    Totals from;
    from.inflow_m3.assign(course_.vessels.size(), 0.0);
    from.depth_s = from.volume_s = from.spilled_m3 = from.inflow_m3;
    from.energy_j.assign(course_.pumps.size(), 0.0);
    Totals to = recorder_.totals(time_s_, state_, balance_);
    (void)repeats_.last_cycle(from, to);
    recorder_.finish(from, to, state_, balance_);

    (void)balance_.solve_at(state_);
    std::vector<std::uint8_t> running(course_.vessels.size(), 0), dribbling(course_.vessels.size(), 0);
    for (std::size_t s = 0; s < primed_.size(); ++s) {
        const layout::Siphon& siphon = layout_->siphons[s];
        if (siphon.in.kind != Kind::vessel) continue;
        const auto v = at(siphon.in.index);
        constexpr double kStands = 0.02;  // share of the inflow that may still go into the level
        const double inflow = recorder_.inflow()[v], left = inflow - recorder_.outflow()[v];
        const double over = balance_.point().flow_m3_s[at(network_->siphon_link[s])];
        const bool stands = inflow > 0.0 && std::abs(left) < kStands * inflow;
        (primed_[s] != 0 ? running : dribbling)[v] = stands && over > 0.0;
    }
    course_.beds = recorder_.beds().finish(running, dribbling);
    say_why_no_repeat();
    course_.end.volume_m3.assign(state_.begin(), state_.begin() + static_cast<std::ptrdiff_t>(layout_->vessels.size()));
    // what stands over a rim has been told as spilled; the film below a floor (a few thousandths of a millimetre) stays, or water would be made
    for (std::size_t v = 0; v < layout_->vessels.size(); ++v)
        course_.end.volume_m3[v] =
            std::min(course_.end.volume_m3[v], network::volume_at_level(network_->storage[v], network_->storage[v].rim_m).value);
    course_.end.primed = primed_;
    course_.end.switch_acts = holds_;
    const std::int64_t restarts = course_.counts.restarts;
    course_.counts = balance_.counts();
    course_.counts.restarts = restarts;
    course_.counts.steps = stepper_ ? stepper_->steps() : 0;
}

}  // namespace ebb::time
