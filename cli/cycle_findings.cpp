#include "cli/cycle_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>
#include <utility>

#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kThimbleM3 = 1e-6;  // 1 ml
constexpr double kLitreM3 = 1e-3;
constexpr double kNoFlowM3S = 1e-9;   // 4 ml an hour
constexpr double kBlinkS = 0.5;       // shorter is not worth a word
constexpr double kTightShare = 0.05;  // of a bed's period: less time than that between drained and the next water is tight

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Gathers the findings of one course.
class Look {
public:
    Look(const layout::Layout& layout, const time::Plan& plan, const time::Course& course, const Speech& speech)
        : layout_(layout), plan_(plan), course_(course), speech_(speech) {}

    std::vector<Finding> look() {
        look_at_ending();
        look_at_vessels();
        look_at_pumps();
        look_at_beds();
        look_at_draws();
        look_at_pipes();
        std::stable_sort(found_.begin(), found_.end(), [](const Finding& one, const Finding& other) { return one.weight < other.weight; });
        return std::move(found_);
    }

private:
    void say(Weight weight, std::string_view code, const std::string& about, const layout::Place& place, std::string says) {
        found_.push_back({weight, std::string(code), about, std::move(says), place});
    }

    void look_at_ending() {
        const std::string when = Speech::duration(course_.lasted_s);
        if (course_.ending == time::Ending::chatters) {
            say(Weight::trouble, "chatters", "", plan_.routine.place, fmt::format("It ends after {}, in a chatter: {}", when, course_.why));
        } else if (course_.ending == time::Ending::no_solution || course_.ending == time::Ending::not_run) {
            const std::string why = course_.why.empty() ? "no flows could be found" : course_.why;
            say(Weight::trouble, "no-solution", "", plan_.routine.place, fmt::format("It ends after {}: {}", when, why));
        } else if (course_.ending == time::Ending::cancelled) {
            say(Weight::doubt, "cancelled", "", plan_.routine.place, fmt::format("It was stopped after {}", when));
        }
    }

    void look_at_vessels() {
        for (std::size_t i = 0; i < course_.vessels.size(); ++i) {
            const time::VesselCourse& vessel = course_.vessels[i];
            const layout::Vessel& as_drawn = layout_.vessels[i];
            const double little_m = Practice{}.least_freeboard_m;
            if (vessel.spilled_m3 > kThimbleM3) {
                say(Weight::trouble, "spills", as_drawn.id, as_drawn.place, spill_words(as_drawn.id, vessel));
            } else if (vessel.least_freeboard_m < little_m) {
                say(Weight::doubt, "little-freeboard", as_drawn.id, as_drawn.place,
                    fmt::format("{} comes within {} of its rim, after {}; {} is the least of common practice", as_drawn.id,
                                speech_.height(vessel.least_freeboard_m), Speech::duration(vessel.greatest_at_s), speech_.height(little_m)));
            }
        }
    }

    std::string spill_words(const std::string& id, const time::VesselCourse& vessel) const {
        std::string text =
            fmt::format("{} spills {} over its rim, first after {}", id, speech_.volume(vessel.spilled_m3), Speech::duration(vessel.first_spill_s));
        const bool repeats = course_.repeat == time::Repeat::repeats;
        if (repeats && vessel.spilled_in_cycle_m3 > kThimbleM3) {
            text += fmt::format(", and {} in every cycle", speech_.volume(vessel.spilled_in_cycle_m3));
        }
        return text;
    }

    void look_at_pumps() {
        for (std::size_t i = 0; i < course_.pumps.size(); ++i) {
            const time::PumpCourse& pump = course_.pumps[i];
            const layout::Pump& as_drawn = layout_.pumps[i];
            if (pump.dry_s > kBlinkS) {
                const bool all_along = pump.dry_s > pump.run_s - kBlinkS;
                const std::string how_long = all_along ? "all the time it runs" : "for " + Speech::duration(pump.dry_s) + " in all";
                say(Weight::trouble, "runs-dry", as_drawn.id, as_drawn.place,
                    fmt::format("{} runs with a bare intake {}, first after {}", as_drawn.id, how_long, Speech::duration(pump.first_dry_s)));
            }
        }
    }

    void look_at_beds() {
        for (const time::BedCourse& bed : course_.beds) {
            const layout::Vessel& as_drawn = layout_.vessels[at(bed.vessel)];
            look_at_siphon(bed, as_drawn);
            if (bed.opened_before_drained) {
                say(Weight::trouble, "opened-before-drained", as_drawn.id, as_drawn.place,
                    fmt::format("{} is not drained when its next water comes", as_drawn.id));
            } else if (bed.spare_s < kTightShare * bed.period_s) {
                say(Weight::doubt, "little-time", as_drawn.id, as_drawn.place,
                    fmt::format("{} is drained only {} before its next water: tight", as_drawn.id, Speech::duration(bed.spare_s)));
            }
        }
    }

    void look_at_siphon(const time::BedCourse& bed, const layout::Vessel& vessel) {
        const auto siphon = std::find_if(layout_.siphons.begin(), layout_.siphons.end(), [&](const layout::Siphon& one) {
            return one.in.kind == layout::Kind::vessel && one.in.index == bed.vessel;
        });
        if (siphon == layout_.siphons.end()) {
            return;
        }
        const double inflow_m3_s = course_.vessels[at(bed.vessel)].mean_inflow_m3_s;
        if (bed.never_starts) {
            say(Weight::trouble, "siphon-never-starts", vessel.id, siphon->place,
                fmt::format("the siphon in {} never starts: the water goes over its crest as fast as it comes ({}), and the bed stays full; it "
                            "starts with {}",
                            vessel.id, speech_.flow(inflow_m3_s), speech_.flow(siphon->starts_with_m3_s)));
        }
        if (bed.never_breaks) {
            say(Weight::trouble, "siphon-never-breaks", vessel.id, siphon->place,
                fmt::format("the siphon in {} never breaks: it takes no more than what comes in ({}), and the bed never fills again", vessel.id,
                            speech_.flow(inflow_m3_s)));
        }
    }

    void look_at_draws() {
        const auto short_of = [&](const time::TakenCourse& taken, const std::string& from, const layout::Place& place, const char* what) {
            if (taken.missing_m3 > kThimbleM3) {
                say(Weight::trouble, "draw-short", from, place,
                    fmt::format("the {} from {} finds {} less than the {} it wants", what, from, speech_.volume(taken.missing_m3),
                                speech_.volume(taken.wanted_m3)));
            }
        };
        for (std::size_t i = 0; i < course_.draws.size(); ++i) {
            short_of(course_.draws[i], plan_.routine.draws[i].from_id, plan_.routine.draws[i].place, "draw");
        }
        for (std::size_t i = 0; i < course_.uptakes.size(); ++i) {
            short_of(course_.uptakes[i], plan_.routine.uptakes[i].from_id, plan_.routine.uptakes[i].place, "uptake");
        }
        for (std::size_t i = 0; i < course_.tees.size(); ++i) {
            const time::TakenCourse& taken = course_.tees[i];
            if (taken.missing_m3 > kThimbleM3) {
                say(Weight::trouble, "tee-short", layout_.tees[i].id, layout_.tees[i].place,
                    fmt::format("every way to {} is shut at times: {} of the {} to be taken there are not to be had", layout_.tees[i].id,
                                speech_.volume(taken.missing_m3), speech_.volume(taken.wanted_m3)));
            }
        }
    }

    /// Water that a feed takes back out of a vessel: a submerged end without an air-hole.
    void look_at_pipes() {
        for (std::size_t i = 0; i < course_.pipes.size(); ++i) {
            const layout::Pipe& pipe = layout_.pipes[i];
            if (pipe.to.ref.kind != layout::Kind::vessel || pipe.from.ref.kind == layout::Kind::vessel ||
                !(course_.pipes[i].backward_m3 > kLitreM3)) {
                continue;
            }
            say(Weight::doubt, "runs-backward", pipe.id, pipe.place,
                fmt::format("{} takes {} back out of {}", pipe.id, speech_.volume(course_.pipes[i].backward_m3), pipe.to.id));
        }
    }

    const layout::Layout& layout_;
    const time::Plan& plan_;
    const time::Course& course_;
    const Speech& speech_;
    std::vector<Finding> found_;
};

TimeTarget target(const layout::Vessel& vessel, const char* quantity, bool at_most, double wanted, double got) {
    TimeTarget target{vessel.id, quantity, at_most, wanted, got};
    constexpr double kRounding = 1e-9;
    const double slack = kRounding * std::abs(wanted);
    target.met = at_most ? got <= wanted + slack : got >= wanted - slack;  // false when it is not known
    return target;
}

}  // namespace

std::vector<TimeTarget> time_targets(const layout::Layout& layout, const time::Course& course) {
    std::vector<TimeTarget> targets;
    for (std::size_t i = 0; i < course.vessels.size(); ++i) {
        const layout::Vessel& vessel = layout.vessels[i];
        const time::VesselCourse& water = course.vessels[i];
        const auto bed = std::find_if(course.beds.begin(), course.beds.end(), [&](const time::BedCourse& one) { return at(one.vessel) == i; });
        const bool cycles = bed != course.beds.end() && (bed->timed || bed->has_siphon);
        const bool fed = water.mean_inflow_m3_s > kNoFlowM3S;
        if (layout::said(vessel.turnover_s)) {
            targets.push_back(target(vessel, "turnover_s", true, vessel.turnover_s, water.turnover_s));
            targets.back().asked = fed || targets.back().met;
        }
        if (layout::said(vessel.fills_within_s)) {
            targets.push_back(target(vessel, "fill_s", true, vessel.fills_within_s, cycles ? bed->fill_s : time::kUnknown));
            targets.back().asked = (cycles && fed) || targets.back().met;
        }
        if (layout::said(vessel.drains_within_s)) {
            targets.push_back(target(vessel, "drain_s", true, vessel.drains_within_s, cycles ? bed->drain_s : time::kUnknown));
            targets.back().asked = (cycles && fed) || targets.back().met;
        }
        if (layout::said(vessel.least_depth_m)) {
            targets.push_back(target(vessel, "least_depth_m", false, vessel.least_depth_m, water.least_depth_m));
        }
    }
    return targets;
}

std::size_t count_missed(const std::vector<TimeTarget>& targets) {
    return static_cast<std::size_t>(std::count_if(targets.begin(), targets.end(), [](const TimeTarget& one) { return one.asked && !one.met; }));
}

std::string wish_of(const TimeTarget& target) { return fmt::format("{} {} {}", target.quantity, target.at_most ? "<=" : ">=", target.wanted); }

std::string sentence_of(const TimeTarget& target, const Speech& speech) {
    const bool known = std::isfinite(target.got);
    if (target.quantity == "least_depth_m") {
        const std::string got = speech.height(target.got);
        const std::string wanted = speech.height(target.wanted);
        return got == wanted ? fmt::format("{} falls a little below {}, its least depth", target.about, wanted)
                             : fmt::format("{} falls to {}, wanted {} or more", target.about, got, wanted);
    }
    const std::string wanted = fmt::format("wanted {} or less", Speech::duration(target.wanted));
    const std::string got = Speech::duration(target.got);
    if (target.quantity == "fill_s") {
        return known ? fmt::format("{} fills in {}, {}", target.about, got, wanted)
                     : fmt::format("{} does not fill to its lip, {}", target.about, wanted);
    }
    if (target.quantity == "drain_s") {
        return known ? fmt::format("{} drains in {}, {}", target.about, got, wanted)
                     : fmt::format("{} does not drain in time, {}", target.about, wanted);
    }
    return known ? fmt::format("{} turns over in {} on the average, {}", target.about, got, wanted)
                 : fmt::format("{} does not turn over, {}", target.about, wanted);
}

std::vector<Finding> cycle_findings(const layout::Layout& layout, const time::Plan& plan, const time::Course& course, const Speech& speech) {
    return Look(layout, plan, course, speech).look();
}

bool any_trouble(const std::vector<Finding>& found) {
    return std::any_of(found.begin(), found.end(), [](const Finding& one) { return one.weight == Weight::trouble; });
}

bool breaks_a_rule(const std::vector<Finding>& found) {
    return std::any_of(found.begin(), found.end(), [](const Finding& one) { return one.code == "spills" || one.code == "runs-dry"; });
}

}  // namespace ebb::cli
