#include "cli/views/question_fill_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/question_fill.h"
#include "cli/views/question_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kSpillM3 = 1e-6;
constexpr double kLittleM3 = 5e-4;
constexpr double kGulpsS = 10.0;
constexpr double kEmptyM = 0.001;
constexpr std::size_t kWhole = 2;
constexpr std::size_t kNamed = 4;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class FillText {
public:
    FillText(const Subject& subject, const Paint& paint, const time::FillAnswer& answer)
        : speech_(subject.speech), layout_(subject.layout), paint_(paint), answer_(answer), way_(way_to_follow(answer)) {}

    const std::string& name() const { return layout_.arrangements[at(answer_.arrangement)].name; }
    const time::FillWay& way() const { return way_; }
    double water_m3() const;
    std::string whole() const;

private:
    const std::string& id(std::int32_t vessel) const { return layout_.vessels[at(vessel)].id; }
    std::string wrong() const;
    std::string gulps() const;
    std::string loops() const;
    std::string hands() const;
    std::string reaches() const;
    std::string table() const;

    const Speech& speech_;
    const layout::Layout& layout_;
    const Paint& paint_;
    const time::FillAnswer& answer_;
    const time::FillWay& way_;
};

double FillText::water_m3() const {
    double sum = 0.0;
    for (const time::FilledLoop& loop : way_.loops) {
        sum += loop.hose_m3 + loop.mains_m3;
    }
    return sum;
}

/// Water on the floor, and a hose that cannot empty itself.
std::string FillText::wrong() const {
    std::string text;
    for (std::size_t v = 0; v < way_.vessels.size(); ++v) {
        const time::FilledVessel& vessel = way_.vessels[v];
        if (vessel.spilled_m3 > kSpillM3) {
            say(text, paint_, Ink::trouble,
                fmt::format("{} spills {} on the way, from {} on.", layout_.vessels[v].id, speech_.volume(vessel.spilled_m3),
                            Speech::duration(vessel.first_spill_s)));
        }
    }
    for (const time::FilledLoop& loop : way_.loops) {
        const double left = loop.wanted_m3 - loop.hose_m3 - loop.mains_m3;
        if (std::isnan(loop.hose_ends_s) && left > kLittleM3) {
            say(text, paint_, Ink::doubt,
                fmt::format("{} of the water at the start depths of this loop finds no room: {} stands at its start depth with the pumps running and "
                            "holds the hose back.",
                            speech_.volume(left), id(loop.vessel)));
        }
    }
    return text;
}

std::string FillText::gulps() const {
    std::string text;
    for (std::size_t p = 0; p < answer_.left_on.pumps.size(); ++p) {
        const time::FilledPump& pump = answer_.left_on.pumps[p];
        if (pump.gulps_s > kGulpsS) {
            say(text, paint_, answer_.by_hand.made ? Ink::doubt : Ink::trouble,
                fmt::format("Left plugged in from the start, {} gulps air at its intake for {}: the hose brings less than it takes.",
                            layout_.pumps[p].id, Speech::duration(pump.gulps_s)));
        }
    }
    return text;
}

std::string FillText::hands() const {
    if (!answer_.by_hand.made) {
        return {};
    }
    std::vector<std::string> parts;
    for (const layout::LevelSwitch& hand : answer_.hands) {
        const std::int32_t starts = way_.pumps[at(hand.about.index)].starts;
        parts.push_back(fmt::format("{} on when {} stands at {}, off at {} ({})", hand.about_id, hand.watches_id, speech_.height(hand.above_m),
                                    speech_.height(hand.below_m), counted(static_cast<std::size_t>(std::max(0, starts)), "start", "starts")));
    }
    return fmt::format("So switch by hand: {}. What follows is that way.", listed(parts, parts.size()));
}

std::string FillText::loops() const {
    std::string text;
    for (const time::FilledLoop& loop : way_.loops) {
        std::vector<std::int32_t> others;
        for (const std::int32_t member : loop.members) {
            if (member != loop.vessel && way_.vessels[at(member)].end_depth_m > kEmptyM) {
                others.push_back(member);
            }
        }
        const std::string mains = loop.mains_m3 > kLittleM3 ? fmt::format(" and {} from the mains", speech_.volume(loop.mains_m3)) : std::string();
        const std::string ends =
            std::isfinite(loop.hose_ends_s) ? fmt::format("; the hose is done after {}", Speech::duration(loop.hose_ends_s)) : std::string();
        const std::string fills = others.empty() ? "it alone" : "with it " + vessels_in_words(layout_, others);
        say(text, paint_, Ink::plain, fmt::format("Hose in {}, {}: {}{}{}.", id(loop.vessel), fills, speech_.volume(loop.hose_m3), mains, ends));
    }
    return text;
}

std::string FillText::reaches() const {
    if (answer_.reaches_running) {
        return "Every level then is the settled one within 5 mm.";
    }
    if (!answer_.why_not_settled.empty()) {
        return with_full_stop("This arrangement has no settled levels to compare with: " + answer_.why_not_settled);
    }
    std::vector<std::string> parts;
    for (const std::int32_t vessel : answer_.elsewhere) {
        const time::FilledVessel& one = way_.vessels[at(vessel)];
        parts.push_back(fmt::format("{} at {} instead of {}", id(vessel), speech_.height(one.end_depth_m), speech_.height(one.running_depth_m)));
    }
    return fmt::format("Not every level then is the one settled from the drawn depths: {}.", listed(parts, kNamed));
}

std::string FillText::table() const {
    std::vector<std::size_t> order;
    for (std::size_t v = 0; v < way_.vessels.size(); ++v) {
        if (std::isfinite(way_.vessels[v].reaches_after_s)) {
            order.push_back(v);
        }
    }
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t one, std::size_t other) { return way_.vessels[one].reaches_after_s < way_.vessels[other].reaches_after_s; });
    Table table({{"in this order", Align::left}, {"stands after"}, {"running level"}, {"water"}, {"pumps stopped: rests at"}});
    for (const std::size_t v : order) {
        const time::FilledVessel& vessel = way_.vessels[v];
        table.add({layout_.vessels[v].id, Speech::duration(vessel.reaches_after_s), speech_.height(vessel.end_depth_m), speech_.volume(vessel.end_m3),
                   speech_.height(vessel.rest_depth_m)},
                  vessel.spilled_m3 > kSpillM3 ? Ink::trouble : Ink::plain);
    }
    return table.empty() ? std::string() : "\n" + table.text(paint_);
}

std::string FillText::whole() const {
    std::string text = "\n" + paint_(Ink::title, fmt::format("First fill, {}", name())) + "\n";
    if (way_.loops.empty()) {
        say(text, paint_, Ink::plain,
            "Every vessel starts empty in this layout: say start-depth where water shall stand, and there is something to fill.");
        return text;
    }
    if (const std::string why = ended_badly(way_.course); !why.empty()) {
        say(text, paint_, Ink::trouble, with_full_stop("The fill could not be followed to its end: " + why));
    }
    text += wrong();
    say(text, paint_, way_.spilled_m3 > kSpillM3 ? Ink::plain : Ink::good,
        fmt::format("Full and running after {}, with {} of water.", Speech::duration(way_.done_after_s), speech_.volume(water_m3())));
    text += gulps();
    say(text, paint_, Ink::plain, hands());
    text += loops();
    say(text, paint_, Ink::plain, reaches());
    return text + table();
}

std::string overview(const Subject& subject, const Paint& paint, const std::vector<time::FillAnswer>& answers) {
    Table table({{"", Align::left}, {"full after"}, {"water"}, {"from the mains"}, {"spilled"}, {"pumps", Align::left}});
    for (const time::FillAnswer& answer : answers) {
        const FillText one(subject, paint, answer);
        const time::FillWay& way = one.way();
        double mains = 0.0;
        for (const time::FilledLoop& loop : way.loops) {
            mains += loop.mains_m3;
        }
        const bool spills = way.spilled_m3 > kSpillM3;
        table.add({one.name(), Speech::duration(way.done_after_s), subject.speech.volume(one.water_m3()),
                   mains > kLittleM3 ? subject.speech.volume(mains) : "", spills ? subject.speech.volume(way.spilled_m3) : "nothing",
                   answer.by_hand.made ? "by hand"
                   : way.any_gulps     ? "gulp air"
                                       : "left on"},
                  spills ? Ink::trouble : Ink::plain);
    }
    return "\n" + paint(Ink::title, "First fill, from dry") + "\n" + table.text(paint);
}

}  // namespace

std::string fills_text(const Subject& subject, const Paint& paint, const std::vector<time::FillAnswer>& answers) {
    if (answers.empty()) {
        return {};
    }
    std::string text;
    if (answers.size() <= kWhole) {
        for (const time::FillAnswer& answer : answers) {
            text += FillText(subject, paint, answer).whole();
        }
    } else {
        text += overview(subject, paint, answers);
        const auto longest = std::max_element(answers.begin(), answers.end(), [](const time::FillAnswer& one, const time::FillAnswer& other) {
            const auto key = [](const time::FillAnswer& answer) {
                const double after = way_to_follow(answer).done_after_s;
                return std::pair(way_to_follow(answer).spilled_m3 > kSpillM3 ? way_to_follow(answer).spilled_m3 : 0.0,
                                 std::isfinite(after) ? after : -1.0);
            };
            return key(one) < key(other);
        });
        text += "\nThe one that takes longest, or spills most:\n" + FillText(subject, paint, *longest).whole();
    }
    const double hose = answers.front().hose_m3_s;
    text += "\n" + paint(Ink::title, "Beside the water") + "\n";
    text += wrapped("  - ", fmt::format("A hose of {} is counted for each loop{}; measure yours with a bucket and say it with --hose.",
                                        subject.speech.flow(hose), hose == time::kUsualHose_m3_s ? ", as a garden tap gives (common practice)" : ""));
    text +=
        wrapped("  - ", "Tap water for fish needs its chlorine out first; keep the end of the hose above the rim, and no fish in before the farm has "
                        "run, stopped and run again without a spill (common practice).");
    return text;
}

}  // namespace ebb::cli
