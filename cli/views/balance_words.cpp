// What is said of a balance in sentences.

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "cli/views/balance_view.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using choose::BalancedOutlet;
using choose::BalancedValve;
using choose::BalanceOutcome;
using choose::MissingWater;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kPercent = 100.0;
constexpr double kNear = 1e-4;  ///< share of a target that no bucket tells
constexpr std::size_t kNamed = 8;

/// What the sentences are about.
struct Words {
    const BalanceScene& scene;
    const layout::Layout& layout = scene.subject.layout;
    const Speech& speech = scene.subject.speech;
    const choose::BalanceAnswer& answer = scene.answer;

    const std::string& vessel(std::int32_t index) const { return layout.vessels[at(index)].id; }
    const std::string& arrangement(std::int32_t index) const { return layout.arrangements[at(index)].name; }
    const std::string& pump(std::int32_t index) const { return layout.pumps[at(index)].id; }
    std::size_t aimed() const {
        return static_cast<std::size_t>(std::count_if(answer.outlets.begin(), answer.outlets.end(), [](const BalancedOutlet& o) { return o.aimed; }));
    }
    std::string off_by(double share) const {
        return fmt::format("{:.3g} % too {}", kPercent * std::abs(share - 1.0), share < 1.0 ? "little" : "much");
    }
};

std::string pump_sentence(const Words& words, const MissingWater& missing) {
    if (missing.pump < 0) return "No running pump stands at the beginning of its way: only a higher level or less loss on the way gives it more.";
    const std::string& pump = words.pump(missing.pump);
    if (missing.shared_setting)
        return fmt::format("{} could give every target of this arrangement by itself; it is that one setting serves several arrangements that costs.",
                           pump);
    if (std::isnan(missing.needed_head_m))
        return fmt::format("Even {} of its kind with nine times the head would not do: it is not the pump that holds the water back.", pump);
    const std::string needs =
        fmt::format("{} would have to give {} at {}", pump, words.speech.flow(missing.needed_flow_m3_s), words.speech.head(missing.needed_head_m));
    if (!(missing.given_head_m > 0.0)) return needs + "; so much water it cannot move at all.";
    return fmt::format("{}, and at that flow it lifts {}: {} are missing.", needs, words.speech.head(missing.given_head_m),
                       words.speech.head(missing.needed_head_m - missing.given_head_m));
}

const BalancedOutlet* outlet_of(const choose::BalanceAnswer& answer, std::int32_t arrangement, std::int32_t vessel) {
    for (const BalancedOutlet& outlet : answer.outlets)
        if (outlet.arrangement == arrangement && outlet.vessel == vessel) return &outlet;
    return nullptr;
}

/// Pumps all of whose outlets throttle: what the least of them drops could be saved.
void slow_pump_notes(const Words& words, std::vector<std::string>& notes) {
    constexpr double kWorthSaying_m = 0.05;
    if (words.answer.outcome != BalanceOutcome::balanced || words.answer.arrangements.size() > 1) return;
    for (std::size_t p = 0; p < words.layout.pumps.size(); ++p) {
        double least = HUGE_VAL;
        for (const BalancedOutlet& outlet : words.answer.outlets)
            if (outlet.pump == static_cast<std::int32_t>(p)) least = std::min(least, outlet.aimed ? outlet.path_throttle_m : 0.0);
        const bool is_free = std::any_of(words.answer.pumps.begin(), words.answer.pumps.end(),
                                         [&](const choose::BalancedPump& pump) { return pump.pump == static_cast<std::int32_t>(p); });
        if (is_free || !std::isfinite(least) || least < kWorthSaying_m) continue;
        notes.push_back(
            fmt::format("On every way from {0} valves take {1} or more: that head is bought and thrown away. With a drive on {0}, "
                        "--pump-speed {0} finds the speed at which one of them stands fully open; 'ebbwright pumps' looks for a smaller pump.",
                        words.layout.pumps[p].id, words.speech.head(least)));
    }
}

void valve_notes(const Words& words, std::vector<std::string>& notes) {
    std::vector<std::string> shut, idle, held;
    for (const BalancedValve& valve : words.answer.valves) {
        if (valve.unsettable) shut.push_back(words.layout.valves[at(valve.valve)].id);
        if (!valve.reaches_outlet) idle.push_back(words.layout.valves[at(valve.valve)].id);
    }
    for (const BalancedValve& valve : words.answer.valves) {
        const layout::Pipe& in = words.layout.pipes[at(words.layout.valves[at(valve.valve)].pipe)];
        const std::string& id = words.layout.valves[at(valve.valve)].id;
        if (in.to.ref.kind == layout::Kind::pump)
            notes.push_back(fmt::format("{} stands in the suction of {}: turned down it starves the pump. Throttle behind the pump.", id, in.to.id));
        else if (in.gravity)
            notes.push_back(fmt::format("{} stands in a drain: turned down it sets the level above it and may spill; it measures out no flow.", id));
    }
    for (const std::int32_t valve : words.answer.held_open) held.push_back(words.layout.valves[at(valve)].id);
    if (!shut.empty())
        notes.push_back(
            fmt::format("Less than {:.0f} % open: {}. So nearly shut a valve can neither be set nor kept: it whistles, wanders and clogs. A "
                        "smaller valve there, a second one before the branches, or a slower pump lets it open (common practice).",
                        kPercent * choose::kLeastSettable, in_few_words(shut, kNamed)));
    if (!idle.empty()) notes.push_back(fmt::format("On the way to no outlet with a target: {}; left fully open.", in_few_words(idle, kNamed)));
    if (!held.empty()) notes.push_back(fmt::format("Shut in every arrangement asked for, and left so: {}.", in_few_words(held, kNamed)));
}

void outlet_notes(const Words& words, std::vector<std::string>& notes) {
    std::vector<std::string> unaimed;
    for (const BalancedOutlet& outlet : words.answer.outlets)
        if (!outlet.aimed && (unaimed.empty() || unaimed.back() != words.vessel(outlet.vessel))) unaimed.push_back(words.vessel(outlet.vessel));
    std::sort(unaimed.begin(), unaimed.end());
    unaimed.erase(std::unique(unaimed.begin(), unaimed.end()), unaimed.end());
    if (!unaimed.empty())
        notes.push_back(
            fmt::format("Nothing that may be moved is on the way to {}: what comes there is told, not set. Name a valve on the way with --valve.",
                        in_few_words(unaimed, kNamed)));
    double quickest = 0.0;
    for (const BalancedOutlet& outlet : words.answer.outlets) quickest = std::max(quickest, std::isfinite(outlet.got_m3_s) ? outlet.got_m3_s : 0.0);
    if (bucket_time(words.scene.bucket_m3, quickest).seconds < kQuickestBucket_s) {
        const double better = bucket_for(quickest);
        const std::string advice = better > 0.0 ? fmt::format("take one of {} there (--bucket)", words.speech.volume(better))
                                                : "time how fast a vessel of known size rises instead";
        notes.push_back(
            fmt::format("A bucket of {} fills in less than {:.0f} s at the strongest outlet, too soon to time by hand: {} (20 to 30 s at the "
                        "least, common practice).",
                        words.speech.volume(words.scene.bucket_m3), kQuickestBucket_s, advice));
    }
}

}  // namespace

BucketTime bucket_time(double bucket_m3, double flow_m3_s) {
    constexpr double kBand = 0.10;
    if (!(flow_m3_s > 0.0)) return {};
    const double seconds = bucket_m3 / flow_m3_s;
    return {seconds, seconds / (1.0 + kBand), seconds / (1.0 - kBand)};
}

double bucket_for(double flow_m3_s) {
    constexpr std::array kUsual_m3{0.001, 0.002, 0.005, 0.010, 0.015, 0.020, 0.030, 0.050, 0.100, 0.200};
    for (const double bucket : kUsual_m3)
        if (bucket >= flow_m3_s * kQuickestBucket_s) return bucket;
    return 0.0;
}

namespace {

/// ", as far as the label of P tells" where a pump known only by its label runs.
std::string label_words(const Words& words) {
    if (!words.answer.rests_on_label) return {};
    std::vector<std::string> pumps;
    for (std::size_t p = 0; p < words.layout.pumps.size(); ++p)
        if (words.layout.pump_models[at(words.layout.pumps[p].model)].from_label &&
            std::any_of(words.answer.answers.begin(), words.answer.answers.end(), [p](const settle::Answer& one) { return one.pumps[p].running; }))
            pumps.push_back(words.layout.pumps[p].id);
    return fmt::format(", as far as the {} of {} {}", pumps.size() == 1 ? "label" : "labels", listed(pumps, kNamed),
                       pumps.size() == 1 ? "tells" : "tell");
}

/// "V1 takes most, 2.07 m; the way to T3 loses least to them, 0.50 m".
std::string throttling_words(const Words& words) {
    constexpr double kNone_m = 0.005;
    const BalancedValve* most = nullptr;
    double drop = 0.0;
    for (const BalancedValve& valve : words.answer.valves)
        for (const choose::ValvePlace& place : valve.places)
            if (place.drop_m > drop) {
                most = &valve;
                drop = place.drop_m;
            }
    const BalancedOutlet* least = nullptr;
    for (const BalancedOutlet& outlet : words.answer.outlets)
        if (outlet.aimed && (least == nullptr || outlet.path_throttle_m < least->path_throttle_m)) least = &outlet;
    if (most == nullptr || least == nullptr || drop < kNone_m) return "every valve stands as good as fully open";
    const std::string takes = fmt::format("{} takes most, {}", words.layout.valves[at(most->valve)].id, words.speech.head(drop));
    if (least->path_throttle_m < kNone_m) return fmt::format("{}; on the way to {} nothing is throttled", takes, words.vessel(least->vessel));
    return fmt::format("{}; the way to {} loses least to valves, {}", takes, words.vessel(least->vessel), words.speech.head(least->path_throttle_m));
}

std::string met_words(const Words& words) {
    const double spare = words.answer.spare;
    return spare > 0.0 ? fmt::format("met with {:.3g} % to spare", kPercent * spare) : std::string("met");
}

}  // namespace

std::string balance_headline(const BalanceScene& scene) {
    const Words words{scene};
    const std::string all = all_of(words.aimed(), "target", "targets");
    const bool one = scene.answer.arrangements.size() == 1;
    const char* is = words.aimed() == 1 ? "is" : "are";
    switch (scene.answer.outcome) {
        case BalanceOutcome::balanced:
            return fmt::format("Set so, {} {} {}{}{}{}, with the least throttling: {}.", missed_beside(scene).empty() ? all : all + " aimed at", is,
                               met_words(words), scene.answer.spare > 0.0 ? "" : " exactly", one ? "" : " in every arrangement", label_words(words),
                               throttling_words(words));
        case BalanceOutcome::met:
            return fmt::format("Set so, {} {} {}{}{}, but not all exactly: {}. What follows has the least too much at the worst.", all, is,
                               met_words(words), one ? "" : " in every arrangement", label_words(words),
                               one ? "no setting of these valves can do that" : "one setting for all of them cannot do that");
        case BalanceOutcome::missed:
            if (scene.answer.worst_deviation < kNear)
                return fmt::format("Set so, {} {} reached to within {:.2g} %{}; the search found no setting that comes closer.", all, is,
                                   kPercent * scene.answer.worst_deviation, label_words(words));
            return one ? fmt::format("No setting of these valves meets {}{}. What follows comes nearest.", all, label_words(words))
                       : fmt::format(
                             "No one setting meets {} in {} arrangements{}. What follows comes nearest: the worst shortfall is as small as it "
                             "can be.",
                             all, scene.answer.arrangements.size(), label_words(words));
        case BalanceOutcome::stopped: return "Interrupted: the setting below is the best that had been found, not the end of the search.";
        case BalanceOutcome::no_solution: return with_full_stop("No setting could be found: " + scene.answer.why);
        case BalanceOutcome::no_targets:
        case BalanceOutcome::no_valves:
        case BalanceOutcome::not_run: break;
    }
    return {};
}

std::string worst_sentence(const BalanceScene& scene) {
    const Words words{scene};
    if (scene.answer.worst_outlet < 0 || scene.answer.worst_deviation <= choose::kBalanced) return {};
    const BalancedOutlet& outlet = scene.answer.outlets[at(scene.answer.worst_outlet)];
    return fmt::format("{}: {} in '{}' gets {}, wanted {}: {}.", outlet.share < 1.0 ? "Lacks most" : "Has most too much", words.vessel(outlet.vessel),
                       words.arrangement(outlet.arrangement), words.speech.flow(outlet.got_m3_s), words.speech.flow(outlet.wanted_m3_s),
                       words.off_by(outlet.share));
}

std::vector<std::string> missed_beside(const BalanceScene& scene) {
    const Words words{scene};
    std::vector<std::string> all;
    const bool one = scene.answer.arrangements.size() == 1;
    const auto where = [&](std::int32_t arrangement) { return one ? std::string() : fmt::format("In '{}' ", words.arrangement(arrangement)); };
    for (const BalancedOutlet& outlet : scene.answer.outlets)
        if (!outlet.aimed && outlet.share * (1.0 + scene.answer.spare) < 1.0 - choose::kBalanced)
            all.push_back(fmt::format("{}{} gets {}, wanted {}: {}, and nothing that is set here is on its way.", where(outlet.arrangement),
                                      words.vessel(outlet.vessel), words.speech.flow(outlet.got_m3_s), words.speech.flow(outlet.wanted_m3_s),
                                      words.off_by(outlet.share)));
    for (const settle::Answer& answer : scene.answer.answers)
        for (const settle::Target& target : answer.targets) {
            const auto own = std::any_of(scene.answer.outlets.begin(), scene.answer.outlets.end(),
                                         [&](const BalancedOutlet& outlet) { return words.vessel(outlet.vessel) == target.about; });
            if (!own && is_missed(answer, target))
                all.push_back(with_full_stop(where(answer.arrangement) + sentence_of(target, words.speech, answer.rests_on_label)));
        }
    return all;
}

std::string by_hand_sentence(const BalanceScene& scene) {
    const Words words{scene};
    const choose::SetByHand& by_hand = scene.answer.by_hand;
    constexpr double kHair = 5e-4;
    if (by_hand.vessel < 0 || scene.answer.outcome == BalanceOutcome::missed) return {};
    if (by_hand.share > 1.0 - kHair) return "Set to whole per cents, as a hand can, no outlet falls below its target.";
    return fmt::format(
        "Set to whole per cents, as a hand can, {} in '{}' falls furthest below its target: {}, {}. To allow for that: --spare \"{:.0f} %\".",
        words.vessel(by_hand.vessel), words.arrangement(by_hand.arrangement), words.speech.flow(by_hand.got_m3_s), words.off_by(by_hand.share),
        std::ceil(kPercent * (1.0 + scene.answer.spare) / by_hand.share - kPercent));
}

std::vector<std::string> left_alone_sentences(const BalanceScene& scene) {
    const Words words{scene};
    std::vector<std::string> calm, all;
    for (const LeftAlone& one : scene.left_alone) {
        std::vector<std::string> missed;
        for (const settle::Target& target : one.answer.targets)
            if (is_missed(one.answer, target)) missed.push_back(sentence_of(target, words.speech, one.answer.rests_on_label));
        if (missed.empty())
            calm.push_back(one.answer.name);
        else
            all.push_back(fmt::format("'{}' is left as it was, and misses {}: {}{}.", one.answer.name, counted(missed.size(), "target", "targets"),
                                      missed.front(), missed.size() > 1 ? "; and so on" : ""));
    }
    if (!calm.empty()) all.push_back(fmt::format("Left as they were: {}.", quoted_list(calm, kNamed)));
    return all;
}

std::vector<Finding> balance_findings(const BalanceScene& scene) {
    constexpr std::array kTold{"below-least-depth", "intake-bare", "cavitates", "drain-overloaded"};
    std::vector<Finding> all;
    for (const settle::Answer& answer : scene.answer.answers)
        for (Finding& one : findings(scene.subject.layout, answer, scene.subject.speech)) {
            const bool told = std::find(kTold.begin(), kTold.end(), one.code) != kTold.end();
            const bool known = std::any_of(all.begin(), all.end(), [&](const Finding& f) { return f.code == one.code && f.about == one.about; });
            if ((!told && one.weight != Weight::trouble) || known) continue;
            one.says += fmt::format(" ('{}')", answer.name);
            all.push_back(std::move(one));
        }
    return all;
}

std::vector<std::string> missing_sentences(const BalanceScene& scene) {
    if (scene.answer.worst_deviation < kNear) return {};
    const Words words{scene};
    const MissingWater& missing = scene.answer.missing;
    if (missing.vessel < 0) return {};
    std::vector<std::string> all;
    const BalancedOutlet* outlet = outlet_of(scene.answer, missing.arrangement, missing.vessel);
    const double wanted = outlet == nullptr ? settle::kUnknown : outlet->wanted_m3_s, got = outlet == nullptr ? settle::kUnknown : outlet->got_m3_s;
    const std::string at_most =
        scene.answer.arrangements.size() == 1
            ? fmt::format("; {:.3g} % is the largest share every outlet can have of its target", kPercent * missing.greatest_share)
            : std::string();
    constexpr double kOpen_m = 1e-4;
    const char* open = outlet != nullptr && outlet->path_throttle_m < kOpen_m ? " with nothing left to open on its way" : "";
    all.push_back(fmt::format("In '{}' {} needs most: it wants {} and gets {}{}{}.", words.arrangement(missing.arrangement),
                              words.vessel(missing.vessel), words.speech.flow(wanted), words.speech.flow(got), open, at_most));
    all.push_back(pump_sentence(words, missing));
    const std::string pipe = missing.worst_pipe < 0 ? std::string() : words.layout.pipes[at(missing.worst_pipe)].id;
    const std::string lost =
        pipe.empty() ? std::string() : fmt::format("{} loses most on the way, {}", pipe, words.speech.head(missing.worst_pipe_loss_m));
    if (!(missing.alone_m3_s > 0.0) && !std::isnan(missing.alone_m3_s))
        all.push_back(fmt::format("Even with every other of these valves shut no water gets up to {}.", words.vessel(missing.vessel)));
    else if (missing.alone_m3_s < wanted * (1.0 - choose::kBalanced))
        all.push_back(
            with_full_stop(fmt::format("Even with every other of these valves shut {} gets only {}: its own way is too narrow for what there is to "
                                       "lift{}",
                                       words.vessel(missing.vessel), words.speech.flow(missing.alone_m3_s), pipe.empty() ? "" : "; " + lost)));
    else if (!missing.shared_setting && !pipe.empty())
        all.push_back(with_full_stop(lost));
    return all;
}

std::vector<std::string> balance_notes(const BalanceScene& scene) {
    const Words words{scene};
    std::vector<std::string> notes;
    if (scene.answer.outcome == BalanceOutcome::no_solution) return notes;
    valve_notes(words, notes);
    slow_pump_notes(words, notes);
    for (const choose::BalancedPump& pump : scene.answer.pumps) {
        const layout::PumpModel& model = words.layout.pump_models[at(words.layout.pumps[at(pump.pump)].model)];
        if (!layout::said(model.least_speed) && pump.speed < 1.0)
            notes.push_back(fmt::format("The model '{}' does not say that it can be turned down (least-speed=): ask before a drive is bought for {}.",
                                        model.name, words.pump(pump.pump)));
    }
    outlet_notes(words, notes);
    if (scene.answer.rests_on_label) notes.push_back("A pump here is known only by its label: every opening is the middle of a band.");
    for (std::size_t i = 0; i < scene.answer.answers.size(); ++i)
        if (scene.answer.answers[i].state == settle::State::cycles)
            notes.push_back(fmt::format("In '{}' a siphon fills and empties its bed: the flows are those just before it starts.",
                                        words.arrangement(scene.answer.arrangements[i])));
    return notes;
}

}  // namespace ebb::cli
