// The choice of pumps, from duties to winners that hold together.
//
// Pumps are chosen one after the other, the others as they are. The winners then stand in the farm at once; where they take each other's
// targets away, each is chosen anew with the others' winners in place, a few rounds at most (a coordinate-wise search: it ends at a choice no
// single change of which is cheaper, not at the cheapest of all choices).

#include "solver/choose/pump_choice.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "solver/choose/margins.h"
#include "solver/choose/pump_beside.h"
#include "solver/choose/pump_candidates.h"
#include "solver/choose/pump_duty.h"
#include "solver/choose/pump_place.h"
#include "solver/choose/pump_routines.h"
#include "solver/choose/pump_standby.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr int kMostRounds = 3;
constexpr std::size_t kMostFollowed = 12;  // candidates whose routines are followed, at most

/// A part of the whole work, for the word of progress.
struct Span {
    double from = 0.0, to = 1.0;
    double part(double share) const { return from + (to - from) * share; }
};

/// Models and numbers that may stand in the place of a pump.
std::vector<Put> puts_for(const layout::Layout& layout, std::int32_t pump, const PumpQuestion& question) {
    const auto& listed = layout.economy.candidates;
    std::vector<std::pair<std::int32_t, int>> models;  // and how many of each
    const auto add = [&](std::int32_t model, int most) {
        const auto known = std::find_if(models.begin(), models.end(), [&](const auto& one) { return one.first == model; });
        if (known == models.end())
            models.emplace_back(model, most);
        else
            known->second = std::max(known->second, most);
    };
    const int as_now = layout.pumps[at(pump)].count;
    const auto most_of = [&](std::int32_t model) {
        int most = 0;
        for (const layout::PumpCandidate& one : listed)
            if (one.model == model && (one.pump < 0 || one.pump == pump)) most = std::max(most, one.most);
        return most > 0 ? most : as_now;
    };
    if (!question.models.empty()) {
        for (const std::int32_t model : question.models) add(model, most_of(model));
    } else if (!listed.empty()) {
        for (const layout::PumpCandidate& one : listed)
            if (one.pump < 0 || one.pump == pump) add(one.model, one.most);
    } else {
        for (std::size_t m = 0; m < layout.pump_models.size(); ++m) add(static_cast<std::int32_t>(m), as_now);
    }
    std::vector<Put> puts;
    for (const auto& [model, most] : models)
        for (int count = 1; count <= (question.most > 0 ? question.most : most); ++count) puts.push_back({.model = model, .count = count});
    return puts;
}

class Chooser {
public:
    Chooser(const layout::Layout& layout, const PumpQuestion& question) : layout_(layout), question_(question) {
        answer_.arrangements = question.arrangements.empty() ? arrangements_that_count(layout) : question.arrangements;
        answer_.costing = costing_of(layout, answer_.arrangements, question.said);
    }

    PumpsAnswer run();

private:
    bool stopped() const { return question_.watch.stop.stop_requested(); }

    std::vector<std::int32_t> pumps() const {
        std::vector<std::int32_t> pumps = question_.pumps;
        for (std::size_t p = 0; question_.pumps.empty() && p < layout_.pumps.size(); ++p) pumps.push_back(static_cast<std::int32_t>(p));
        return pumps;
    }

    std::optional<PumpChoice> choose(const layout::Layout& layout, std::int32_t pump, Span span) const;
    bool find_duties(const layout::Layout& layout, const std::vector<Put>& puts, Span span, PumpChoice& choice) const;
    bool try_all(const layout::Layout& layout, const std::vector<Put>& puts, Span span, PumpChoice& choice) const;
    std::optional<Candidate> turned_up(const Trial& trial, const Candidate& late, const std::vector<std::int32_t>& routines) const;
    void follow(const Trial& trial, const std::vector<std::int32_t>& routines, Candidate& candidate) const;
    bool follow_routines(const layout::Layout& layout, Span span, PumpChoice& choice) const;
    layout::Layout with_winners(const std::vector<PumpChoice>& choices, std::size_t except) const;
    Together put_together(const std::vector<PumpChoice>& choices) const;
    void settle_together(Span span);

    const layout::Layout& layout_;
    const PumpQuestion& question_;
    PumpsAnswer answer_;
};

/// The duties with the greatest head and the greatest flow.
void envelope(PumpChoice& choice) {
    for (std::size_t d = 0; d < choice.duties.size(); ++d) {
        const Duty& duty = choice.duties[d];
        const auto index = static_cast<std::int32_t>(d);
        if (duty.outcome != DutyOutcome::needed) continue;
        if (choice.greatest_head < 0 || duty.head_m > choice.duties[at(choice.greatest_head)].head_m) choice.greatest_head = index;
        if (choice.greatest_flow < 0 || duty.flow_m3_s > choice.duties[at(choice.greatest_flow)].flow_m3_s) choice.greatest_flow = index;
    }
    // as good as the greatest flow: one duty then says it all
    constexpr double kNearly = 0.995;
    if (choice.greatest_head >= 0 && choice.duties[at(choice.greatest_head)].flow_m3_s > kNearly * choice.duties[at(choice.greatest_flow)].flow_m3_s)
        choice.greatest_flow = choice.greatest_head;
}

bool asks_for_a_pump(const Duty& duty) {
    return duty.outcome != DutyOutcome::rests && duty.outcome != DutyOutcome::nothing_asked && !duty.met_without;
}

bool Chooser::find_duties(const layout::Layout& layout, const std::vector<Put>& puts, Span span, PumpChoice& choice) const {
    double greatest_m = 0.0;
    for (const Put& put : puts) greatest_m = std::max(greatest_m, layout.pump_models[at(put.model)].curve.shut_off_head_m({}));
    choice.duties.resize(answer_.arrangements.size());
    const auto done = work_through(choice.duties.size(), question_.watch, span.from, span.to, [&](std::size_t i) {
        choice.duties[i] = duty_of(layout, choice.pump, answer_.arrangements[i], question_.curve_points, greatest_m, question_.watch.stop);
    });
    for (const Duty& duty : choice.duties) choice.any_unreachable = choice.any_unreachable || duty.outcome == DutyOutcome::unreachable;
    envelope(choice);
    return std::all_of(done.begin(), done.end(), [](std::uint8_t one) { return one != 0; });
}

/// A candidate that meets everything in the farm itself shows that a duty is to be had, whatever the search for it said.
void shown_by(const Candidate& candidate, PumpChoice& choice) {
    if (candidate.standing != Standing::meets || !choice.any_unreachable) return;
    for (std::size_t d = 0; d < choice.duties.size() && d < candidate.points.size(); ++d) {
        Duty& duty = choice.duties[d];
        if (duty.outcome != DutyOutcome::unreachable) continue;
        duty.outcome = DutyOutcome::needed;
        duty.obstacle = Obstacle::none;
        duty.flow_m3_s = candidate.points[d].pump.flow_m3_s;
        duty.head_m = candidate.points[d].pump.head_m;
        duty.margin = candidate.points[d].margin;
    }
    choice.any_unreachable = false;
    envelope(choice);
}

bool Chooser::try_all(const layout::Layout& layout, const std::vector<Put>& puts, Span span, PumpChoice& choice) const {
    const Trial trial{.layout = &layout, .pump = choice.pump, .duties = choice.duties, .costing = &answer_.costing, .stop = question_.watch.stop};
    const bool asked = std::any_of(choice.duties.begin(), choice.duties.end(), asks_for_a_pump);
    // with nothing asked of it any pump would do, and the cheapest of them would be no pump
    std::vector<std::vector<Candidate>> tried(1 + (asked ? puts.size() : 0));
    const auto done = work_through(tried.size(), question_.watch, span.from, span.to, [&](std::size_t i) {
        tried[i] = i == 0 ? std::vector<Candidate>{as_it_stands(trial)} : try_candidate(trial, puts[i - 1]);
    });
    choice.to_try = static_cast<int>(puts.size());
    choice.tried = asked ? static_cast<int>(std::count(done.begin() + 1, done.end(), std::uint8_t{1})) : choice.to_try;
    if (done.front() != 0) choice.as_it_is = std::move(tried.front().front());
    for (std::size_t i = 1; i < tried.size(); ++i)
        for (Candidate& candidate : tried[i]) choice.candidates.push_back(std::move(candidate));
    std::stable_sort(choice.candidates.begin(), choice.candidates.end(), stands_before);
    for (const Candidate& candidate : choice.candidates) shown_by(candidate, choice);
    shown_by(choice.as_it_is, choice);
    return std::all_of(done.begin(), done.end(), [](std::uint8_t one) { return one != 0; });
}

/// A bed that does not fill in time rejects; one that does not drain in time only where another pump shows that it could.
void judge_beds(const layout::Layout& layout, const Candidate& as_it_is, Candidate& candidate) {
    if (candidate.standing == Standing::rejected) return;
    for (std::size_t b = 0; b < candidate.beds.size(); ++b) {
        const BedInTime& bed = candidate.beds[b];
        const bool could = bed.fills || (b < as_it_is.beds.size() && as_it_is.beds[b].vessel == bed.vessel && as_it_is.beds[b].met);
        if (bed.met || !could) continue;
        if (candidate.standing != Standing::rejected) {
            candidate.standing = Standing::rejected;
            candidate.reason = {};
            candidate.reason.fault = bed.fills ? Fault::fills_late : Fault::drains_late;
            candidate.reason.routine = bed.routine;
            settle::Target& target = candidate.reason.target;
            target.about = layout.vessels[at(bed.vessel)].id;
            target.quantity = bed.fills ? "fill_s" : "drain_s";
            target.at_most = true;
            target.wanted = bed.wanted_s;
            target.got = bed.got_s;
        } else {
            ++candidate.reason.others;
        }
    }
}

bool fills_in_time(const Candidate& candidate) {
    return std::all_of(candidate.beds.begin(), candidate.beds.end(), [](const BedInTime& bed) { return bed.met || !bed.fills; });
}

/// A candidate that is turned down so far that a bed fills too late, turned up again: in the arrangements of the routines (in all, with one speed)
/// to the least thousandth at which every bed fills in time. Nothing when full speed does not fill it either.
std::optional<Candidate> Chooser::turned_up(const Trial& trial, const Candidate& late, const std::vector<std::int32_t>& routines) const {
    constexpr double kSteps = 1000.0;
    const std::vector<double> now = speeds_of(late);
    const auto of_routine = [&](std::int32_t arrangement) {
        return std::any_of(routines.begin(), routines.end(),
                           [&](std::int32_t r) { return trial.layout->routines[at(r)].arrangement == arrangement; });
    };
    const auto with_least = [&](double least) {
        std::vector<double> speeds = now;
        for (std::size_t i = 0; i < speeds.size(); ++i)
            if (speeds[i] > 0.0 && (late.mode == SpeedMode::one_speed || of_routine(late.points[i].arrangement)))
                speeds[i] = std::max(speeds[i], least);
        Candidate candidate = at_speeds(trial, late, speeds);
        candidate.beds = beds_in_time(with_candidate(*trial.layout, trial.pump, candidate), trial.pump, routines, question_.watch.stop);
        candidate.followed = true;
        return candidate;
    };
    int low = static_cast<int>(kSteps * *std::min_element(now.begin(), now.end())), high = static_cast<int>(kSteps);
    Candidate best = with_least(1.0);
    if (!fills_in_time(best)) return std::nullopt;
    while (high - low > 1 && !stopped()) {
        const int middle = (low + high) / 2;
        Candidate candidate = with_least(middle / kSteps);
        if (fills_in_time(candidate)) {
            high = middle;
            best = std::move(candidate);
        } else {
            low = middle;
        }
    }
    if (stopped()) return std::nullopt;
    return best;
}

/// Follows the routines with a candidate, and turns it up where that keeps a bed's time.
void Chooser::follow(const Trial& trial, const std::vector<std::int32_t>& routines, Candidate& candidate) const {
    candidate.beds = beds_in_time(with_candidate(*trial.layout, trial.pump, candidate), trial.pump, routines, question_.watch.stop);
    candidate.followed = !stopped();
    if (stopped() || candidate.mode == SpeedMode::as_arranged || fills_in_time(candidate)) return;
    if (std::optional<Candidate> up = turned_up(trial, candidate, routines)) candidate = std::move(*up);
}

bool Chooser::follow_routines(const layout::Layout& layout, Span span, PumpChoice& choice) const {
    const std::vector<std::int32_t> routines = routines_that_tell(layout, choice.pump);
    if (!question_.routines || routines.empty()) return true;
    const Trial trial{.layout = &layout, .pump = choice.pump, .duties = choice.duties, .costing = &answer_.costing, .stop = question_.watch.stop};
    const std::size_t leading = static_cast<std::size_t>(std::max(1, question_.leading));
    choice.as_it_is.beds = beds_in_time(layout, choice.pump, routines, question_.watch.stop);
    choice.as_it_is.followed = !stopped();
    std::size_t followed = 0;
    while (followed < kMostFollowed && !stopped()) {
        std::vector<Candidate*> next;
        for (std::size_t i = 0; i < std::min(leading, choice.candidates.size()); ++i)
            if (choice.candidates[i].standing != Standing::rejected && !choice.candidates[i].followed) next.push_back(&choice.candidates[i]);
        if (next.empty()) break;
        (void)work_through(next.size(), question_.watch, span.from, span.to, [&](std::size_t i) { follow(trial, routines, *next[i]); });
        followed += next.size();
        for (Candidate& candidate : choice.candidates) judge_beds(layout, choice.as_it_is, candidate);
        std::stable_sort(choice.candidates.begin(), choice.candidates.end(), stands_before);
    }
    return !stopped();
}

std::optional<PumpChoice> Chooser::choose(const layout::Layout& layout, std::int32_t pump, Span span) const {
    PumpChoice choice;
    choice.pump = pump;
    const std::vector<Put> puts = puts_for(layout, pump, question_);
    const double a = span.part(0.5), b = span.part(0.75);
    if (!find_duties(layout, puts, {span.from, a}, choice)) return std::nullopt;
    const bool all = try_all(layout, puts, {a, b}, choice);
    if (all) (void)follow_routines(layout, {b, span.to}, choice);
    return choice;
}

/// The layout with every winner in but that of choice `except`; where a pump has none, the candidate that comes nearest stands in.
layout::Layout Chooser::with_winners(const std::vector<PumpChoice>& choices, std::size_t except) const {
    layout::Layout changed = layout_;
    for (std::size_t i = 0; i < choices.size(); ++i)
        if (i != except && !choices[i].candidates.empty()) changed = with_candidate(changed, choices[i].pump, choices[i].candidates.front());
    return changed;
}

Together Chooser::put_together(const std::vector<PumpChoice>& choices) const {
    Together together;
    together.done = true;
    together.all_met = true;
    const layout::Layout changed = with_winners(choices, choices.size());
    settle::Options options;
    options.bands = options.ledgers = false;
    settle::Farm farm(changed, options);
    double energy_kwh = 0.0;
    for (const std::int32_t a : answer_.arrangements) {
        if (stopped()) return {};
        const settle::Answer answer = farm.solve(a);
        Together::InArrangement here{
            .arrangement = a, .state = answer.state, .margin = own_margin(answer, std::vector<std::uint8_t>(answer.targets.size(), 1)), .missed = {}};
        for (const settle::Target& target : answer.targets)
            if (target.asked && !target.met && !(answer.state == settle::State::cycles && std::isnan(target.got))) here.missed.push_back(target);
        together.all_met = together.all_met && can_be_judged(answer.state) && here.missed.empty();
        bool unknown = false;
        const double power_w = power_of(answer, &unknown);
        const double hours = answer_.costing.hours_a_year[at(a)];
        if (hours > 0.0) energy_kwh += hours * (unknown ? kNotKnown : power_w) / 1000.0;
        together.arrangements.push_back(std::move(here));
    }
    together.price = 0.0;
    for (const PumpChoice& choice : choices)
        if (!choice.candidates.empty()) together.price += choice.candidates.front().price;
    together.energy_kwh_year = energy_kwh;
    together.life_cycle_cost = together.price + answer_.costing.worth_of_a_year * answer_.costing.price_per_kwh * energy_kwh;
    return together;
}

/// What the other pumps are while one is chosen: the same others need no second look.
std::string others_of(const layout::Layout& layout, std::int32_t pump, const std::vector<std::int32_t>& arrangements) {
    std::string text;
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        if (static_cast<std::int32_t>(p) == pump) continue;
        const layout::Pump& other = layout.pumps[p];
        text += std::to_string(other.model) + ' ' + std::to_string(other.count) + ' ' + std::to_string(other.wear);
        for (const std::int32_t a : arrangements) text += ' ' + std::to_string(layout::conditions_of(layout, a).pump_speed[p]);
        text += ';';
    }
    return text;
}

void Chooser::settle_together(Span span) {
    std::vector<PumpChoice>& choices = answer_.pumps;
    const auto chosen =
        static_cast<std::size_t>(std::count_if(choices.begin(), choices.end(), [](const PumpChoice& one) { return !one.candidates.empty(); }));
    if (chosen < 2 || stopped()) return;
    Together together = put_together(choices);
    if (!together.done) return;
    std::vector<std::string> beside;
    for (const PumpChoice& choice : choices) beside.push_back(others_of(layout_, choice.pump, answer_.arrangements));
    int round = 1;
    for (bool changed = true; round < kMostRounds && changed && !together.all_met && !stopped();) {
        changed = false;
        for (std::size_t i = 0; i < choices.size() && !stopped(); ++i) {
            const layout::Layout others = with_winners(choices, i);
            const std::string now = others_of(others, choices[i].pump, answer_.arrangements);
            if (choices[i].candidates.empty() || now == beside[i]) continue;
            std::optional<PumpChoice> anew = choose(others, choices[i].pump, span);
            if (!anew || stopped()) return;
            beside[i] = now;
            changed = true;
            choices[i] = std::move(*anew);
        }
        if (!changed) break;
        ++round;
        together = put_together(choices);
        if (!together.done) return;
    }
    together.rounds = round;
    together.chosen_anew = round > 1;
    answer_.together = std::move(together);
}

PumpsAnswer Chooser::run() {
    const std::vector<std::int32_t> asked = pumps();
    constexpr double kChosen = 0.8, kSettled = 0.9;
    for (std::size_t i = 0; i < asked.size() && !stopped(); ++i) {
        const double each = kChosen / static_cast<double>(asked.size());
        std::optional<PumpChoice> choice = choose(layout_, asked[i], {each * static_cast<double>(i), each * static_cast<double>(i + 1)});
        if (choice) answer_.pumps.push_back(std::move(*choice));
    }
    for (const std::int32_t pump : asked) answer_.to_try += static_cast<int>(puts_for(layout_, pump, question_).size());
    for (const PumpChoice& choice : answer_.pumps) answer_.tried += choice.tried;
    settle_together({kChosen, kSettled});
    if (question_.beside && !stopped()) look_beside(answer_, layout_, question_.watch);
    if (question_.standby && !stopped()) {
        answer_.standby.push_back(standby_of(layout_, answer_.arrangements, question_.watch, kSettled, 0.95));
        const auto has = [](const PumpChoice& one) { return one.winner() != nullptr; };
        const auto open = [](const PumpChoice& one) { return !one.candidates.empty() && one.winner() == nullptr; };
        const bool any = std::any_of(answer_.pumps.begin(), answer_.pumps.end(), has),
                   all = std::none_of(answer_.pumps.begin(), answer_.pumps.end(), open);
        if (any && all && !stopped()) {
            answer_.standby.push_back(
                standby_of(with_winners(answer_.pumps, answer_.pumps.size()), answer_.arrangements, question_.watch, 0.95, 1.0));
            answer_.standby.back().of_winners = true;
        }
    }
    answer_.stopped = stopped();
    return std::move(answer_);
}

}  // namespace

std::vector<double> speeds_of(const Candidate& candidate) {
    std::vector<double> speeds;
    for (const CandidatePoint& point : candidate.points) speeds.push_back(point.speed);
    return speeds;
}

PumpsAnswer choose_pumps(const layout::Layout& layout, const PumpQuestion& question) { return Chooser(layout, question).run(); }

}  // namespace ebb::choose
