// Arrangements: names, chains of based-on, and lines that contradict each other. The lines of a routine's changes are held to the same.

#include <algorithm>
#include <unordered_map>

#include "solver/layout/checks.h"
#include "solver/layout/nearest.h"

namespace ebb::layout {
namespace {

constexpr double kGreatestSpeed = 1.5;  // as the language has it

struct ActWords {
    std::string_view element, attribute;
    Kind kind;
};

ActWords words_of(Act act) {
    switch (act) {
        case Act::open: return {"open", "valve", Kind::valve};
        case Act::close: return {"close", "valve", Kind::valve};
        case Act::throttle: return {"throttle", "valve", Kind::valve};
        case Act::run: return {"run", "pump", Kind::pump};
        case Act::stop: return {"stop", "pump", Kind::pump};
        case Act::fit: return {"fit", "standpipe", Kind::standpipe};
        case Act::load: return {"load", "filter", Kind::filter};
    }
    return {};
}

std::string share_text(const Setting& setting) {
    switch (setting.act) {
        case Act::open: return "opens it";
        case Act::close: return "shuts it";
        case Act::throttle: return "throttles it to " + figure(setting.value * 100.0) + " %";
        case Act::run: return said(setting.value) ? "runs it at " + figure(setting.value * 100.0) + " %" : "runs it";
        case Act::stop: return "stops it";
        case Act::fit: return "fits " + in_quotes(setting.insert);
        case Act::load: return "loads it to " + figure(setting.value * 100.0) + " %";
    }
    return {};
}

void check_insert(Checks& checks, const Setting& setting, const Speaker& speaker) {
    const Standpipe& standpipe = checks.layout.standpipes[static_cast<std::size_t>(setting.about.index)];
    if (std::ranges::find(standpipe.inserts, setting.insert, &Insert::name) != standpipe.inserts.end()) {
        return;
    }
    std::vector<std::string_view> names;
    for (const Insert& insert : standpipe.inserts) {
        names.push_back(insert.name);
    }
    const std::string near = nearest_word(setting.insert, names);
    checks.add({"unknown-insert", speaker.about, "standpipe " + standpipe.id + " has no insert called " + in_quotes(setting.insert),
                near.empty() ? "it has " + join_labels(names, "and") : "did you mean " + in_quotes(near) + "?", "insert"},
               setting.place, standpipe.place);
}

/// Openings, loads and speeds of layouts made in C++; the reader of files has looked at its own.
void check_share(Checks& checks, const Setting& setting, const Speaker& speaker) {
    const bool share = setting.act == Act::throttle || setting.act == Act::load;
    if (!share && !(setting.act == Act::run && said(setting.value))) {
        return;
    }
    const double greatest = share ? 1.0 : kGreatestSpeed;
    if (!(setting.value >= 0.0 && setting.value <= greatest)) {
        const std::string_view attribute = share ? "to" : "speed";
        checks.add({"out-of-bounds", speaker.about,
                    speaker.words + ": " + std::string(attribute) + "= of " + setting.about_id + " is not possible: it must be from 0 to " +
                        figure(greatest * 100.0) + " %",
                    "write a share from 0 to " + figure(greatest * 100.0) + " %", std::string(attribute)},
                   setting.place);
    }
}

/// Follows based-on from each arrangement; every chain is walked once.
void check_chains(Checks& checks, const std::unordered_map<std::string_view, std::size_t>& by_name) {
    enum class Mark : std::uint8_t { fresh, on_the_way, done };
    std::vector<Mark> marks(checks.layout.arrangements.size(), Mark::fresh);
    for (std::size_t start = 0; start < marks.size(); ++start) {
        std::vector<std::size_t> way;
        std::size_t at = start;
        while (marks[at] == Mark::fresh) {
            marks[at] = Mark::on_the_way;
            way.push_back(at);
            const Arrangement& here = checks.layout.arrangements[at];
            const auto next = by_name.find(here.based_on);
            if (here.based_on.empty() || next == by_name.end()) {
                break;
            }
            at = next->second;
            if (marks[at] == Mark::on_the_way) {
                const Arrangement& last = checks.layout.arrangements[way.back()];
                checks.add({"based-on-circle", last.name,
                            "arrangement " + in_quotes(last.name) + " is based on " + in_quotes(last.based_on) + ", which is based on it in turn",
                            "let one of them stand on its own", "based-on"},
                           last.place, checks.layout.arrangements[at].place);
            }
        }
        for (const std::size_t index : way) {
            marks[index] = Mark::done;
        }
    }
}

}  // namespace

void check_settings(Checks& checks, std::vector<Setting>& settings, const Speaker& speaker, SettingsSaid& said_before) {
    for (Setting& setting : settings) {
        const ActWords words = words_of(setting.act);
        setting.about = checks.resolve(setting.about_id, {words.kind}, {speaker.about, speaker.element, words.attribute, setting.place});
        if (setting.about.kind == Kind::none) {
            continue;
        }
        if (setting.act == Act::fit) {
            check_insert(checks, setting, speaker);
        }
        check_share(checks, setting, speaker);
        const auto [found, fresh] = said_before.try_emplace(setting.about_id, &setting);
        const std::string one = share_text(*found->second);
        const std::string other = share_text(setting);
        if (!fresh && one != other) {
            checks.add({"contradiction", speaker.about,
                        speaker.words + " says two things of " + setting.about_id + ": one line " + one + ", another " + other,
                        "keep one of the lines"},
                       setting.place, found->second->place);
        }
    }
}

void check_arrangements(Checks& checks) {
    std::unordered_map<std::string_view, std::size_t> by_name;
    std::vector<std::string_view> names;
    for (std::size_t i = 0; i < checks.layout.arrangements.size(); ++i) {
        const Arrangement& arrangement = checks.layout.arrangements[i];
        const auto [found, fresh] = by_name.try_emplace(arrangement.name, i);
        names.push_back(arrangement.name);
        if (!fresh) {
            checks.add({"name-twice", arrangement.name, "two arrangements are called " + in_quotes(arrangement.name), "give one of them another name",
                        "name"},
                       arrangement.place, checks.layout.arrangements[found->second].place);
        }
    }
    for (Arrangement& arrangement : checks.layout.arrangements) {
        const auto base = by_name.find(arrangement.based_on);
        arrangement.base = arrangement.based_on.empty() || base == by_name.end() ? -1 : static_cast<std::int32_t>(base->second);
        if (!arrangement.based_on.empty() && !by_name.contains(arrangement.based_on)) {
            const std::string near = nearest_word(arrangement.based_on, names);
            checks.add({"unknown-arrangement", arrangement.name,
                        "arrangement " + in_quotes(arrangement.name) + " is based on " + in_quotes(arrangement.based_on) + ", which is not there",
                        near.empty() || near == arrangement.name ? "there are " + join_labels(names, "and") : "did you mean " + in_quotes(near) + "?",
                        "based-on"},
                       arrangement.place);
        }
        SettingsSaid said_before;
        check_settings(checks, arrangement.settings, {arrangement.name, "arrangement", "arrangement " + in_quotes(arrangement.name)}, said_before);
    }
    check_chains(checks, by_name);
}

}  // namespace ebb::layout
