#include "cli/views/pumps_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/words.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

}  // namespace

const char* name_of(choose::DutyOutcome outcome) {
    switch (outcome) {
        case choose::DutyOutcome::needed: return "needed";
        case choose::DutyOutcome::rests: return "rests";
        case choose::DutyOutcome::nothing_asked: return "nothing-asked";
        case choose::DutyOutcome::met_by_nothing: return "met-by-nothing";
        case choose::DutyOutcome::unreachable: return "unreachable";
        case choose::DutyOutcome::not_run: break;
    }
    return "not-run";
}

const char* name_of(choose::Obstacle obstacle) {
    switch (obstacle) {
        case choose::Obstacle::head: return "head";
        case choose::Obstacle::spills: return "spills";
        case choose::Obstacle::runs_dry: return "runs-dry";
        case choose::Obstacle::no_solution: return "no-solution";
        case choose::Obstacle::none: break;
    }
    return "none";
}

const char* name_of(choose::SpeedMode mode) {
    switch (mode) {
        case choose::SpeedMode::one_speed: return "one-speed";
        case choose::SpeedMode::variable: return "variable";
        case choose::SpeedMode::as_arranged: break;
    }
    return "as-arranged";
}

const char* name_of(choose::Fault fault) {
    switch (fault) {
        case choose::Fault::target_missed: return "target-missed";
        case choose::Fault::shut_off_too_low: return "shut-off-too-low";
        case choose::Fault::no_solution: return "no-solution";
        case choose::Fault::spills: return "spills";
        case choose::Fault::runs_dry: return "runs-dry";
        case choose::Fault::too_slow: return "too-slow";
        case choose::Fault::beyond_curve: return "beyond-curve";
        case choose::Fault::cavitates: return "cavitates";
        case choose::Fault::moves_nothing: return "moves-nothing";
        case choose::Fault::fills_late: return "fills-late";
        case choose::Fault::drains_late: return "drains-late";
        case choose::Fault::none: break;
    }
    return "none";
}

const char* name_of(choose::Doubt doubt) {
    switch (doubt) {
        case choose::Doubt::far_left: return "far-left-of-best";
        case choose::Doubt::far_right: return "far-right-of-best";
        case choose::Doubt::little_npsh: return "little-npsh";
        case choose::Doubt::npsh_unknown: return "npsh-unknown";
        case choose::Doubt::speed_unsaid: return "speed-unsaid";
        case choose::Doubt::against_shut: return "pump-against-shut";
        case choose::Doubt::below_least: return "below-least-depth";
        case choose::Doubt::spills_on_way: return "spilled-on-the-way";
        case choose::Doubt::cycles_unjudged: break;
    }
    return "cycles-unjudged";
}

const char* name_of(choose::Standing standing) {
    switch (standing) {
        case choose::Standing::meets: return "meets";
        case choose::Standing::perhaps: return "perhaps";
        case choose::Standing::rejected: return "rejected";
        case choose::Standing::not_run: break;
    }
    return "not-run";
}

std::string PumpsWords::arrangement(std::int32_t index) const { return index < 0 ? std::string() : layout_.arrangements[at(index)].name; }
std::string PumpsWords::pump(std::int32_t index) const { return layout_.pumps[at(index)].id; }
std::string PumpsWords::model(std::int32_t index) const { return index < 0 ? std::string() : layout_.pump_models[at(index)].name; }

std::string PumpsWords::put(const choose::Candidate& candidate) const {
    return candidate.count == 1 ? model(candidate.model) : fmt::format("{} x {}", candidate.count, model(candidate.model));
}

std::string PumpsWords::speed(const choose::Candidate& candidate) const {
    double least = HUGE_VAL, greatest = 0.0;
    for (const choose::CandidatePoint& point : candidate.points) {
        if (!(point.speed > 0.0)) continue;
        least = std::min(least, point.speed);
        greatest = std::max(greatest, point.speed);
    }
    if (!(greatest > 0.0)) return "-";
    const auto percent = [](double share) { return fmt::format("{:.1f}", 100.0 * share); };
    const std::string low = percent(least), high = percent(greatest);
    const std::string range = low == high ? (greatest == 1.0 ? "full" : low + " %") : low + "-" + high + " %";
    return candidate.mode == choose::SpeedMode::as_arranged && low != high ? "as arranged" : range;
}

std::string PumpsWords::put_and_speed(const choose::Candidate& candidate) const {
    switch (candidate.mode) {
        case choose::SpeedMode::one_speed: return fmt::format("{} turned down to {}", put(candidate), speed(candidate));
        case choose::SpeedMode::variable: return fmt::format("{} with a speed for each arrangement ({})", put(candidate), speed(candidate));
        case choose::SpeedMode::as_arranged: break;
    }
    return put(candidate);
}

std::string PumpsWords::target(const settle::Target& target) const {
    if (target.quantity == "pressure_m") {
        const std::string wanted = fmt::format("wanted {} or more", speech_.head(target.wanted));
        return std::isnan(target.got) ? fmt::format("{} is cut off, {}", target.about, wanted)
                                      : fmt::format("{} has {} of pressure, {}", target.about, speech_.head(target.got), wanted);
    }
    if (target.quantity == "fill_s" || target.quantity == "drain_s") {
        const char* does = target.quantity == "fill_s" ? "fill" : "drain";
        const std::string wanted = fmt::format("wanted {} or less", Speech::duration(target.wanted));
        return std::isfinite(target.got) ? fmt::format("{} {}s in {}, {}", target.about, does, Speech::duration(target.got), wanted)
                                         : fmt::format("{} does not {} in time, {}", target.about, does, wanted);
    }
    return sentence_of(target, speech_);
}

std::string PumpsWords::wish(const settle::Target& target) const {
    if (target.quantity == "turnover_s") return fmt::format("{} turns over in {}", target.about, Speech::duration(target.wanted));
    if (target.quantity == "inflow_m3_s") return fmt::format("{} gets {}", target.about, speech_.flow(target.wanted));
    if (target.quantity == "pressure_m") return fmt::format("{} keeps {} of pressure", target.about, speech_.head(target.wanted));
    return target.about;
}

std::string PumpsWords::in(std::int32_t index) const {
    return index < 0 || answer_.arrangements.size() < 2 ? std::string() : fmt::format(" in '{}'", arrangement(index));
}

std::string PumpsWords::others(int count) const {
    return count > 0 ? fmt::format(" (and in {} more)", counted(static_cast<std::size_t>(count), "arrangement", "arrangements")) : std::string();
}

std::string PumpsWords::short_of(const choose::Reason& reason) const {
    if (!std::isfinite(reason.needed_head_m) || reason.fault != choose::Fault::target_missed) return {};
    constexpr double kNothing_m = 0.005;
    if (!(reason.head_m >= kNothing_m))
        return fmt::format("; it cannot move the {} it should give{}", speech_.flow(reason.flow_m3_s), at_speed(reason));
    return fmt::format("; at the {} it should give it lifts {}{} where {} are needed", speech_.flow(reason.flow_m3_s), speech_.head(reason.head_m),
                       at_speed(reason), speech_.head(reason.needed_head_m));
}

std::string PumpsWords::at_speed(const choose::Reason& reason) {
    constexpr double kFull = 0.9995;
    return reason.speed < kFull ? fmt::format(" at {} speed", Speech::share(reason.speed)) : std::string();
}

std::string PumpsWords::made_of(const choose::Duty& duty) const {
    constexpr double kMuchMore = 1.1, kMost = 0.5;
    std::string text;
    if (duty.asked_m3_s > 0.0) {
        text = fmt::format("The targets it feeds add up to {}{}", speech_.flow(duty.asked_m3_s), in(duty.arrangement));
        if (duty.flow_m3_s > kMuchMore * duty.asked_m3_s) {
            text += fmt::format("; {} are needed, because {} asks for the head", speech_.flow(duty.flow_m3_s), duty.sets.about);
            if (duty.most_share > kMuchMore)
                text += fmt::format(" and the others then get more than they ask for, {} {} of it: set the valves first (`balance`)", duty.gets_most,
                                    Speech::share(duty.most_share));
        }
    }
    const choose::HeadTaken& taken = duty.taken;
    if (taken.pipe < 0 || !layout_.pipes[at(taken.pipe)].choose || !(taken.loss_m > kMost * duty.head_m)) return text;
    return fmt::format("{}{} takes {} of the {}, and is marked to be chosen: a wider one may cost less than a stronger pump (`pipes` first)",
                       text.empty() ? std::string() : text + ". ", layout_.pipes[at(taken.pipe)].id, speech_.head(taken.loss_m),
                       speech_.head(duty.head_m));
}

std::string PumpsWords::spoiled(const choose::Beside& beside) const {
    std::string text = fmt::format("In '{}', which does not count here, ", arrangement(beside.arrangement));
    if (beside.had_balance && beside.state == settle::State::no_solution) return text + "no balance is found any more";
    if (!beside.missed.empty()) {
        text += target(beside.missed.front());
        if (beside.missed.size() > 1) text += fmt::format(" (and {} more)", counted(beside.missed.size() - 1, "target", "targets"));
    }
    if (beside.spills.empty()) return text;
    return fmt::format("{}{}{} runs over its rim", text, beside.missed.empty() ? "" : ", and ", layout_.vessels[at(beside.spills.front())].id);
}

std::string PumpsWords::reason(const choose::Reason& reason) const {
    const std::string where = in(reason.arrangement);
    switch (reason.fault) {
        case choose::Fault::target_missed: return target(reason.target) + where + others(reason.others) + short_of(reason);
        case choose::Fault::shut_off_too_low:
            return fmt::format("against no flow at all it lifts {}{}, and {} are needed{}{}: {}", speech_.head(reason.head_m), at_speed(reason),
                               speech_.head(reason.needed_head_m), where, others(reason.others), target(reason.target));
        case choose::Fault::no_solution: return fmt::format("no balance was found{}{}", where, others(reason.others));
        case choose::Fault::spills:
            if (std::isfinite(reason.value))
                return fmt::format("{} go over the rim of {} on the way from the start depths{}{}", speech_.volume(reason.value), reason.about, where,
                                   others(reason.others));
            return reason.about.empty() ? fmt::format("water runs over until a pump is dry{}{}", where, others(reason.others))
                                        : fmt::format("{} runs over its rim{}{}", reason.about, where, others(reason.others));
        case choose::Fault::moves_nothing:
            return fmt::format("it runs and nothing flows{}{}{}: it lifts {} and is held shut, it heats and wears", at_speed(reason), where,
                               others(reason.others), speech_.head(reason.head_m));
        case choose::Fault::runs_dry: return fmt::format("the water falls to its intake{}{}: it runs dry", where, others(reason.others));
        case choose::Fault::too_slow:
            return fmt::format("it would have to run at {} speed{}{}, and cannot go below {}", Speech::share(reason.value), where,
                               others(reason.others), Speech::share(reason.limit));
        case choose::Fault::beyond_curve:
            return fmt::format("it gives {}{}{}, beyond the end of its curve at {}", speech_.flow(reason.value), where, others(reason.others),
                               speech_.flow(reason.limit));
        case choose::Fault::cavitates:
            return fmt::format("it cavitates{}{}: {} of suction head (NPSH) are there and {} are needed", where, others(reason.others),
                               speech_.head(reason.value), speech_.head(reason.limit));
        case choose::Fault::fills_late:
        case choose::Fault::drains_late: {
            const std::string& routine = layout_.routines[at(reason.routine)].name;
            const std::string more =
                reason.others > 0 ? fmt::format(" (and {} more)", counted(static_cast<std::size_t>(reason.others), "time", "times")) : "";
            return fmt::format("{} in the routine '{}'{}", target(reason.target), routine, more);
        }
        case choose::Fault::none: break;
    }
    return {};
}

std::string PumpsWords::doubt(const choose::DoubtAt& doubt) const {
    const std::string where = in(doubt.arrangement) + others(doubt.others);
    switch (doubt.doubt) {
        case choose::Doubt::far_left:
            return fmt::format("it runs at {} of its best-efficiency flow{}; 70 to 120 % is common practice", Speech::share(doubt.value), where);
        case choose::Doubt::far_right:
            return fmt::format("it runs at {} of its best-efficiency flow{}; 70 to 120 % is common practice", Speech::share(doubt.value), where);
        case choose::Doubt::little_npsh:
            return fmt::format("only {} of suction head (NPSH) are to spare{}; 0.5 m and a tenth are common practice", speech_.head(doubt.value),
                               where);
        case choose::Doubt::npsh_unknown: return "its curve does not say what suction head (NPSH) it needs: ask its maker";
        case choose::Doubt::speed_unsaid:
            return fmt::format("it is turned down to {}{}, and its model does not say that it can be (least-speed)", Speech::share(doubt.value),
                               where);
        case choose::Doubt::against_shut: return fmt::format("it runs and nothing flows{}: it heats and wears", where);
        case choose::Doubt::below_least:
            return fmt::format("{} stands at {}{}, below its least depth of {}", layout_.vessels[at(doubt.vessel)].id, speech_.height(doubt.value),
                               where, speech_.height(doubt.limit));
        case choose::Doubt::spills_on_way:
            return fmt::format("{} go over a rim on the way from the start depths{}", speech_.volume(doubt.value), where);
        case choose::Doubt::cycles_unjudged:
            return fmt::format("siphons go on and on{}: what the levels cannot judge is left to the routines", where);
    }
    return {};
}

std::string PumpsWords::unreachable(const choose::Duty& duty) const {
    if (!std::isfinite(duty.flow_m3_s)) {
        return duty.obstacle == choose::Obstacle::spills
                   ? fmt::format("{} runs over however little is pumped{}", duty.at.empty() ? "water" : duty.at, in(duty.arrangement))
                   : fmt::format("the farm has no balance to judge{}, whatever the pump", in(duty.arrangement));
    }
    std::string text = target(duty.sets) + in(duty.arrangement);
    switch (duty.obstacle) {
        case choose::Obstacle::spills:
            text += fmt::format(", even at {} and {} of lift; with more {} runs over: its way out is the limit, not the pump",
                                speech_.flow(duty.flow_m3_s), speech_.head(duty.head_m), duty.at.empty() ? "water" : duty.at);
            break;
        case choose::Obstacle::runs_dry:
            text += fmt::format(
                ", even at {} and {} of lift; with more the water falls to the intake: the water in the loop, or the way home, is the limit",
                speech_.flow(duty.flow_m3_s), speech_.head(duty.head_m));
            break;
        default: text += fmt::format(", even with {} of lift", speech_.head(duty.head_m)); break;
    }
    const choose::HeadTaken& taken = duty.taken;
    if (taken.there() && duty.obstacle == choose::Obstacle::head) {
        const std::string what = taken.filter >= 0 ? layout_.filters[at(taken.filter)].id : layout_.pipes[at(taken.pipe)].id;
        text += fmt::format("; on the way there {} takes {} of {}", what, speech_.head(taken.loss_m), speech_.head(taken.whole_loss_m));
        if (taken.valve >= 0) text += fmt::format(" with its valve {} turned down", layout_.valves[at(taken.valve)].id);
    }
    return text;
}

std::string PumpsWords::bed(const choose::BedInTime& bed) const {
    settle::Target as_target;
    as_target.about = layout_.vessels[at(bed.vessel)].id;
    as_target.quantity = bed.fills ? "fill_s" : "drain_s";
    as_target.wanted = bed.wanted_s;
    as_target.got = bed.got_s;
    return target(as_target);
}

}  // namespace ebb::cli
