// Arrangements and routines.

#include <algorithm>
#include <array>
#include <utility>

#include "netfiles/reading.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

using layout::Act;

struct ActRule {
    std::string_view element;
    Act act;
    std::string_view about;  ///< the attribute that names the thing
    std::string_view value;  ///< the attribute that holds the share
};
constexpr std::array kActs = {
    ActRule{"open", Act::open, "valve", ""},    ActRule{"close", Act::close, "valve", ""}, ActRule{"throttle", Act::throttle, "valve", "to"},
    ActRule{"run", Act::run, "pump", "speed"},  ActRule{"stop", Act::stop, "pump", ""},    ActRule{"fit", Act::fit, "standpipe", ""},
    ActRule{"load", Act::load, "filter", "to"},
};

layout::Setting read_setting(const Element& element) {
    const ActRule& rule = *std::ranges::find(kActs, element.name(), &ActRule::element);
    layout::Setting setting;
    setting.act = rule.act;
    setting.place = element.place();
    setting.about_id = element.text(rule.about);
    if (!rule.value.empty()) {
        setting.value = element.number(rule.value, rule.act == Act::run ? 1.0 : layout::kNotSaid);
    }
    setting.insert = rule.act == Act::fit ? element.text("insert") : std::string{};
    return setting;
}

/// Exactly one of these attributes names the thing that is acted on.
std::string_view only_one_of(const Element& element, std::span<const std::string_view> names) {
    std::string_view found;
    for (const std::string_view name : names) {
        if (!element.has(name)) {
            continue;
        }
        if (!found.empty()) {
            element.complain("two-verbs",
                             "<" + std::string(element.name()) + "> says both " + std::string(found) + "= and " + std::string(name) + "=",
                             "keep one of them", name);
            return found;
        }
        found = name;
    }
    if (found.empty() && element.sound()) {
        std::string list;
        for (const std::string_view name : names) {
            list += (list.empty() ? "" : ", ") + std::string(name) + "=";
        }
        element.complain("no-verb", "<" + std::string(element.name()) + "> does not say what it acts on", "write one of " + list + " with a label");
    }
    return found;
}

layout::Timer read_timer(const Element& element) {
    constexpr std::array<std::string_view, 2> kVerbs = {"opens", "runs"};
    layout::Timer timer;
    timer.place = element.place();
    const std::string_view found = only_one_of(element, kVerbs);
    timer.about_id = element.text(found);
    timer.about.kind = found == "runs" ? layout::Kind::pump : layout::Kind::valve;
    timer.every_s = element.number("every");
    timer.for_s = element.number("for");
    timer.after_s = element.number("after", 0.0);
    return timer;
}

layout::Rotation read_rotation(const Element& element) {
    layout::Rotation rotation;
    rotation.place = element.place();
    const std::string list = element.text("opens");
    for (const std::string_view word : split_words(list)) {
        rotation.valve_ids.emplace_back(word);
    }
    rotation.each_s = element.number("each");
    return rotation;
}

struct SwitchVerb {
    std::string_view verb, release_above, release_below;
    bool turns_off;
};
constexpr std::array kSwitchVerbs = {
    SwitchVerb{"stops", "restarts-above", "restarts-below", true},
    SwitchVerb{"starts", "stops-above", "stops-below", false},
    SwitchVerb{"closes", "reopens-above", "reopens-below", true},
    SwitchVerb{"opens", "closes-above", "closes-below", false},
};

/// The thresholds: one of below= and above=, and the release on the other side of it that belongs to the verb.
void read_thresholds(const Element& element, const SwitchVerb& verb, layout::LevelSwitch& level_switch) {
    const bool below = element.has("below");
    const bool above = element.has("above");
    if (below == above) {
        element.complain("switch-thresholds",
                         std::string("the level-switch says ") + (below ? "both below= and above=" : "neither below= nor above="),
                         "write the depth at which it acts as one of them", below ? "above" : "");
        return;
    }
    const std::string_view release = below ? verb.release_above : verb.release_below;
    for (const AttributeRule& attribute : element.rule().attributes) {
        const bool threshold = attribute.name.find("-above") != std::string_view::npos || attribute.name.find("-below") != std::string_view::npos;
        if (threshold && attribute.name != release && element.has(attribute.name)) {
            element.complain("switch-thresholds",
                             std::string(attribute.name) + "= does not go with " + std::string(verb.verb) + "= and " + (below ? "below=" : "above="),
                             "write " + std::string(release) + "= instead", attribute.name);
            return;
        }
    }
    if (!element.has(release)) {
        element.complain("switch-thresholds", "the level-switch does not say when it goes back", "write " + std::string(release) + "=\"0.30 m\"");
        return;
    }
    const double acts = element.number(below ? "below" : "above");
    const double releases = element.number(release);
    if (below ? releases <= acts : releases >= acts) {
        element.complain("switch-thresholds",
                         std::string(release) + "= must be " + (below ? "more" : "less") + " than " + (below ? "below=" : "above="),
                         "leave a few centimetres between the two, or it chatters", release);
        return;
    }
    level_switch.below_m = below ? acts : releases;
    level_switch.above_m = below ? releases : acts;
    level_switch.stops_below = verb.turns_off == below;
}

layout::LevelSwitch read_level_switch(const Element& element) {
    constexpr std::array<std::string_view, 4> kVerbs = {"stops", "starts", "closes", "opens"};
    layout::LevelSwitch level_switch;
    level_switch.place = element.place();
    level_switch.watches_id = element.text("watches");
    const std::string_view found = only_one_of(element, kVerbs);
    level_switch.about_id = element.text(found);
    const auto* const verb = std::ranges::find(kSwitchVerbs, found, &SwitchVerb::verb);
    if (verb != kSwitchVerbs.end() && element.sound()) {
        level_switch.about.kind = found == "stops" || found == "starts" ? layout::Kind::pump : layout::Kind::valve;
        read_thresholds(element, *verb, level_switch);
    }
    return level_switch;
}

layout::Draw read_draw(const Element& element) {
    layout::Draw draw;
    draw.place = element.place();
    draw.from_id = element.text("from");
    draw.into_id = element.text("into");
    draw.volume_m3 = element.number("volume");
    draw.at_s = element.number("at");
    draw.over_s = element.number("over");
    draw.every_s = element.number("every");
    return draw;
}

layout::Failure read_failure(const Element& element) {
    layout::Failure failure;
    failure.place = element.place();
    failure.pump_id = element.text("of");
    failure.at_s = element.number("at");
    failure.for_s = element.number("for");
    return failure;
}

/// The lines of an arrangement or a change that nothing is wrong with.
std::vector<layout::Setting> read_settings(Reading& reading, const Element& element) {
    std::vector<layout::Setting> settings;
    for (const pugi::xml_node& child : element.children()) {
        const Element line(reading.context, child, element.file(), *find_element(child.name()), element.about());
        (void)line.children();
        if (line.sound()) {
            settings.push_back(read_setting(line));
        }
    }
    return settings;
}

void read_change(Reading& reading, layout::Routine& routine, const Element& element) {
    layout::Change change;
    change.place = element.place();
    change.settings = read_settings(reading, element);
    change.at_s = element.number("at");
    if (element.sound() && !change.settings.empty()) {
        routine.changes.push_back(std::move(change));
    }
}

void read_happening(layout::Routine& routine, const Element& element) {
    const std::string_view name = element.name();
    if (name == "timer") {
        routine.timers.push_back(read_timer(element));
    } else if (name == "rotation") {
        routine.rotations.push_back(read_rotation(element));
    } else if (name == "level-switch") {
        routine.level_switches.push_back(read_level_switch(element));
    } else if (name == "power-cut") {
        routine.power_cuts.push_back({element.place(), element.number("at"), element.number("for")});
    } else if (name == "draw") {
        routine.draws.push_back(read_draw(element));
    } else if (name == "failure") {
        routine.failures.push_back(read_failure(element));
    } else {
        layout::Uptake uptake;
        uptake.place = element.place();
        uptake.from_id = element.text("from");
        uptake.rate_m3_s = element.number("rate");
        routine.uptakes.push_back(std::move(uptake));
    }
}

}  // namespace

void read_arrangement(Reading& reading, const Element& element) {
    layout::Arrangement arrangement;
    arrangement.name = element.text("name");
    arrangement.place = element.place();
    arrangement.based_on = element.text("based-on");
    arrangement.at_start_levels = element.is("levels", "start");
    arrangement.settings = read_settings(reading, element);
    reading.layout.arrangements.push_back(std::move(arrangement));
}

void read_routine(Reading& reading, const Element& element) {
    layout::Routine routine;
    routine.name = element.text("name");
    routine.place = element.place();
    routine.arrangement_name = element.text("arrangement");
    routine.lasts_s = element.number("lasts", routine.lasts_s);
    routine.from_settled = element.is("from", "settled");
    for (const pugi::xml_node& child : element.children()) {
        const Element happening(reading.context, child, element.file(), *find_element(child.name()), element.about());
        if (happening.name() == "change") {
            read_change(reading, routine, happening);
            continue;
        }
        (void)happening.children();
        if (happening.sound()) {
            read_happening(routine, happening);
        }
    }
    reading.layout.routines.push_back(std::move(routine));
}

}  // namespace ebb::netfiles
