#include "cli/words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "netfiles/words.h"

namespace ebb::cli {

std::string wish_of(const settle::Target& target) { return fmt::format("{} {} {}", target.quantity, target.at_most ? "<=" : ">=", target.wanted); }

std::string sentence_of(const settle::Target& target, const Speech& speech) {
    if (target.quantity == "turnover_s") {
        const std::string wanted = fmt::format("wanted {} or {}", speech.duration(target.wanted), target.at_most ? "less" : "more");
        constexpr double kTenYearsS = 3e8;
        if (!(target.got < kTenYearsS)) {
            return fmt::format("{} does not turn over, {}", target.about, wanted);
        }
        return fmt::format("{} turns over in {}, {}", target.about, speech.duration(target.got), wanted);
    }
    if (target.quantity == "inflow_m3_s") {
        const std::string wanted = fmt::format("wanted {} or {}", speech.flow(target.wanted), target.at_most ? "less" : "more");
        constexpr double kDropsM3S = 1e-9;  // 4 ml an hour
        const bool nothing = !(target.got > kDropsM3S);
        return nothing ? fmt::format("{} gets no water, {}", target.about, wanted)
                       : fmt::format("{} gets {}, {}", target.about, speech.flow(target.got), wanted);
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

std::size_t targets_missed(const settle::Answer& answer) {
    // A bed that cycles has no one figure to hold a target against: that is for the work on time to judge.
    return static_cast<std::size_t>(std::count_if(answer.targets.begin(), answer.targets.end(), [&](const settle::Target& target) {
        return !target.met && !(answer.state == settle::State::cycles && std::isnan(target.got));
    }));
}

bool wants_attention(const settle::Answer& answer, const std::vector<Finding>& found) {
    const bool trouble = std::any_of(found.begin(), found.end(), [](const Finding& finding) { return finding.weight == Weight::trouble; });
    return answer.state == settle::State::spills_until_dry || answer.state == settle::State::no_solution || targets_missed(answer) > 0 || trouble;
}

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
        if (!target.met) {
            wrong.push_back(sentence_of(target, speech));
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
    const std::string begin = answer.state == settle::State::settled ? "Settles" : "Solved at the drawn levels";
    if (answer.targets.empty()) {
        return begin + "; no targets are set";
    }
    return fmt::format("{}; {} met", begin, all_of(answer.targets.size(), "target", "targets"));
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
