// Sentences of `survey`.

#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <cctype>
#include <cmath>
#include <utility>

#include "cli/views/survey_view.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using layout::Kind;
using survey::Extreme;
using survey::Tally;

constexpr double kPercent = 100.0;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

const settle::Answer* answer_of(const SurveyScene& scene, std::uint64_t combination) {
    const auto found = scene.again.answers.find(combination);
    return found == scene.again.answers.end() ? nullptr : &found->second;
}

std::string times(const SurveyScene& scene, const Tally& tally) {
    return fmt::format("{} combination{}", of_all(tally.times, scene.statistics.rows), scene.statistics.rows == 1 ? "" : "s");
}

std::string first_of(const SurveyScene& scene, const Tally& tally) {
    return fmt::format("{}{}", tally.times > 1 ? "first with " : "with ", combination_words(scene, tally.first));
}

const Tally& alarm(const SurveyScene& scene, survey::Alarm bit) {
    return scene.statistics.alarms.at(static_cast<std::size_t>(std::countr_zero(static_cast<unsigned>(bit))));
}
const Tally& state(const SurveyScene& scene, settle::State state) { return scene.statistics.states.at(static_cast<std::size_t>(state)); }

void add_states(const SurveyScene& scene, std::vector<std::string>& to) {
    if (const Tally& none = state(scene, settle::State::no_solution); none.times > 0) {
        const settle::Answer* answer = answer_of(scene, none.first);
        to.push_back(fmt::format("{} have no solution, {}{}", times(scene, none), first_of(scene, none),
                                 answer != nullptr && !answer->why.empty() ? ": " + answer->why : std::string()));
    }
    if (const Tally& dry = state(scene, settle::State::spills_until_dry); dry.times > 0)
        to.push_back(fmt::format("In {} water spills until a pump runs dry, {}", times(scene, dry), first_of(scene, dry)));
}

/// A sentence for each thing of one kind that has one trouble: those that have it most often, and how many more there are.
class Each {
public:
    void add(std::uint64_t times, std::string sentence) { says_.emplace_back(times, std::move(sentence)); }
    /// `more`: "pumps draw air".
    void put(const char* more, std::vector<std::string>& to) {
        constexpr std::size_t kShown = 5;
        std::stable_sort(says_.begin(), says_.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
        const std::size_t shown = says_.size() <= kShown + 1 ? says_.size() : kShown;
        for (std::size_t i = 0; i < shown; ++i) to.push_back(says_[i].second);
        if (shown < says_.size()) to.push_back(fmt::format("{} more {}, less often: --format json lists them all", says_.size() - shown, more));
    }

private:
    std::vector<std::pair<std::uint64_t, std::string>> says_;
};

void add_spills(const SurveyScene& scene, std::vector<std::string>& to) {
    Each each;
    for (std::size_t v = 0; v < scene.statistics.vessels.size(); ++v) {
        const survey::VesselStatistics& vessel = scene.statistics.vessels[v];
        if (vessel.spills.times == 0) continue;
        const Speech& speech = scene.subject.speech;
        const std::string& id = scene.subject.layout.vessels[v].id;
        if (vessel.spill_m3_s.there())
            each.add(vessel.spills.times, fmt::format("{} runs over its rim in {}: up to {}, with {}", id, times(scene, vessel.spills),
                                                      speech.flow(vessel.spill_m3_s.value), combination_words(scene, vessel.spill_m3_s.combination)));
        else
            each.add(vessel.spills.times, fmt::format("{} loses water over its rim on the way from the start depths in {}: up to {}, with {}", id,
                                                      times(scene, vessel.spills), speech.volume(vessel.spilled_m3.value),
                                                      combination_words(scene, vessel.spilled_m3.combination)));
    }
    each.put("vessels run over", to);
}

void add_pumps(const SurveyScene& scene, std::vector<std::string>& to) {
    Each bare, nothing;
    for (std::size_t p = 0; p < scene.statistics.pumps.size(); ++p) {
        const survey::PumpStatistics& pump = scene.statistics.pumps[p];
        const std::string& id = scene.subject.layout.pumps[p].id;
        if (pump.bare.times > 0)
            bare.add(pump.bare.times, fmt::format("{} draws air in {}, {}: the water stands at its intake or below", id, times(scene, pump.bare),
                                                  first_of(scene, pump.bare)));
        if (pump.shut.times > 0)
            nothing.add(pump.shut.times, fmt::format("{} runs and moves nothing in {}, {}: shut valves, or a head beyond its reach", id,
                                                     times(scene, pump.shut), first_of(scene, pump.shut)));
    }
    bare.put("pumps draw air", to);
    nothing.put("pumps run and move nothing", to);
}

void add_depths(const SurveyScene& scene, std::vector<std::string>& to) {
    Each each;
    for (std::size_t v = 0; v < scene.statistics.vessels.size(); ++v) {
        const survey::VesselStatistics& vessel = scene.statistics.vessels[v];
        if (vessel.below_least.times == 0) continue;
        const layout::Vessel& own = scene.subject.layout.vessels[v];
        each.add(vessel.below_least.times,
                 fmt::format("{} stands below its least depth of {} in {}: {}, with {}", own.id, scene.subject.speech.height(own.least_depth_m),
                             times(scene, vessel.below_least), scene.subject.speech.height(vessel.depth_m.plain_least.value),
                             combination_words(scene, vessel.depth_m.plain_least.named.combination)));
    }
    each.put("vessels stand below their least depth", to);
}

/// Tees at which a line breaks, or at which water hangs.
void add_tees(const SurveyScene& scene, bool breaks, std::vector<std::string>& to) {
    Each each;
    for (std::size_t t = 0; t < scene.statistics.tees.size(); ++t) {
        const survey::TeeStatistics& tee = scene.statistics.tees[t];
        const Tally& tally = breaks ? tee.breaks : tee.vacuum;
        if (tally.times == 0) continue;
        const std::string& id = scene.subject.layout.tees[t].id;
        const std::string below = scene.subject.speech.head(-tee.pressure_m.value), with = combination_words(scene, tee.pressure_m.combination);
        if (breaks)
            each.add(tally.times,
                     fmt::format("In {} the water at {} would hang lower below the pressure of the air than any can, by up to {}, with {}: "
                                 "the line breaks there, and the flows through it are not to be had",
                                 times(scene, tally), id, below, with));
        else if (tee.breaks.times > 0)
            each.add(tally.times, fmt::format("In {} more the water at {} hangs below the pressure of the air", grouped(tally.times), id));
        else
            each.add(tally.times, fmt::format("In {} the water at {} hangs below the pressure of the air, by up to {}, with {}: it does not start by "
                                              "itself, air gathers there, and a leak draws air in",
                                              times(scene, tally), id, below, with));
    }
    each.put(breaks ? "tees have water that would hang so low" : "tees have water that hangs", to);
}

void add_targets(const SurveyScene& scene, std::vector<std::string>& to) {
    std::vector<std::string> missed;
    for (std::size_t t = 0; t < scene.targets.size(); ++t) {
        if (scene.statistics.targets[t].missed.times == 0) continue;
        const std::string& id = target_about(scene.subject.layout, scene.targets[t]);
        if (missed.empty() || missed.back() != id) missed.push_back(id);
    }
    if (missed.empty()) return;
    to.push_back(fmt::format("{} {} a target somewhere", in_few_words(missed, 6), missed.size() == 1 ? "misses" : "miss"));
}

/// In how many combinations all is as it should be, when it is not in all of them.
void add_all_well(const SurveyScene& scene, std::vector<std::string>& to) {
    if (to.empty()) return;
    std::vector<std::string> well;
    if (alarm(scene, survey::kSpills).times + state(scene, settle::State::spills_until_dry).times > 0) well.emplace_back("nothing runs over");
    if (alarm(scene, survey::kIntakeBare).times > 0) well.emplace_back("no pump draws air");
    if (alarm(scene, survey::kBelowVapour).times > 0) well.emplace_back("no line breaks");
    const bool missed = std::any_of(scene.statistics.targets.begin(), scene.statistics.targets.end(),
                                    [](const survey::TargetStatistics& target) { return target.missed.times > 0; });
    if (well.empty() && !missed) return;
    if (!scene.targets.empty()) well.emplace_back("every target that is asked for is met");
    std::string list = well.front();
    for (std::size_t i = 1; i < well.size(); ++i) list += (i + 1 == well.size() ? " and " : ", ") + well[i];
    list.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(list.front())));
    to.push_back(fmt::format("{} in {}", list, times(scene, scene.statistics.all_met)));
}

}  // namespace

const char* code_of(survey::Alarm bit) {
    return std::find_if(kAlarmNames.begin(), kAlarmNames.end(), [bit](const AlarmName& name) { return name.bit == bit; })->code;
}

const std::string& switch_id(const layout::Layout& layout, const survey::Switch& one) {
    switch (one.thing.kind) {
        case Kind::pump: return layout.pumps[at(one.thing.index)].id;
        case Kind::standpipe: return layout.standpipes[at(one.thing.index)].id;
        default: return layout.valves[at(one.thing.index)].id;
    }
}

const std::string& target_about(const layout::Layout& layout, const survey::TargetColumn& target) {
    return target.vessel >= 0 ? layout.vessels[at(target.vessel)].id : layout.tees[at(target.tee)].id;
}

std::vector<std::string> things_off(const SurveyScene& scene, std::uint64_t combination) {
    const std::uint64_t off = scene.combinations.off_at(combination);
    std::vector<std::string> ids;
    for (std::size_t s = 0; s < scene.question.switches.size(); ++s)
        if ((off >> s & 1U) != 0) ids.push_back(switch_id(scene.subject.layout, scene.question.switches[s]));
    return ids;
}

std::string combination_words(const SurveyScene& scene, std::uint64_t combination, std::size_t shown) {
    const std::size_t all = scene.question.switches.size();
    const std::vector<std::string> off = things_off(scene, combination);
    if (off.empty()) return "all on";
    if (off.size() == all) return all == 1 ? off.front() + " off" : "all off";
    if (2 * off.size() <= all + 1 || off.size() <= 2) return in_few_words(off, shown) + " off";
    std::vector<std::string> on;
    for (const survey::Switch& one : scene.question.switches) {
        const std::string& id = switch_id(scene.subject.layout, one);
        if (std::find(off.begin(), off.end(), id) == off.end()) on.push_back(id);
    }
    return "only " + in_few_words(on, shown) + " on";
}

std::string of_all(std::uint64_t times, std::uint64_t all) {
    if (times == 0) return fmt::format("none of {}", grouped(all));
    return times == all && all > 1 ? "all " + grouped(all) : fmt::format("{} of {}", grouped(times), grouped(all));
}

std::string share_words(std::uint64_t times, std::uint64_t all) {
    constexpr double kLeast = 0.1, kWhole = 9.95;
    if (all == 0) return "-";
    const double share = kPercent * static_cast<double>(times) / static_cast<double>(all);
    return times == 0 || share >= kWhole ? fmt::format("{:.0f} %", share) : share < kLeast ? "under 0.1 %" : fmt::format("{:.1f} %", share);
}

std::string grouped(std::uint64_t number) {
    std::string text = std::to_string(number);
    constexpr std::size_t kGroup = 3;
    for (std::size_t from_end = kGroup; from_end < text.size(); from_end += kGroup + 1) text.insert(text.size() - from_end, ",");
    return text;
}

settle::Target target_of(const SurveyScene& scene, std::size_t target, double got) {
    const survey::TargetColumn& column = scene.targets[target];
    return {.about = target_about(scene.subject.layout, column),
            .quantity = column.quantity,
            .at_most = column.at_most,
            .wanted = column.wanted,
            .got = got,
            .met = false};
}

std::vector<std::string> survey_trouble(const SurveyScene& scene) {
    std::vector<std::string> says;
    add_states(scene, says);
    add_spills(scene, says);
    add_pumps(scene, says);
    add_depths(scene, says);
    add_tees(scene, true, says);
    add_targets(scene, says);
    add_all_well(scene, says);
    return says;
}

std::vector<std::string> survey_doubts(const SurveyScene& scene) {
    std::vector<std::string> says;
    Each beyond;
    for (std::size_t p = 0; p < scene.statistics.pumps.size(); ++p)
        if (const Tally& tally = scene.statistics.pumps[p].beyond; tally.times > 0)
            beyond.add(tally.times, fmt::format("{} works beyond the last point of its curve in {}, {}; the figures there are a straight guess",
                                                scene.subject.layout.pumps[p].id, times(scene, tally), first_of(scene, tally)));
    beyond.put("pumps work beyond the last point of their curves", says);
    add_tees(scene, false, says);
    if (const Tally& cycles = state(scene, settle::State::cycles); cycles.times > 0)
        says.push_back(
            fmt::format("In {} a siphon fills and empties its bed over and over: levels are those just before it starts", times(scene, cycles)));
    for (std::size_t p = 0; p < scene.statistics.pumps.size(); ++p) {
        const survey::PumpStatistics& pump = scene.statistics.pumps[p];
        const auto share = [&](const Tally& tally) { return share_words(tally.times, pump.runs.times); };
        const std::string& id = scene.subject.layout.pumps[p].id;
        if (pump.below_best.times > 0)
            says.push_back(fmt::format("{} works below 70 % of its best flow in {} of the combinations in which it runs, down to {:.0f} %, with {}",
                                       id, share(pump.below_best), kPercent * pump.best_ratio.plain_least.value,
                                       combination_words(scene, pump.best_ratio.plain_least.named.combination)));
        if (pump.above_best.times > 0)
            says.push_back(fmt::format("{} works above 120 % of its best flow in {} of the combinations in which it runs, up to {:.0f} %, with {}",
                                       id, share(pump.above_best), kPercent * pump.best_ratio.plain_greatest.value,
                                       combination_words(scene, pump.best_ratio.plain_greatest.named.combination)));
    }
    return says;
}

std::string survey_calm(const SurveyScene& scene) {
    const bool dry = alarm(scene, survey::kIntakeBare).times > 0 || state(scene, settle::State::spills_until_dry).times > 0;
    const bool spills = alarm(scene, survey::kSpills).times > 0;
    const bool missed = std::any_of(scene.statistics.targets.begin(), scene.statistics.targets.end(),
                                    [](const survey::TargetStatistics& target) { return target.missed.times > 0; });
    std::vector<std::string> fine;
    if (!spills) fine.emplace_back("spills");
    if (!dry && !scene.statistics.pumps.empty()) fine.emplace_back("lets a pump draw air");
    if (!missed && !scene.targets.empty()) fine.emplace_back("misses a target");
    if (fine.empty() || scene.statistics.rows == 0) return {};
    std::string list = fine.front();
    for (std::size_t i = 1; i < fine.size(); ++i) list += (i + 1 == fine.size() ? " or " : ", ") + fine[i];
    return fmt::format("No combination {}", list);
}

std::vector<std::string> survey_notes(const SurveyScene& scene) {
    const layout::Layout& layout = scene.subject.layout;
    std::vector<std::string> says, opened, started, inserts;
    for (const survey::Switch& one : scene.question.switches) {
        const std::size_t i = at(one.thing.index);
        if (one.thing.kind == Kind::valve && !(scene.question.arrangement.valve_opening[i] > 0.0)) opened.push_back(layout.valves[i].id);
        if (one.thing.kind == Kind::pump && !(scene.question.arrangement.pump_speed[i] > 0.0)) started.push_back(layout.pumps[i].id);
        if (one.thing.kind == Kind::standpipe)
            inserts.push_back(
                fmt::format("{} off is its {} insert", layout.standpipes[i].id, layout.standpipes[i].inserts[at(one.other_insert)].name));
    }
    if (scene.first_taken)
        says.push_back(fmt::format("'{}' is the first arrangement of the layout; name another with --arrangement", scene.arrangement));
    if (!opened.empty())
        says.push_back(
            fmt::format("{} {} shut in '{}': on is fully open here", in_few_words(opened, 8), opened.size() == 1 ? "is" : "are", scene.arrangement));
    if (!started.empty())
        says.push_back(fmt::format("{} {} stopped in '{}': on is full speed here", in_few_words(started, 8), started.size() == 1 ? "is" : "are",
                                   scene.arrangement));
    if (!inserts.empty()) says.push_back(listed(inserts, 8));
    std::vector<std::string> labels;
    for (std::size_t p = 0; p < layout.pumps.size(); ++p)
        if (scene.statistics.pumps[p].runs.times > 0 && layout.pump_models[at(layout.pumps[p].model)].from_label)
            labels.push_back(layout.pumps[p].id);
    if (!labels.empty())
        says.push_back(fmt::format("{} {} known only by {} label: every figure that rests on that is the middle of a band, which 'flows' tells",
                                   in_few_words(labels, 6), labels.size() == 1 ? "is" : "are", labels.size() == 1 ? "its" : "their"));
    says.emplace_back("A vessel counts while it is meant to have water: not while its own feed is off. Typical is the middle of those inflows. "
                      "Of combinations alike to half a per cent the plainest is named");
    const bool sumps = std::any_of(layout.vessels.begin(), layout.vessels.end(), [](const layout::Vessel& vessel) {
        return vessel.kind == layout::VesselKind::sump || vessel.kind == layout::VesselKind::bed || vessel.kind == layout::VesselKind::tier;
    });
    if (sumps)
        says.emplace_back("Left out: what flows into sumps, and the turnover of sumps, and of beds and tiers that want none; --format json has it");
    says.emplace_back(scene.question.at_start_levels
                          ? "Every combination is solved at the drawn levels, as the arrangement asks: where the water would settle is not looked at"
                          : "Every combination is taken to last until the water has settled; how it gets there is for 'cycle' to show, and what "
                            "comes home when the pumps stop for 'flows'");
    return says;
}

std::string again_sentence(const SurveyScene& scene) {
    const survey::Again& again = scene.again;
    if (again.answers.empty()) return {};
    const std::string solved = again.answers.size() == 1
                                   ? std::string("The one combination named here was solved once more, by itself")
                                   : fmt::format("The {} combinations named here were solved once more, each by itself", again.answers.size());
    if (again.agrees()) return fmt::format("{}: all {} figures agree within a millionth", solved, again.figures);
    constexpr double kWhole = 9.95;  // per cent from here on without decimals: 100 %, not 1e+02 %
    const double percent = kPercent * again.worst_difference;
    return fmt::format("{}: the worst figure differs by {} %, with {}", solved,
                       percent < kWhole ? fmt::format("{:.2g}", percent) : fmt::format("{:.0f}", percent),
                       combination_words(scene, again.worst_combination));
}

bool same_everywhere(const survey::Range& range, double seen) {
    return !range.least.there() || range.greatest.value - range.least.value <= seen * range.greatest.value;
}

bool has_inflow_row(const SurveyScene& scene, std::size_t vessel) {
    return scene.statistics.vessels[vessel].fed.times > 0 && scene.subject.layout.vessels[vessel].kind != layout::VesselKind::sump;
}

}  // namespace ebb::cli
