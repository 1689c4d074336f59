#include "cli/views/question_drain_text.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/question_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kSpillM3 = 1e-6;
constexpr double kLittleM3 = 5e-4;
constexpr std::size_t kWhole = 2;
constexpr std::size_t kNamed = 4;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class DrainText {
public:
    DrainText(const Subject& subject, const Paint& paint, const time::DrainAnswer& answer)
        : speech_(subject.speech), layout_(subject.layout), paint_(paint), answer_(answer) {}

    const std::string& name() const { return layout_.arrangements[at(answer_.arrangement)].name; }
    std::string verdict() const;
    std::string whole() const;
    bool wrong() const;

private:
    const std::string& id() const { return layout_.vessels[at(answer_.vessel)].id; }
    std::string way_words(const time::OpenWay& way) const;
    std::string stays() const;
    std::string ways() const;
    std::string others() const;
    std::string advice() const;

    const Speech& speech_;
    const layout::Layout& layout_;
    const Paint& paint_;
    const time::DrainAnswer& answer_;
};

bool DrainText::wrong() const {
    const bool stuck =
        answer_.stop == time::DrainStop::no_answer || answer_.stop == time::DrainStop::held || answer_.stop == time::DrainStop::level_with;
    return !answer_.in_time || stuck;
}

std::string DrainText::way_words(const time::OpenWay& way) const {
    switch (way.kind) {
        case time::WayOut::lip: return fmt::format("the lip of {}", layout_.standpipes[at(way.about.index)].id);
        case time::WayOut::hole: return fmt::format("the hole of {}", layout_.standpipes[at(way.about.index)].id);
        case time::WayOut::siphon: return fmt::format("siphon {}", layout_.siphons[at(way.about.index)].id);
        case time::WayOut::pump: return fmt::format("the intake of {}", layout_.pumps[at(way.about.index)].id);
        case time::WayOut::port:
        case time::WayOut::inlet: break;
    }
    return fmt::format("the port of {}", layout_.pipes[at(way.about.index)].id);
}

/// The answer in one sentence.
std::string DrainText::verdict() const {
    switch (answer_.stop) {
        case time::DrainStop::no_answer: return "it could not be followed: " + answer_.course.why;
        case time::DrainStop::shut_in: {
            std::vector<std::string> shut;
            for (const std::int32_t pipe : answer_.shut_ways) {
                for (const std::int32_t valve : layout_.pipes[at(pipe)].valves) {
                    shut.push_back(layout_.valves[at(valve)].id);
                }
            }
            return shut.empty() ? fmt::format("{} has no way out", id()) : fmt::format("{} does not drain: {} is shut", id(), listed(shut, kNamed));
        }
        case time::DrainStop::no_water:
            return answer_.before_m3 > kLittleM3 ? fmt::format("{} has nothing to drain: it stands within 5 mm of its lowest way out", id())
                                                 : fmt::format("{} is empty already", id());
        case time::DrainStop::level_with:
            return fmt::format("{} stops at {}: {} stands as high, its way out is drowned", id(), speech_.height(answer_.end_depth_m),
                               layout_.vessels[at(answer_.level_with)].id);
        case time::DrainStop::held: return fmt::format("{} stops at {}, above its lowest way out", id(), speech_.height(answer_.end_depth_m));
        case time::DrainStop::not_yet:
            return fmt::format("{} is still draining after {}, at {}", id(), Speech::duration(answer_.course.lasted_s),
                               speech_.height(answer_.end_depth_m));
        case time::DrainStop::drained: break;
    }
    std::string text = fmt::format("{} drains in {}", id(), Speech::duration(answer_.drained_after_s));
    if (std::isfinite(answer_.wanted_s)) {
        text += fmt::format(", wanted {} or less", Speech::duration(answer_.wanted_s));
    }
    return text;
}

/// What does not leave, and what one would have to change for it to.
std::string DrainText::stays() const {
    if (answer_.ways_out.empty() || answer_.end_m3 < kLittleM3) {
        return {};
    }
    const time::OpenWay& lowest = answer_.ways_out.front();
    return fmt::format("{} stay in it: the lowest way out is {}, {} above the floor.{}", capital(speech_.volume(answer_.end_m3)), way_words(lowest),
                       speech_.height(lowest.height_m), advice());
}

std::string DrainText::advice() const {
    const time::OpenWay& lowest = answer_.ways_out.front();
    if (lowest.kind == time::WayOut::lip) {
        const layout::Standpipe& standpipe = layout_.standpipes[at(lowest.about.index)];
        std::string shorter;
        for (const layout::Insert& insert : standpipe.inserts) {
            if (insert.lip_m < lowest.height_m - 1e-6) {
                shorter = fmt::format(" Its insert '{}' would let it down to {}.", insert.name, speech_.height(insert.lip_m));
            }
        }
        return shorter.empty() ? " To empty it, lift the insert out, or drill a hole at its foot." : shorter;
    }
    if (lowest.kind == time::WayOut::siphon) {
        return " The siphon starts only when water goes over its crest.";
    }
    return {};
}

std::string DrainText::ways() const {
    if (answer_.taken.empty()) {
        return {};
    }
    std::vector<std::string> parts;
    for (const time::WayTaken& way : answer_.taken) {
        parts.push_back(fmt::format("{} through {}", speech_.volume(way.volume_m3), layout_.pipes[at(way.pipe)].id));
    }
    std::string text = fmt::format("{}, at most {}.", capital(listed(parts, kNamed)), speech_.flow(answer_.peak_m3_s));
    const bool holes =
        std::any_of(answer_.ways_out.begin(), answer_.ways_out.end(), [](const time::OpenWay& way) { return way.kind == time::WayOut::hole; });
    if (holes && answer_.over_lip_m3 > kLittleM3) {
        text += fmt::format(" The first {} stood above the lip; the rest goes through the holes alone.", speech_.volume(answer_.over_lip_m3));
    }
    return text;
}

std::string DrainText::others() const {
    std::string text;
    for (const time::DrainOther& other : answer_.others) {
        if (other.spilled_m3 > kSpillM3) {
            say(text, paint_, Ink::trouble,
                fmt::format("{} spills {} meanwhile.", layout_.vessels[at(other.vessel)].id, speech_.volume(other.spilled_m3)));
        }
    }
    std::vector<std::string> parts;
    for (const time::DrainOther& other : answer_.others) {
        constexpr double kSeenM = 0.001;
        if (other.end_depth_m - other.before_depth_m > kSeenM) {
            parts.push_back(fmt::format("{} +{} (from {} to {}, {} below its rim)", layout_.vessels[at(other.vessel)].id,
                                        speech_.volume(other.gained_m3), speech_.height(other.before_depth_m), speech_.height(other.end_depth_m),
                                        speech_.height(other.least_freeboard_m)));
        }
    }
    if (!parts.empty()) {
        say(text, paint_, Ink::plain, fmt::format("Where the water stands then: {}.", listed(parts, kNamed)));
    }
    return text;
}

std::string DrainText::whole() const {
    std::string text = "\n" + paint_(Ink::title, fmt::format("Draining {}, {}", id(), name())) + "\n";
    const bool drains = answer_.stop == time::DrainStop::drained;
    say(text, paint_, wrong() ? Ink::trouble : drains ? Ink::good : Ink::plain, with_full_stop(verdict()));
    if (drains && answer_.before_m3 > 0.0) {
        std::vector<std::string> parts;
        constexpr double kPercent = 100.0;
        for (std::size_t i = 0; i < answer_.share_left.size(); ++i) {
            if (std::isfinite(answer_.share_after_s[i])) {
                parts.push_back(fmt::format("{:.0f} % left after {}", kPercent * answer_.share_left[i], Speech::duration(answer_.share_after_s[i])));
            }
        }
        const std::string shares = parts.empty() ? std::string() : ": " + listed(parts, parts.size());
        say(text, paint_, Ink::plain,
            fmt::format("From {} ({}){}.", speech_.height(answer_.before_depth_m), speech_.volume(answer_.before_m3), shares));
    }
    say(text, paint_, Ink::plain, ways());
    say(text, paint_, Ink::plain, stays());
    text += others();
    std::vector<std::string> shut;
    for (const layout::Ref& ref : answer_.shut) {
        const auto index = at(ref.index);
        shut.push_back(ref.kind == layout::Kind::pipe     ? layout_.pipes[index].id
                       : ref.kind == layout::Kind::nozzle ? layout_.nozzles[index].id
                                                          : layout_.float_valves[index].id);
    }
    const char* from = answer_.from_settled ? "the settled levels" : "the levels drawn (there is no settled state)";
    say(text, paint_, Ink::quiet,
        shut.empty() ? fmt::format("Nothing feeds it; from {}.", from)
                     : fmt::format("Shut meanwhile: {}; everything else goes on, from {}.", listed(shut, kNamed), from));
    return text;
}

}  // namespace

std::string drains_text(const Subject& subject, const Paint& paint, const std::vector<time::DrainAnswer>& answers) {
    std::string text;
    if (answers.size() <= kWhole) {
        for (const time::DrainAnswer& answer : answers) {
            text += DrainText(subject, paint, answer).whole();
        }
        return text;
    }
    Table table({{"", Align::left}, {"half left"}, {"drained"}, {"at most"}, {"stays"}, {"", Align::left}});
    const time::DrainAnswer* slowest = &answers.front();
    for (const time::DrainAnswer& answer : answers) {
        const DrainText one(subject, paint, answer);
        const bool drained = answer.stop == time::DrainStop::drained;
        table.add({one.name(), drained ? Speech::duration(answer.share_after_s[1]) : "-", drained ? Speech::duration(answer.drained_after_s) : "-",
                   subject.speech.flow(answer.peak_m3_s), answer.end_m3 > kLittleM3 ? subject.speech.volume(answer.end_m3) : "nothing",
                   drained ? std::string() : one.verdict()},
                  one.wrong() ? Ink::trouble : Ink::plain);
        const bool slower = drained && !(answer.drained_after_s <= slowest->drained_after_s);
        const bool trouble = one.wrong(), was = DrainText(subject, paint, *slowest).wrong();
        if (trouble != was ? trouble : slower) {
            slowest = &answer;
        }
    }
    const std::string& vessel = subject.layout.vessels[at(answers.front().vessel)].id;
    text += "\n" + paint(Ink::title, "Draining " + vessel) + "\n" + table.text(paint);
    return text + "\nThe slowest of them:\n" + DrainText(subject, paint, *slowest).whole();
}

}  // namespace ebb::cli
