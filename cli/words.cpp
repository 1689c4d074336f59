#include "cli/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <unordered_set>

#include "netfiles/words.h"

namespace ebb::cli {

std::string wish_of(const settle::Target& target) { return fmt::format("{} {} {}", target.quantity, target.at_most ? "<=" : ">=", target.wanted); }

namespace {

/// ": 0.3 % over" where a missed target and what comes read alike; nothing elsewhere.
std::string hair_apart(const settle::Target& target, const std::string& got, const std::string& wanted) {
    constexpr double kPercent = 100.0;
    if (target.met || got != wanted) return {};
    return fmt::format(": {:.2g} % {}", kPercent * std::abs(target.got / target.wanted - 1.0), target.at_most ? "over" : "short");
}

}  // namespace

std::string sentence_of(const settle::Target& target, const Speech& speech, bool about) {
    const char* roughly = about ? "about " : "";
    if (target.quantity == "turnover_s") {
        const std::string wanted = fmt::format("wanted {} or {}", speech.duration(target.wanted), target.at_most ? "less" : "more");
        constexpr double kTenYearsS = 3e8;
        if (!(target.got < kTenYearsS)) {
            return fmt::format("{} does not turn over, {}", target.about, wanted);
        }
        const std::string got = speech.duration(target.got);
        return fmt::format("{} turns over in {}{}, {}{}", target.about, roughly, got, wanted,
                           hair_apart(target, got, speech.duration(target.wanted)));
    }
    if (target.quantity == "inflow_m3_s") {
        const std::string wanted = fmt::format("wanted {} or {}", speech.flow(target.wanted), target.at_most ? "less" : "more");
        constexpr double kDropsM3S = 1e-9;  // 4 ml an hour
        const bool nothing = !(target.got > kDropsM3S);
        return nothing ? fmt::format("{} gets no water, {}", target.about, wanted)
                       : fmt::format("{} gets {}{}, {}{}", target.about, roughly, speech.flow(target.got), wanted,
                                     hair_apart(target, speech.flow(target.got), speech.flow(target.wanted)));
    }
    if (target.quantity == "pressure_m") {
        const std::string wanted = fmt::format("wanted {} or more", speech.head(target.wanted));
        return target.got < 0.0 ? fmt::format("{} is left {} short of any pressure, {}", target.about, speech.head(-target.got), wanted)
                                : fmt::format("{} has a pressure of {}{}, {}{}", target.about, roughly, speech.head(target.got), wanted,
                                              hair_apart(target, speech.head(target.got), speech.head(target.wanted)));
    }
    return fmt::format("{}: {}, got {}", target.about, wish_of(target), target.got);
}

std::string state_words(settle::State state) {
    switch (state) {
        case settle::State::settled: return "Settles";
        case settle::State::given_levels: return "At the drawn levels";
        case settle::State::cycles: return "Cycles";
        case settle::State::spills_until_dry: return "Spills until a pump runs dry";
        case settle::State::no_solution: return "No solution";
        case settle::State::not_run: break;
    }
    return "Not run";
}

bool is_missed(const settle::Answer& answer, const settle::Target& target) {
    // A bed that cycles has no one figure to hold a target against: that is for the work on time to judge.
    return target.asked && !target.met && !(answer.state == settle::State::cycles && std::isnan(target.got));
}

std::size_t targets_missed(const settle::Answer& answer) {
    return static_cast<std::size_t>(
        std::count_if(answer.targets.begin(), answer.targets.end(), [&](const settle::Target& target) { return is_missed(answer, target); }));
}

std::size_t targets_asked(const settle::Answer& answer) {
    return static_cast<std::size_t>(
        std::count_if(answer.targets.begin(), answer.targets.end(), [](const settle::Target& target) { return target.asked; }));
}

std::vector<std::string> shut_off_on_purpose(const settle::Answer& answer) {
    std::vector<std::string> names;
    for (const settle::Target& target : answer.targets) {
        if (!target.asked && (names.empty() || names.back() != target.about)) {  // the targets of a vessel follow one another
            names.push_back(target.about);
        }
    }
    return names;
}

bool every_pump_stopped(const settle::Answer& answer) {
    return !answer.pumps.empty() &&
           std::none_of(answer.pumps.begin(), answer.pumps.end(), [](const settle::PumpAnswer& pump) { return pump.running; });
}

std::vector<layout::Assumption> assumptions_in_use(const layout::Layout& layout) {
    std::unordered_set<std::string_view> unused;
    for (const layout::PumpModel& model : layout.pump_models) {
        unused.insert(model.name);
    }
    for (const layout::Pump& pump : layout.pumps) {
        unused.erase(pump.model_name);
    }
    std::vector<layout::Assumption> used;
    std::copy_if(layout.assumptions.begin(), layout.assumptions.end(), std::back_inserter(used), [&](const layout::Assumption& assumption) {
        const bool of_a_model = assumption.what.starts_with("shape of a pump curve");
        return !of_a_model || !unused.contains(assumption.about);
    });
    return used;
}

bool wants_attention(const settle::Answer& answer, const std::vector<Finding>& found) {
    const bool trouble = std::any_of(found.begin(), found.end(), [](const Finding& finding) { return finding.weight == Weight::trouble; });
    return answer.state == settle::State::spills_until_dry || answer.state == settle::State::no_solution || targets_missed(answer) > 0 || trouble;
}

namespace {

/// The headline of an answer in which nothing is wrong.
std::string calm_headline(const settle::Answer& answer) {
    const bool settled = answer.state == settle::State::settled;
    if (every_pump_stopped(answer)) {
        return settled ? "Every pump is stopped; the water rests" : "Every pump is stopped; solved at the drawn levels";
    }
    constexpr std::size_t kNamed = 3;
    const std::string begin = settled ? "Settles" : "Solved at the drawn levels";
    const std::size_t asked = targets_asked(answer);
    const std::vector<std::string> off = shut_off_on_purpose(answer);
    const std::string met = answer.targets.empty() ? "no targets are set"
                            : asked == 0           ? "no target is asked for here"
                                                   : all_of(asked, "target", "targets") + " met";
    return fmt::format("{}; {}", begin, met) + (off.empty() ? std::string() : "; shut off: " + in_few_words(off, kNamed));
}

}  // namespace

std::string headline(const settle::Answer& answer, const std::vector<Finding>& found, const Speech& speech) {
    if (answer.state == settle::State::spills_until_dry) {
        const auto spilling = std::find_if(found.begin(), found.end(), [](const Finding& finding) { return finding.code == "spills-until-dry"; });
        return spilling == found.end() ? state_words(answer.state) : spilling->says;
    }
    if (answer.state == settle::State::no_solution || answer.state == settle::State::cycles) {
        return answer.why.empty() ? state_words(answer.state) : fmt::format("{}: {}", state_words(answer.state), answer.why);
    }
    std::vector<std::string> wrong;
    for (const settle::Target& target : answer.targets) {
        if (is_missed(answer, target)) {
            wrong.push_back(sentence_of(target, speech, answer.rests_on_label));
        }
    }
    for (const Finding& finding : found) {
        if (finding.weight == Weight::trouble) {
            wrong.push_back(finding.says);
        }
    }
    if (!wrong.empty()) {
        return wrong.size() == 1 ? wrong.front() : fmt::format("{}; and {} more", wrong.front(), wrong.size() - 1);
    }
    return calm_headline(answer);
}

std::string counted(std::size_t count, std::string_view one, std::string_view many) { return fmt::format("{} {}", count, count == 1 ? one : many); }

std::string all_of(std::size_t count, std::string_view one, std::string_view many) {
    return count == 1 ? fmt::format("its one {}", one) : count == 2 ? fmt::format("both {}", many) : fmt::format("all {} {}", count, many);
}

std::string listed(const std::vector<std::string>& names, std::size_t shown) {
    std::string text;
    const std::size_t named = names.size() <= shown + 1 ? names.size() : shown;  // "and 1 more" is longer than the name
    for (std::size_t i = 0; i < named; ++i) {
        const bool last = i + 1 == names.size();
        text += i == 0 ? "" : last ? " and " : ", ";
        text += names[i];
    }
    return named == names.size() ? text : fmt::format("{} and {} more", text, names.size() - named);
}

namespace {

/// An id as a word and the number it ends with: "feed-T12" is {"feed-T", 12}; number -1 when there is none.
struct Numbered {
    std::string_view word;
    long number = -1;
};

Numbered numbered(std::string_view id) {
    constexpr std::size_t kMostDigits = 9;
    const std::size_t last = id.find_last_not_of("0123456789");
    const std::size_t begin = last == std::string_view::npos ? 0 : last + 1;
    const std::string_view digits = id.substr(begin);
    if (digits.empty() || digits.size() > kMostDigits || (digits.size() > 1 && digits.front() == '0')) {
        return {id, -1};
    }
    long number = 0;
    for (const char digit : digits) {
        number = 10 * number + (digit - '0');
    }
    return {id.substr(0, begin), number};
}

bool counts_on(std::string_view one, std::string_view next) {
    const Numbered a = numbered(one);
    const Numbered b = numbered(next);
    return a.number >= 0 && a.word == b.word && b.number == a.number + 1;
}

}  // namespace

std::string in_few_words(const std::vector<std::string>& ids, std::size_t shown) {
    std::vector<std::string> parts;
    std::vector<std::size_t> sizes;
    for (std::size_t begin = 0; begin < ids.size();) {
        std::size_t end = begin + 1;
        while (end < ids.size() && counts_on(ids[end - 1], ids[end])) {
            ++end;
        }
        if (end - begin > 2) {
            parts.push_back(fmt::format("{} to {}", ids[begin], ids[end - 1]));
            sizes.push_back(end - begin);
        } else {
            parts.push_back(ids[begin]);
            sizes.push_back(1);
            end = begin + 1;
        }
        begin = end;
    }
    if (parts.size() <= shown + 1) {
        return listed(parts, parts.size());
    }
    std::size_t named = 0;
    std::string text;
    for (std::size_t i = 0; i < shown; ++i) {
        text += (i == 0 ? "" : ", ") + parts[i];
        named += sizes[i];
    }
    return fmt::format("{} and {} more", text, ids.size() - named);
}

std::string quoted_list(std::vector<std::string> names, std::size_t shown) {
    for (std::string& name : names) {
        name = fmt::format("'{}'", name);
    }
    return listed(names, shown);
}

std::string with_full_stop(std::string sentence) {
    if (!sentence.empty() && sentence.back() != '.' && sentence.back() != '?') {
        sentence.push_back('.');
    }
    return sentence;
}

std::string nearest_name(const std::string& wanted, const std::vector<std::string>& known) {
    constexpr std::size_t kLongestCompared = 200;  // the work grows with the product of the lengths
    std::vector<std::string_view> candidates;
    for (const std::string& name : known) {
        if (name.size() <= kLongestCompared) {
            candidates.emplace_back(name);
        }
    }
    return wanted.size() <= kLongestCompared ? netfiles::nearest_word(wanted, candidates) : std::string();
}

}  // namespace ebb::cli
