// The duty needed.
//
// In the place of the pump stands an ideal one of nearly constant head. The farm's answer depends on the pump only through the flow it gives
// and the head it lifts at that flow; both are read off the answer, so the ideal pump's shape leaves no trace in the points it finds: every
// (flow, head) it comes to rest at is a point of the farm's system curve, and every pump that runs through that point gives the same answer.
//
//     H_ideal(Q; s) = s^2 H0 (1 - small Q/s),   s found so that the least margin of the targets is 0
//
// First a ladder of heads, each half as much again as the one before, from a few centimetres to the greatest head looked for. It tells which
// targets the pump moves at all (those that change along the ladder), and finds the first rung on which all of them are met and nothing
// goes wrong. Between that rung and the one below, the margin is brought to 0 by secant steps kept inside the bracket (the Illinois form of
// regula falsi: M. Dowell and P. Jarratt, BIT 11, 1971, 168-174), by halving where a margin is not finite. The upper end of the bracket is
// the answer: there the targets are met.
//
// More head need not be better: a sump may be emptied or a rim overflow before a target is met. Rungs on which that happens count as not
// met. Where no rung meets the targets, but one falls short and the next spills or runs dry, the head at which that begins is looked for by
// halving, and the targets are tried on the way: the window between too little and too much may be narrower than the ladder's step. Where
// nothing meets them still, the best head is reported, with what stands in the way of more.

#include "solver/choose/pump_duty.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "solver/choose/margins.h"
#include "solver/choose/pump_place.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kIdealHead_m = 10.0;  // at speed 1
constexpr double kFirstRung_m = 0.05;
constexpr double kRung = 1.5;
constexpr double kNoFlow_m3_s = 1e-9;  // 4 ml an hour
constexpr double kSameShare = 1e-6;    // a figure that moves less along the ladder does not depend on the pump
constexpr double kNarrow = 1e-11;      // width of the last bracket, share of the head
constexpr int kMostSteps = 200;

/// The ideal pump: it loses a tenth of its head at a flow no such farm needs.
physics::PumpCurve ideal_curve(const layout::Layout& layout) {
    double wanted_m3_s = 1e-3;
    for (const layout::Vessel& vessel : layout.vessels) {
        if (layout::said(vessel.inflow_m3_s)) wanted_m3_s += vessel.inflow_m3_s;
        if (layout::said(vessel.turnover_s)) wanted_m3_s += vessel.volume.back().volume_m3 / vessel.turnover_s;
    }
    for (const layout::Tee& tee : layout.tees) wanted_m3_s += std::max(0.0, tee.takes_m3_s);
    constexpr double kFar = 50.0, kLost = 0.1;
    const physics::PumpPoint points[] = {{.flow_m3_s = 0.0, .head_m = kIdealHead_m},
                                         {.flow_m3_s = kFar * wanted_m3_s, .head_m = (1.0 - kLost) * kIdealHead_m}};
    return physics::PumpCurve(points);
}

/// One trial head and what came of it.
struct Rung {
    double head_m = 0.0;
    settle::Answer answer;
    double margin = kNotKnown;
    Obstacle obstacle = Obstacle::none;
    std::int32_t at = -1;  ///< the vessel that spills
    bool met() const { return obstacle == Obstacle::none && margin >= 0.0; }
};

class Search {
public:
    Search(const layout::Layout& layout, std::int32_t pump, std::int32_t arrangement, const std::stop_token& stop)
        : place_(layout, pump, ideal_curve(layout), stop), pump_(pump), arrangement_(arrangement) {
        const layout::Pump& now = layout.pumps[at(pump)];
        speed_now_ = layout::conditions_of(layout, arrangement).pump_speed[at(pump)];
        if (speed_now_ > 0.0)
            now_ = Place(layout, pump, Put{.model = now.model, .count = now.count, .wear = now.wear}, stop).solve(arrangement, speed_now_);
    }

    Duty run(int curve_points, double curve_to_m);

private:
    Rung try_head(double head_m) {
        Rung rung;
        rung.head_m = head_m;
        rung.answer = place_.solve(arrangement_, std::sqrt(head_m / kIdealHead_m));
        judge(rung);
        return rung;
    }

    void judge(Rung& rung) const {
        const settle::Answer& answer = rung.answer;
        rung.at = spills_now(answer, duty_.spills_anyway);
        rung.margin = own_margin(answer, duty_.own);
        if (answer.state == settle::State::spills_until_dry || rung.at >= 0)
            rung.obstacle = Obstacle::spills;
        else if (!can_be_judged(answer.state))
            rung.obstacle = Obstacle::no_solution;
        else
            rung.obstacle = pump_of(answer).intake_bare ? Obstacle::runs_dry : Obstacle::none;
        const std::int32_t on_way = rung.obstacle == Obstacle::none ? spills_on_way(answer, duty_) : -1;
        if (on_way >= 0) {
            rung.obstacle = Obstacle::spills;
            rung.at = on_way;
        }
        if (rung.obstacle == Obstacle::spills && rung.at < 0) rung.at = lost_most(answer);
    }

    static std::int32_t lost_most(const settle::Answer& answer) {
        std::int32_t most = -1;
        for (std::size_t v = 0; v < answer.vessels.size(); ++v)
            if (answer.vessels[v].spilled_m3 > (most < 0 ? 1e-6 : answer.vessels[at(most)].spilled_m3)) most = static_cast<std::int32_t>(v);
        return most;
    }

    const settle::PumpAnswer& pump_of(const settle::Answer& answer) const { return answer.pumps[at(pump_)]; }

    void look_without();
    void climb();
    void find_own();
    void seek_between();
    void add_up(const settle::Answer& answer);
    void found(const Rung& rung, DutyOutcome outcome);
    Rung narrow(Rung low, Rung high);
    void not_reached();
    double flow_begins();
    void draw_curve(int points, double to_m);

    Place place_;
    std::int32_t pump_, arrangement_;
    Duty duty_;
    double speed_now_ = 0.0;
    settle::Answer without_, now_;  ///< with the pump stopped, and as it stands
    std::vector<Rung> ladder_;
};

/// The arrangement with the pump stopped: what would happen anyway.
void Search::look_without() {
    without_ = place_.solve(arrangement_, 0.0);
    duty_.spills_anyway.assign(place_.layout().vessels.size(), 0);
    duty_.spilled_anyway_m3.assign(duty_.spills_anyway.size(), 0.0);
    for (std::size_t v = 0; v < without_.vessels.size(); ++v) {
        duty_.spills_anyway[v] = without_.vessels[v].spill_m3_s > kNoFlow_m3_s ? 1 : 0;
        duty_.spilled_anyway_m3[v] = without_.vessels[v].spilled_m3;
    }
}

void Search::climb() {
    for (double head_m = kFirstRung_m; head_m < kGreatestHead_m * kRung; head_m *= kRung)
        ladder_.push_back(try_head(std::min(head_m, kGreatestHead_m)));
}

bool usable(const settle::Answer& answer) { return can_be_judged(answer.state) && !answer.targets.empty(); }

/// Whether a figure differs between two answers.
bool moves(const settle::Answer& answer, const settle::Answer& other, std::size_t t) {
    if (!usable(other)) return false;
    const double one = answer.targets[t].got, two = other.targets[t].got;
    if (std::isnan(one) || std::isnan(two)) return std::isnan(one) != std::isnan(two);
    return std::abs(one - two) > kSameShare * std::max(std::abs(one), std::abs(two));
}

/// What other pumps reach and this one does not.
Reach reached_by_others(const layout::Layout& layout, std::int32_t pump) {
    const Reach mine = reach_of(layout, pump);
    Reach others{.vessels = std::vector<std::uint8_t>(layout.vessels.size(), 0), .tees = std::vector<std::uint8_t>(layout.tees.size(), 0)};
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        const Reach reach = reach_of(layout, static_cast<std::int32_t>(p));
        for (std::size_t v = 0; v < others.vessels.size(); ++v) others.vessels[v] |= mine.vessels[v] == 0 ? reach.vessels[v] : std::uint8_t{0};
        for (std::size_t t = 0; t < others.tees.size(); ++t) others.tees[t] |= mine.tees[t] == 0 ? reach.tees[t] : std::uint8_t{0};
    }
    return others;
}

/// Whether what a target is about is among them.
bool is_about(const layout::Layout& layout, const Reach& reach, const settle::Target& target) {
    for (std::size_t v = 0; v < layout.vessels.size(); ++v)
        if (layout.vessels[v].id == target.about) return reach.vessels[v] != 0;
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (layout.tees[t].id == target.about) return reach.tees[t] != 0;
    return false;
}

/// A target is the pump's own when its figure changes along the ladder, or between the pump stopped and running, and no other pump is nearer to
/// it. What it moves of another's targets it must not spoil, where they are met with the pump that stands there now.
void Search::find_own() {
    const settle::Answer* first = nullptr;
    for (const Rung& rung : ladder_)
        if (first == nullptr && usable(rung.answer)) first = &rung.answer;
    if (first == nullptr) {
        // nothing can be told apart: all of them count
        for (const Rung& rung : ladder_) duty_.own.assign(std::max(duty_.own.size(), rung.answer.targets.size()), 1);
        duty_.judged = duty_.own;
        return;
    }
    const settle::Answer& now = usable(now_) ? now_ : *first;
    const Reach others = reached_by_others(place_.layout(), pump_);
    duty_.own.assign(first->targets.size(), 0);
    duty_.judged = duty_.own;
    for (std::size_t t = 0; t < duty_.own.size(); ++t) {
        bool moved = moves(*first, without_, t);
        for (const Rung& rung : ladder_) moved = moved || moves(*first, rung.answer, t);
        const bool another = moved && is_about(place_.layout(), others, first->targets[t]);
        duty_.own[t] = moved && !another ? 1 : 0;
        duty_.judged[t] = moved && (!another || now.targets[t].met) ? 1 : 0;
        if (duty_.judged[t] == 0 && now.targets[t].asked && !now.targets[t].met &&
            !(now.state == settle::State::cycles && std::isnan(now.targets[t].got)))
            duty_.apart.push_back(now.targets[t]);
    }
}

/// Where no rung will do: between one that falls short and the next, on which something goes wrong, the last head at which nothing does, or
/// one that meets the targets.
void Search::seek_between() {
    constexpr double kClose = 1e-7;  // share of the head: no drive is set finer
    for (std::size_t i = 0; i + 1 < ladder_.size(); ++i) {
        if (ladder_[i].obstacle != Obstacle::none || ladder_[i + 1].obstacle == Obstacle::none) continue;
        Rung low = ladder_[i];
        double high_m = ladder_[i + 1].head_m;
        while (high_m - low.head_m > kClose * high_m && !low.met()) {
            Rung middle = try_head(0.5 * (low.head_m + high_m));
            if (middle.obstacle == Obstacle::none)
                low = std::move(middle);
            else
                high_m = middle.head_m;
        }
        if (!(low.head_m > ladder_[i].head_m)) continue;
        const bool met = low.met();
        ladder_.insert(ladder_.begin() + static_cast<std::ptrdiff_t>(++i), std::move(low));
        if (met) return;
    }
}

/// What the duty is made of: what its targets of flow add up to, and which of them gets more than it asks for.
void Search::add_up(const settle::Answer& answer) {
    const layout::Layout& layout = place_.layout();
    const Reach reach = reach_of(layout, pump_);
    std::vector<double> wanted_m3_s(layout.vessels.size(), 0.0);
    for (std::size_t t = 0; t < answer.targets.size(); ++t) {
        const settle::Target& target = answer.targets[t];
        if (t >= duty_.own.size() || duty_.own[t] == 0 || !target.asked || target.quantity == "pressure_m") continue;
        const auto of = std::find_if(layout.vessels.begin(), layout.vessels.end(), [&](const layout::Vessel& v) { return v.id == target.about; });
        const auto v = static_cast<std::size_t>(of - layout.vessels.begin());
        if (of == layout.vessels.end() || reach.vessels[v] == 0) continue;
        const double share = margin_of(target) + 1.0;
        const double flow_m3_s = target.quantity == "inflow_m3_s" ? target.wanted : answer.vessels[v].inflow_m3_s / share;
        if (std::isfinite(flow_m3_s)) wanted_m3_s[v] = std::max(wanted_m3_s[v], flow_m3_s);
        if (target.about == duty_.sets.about || !std::isfinite(share) || (layout::said(duty_.most_share) && share <= duty_.most_share)) continue;
        duty_.most_share = share;
        duty_.gets_most = target.about;
    }
    duty_.asked_m3_s = 0.0;
    for (const double flow_m3_s : wanted_m3_s) duty_.asked_m3_s += flow_m3_s;
}

void Search::found(const Rung& rung, DutyOutcome outcome) {
    const settle::PumpAnswer& pump = pump_of(rung.answer);
    duty_.outcome = outcome;
    duty_.flow_m3_s = pump.flow_m3_s;
    duty_.head_m = pump.head_m;
    duty_.npsh_available_m = pump.npsh_available_m;
    duty_.margin = rung.margin;
    const std::int32_t worst = own_worst(rung.answer, duty_.own);
    if (worst < 0) return;
    duty_.sets = rung.answer.targets[at(worst)];
    duty_.met_without = outcome == DutyOutcome::met_by_nothing && own_margin(without_, duty_.own) >= 0.0;
    if (outcome == DutyOutcome::met_by_nothing) return;
    duty_.taken = head_taken(place_.layout(), rung.answer, duty_.sets);
    add_up(rung.answer);
}

/// `high` is met and `low` is not: the least head between them that meets the targets.
Rung Search::narrow(Rung low, Rung high) {
    double low_margin = low.obstacle == Obstacle::none ? low.margin : kNotKnown, high_margin = high.margin;
    int side = 0;
    for (int step = 0; step < kMostSteps && high.head_m - low.head_m > kNarrow * high.head_m; ++step) {
        const double width = high.head_m - low.head_m;
        double head_m = low.head_m + 0.5 * width;
        if (std::isfinite(low_margin) && std::isfinite(high_margin) && step % 8 != 7)  // now and then a halving, whatever the shape
            head_m =
                std::clamp(high.head_m - high_margin * width / (high_margin - low_margin), low.head_m + 1e-3 * width, high.head_m - 1e-3 * width);
        Rung middle = try_head(head_m);
        if (middle.met()) {
            high_margin = middle.margin;
            if (side == 1) low_margin *= 0.5;
            side = 1;
            high = std::move(middle);
            if (high.margin < 1e-12) break;
        } else {
            low_margin = middle.obstacle == Obstacle::none ? middle.margin : kNotKnown;
            if (side == -1) high_margin *= 0.5;
            side = -1;
            low = std::move(middle);
        }
    }
    return high;
}

void Search::not_reached() {
    const Rung* best = nullptr;
    for (const Rung& rung : ladder_) {
        const bool allowed = rung.obstacle == Obstacle::none && std::isfinite(rung.margin);
        if (allowed && (best == nullptr || rung.margin > best->margin)) best = &rung;
    }
    if (best == nullptr) {
        duty_.outcome = DutyOutcome::unreachable;
        duty_.obstacle = ladder_.front().obstacle == Obstacle::none ? Obstacle::no_solution : ladder_.front().obstacle;
        if (ladder_.front().at >= 0) duty_.at = place_.layout().vessels[at(ladder_.front().at)].id;
        return;
    }
    found(*best, DutyOutcome::unreachable);
    duty_.obstacle = Obstacle::head;
    for (const Rung& rung : ladder_) {
        if (rung.head_m <= best->head_m || rung.obstacle == Obstacle::none) continue;
        duty_.obstacle = rung.obstacle;
        if (rung.at >= 0) duty_.at = place_.layout().vessels[at(rung.at)].id;
        break;
    }
}

/// The head below which nothing flows: halved between two rungs.
double Search::flow_begins() {
    const auto flows = [&](const Rung& rung) { return pump_of(rung.answer).flow_m3_s > kNoFlow_m3_s; };
    const auto usable = [](const Rung& rung) { return rung.answer.state != settle::State::no_solution; };
    const auto first = std::find_if(ladder_.begin(), ladder_.end(), [&](const Rung& rung) { return usable(rung) && flows(rung); });
    if (first == ladder_.end()) return kNotKnown;
    if (first == ladder_.begin()) return 0.0;
    constexpr double kNear_m = 1e-6;
    double low_m = std::prev(first)->head_m, high_m = first->head_m;
    while (high_m - low_m > kNear_m) {
        const double middle_m = 0.5 * (low_m + high_m);
        (flows(try_head(middle_m)) ? high_m : low_m) = middle_m;
    }
    return high_m;
}

void Search::draw_curve(int points, double to_m) {
    if (points < 2 || !(duty_.static_head_m < kGreatestHead_m)) return;
    constexpr double kBeyond = 1.5;
    const bool needed = duty_.outcome == DutyOutcome::needed;
    const double from_m = std::max(duty_.static_head_m, 1e-3);
    const double end_m = std::max({kBeyond * (needed ? duty_.head_m : 0.0), to_m, from_m + 1.0});
    for (int i = 0; i < points; ++i) {
        const double share = static_cast<double>(i) / (points - 1);
        const Rung rung = try_head(from_m + share * (end_m - from_m));
        SystemPoint point;
        point.solved = rung.obstacle == Obstacle::none;
        if (rung.answer.state != settle::State::no_solution) {
            point.flow_m3_s = pump_of(rung.answer).flow_m3_s;
            point.head_m = pump_of(rung.answer).head_m;
            point.margin = rung.margin;
        }
        duty_.curve.push_back(point);
    }
}

Duty Search::run(int curve_points, double curve_to_m) {
    duty_.arrangement = arrangement_;
    if (!(speed_now_ > 0.0)) {
        duty_.outcome = DutyOutcome::rests;
        return duty_;
    }
    look_without();
    climb();
    find_own();
    for (Rung& rung : ladder_) judge(rung);
    duty_.static_head_m = flow_begins();
    const auto is_met = [](const Rung& rung) { return rung.met(); };
    if (std::none_of(ladder_.begin(), ladder_.end(), is_met)) seek_between();
    const auto met = std::find_if(ladder_.begin(), ladder_.end(), is_met);
    const bool any = std::any_of(ladder_.begin(), ladder_.end(), [&](const Rung& rung) { return own_worst(rung.answer, duty_.own) >= 0; });
    const bool judged = std::any_of(ladder_.begin(), ladder_.end(), [](const Rung& rung) { return rung.obstacle == Obstacle::none; });
    if (!any && judged)
        duty_.outcome = DutyOutcome::nothing_asked;
    else if (met == ladder_.end())
        not_reached();
    else if (met == ladder_.begin())
        found(*met, DutyOutcome::met_by_nothing);
    else
        found(narrow(*std::prev(met), *met), DutyOutcome::needed);
    draw_curve(curve_points, curve_to_m);
    return duty_;
}

// ---------------------------------------------------------------------------------------------- what takes the head

/// Goes up the water's way from where it is wanted, by the pipe that brings the most.
class Upstream {
public:
    Upstream(const layout::Layout& layout, const settle::Answer& answer) : layout_(layout), answer_(answer) {}

    HeadTaken walk(layout::Ref here) {
        for (std::size_t steps = 0; steps <= layout_.pipes.size() + layout_.filters.size(); ++steps) {
            std::int32_t pipe = -1;
            layout::Ref before;
            find(here, pipe, before);
            if (pipe < 0) break;
            take(pipe, before);
            if (before.kind != layout::Kind::tee && before.kind != layout::Kind::filter) break;
            here = before;
        }
        return taken_;
    }

private:
    bool leads_here(const layout::End& end, const layout::Ref& here) const {
        if (end.ref == here) return true;
        if (here.kind != layout::Kind::vessel) return false;
        if (end.ref.kind == layout::Kind::nozzle) return layout_.nozzles[at(end.ref.index)].into == here;
        return end.ref.kind == layout::Kind::float_valve && layout_.float_valves[at(end.ref.index)].into == here;
    }

    void find(const layout::Ref& here, std::int32_t& best, layout::Ref& before) const {
        double most = 0.0;
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) {
            const double flow = answer_.pipes[p].flow_m3_s;
            const bool forward = flow > 0.0;
            const layout::Pipe& pipe = layout_.pipes[p];
            if (!(std::abs(flow) > most) || pipe.gravity || !leads_here(forward ? pipe.to : pipe.from, here)) continue;
            most = std::abs(flow);
            best = static_cast<std::int32_t>(p);
            before = forward ? pipe.from.ref : pipe.to.ref;
        }
    }

    void take(std::int32_t pipe, const layout::Ref& before) {
        const double loss = std::abs(answer_.pipes[at(pipe)].loss_m);
        double whole = layout::said(taken_.whole_loss_m) ? taken_.whole_loss_m : 0.0;
        whole += layout::said(loss) ? loss : 0.0;
        if (loss > greatest_) {
            greatest_ = loss;
            taken_ = {.pipe = pipe, .valve = throttled(pipe), .loss_m = loss};
        }
        if (before.kind == layout::Kind::filter) {
            const double filter = answer_.filters[at(before.index)].loss_m;
            whole += layout::said(filter) ? filter : 0.0;
            if (filter > greatest_) {
                greatest_ = filter;
                taken_ = {.filter = before.index, .loss_m = filter};
            }
        }
        taken_.whole_loss_m = whole;
    }

    std::int32_t throttled(std::int32_t pipe) const {
        const layout::Conditions conditions = layout::conditions_of(layout_, answer_.arrangement);
        std::int32_t least = -1;
        double opening = 1.0;
        for (const std::int32_t valve : layout_.pipes[at(pipe)].valves)
            if (conditions.valve_opening[at(valve)] < opening) {
                opening = conditions.valve_opening[at(valve)];
                least = valve;
            }
        return least;
    }

    const layout::Layout& layout_;
    const settle::Answer& answer_;
    HeadTaken taken_;
    double greatest_ = 0.0;
};

}  // namespace

HeadTaken head_taken(const layout::Layout& layout, const settle::Answer& answer, const settle::Target& target) {
    layout::Ref here;
    for (std::size_t v = 0; v < layout.vessels.size(); ++v)
        if (layout.vessels[v].id == target.about) here = {layout::Kind::vessel, static_cast<std::int32_t>(v)};
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (layout.tees[t].id == target.about) here = {layout::Kind::tee, static_cast<std::int32_t>(t)};
    return here.index < 0 ? HeadTaken{} : Upstream(layout, answer).walk(here);
}

Duty duty_of(const layout::Layout& layout, std::int32_t pump, std::int32_t arrangement, int curve_points, double curve_to_m,
             const std::stop_token& stop) {
    return Search(layout, pump, arrangement, stop).run(curve_points, curve_to_m);
}

}  // namespace ebb::choose
