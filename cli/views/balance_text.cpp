// `balance` for a person: what cannot be, then the openings, the order to set them in, and what each outlet then gives.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/balance_view.h"
#include "cli/views/page.h"
#include "cli/views/question_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using choose::BalancedOutlet;
using choose::BalancedValve;
using choose::BalanceOutcome;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kPercent = 100.0;

/// An opening to the tenth of a per cent: finer no handle is set.
std::string opening(double share) {
    if (!std::isfinite(share)) return "-";
    return share >= 1.0 ? "fully open" : share <= 0.0 ? "shut" : fmt::format("{:.1f} %", kPercent * share);
}

std::string off_by(double off) {
    constexpr double kWhole = 0.1;
    return std::abs(off) < kWhole ? fmt::format("{:+.2g} %", kPercent * off) : fmt::format("{:+.0f} %", kPercent * off);
}

std::string seconds(double s) { return std::isfinite(s) ? fmt::format("{:.0f} s", s) : "-"; }

class BalanceText {
public:
    explicit BalanceText(const BalanceScene& scene)
        : scene_(scene), layout_(scene.subject.layout), speech_(scene.subject.speech), answer_(scene.answer), paint_(scene.subject.colour) {}
    std::string whole() const;

private:
    const std::string& valve_id(std::int32_t valve) const { return layout_.valves[at(valve)].id; }
    const std::string& arrangement(std::int32_t index) const { return layout_.arrangements[at(index)].name; }
    std::string top() const;
    std::string valves() const;
    std::string pumps() const;
    std::string steps() const;
    std::string outlets(std::int32_t arrangement) const;
    std::string beside() const;

    const BalanceScene& scene_;
    const layout::Layout& layout_;
    const Speech& speech_;
    const choose::BalanceAnswer& answer_;
    Paint paint_;
};

std::string BalanceText::top() const {
    std::string text = paint_(Ink::title, layout_.name.empty() ? "A layout without a name" : layout_.name) + '\n';
    std::vector<std::string> names;
    for (const std::int32_t a : answer_.arrangements) names.push_back(arrangement(a));
    text += "\n" + paint_(Ink::title, "Balance, " + quoted_list(names, 8)) + '\n';
    const bool met = answer_.outcome == BalanceOutcome::balanced || answer_.outcome == BalanceOutcome::met;
    for (const std::string& sentence : missed_beside(scene_)) say(text, paint_, Ink::trouble, sentence);
    for (const Finding& finding : balance_findings(scene_))
        say(text, paint_, finding.weight == Weight::trouble ? Ink::trouble : Ink::doubt, with_full_stop(finding.says));
    say(text, paint_, met ? Ink::good : Ink::trouble, balance_headline(scene_));
    const bool told_below = answer_.worst_outlet >= 0 && answer_.outlets[at(answer_.worst_outlet)].vessel == answer_.missing.vessel &&
                            answer_.outlets[at(answer_.worst_outlet)].arrangement == answer_.missing.arrangement;
    if (!told_below) say(text, paint_, met ? Ink::doubt : Ink::trouble, worst_sentence(scene_));
    for (const std::string& sentence : missing_sentences(scene_)) say(text, paint_, Ink::plain, sentence);
    return text;
}

std::string BalanceText::valves() const {
    const bool one = answer_.arrangements.size() == 1;
    Table table({{"valve", Align::left},
                 {"kind", Align::left},
                 {"in pipe", Align::left},
                 {"set to"},
                 {"stood at"},
                 {"takes"},
                 {"carries"},
                 {"1 % of travel"}});
    for (const BalancedValve& valve : answer_.valves) {
        const layout::Valve& own = layout_.valves[at(valve.valve)];
        double drop = 0.0, flow = 0.0, before = layout::kNotSaid;
        for (const choose::ValvePlace& place : valve.places) {
            drop = std::max(drop, place.drop_m);
            flow = std::max(flow, place.flow_m3_s);
            if (!place.shut && std::isnan(before)) before = place.opening_before;
        }
        table.add({own.id, std::string(physics::valve_kind_name(own.kind)), layout_.pipes[at(own.pipe)].id, opening(valve.opening), opening(before),
                   speech_.head(drop), speech_.flow(flow), speech_.flow(std::abs(valve.flow_per_travel_m3_s) / kPercent)},
                  valve.unsettable ? Ink::doubt : Ink::plain);
    }
    if (table.empty()) return {};
    std::string text = "\n" + paint_(Ink::title, "Valves") + '\n' + table.text(paint_);
    text += wrapped("  ", fmt::format("takes: the head throttling drops, over the valve fully open{}. 1 % of travel: what its flow changes by.",
                                      one ? "" : ", in the arrangement where it carries most"));
    if (const std::string by_hand = by_hand_sentence(scene_); !by_hand.empty()) text += wrapped("  ", by_hand);
    return text;
}

std::string BalanceText::pumps() const {
    Table table({{"pump", Align::left}, {"speed"}, {"stood at"}, {"moves"}, {"lifts"}, {"power"}});
    for (const choose::BalancedPump& pump : answer_.pumps)
        table.add({layout_.pumps[at(pump.pump)].id, fmt::format("{:.1f} %", kPercent * pump.speed),
                   fmt::format("{:.1f} %", kPercent * pump.speed_before), speech_.flow(pump.flow_m3_s), speech_.head(pump.head_m),
                   std::isfinite(pump.power_w) ? speech_.power(pump.power_w) : "-"});
    return table.empty() ? std::string() : "\n" + paint_(Ink::title, "Pumps") + '\n' + table.text(paint_);
}

std::string BalanceText::steps() const {
    if (answer_.steps.empty()) return {};
    Table table({{"", Align::right},
                 {"set", Align::left},
                 {"to"},
                 {"then it carries"},
                 {fmt::format("{} fills in", speech_.volume(scene_.bucket_m3))},
                 {"at", Align::left}});
    std::size_t count = 0;
    for (const choose::BalanceStep& step : answer_.steps) {
        double share = layout::kNotSaid;
        for (const BalancedValve& valve : answer_.valves)
            if (valve.valve == step.valve) share = valve.opening;
        table.add({fmt::format("{}.", ++count), valve_id(step.valve), opening(share), speech_.flow(step.flow_m3_s),
                   step.outlet < 0 ? "" : seconds(bucket_time(scene_.bucket_m3, step.outlet_flow_m3_s).seconds),
                   step.outlet < 0 ? "" : layout_.vessels[at(step.outlet)].id});
    }
    std::string text = "\n" + paint_(Ink::title, fmt::format("In this order, {}", arrangement(answer_.arrangements.front()))) + '\n';
    text +=
        wrapped("  ", "First open every valve of the list above fully; then set one after the other and look what comes before the next is touched.");
    return text + table.text(paint_);
}

std::string BalanceText::outlets(std::int32_t index) const {
    Table table({{"outlet", Align::left},
                 {"wants"},
                 {"gets"},
                 {"off by"},
                 {"got before"},
                 {fmt::format("{} fills in", speech_.volume(scene_.bucket_m3))},
                 {"passes between", Align::left},
                 {"", Align::left}});
    for (const BalancedOutlet& outlet : answer_.outlets) {
        if (outlet.arrangement != index) continue;
        const BucketTime time = bucket_time(scene_.bucket_m3, outlet.got_m3_s);
        const double off = outlet.share - 1.0;
        const bool is_off = std::abs(off) > choose::kBalanced;
        const std::string band = std::isfinite(time.seconds) ? fmt::format("{:.0f} and {:.0f} s", time.least_s, time.most_s) : "-";
        table.add({layout_.vessels[at(outlet.vessel)].id, speech_.flow(outlet.wanted_m3_s), speech_.flow(outlet.got_m3_s), is_off ? off_by(off) : "",
                   speech_.flow(outlet.before_m3_s), seconds(time.seconds), band, outlet.aimed ? "" : "not set here"},
                  !outlet.aimed || !is_off ? Ink::plain
                  : off < 0.0              ? Ink::trouble
                                           : Ink::doubt);
    }
    if (table.empty()) return {};
    return "\n" + paint_(Ink::title, fmt::format("Outlets, {}", arrangement(index))) + '\n' + table.text(paint_);
}

std::string BalanceText::beside() const {
    std::string text = "\n" + paint_(Ink::title, "Beside the valves") + '\n';
    if (scene_.first_taken)
        text +=
            wrapped("  - ", fmt::format("This is the first arrangement of the layout; name others with --arrangement, several for one setting that "
                                        "serves them all."));
    for (const std::string& sentence : left_alone_sentences(scene_)) text += wrapped("  - ", sentence);
    if (!answer_.valves_were_named)
        text +=
            wrapped("  - ", "The valves are those with a handle that stand open between a pump or source and an outlet with a target; name others "
                            "with --valve.");
    text +=
        wrapped("  - ", "Valves of one kind differ by a factor of two at one mark: set the marks, then time the buckets and trim in the order above; "
                        "the flow counts, not the mark.");
    text +=
        wrapped("  - ", "Throttle on the pressure side only: never in the suction of a pump, never in a drain, and put no valve on a vessel's only "
                        "overflow (common practice). Before a valve is turned down look that no pump is left against shut valves.");
    return text;
}

std::string BalanceText::whole() const {
    std::string text = top();
    if (answer_.outcome != BalanceOutcome::no_solution) {
        text += valves() + pumps() + steps();
        for (const std::int32_t a : answer_.arrangements) text += outlets(a);
        const std::vector<std::string> notes = balance_notes(scene_);
        if (!notes.empty()) text += "\n" + paint_(Ink::title, "To look at") + '\n';
        for (const std::string& note : notes) say(text, paint_, Ink::doubt, note);
        text += beside();
    }
    return text + cautions_section(layout_, speech_, paint_);
}

}  // namespace

std::string balance_text(const BalanceScene& scene) { return BalanceText(scene).whole(); }

}  // namespace ebb::cli
