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
    std::vector<std::string> parts, unmet;
    for (const settle::Target& target : one.unmet)
        if (std::find(unmet.begin(), unmet.end(), target.about) == unmet.end()) unmet.push_back(target.about);
    constexpr std::size_t kNamed = 6;
    if (!unmet.empty()) {
        const auto worst = std::find_if(one.unmet.begin(), one.unmet.end(), [&](const settle::Target& target) {
            return std::none_of(one.without_water.begin(), one.without_water.end(),
                                [&](std::int32_t v) { return layout.vessels[at(v)].id == target.about; });
        });
        parts.push_back("unmet: " + in_few_words(unmet, kNamed) + (worst == one.unmet.end() ? "" : " (" + words.target(*worst) + ")"));
    }
    if (!one.without_water.empty()) parts.push_back("no water: " + vessels_in_words(layout, one.without_water));
    if (!one.spills.empty()) parts.push_back("water over the rim: " + vessels_in_words(layout, one.spills));
    std::vector<std::string> bare;
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
    std::vector<std::string> harmless;
    for (const choose::Failed& one : standby.cases) {
        if (!one.ran) continue;
        const std::string left = one.left > 0 ? fmt::format("one of the {} of {}", one.left + 1, words.pump(one.pump)) : words.pump(one.pump);
        const std::string where = fmt::format("{} in '{}'", left, words.arrangement(one.arrangement));
        const std::string harm = does(layout, words, one);
        if (harm.empty()) {
            harmless.push_back(where);
        } else {
            text += paint(Ink::trouble, wrapped("! ", with_full_stop(where + ": " + harm)));
        }
    }
    constexpr std::size_t kNamed = 4;
    if (!harmless.empty()) text += wrapped("  ", with_full_stop("Every target holds without " + listed(harmless, kNamed)));
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
