// Candidates.
//
// A candidate is solved in every arrangement that counts; its faults there are gathered, the gravest of them is the reason it is rejected.
//
// The least speed that meets the targets of an arrangement needs no search among networks: whatever pump runs, the farm answers by its system
// curve, and the point at which the targets are just met is the duty (Q, H). The affinity laws give the speed at which this pump's curve goes
// through that point (flow s, head s^2, `count` in parallel, the share `wear` of the head lost):
//
//     (1 - wear) s^2 h(Q / (count s)) = H
//
// whose left side rises with s wherever the curve falls: halving finds it. It is rounded up to the next thousandth, as a speed drive is set,
// and the farm is solved there to see that every target is met.

#include "solver/choose/pump_candidates.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/margins.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

// common practice: the share of best-efficiency flow at which a pump may run, and what it should have over the suction head it needs
constexpr double kBestLow = 0.70, kBestHigh = 1.20, kNpshRatio = 1.1, kNpshSpare_m = 0.5;
constexpr double kSeen_m = 0.0005, kSpilled_m3 = 1e-6, kNoFlow_m3_s = 1e-9;

int how_grave(Fault fault) {
    switch (fault) {
        case Fault::no_solution: return 8;
        case Fault::spills: return 7;
        case Fault::runs_dry: return 6;
        case Fault::shut_off_too_low: return 5;
        case Fault::target_missed: return 5;
        case Fault::too_slow:
        case Fault::moves_nothing: return 4;
        case Fault::cavitates: return 3;
        case Fault::beyond_curve: return 2;
        case Fault::fills_late:
        case Fault::drains_late: return 1;
        case Fault::none: break;
    }
    return 0;
}

/// Everything found of one pump put in at given speeds.
struct Run {
    std::vector<CandidatePoint> points;
    Reason reason;
    double reason_margin = 0.0;
    std::vector<DoubtAt> doubts;
};

class Runner {
public:
    Runner(const Trial& trial, const Put& put)
        : trial_(trial), model_(trial.layout->pump_models[at(put.model)]), place_(*trial.layout, trial.pump, put, trial.stop) {}

    /// Solves and judges at one speed per arrangement.
    Run run(const std::vector<double>& speeds) {
        Run run;
        for (std::size_t d = 0; d < trial_.duties.size(); ++d) {
            const Duty& duty = trial_.duties[d];
            const settle::Answer answer = place_.solve(duty.arrangement, speeds[d]);
            run.points.push_back(point(duty, answer, speeds[d]));
            if (duty.outcome == DutyOutcome::rests) continue;
            gather(fault(duty, answer, speeds[d]), run.points.back().margin, run);
            doubts(duty, answer, speeds[d], run);
        }
        return run;
    }

    /// The least speed in [least, 1], in steps of a thousandth, that meets the targets of an arrangement; 1 when none does.
    double least_speed(const Duty& duty, double least) {
        constexpr double kSteps = 1000.0, kNearly = 1e-3;  // a thousandth of a step is left to the solve that follows
        const double guess = speed_through(duty.flow_m3_s, duty.head_m, least);
        const auto good = [&](int step) {
            const double speed = std::clamp(step / kSteps, least, 1.0);
            return fault(duty, place_.solve(duty.arrangement, speed), speed).fault == Fault::none;
        };
        int low = static_cast<int>(std::ceil(guess * kSteps - kNearly)), high = static_cast<int>(kSteps);
        if (good(low)) return std::clamp(low / kSteps, least, 1.0);
        if (good(++low)) return std::min(low / kSteps, 1.0);
        // something else than the duty asks for more: another's target that it would spoil, suction head
        while (high - low > 1) {
            const int middle = (low + high) / 2;
            (good(middle) ? high : low) = middle;
        }
        return std::min(high / kSteps, 1.0);
    }

    /// Where no head is said to be enough: the speed at which the targets come nearest, a thousandth less where that is too much.
    double nearest_speed(const Duty& duty, double least) {
        constexpr double kSteps = 1000.0;
        if (!std::isfinite(duty.flow_m3_s)) return 1.0;
        const double up = std::ceil(speed_through(duty.flow_m3_s, duty.head_m, least) * kSteps) / kSteps;
        const auto good = [&](double speed) { return fault(duty, place_.solve(duty.arrangement, speed), speed).fault == Fault::none; };
        const double speed = std::clamp(up, least, 1.0), below = std::max(least, speed - 1.0 / kSteps);
        return good(speed) || !good(below) ? speed : below;
    }

private:
    double head_at(double flow_m3_s, double speed) const { return place_.curve().head(flow_m3_s, place_.at_speed(speed)).value; }

    double speed_through(double flow_m3_s, double head_m, double least) const {
        if (head_at(flow_m3_s, least) >= head_m) return least;
        if (head_at(flow_m3_s, 1.0) < head_m) return 1.0;
        double low = least, high = 1.0;
        while (high - low > 1e-15) {
            const double middle = 0.5 * (low + high);
            if (middle <= low || middle >= high) break;
            (head_at(flow_m3_s, middle) < head_m ? low : high) = middle;
        }
        return high;
    }

    CandidatePoint point(const Duty& duty, const settle::Answer& answer, double speed) const {
        CandidatePoint point;
        point.arrangement = duty.arrangement;
        point.speed = speed;
        point.state = answer.state;
        point.pump = answer.pumps[at(trial_.pump)];
        bool unknown = false;
        const double power = power_of(answer, &unknown);
        point.all_power_w = unknown ? kNotKnown : power;
        point.margin = own_margin(answer, duty.judged);
        for (std::size_t t = 0; t < answer.targets.size(); ++t) {
            const settle::Target& target = answer.targets[t];
            const bool no_figure = answer.state == settle::State::cycles && std::isnan(target.got);
            if (t < duty.judged.size() && duty.judged[t] != 0 && target.asked && !target.met && !no_figure) point.missed.push_back(target);
        }
        std::stable_sort(point.missed.begin(), point.missed.end(),
                         [](const settle::Target& one, const settle::Target& other) { return margin_of(one) < margin_of(other); });
        return point;
    }

    Reason fault(const Duty& duty, const settle::Answer& answer, double speed) const {
        const settle::PumpAnswer& pump = answer.pumps[at(trial_.pump)];
        Reason reason;
        reason.arrangement = duty.arrangement;
        reason.speed = speed;
        const std::int32_t spills = spills_now(answer, duty.spills_anyway);
        if (answer.state == settle::State::spills_until_dry || spills >= 0) {
            reason.fault = Fault::spills;
            if (spills >= 0) reason.about = trial_.layout->vessels[at(spills)].id;
        } else if (!can_be_judged(answer.state)) {
            reason.fault = Fault::no_solution;
        } else if (pump.intake_bare) {
            reason.fault = Fault::runs_dry;
        } else if (const std::int32_t on_way = spills_on_way(answer, duty); on_way >= 0) {
            reason.fault = Fault::spills;
            reason.about = trial_.layout->vessels[at(on_way)].id;
            reason.value = answer.vessels[at(on_way)].spilled_m3;
        } else if (missed(duty, answer, reason)) {
            short_of(duty, speed, reason);
        } else if (speed > 0.0 && pump.flow_m3_s <= kNoFlow_m3_s && std::isfinite(duty.static_head_m)) {
            reason.fault = Fault::moves_nothing;
            reason.head_m = place_.curve().shut_off_head_m(place_.at_speed(speed));
        } else if (too_slow(speed)) {
            reason.fault = Fault::too_slow;
            reason.value = speed;
            reason.limit = model_.least_speed;
        } else if (pump.npsh_available_m < pump.npsh_required_m) {
            reason.fault = Fault::cavitates;
            reason.value = pump.npsh_available_m;
            reason.limit = pump.npsh_required_m;
        } else if (pump.beyond_curve) {
            reason.fault = Fault::beyond_curve;
            reason.value = pump.flow_m3_s;
            reason.limit = place_.curve().greatest_flow_m3_s(place_.at_speed(speed));
        }
        return reason;
    }

    static bool missed(const Duty& duty, const settle::Answer& answer, Reason& reason) {
        const std::int32_t worst = own_worst(answer, duty.judged);
        if (worst < 0 || answer.targets[at(worst)].met) return false;
        reason.fault = Fault::target_missed;
        reason.target = answer.targets[at(worst)];
        return true;
    }

    /// How much head is missing at the flow of the duty; and whether it is missing even at no flow.
    void short_of(const Duty& duty, double speed, Reason& reason) const {
        if (duty.outcome != DutyOutcome::needed) return;
        reason.needed_head_m = duty.head_m;
        reason.flow_m3_s = duty.flow_m3_s;
        reason.head_m = std::max(0.0, head_at(duty.flow_m3_s, speed));
        const double shut_off_m = place_.curve().shut_off_head_m(place_.at_speed(speed));
        if (shut_off_m < duty.head_m) {
            reason.fault = Fault::shut_off_too_low;
            reason.head_m = shut_off_m;
        }
    }

    bool too_slow(double speed) const { return layout::said(model_.least_speed) && speed < model_.least_speed * (1.0 - 1e-12); }

    static void gather(const Reason& reason, double margin, Run& run) {
        if (reason.fault == Fault::none) return;
        const int now = how_grave(reason.fault), before = how_grave(run.reason.fault);
        const int others = run.reason.fault == Fault::none ? 0 : run.reason.others + 1;
        if (now > before || (now == before && margin < run.reason_margin)) {
            run.reason = reason;
            run.reason_margin = margin;
        }
        run.reason.others = others;
    }

    static void doubt(Run& run, Doubt what, std::int32_t arrangement, double value, bool worse_when_greater) {
        for (DoubtAt& known : run.doubts) {
            if (known.doubt != what) continue;
            ++known.others;
            if (worse_when_greater ? value > known.value : value < known.value) {
                known.value = value;
                known.arrangement = arrangement;
            }
            return;
        }
        run.doubts.push_back({what, arrangement, value, 0, -1, kNotKnown});
    }

    /// Each sump once, where it stands lowest.
    static void below_least(Run& run, std::int32_t arrangement, std::int32_t vessel, double depth_m, double least_m) {
        const auto known = std::find_if(run.doubts.begin(), run.doubts.end(),
                                        [&](const DoubtAt& one) { return one.doubt == Doubt::below_least && one.vessel == vessel; });
        if (known == run.doubts.end()) {
            run.doubts.push_back({Doubt::below_least, arrangement, depth_m, 0, vessel, least_m});
            return;
        }
        ++known->others;
        if (depth_m >= known->value) return;
        known->value = depth_m;
        known->arrangement = arrangement;
    }

    void doubts(const Duty& duty, const settle::Answer& answer, double speed, Run& run) const {
        const settle::PumpAnswer& pump = answer.pumps[at(trial_.pump)];
        const std::int32_t a = duty.arrangement;
        if (answer.state == settle::State::cycles) doubt(run, Doubt::cycles_unjudged, a, 0.0, true);
        if (pump.against_shut) doubt(run, Doubt::against_shut, a, 0.0, true);
        if (!pump.against_shut && pump.best_point_ratio < kBestLow) doubt(run, Doubt::far_left, a, pump.best_point_ratio, false);
        if (pump.best_point_ratio > kBestHigh) doubt(run, Doubt::far_right, a, pump.best_point_ratio, true);
        const double spare_m = pump.npsh_available_m - pump.npsh_required_m;
        if (std::isnan(pump.npsh_required_m))
            doubt(run, Doubt::npsh_unknown, a, 0.0, true);
        else if (spare_m >= 0.0 && (spare_m < kNpshSpare_m || pump.npsh_available_m < kNpshRatio * pump.npsh_required_m))
            doubt(run, Doubt::little_npsh, a, spare_m, false);
        if (speed < 1.0 && !layout::said(model_.least_speed)) doubt(run, Doubt::speed_unsaid, a, speed, false);
        for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
            const double least_m = trial_.layout->vessels[v].least_depth_m;
            if (layout::said(least_m) && answer.vessels[v].depth_m < least_m - kSeen_m)
                below_least(run, a, static_cast<std::int32_t>(v), answer.vessels[v].depth_m, least_m);
            if (answer.vessels[v].spilled_m3 > kSpilled_m3) doubt(run, Doubt::spills_on_way, a, answer.vessels[v].spilled_m3, true);
        }
    }

    const Trial& trial_;
    const layout::PumpModel& model_;
    Place place_;
};

std::vector<double> speeds_arranged(const Trial& trial) {
    std::vector<double> speeds;
    for (const Duty& duty : trial.duties) speeds.push_back(layout::conditions_of(*trial.layout, duty.arrangement).pump_speed[at(trial.pump)]);
    return speeds;
}

/// Energy of a year and what it costs; the price; the rest that is counted over the arrangements.
void count_up(const Trial& trial, const Put& put, Candidate& candidate) {
    const Costing& costing = *trial.costing;
    double own_w = 0.0, all_w = 0.0;  // summed as kWh a year
    candidate.least_margin = std::numeric_limits<double>::infinity();
    for (const CandidatePoint& point : candidate.points) {
        const double hours = costing.hours_a_year[at(point.arrangement)];
        if (hours > 0.0) {
            own_w += hours * (point.speed > 0.0 ? point.pump.power_w : 0.0) / 1000.0;
            all_w += hours * point.all_power_w / 1000.0;
        }
        if (!(point.speed > 0.0)) continue;
        candidate.least_margin = std::min(candidate.least_margin, point.margin);
        const double spare = point.pump.npsh_available_m - point.pump.npsh_required_m;
        const double ratio = point.pump.npsh_available_m / point.pump.npsh_required_m;
        if (std::isnan(candidate.least_npsh_spare_m) || spare < candidate.least_npsh_spare_m) candidate.least_npsh_spare_m = spare;
        if (std::isnan(candidate.least_npsh_ratio) || ratio < candidate.least_npsh_ratio) candidate.least_npsh_ratio = ratio;
    }
    candidate.energy_kwh_year = own_w;
    candidate.all_energy_kwh_year = all_w;
    candidate.energy_cost_year = own_w * costing.price_per_kwh;
    candidate.price = trial.layout->pump_models[at(put.model)].price * put.count;
    candidate.life_cycle_cost = candidate.price + costing.worth_of_a_year * candidate.energy_cost_year;
}

Candidate candidate_of(const Trial& trial, const Put& put, SpeedMode mode, const Run& run) {
    Candidate candidate;
    candidate.model = put.model;
    candidate.count = put.count;
    candidate.mode = mode;
    const layout::Pump& now = trial.layout->pumps[at(trial.pump)];
    candidate.present = now.model == put.model && now.count == put.count;
    candidate.points = run.points;
    candidate.doubts = run.doubts;
    candidate.reason = run.reason;
    candidate.standing = run.reason.fault == Fault::none ? Standing::meets : Standing::rejected;
    count_up(trial, put, candidate);
    return candidate;
}

/// A pump known by its label: solved on the middle curve and at both ends of the band.
Candidate of_label(const Trial& trial, const Put& put, const std::vector<double>& speeds) {
    const Run middle = Runner(trial, put).run(speeds);
    Put end = put;
    end.band = Put::Band::low;
    const Run low = Runner(trial, end).run(speeds);
    end.band = Put::Band::high;
    const Run high = Runner(trial, end).run(speeds);
    Candidate candidate = candidate_of(trial, put, SpeedMode::as_arranged, middle);
    candidate.points_low = low.points;
    candidate.points_high = high.points;
    const auto good = [](const Run& run) { return run.reason.fault == Fault::none; };
    if (good(low) && good(middle) && good(high))
        candidate.standing = Standing::meets;
    else if (good(low) || good(middle) || good(high)) {
        candidate.standing = Standing::perhaps;
        candidate.reason = !good(low) ? low.reason : !good(middle) ? middle.reason : high.reason;
    }
    return candidate;
}

bool same_speeds(const std::vector<double>& one, const std::vector<double>& other) {
    for (std::size_t i = 0; i < one.size(); ++i)
        if (std::abs(one[i] - other[i]) > 1e-9) return false;
    return true;
}

/// A speed for each arrangement, the least that will do; and the greatest of those.
std::vector<double> least_speeds(const Trial& trial, Runner& runner, double least, double& one_for_all) {
    std::vector<double> speeds = speeds_arranged(trial);
    one_for_all = least;
    for (std::size_t d = 0; d < speeds.size(); ++d) {
        const Duty& duty = trial.duties[d];
        if (!(speeds[d] > 0.0)) continue;
        switch (duty.outcome) {
            case DutyOutcome::needed: speeds[d] = runner.least_speed(duty, least); break;
            case DutyOutcome::met_by_nothing: speeds[d] = least; break;
            case DutyOutcome::unreachable: speeds[d] = runner.nearest_speed(duty, least); break;
            default: speeds[d] = std::max(speeds[d], least); continue;  // nothing is asked: as arranged
        }
        one_for_all = std::max(one_for_all, speeds[d]);
    }
    return speeds;
}

}  // namespace

std::vector<Candidate> try_candidate(const Trial& trial, const Put& put) {
    const layout::PumpModel& model = trial.layout->pump_models[at(put.model)];
    const std::vector<double> arranged = speeds_arranged(trial);
    std::vector<Candidate> all;
    if (model.from_label) {
        all.push_back(of_label(trial, put, arranged));
        return all;
    }
    Runner runner(trial, put);
    all.push_back(candidate_of(trial, put, SpeedMode::as_arranged, runner.run(arranged)));
    if (!layout::said(model.least_speed) || !(model.least_speed < 1.0)) return all;
    double one_for_all = 1.0;
    const std::vector<double> each = least_speeds(trial, runner, model.least_speed, one_for_all);
    std::vector<double> one = arranged;
    for (double& speed : one) speed = speed > 0.0 ? one_for_all : 0.0;
    if (!same_speeds(one, arranged)) {
        Candidate candidate = candidate_of(trial, put, SpeedMode::one_speed, runner.run(one));
        candidate.speed = one_for_all;
        if (candidate.standing == Standing::meets) all.push_back(std::move(candidate));
    }
    if (!same_speeds(each, arranged) && !same_speeds(each, one)) {
        Candidate candidate = candidate_of(trial, put, SpeedMode::variable, runner.run(each));
        if (candidate.standing == Standing::meets) all.push_back(std::move(candidate));
    }
    return all;
}

Candidate at_speeds(const Trial& trial, const Candidate& candidate, const std::vector<double>& speeds) {
    const Put put{.model = candidate.model, .count = candidate.count};
    Candidate other = candidate_of(trial, put, candidate.mode, Runner(trial, put).run(speeds));
    if (candidate.mode == SpeedMode::one_speed) other.speed = *std::max_element(speeds.begin(), speeds.end());
    return other;
}

Candidate as_it_stands(const Trial& trial) {
    const layout::Pump& now = trial.layout->pumps[at(trial.pump)];
    const Put put{.model = now.model, .count = now.count, .wear = now.wear};
    const std::vector<double> arranged = speeds_arranged(trial);
    return trial.layout->pump_models[at(now.model)].from_label ? of_label(trial, put, arranged)
                                                               : candidate_of(trial, put, SpeedMode::as_arranged, Runner(trial, put).run(arranged));
}

bool stands_before(const Candidate& one, const Candidate& other) {
    if (one.standing != other.standing) return one.standing < other.standing;
    if (one.standing == Standing::rejected) return one.least_margin > other.least_margin;
    const bool known = layout::said(one.life_cycle_cost), other_known = layout::said(other.life_cycle_cost);
    if (known != other_known) return known;
    if (known) return one.life_cycle_cost < other.life_cycle_cost;
    // without a cost: what is known of it, then the smaller number of pumps
    const bool energy = layout::said(one.energy_kwh_year), other_energy = layout::said(other.energy_kwh_year);
    if (energy != other_energy) return energy;
    if (energy && one.energy_kwh_year != other.energy_kwh_year) return one.energy_kwh_year < other.energy_kwh_year;
    const bool price = layout::said(one.price), other_price = layout::said(other.price);
    if (price != other_price) return price;
    if (price && one.price != other.price) return one.price < other.price;
    return one.count < other.count;
}

}  // namespace ebb::choose
