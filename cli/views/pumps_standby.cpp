#include "cli/views/pumps_standby.h"

#include <fmt/format.h>

#include <algorithm>

#include "cli/views/question_words.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// What one failure does, in few words; empty when it does nothing.
std::string does(const layout::Layout& layout, const PumpsWords& words, const choose::Failed& one) {
    const auto dry = [&](const std::string& id) {
        return std::any_of(one.without_water.begin(), one.without_water.end(), [&](std::int32_t v) { return layout.vessels[at(v)].id == id; });
    };
    std::vector<std::string> parts, unmet, bare;
    const settle::Target* first = nullptr;
    for (const settle::Target& target : one.unmet) {
        if (dry(target.about) || std::find(unmet.begin(), unmet.end(), target.about) != unmet.end()) continue;
        unmet.push_back(target.about);
        first = first == nullptr ? &target : first;
    }
    constexpr std::size_t kNamed = 6;
    if (!one.without_water.empty()) parts.push_back("no water for " + vessels_in_words(layout, one.without_water));
    if (unmet.size() == 1) parts.push_back(words.target(*first));
    if (unmet.size() > 1) parts.push_back(fmt::format("targets missed of {} ({})", in_few_words(unmet, kNamed), words.target(*first)));
    if (!one.spills.empty()) parts.push_back("water over the rim of " + vessels_in_words(layout, one.spills));
    for (const std::int32_t pump : one.bare) bare.push_back(layout.pumps[at(pump)].id);
    if (!bare.empty()) parts.push_back("runs dry: " + listed(bare, kNamed));
    if (one.state == settle::State::no_solution) parts.push_back("no balance was found");
    std::string text;
    for (const std::string& part : parts) text += (text.empty() ? "" : "; ") + part;
    return text;
}

std::string one_standby(const Subject& subject, const PumpsWords& words, const Paint& paint, const choose::Standby& standby) {
    const layout::Layout& layout = subject.layout;
    std::string text =
        "\n" + paint(Ink::title, standby.of_winners ? "When one pump stops, with the chosen pumps" : "When one pump stops, the farm as it is") + '\n';
    struct Same {
        std::string pump, harm;
        std::vector<std::string> arrangements;
    };
    std::vector<Same> all;  // what does the same harm is said once
    for (const choose::Failed& one : standby.cases) {
        if (!one.ran) continue;
        const std::string pump = one.left > 0 ? fmt::format("one of the {} of {}", one.left + 1, words.pump(one.pump)) : words.pump(one.pump);
        const std::string harm = does(layout, words, one);
        const auto known = std::find_if(all.begin(), all.end(), [&](const Same& other) { return other.pump == pump && other.harm == harm; });
        if (known == all.end())
            all.push_back({pump, harm, {words.arrangement(one.arrangement)}});
        else
            known->arrangements.push_back(words.arrangement(one.arrangement));
    }
    constexpr std::size_t kNamed = 8;
    for (const Same& one : all) {
        const std::string says =
            fmt::format("Without {} in {}: {}", one.pump, quoted_list(one.arrangements, kNamed), one.harm.empty() ? "every target holds" : one.harm);
        text += one.harm.empty() ? wrapped("  ", with_full_stop(says)) : paint(Ink::trouble, wrapped("! ", with_full_stop(says)));
    }
    std::vector<std::string> without;
    for (const std::int32_t pump : standby.without_check_valve) without.push_back(words.pump(pump));
    if (!without.empty()) {
        text +=
            paint(Ink::doubt, wrapped("? ", fmt::format("{} {} no check valve: water may run back through the one that stands, which is not in these "
                                                        "figures. Each pump of several needs one of its own.",
                                                        listed(without, kNamed), without.size() == 1 ? "has" : "have")));
    }
    return text;
}

}  // namespace

std::string failures_text(const Subject& subject, const PumpsWords& words, const Paint& paint, const choose::PumpsAnswer& answer) {
    std::string text;
    for (const choose::Standby& standby : answer.standby) text += one_standby(subject, words, paint, standby);
    return text;
}

}  // namespace ebb::cli
