#include "netfiles/everyday.h"

#include <algorithm>
#include <array>
#include <utility>

namespace ebb::netfiles {
namespace {

/// Small letters, without blanks, hyphens, underscores and points between letters: "Grow-Bed", "grow_bed" and "growbed" are one word.
std::string folded(std::string_view word) {
    std::string text;
    for (const char c : word.substr(0, 60)) {
        if (c == ' ' || c == '-' || c == '_') {
            continue;
        }
        text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return text;
}

struct ElementWord {
    std::string_view written;
    std::string_view ours;    ///< the element meant: it must fit where the word stands
    std::string_view advice;  ///< what to write
};
constexpr std::string_view kElbow = "write <fitting kind=\"elbow-90\" count=\"1\"/> (or elbow-45)";
constexpr std::string_view kTeeInPipe =
    "write <fitting kind=\"tee-run\"/> or <fitting kind=\"tee-branch\"/>; where pipes join, a <tee> beside the pipes";
constexpr std::string_view kSumpOrTank = "write <sump> for the low vessel pumps draw from, <tank> for one with fish";
constexpr std::array kElementWords = {
    ElementWord{"growbed", "bed", "did you mean <bed>?"},
    ElementWord{"mediabed", "bed", "did you mean <bed>?"},
    ElementWord{"gravelbed", "bed", "did you mean <bed>?"},
    ElementWord{"planter", "bed", "write <bed> for one with media, <trough> for rafts"},
    ElementWord{"raft", "trough", "did you mean <trough>?"},
    ElementWord{"raftbed", "trough", "did you mean <trough>?"},
    ElementWord{"dwc", "trough", "did you mean <trough>?"},
    ElementWord{"deepwaterculture", "trough", "did you mean <trough>?"},
    ElementWord{"channel", "trough", "did you mean <trough>?"},
    ElementWord{"gutter", "trough", "did you mean <trough>?"},
    ElementWord{"fishtank", "tank", "did you mean <tank>?"},
    ElementWord{"aquarium", "tank", "did you mean <tank>?"},
    ElementWord{"reservoir", "sump", kSumpOrTank},
    ElementWord{"barrel", "sump", kSumpOrTank},
    ElementWord{"drum", "sump", kSumpOrTank},
    ElementWord{"cistern", "sump", kSumpOrTank},
    ElementWord{"sumptank", "sump", "did you mean <sump>?"},
    ElementWord{"tray", "tier", "did you mean <tier>?"},
    ElementWord{"shelf", "tier", "did you mean <tier>?"},
    ElementWord{"lake", "pond", "did you mean <pond>?"},
    ElementWord{"river", "pond", "did you mean <pond>?"},
    ElementWord{"hose", "pipe", "did you mean <pipe>?"},
    ElementWord{"tube", "pipe", "did you mean <pipe>?"},
    ElementWord{"line", "pipe", "did you mean <pipe>?"},
    ElementWord{"manifold", "tee", "write a <tee> for each branch, with a <pipe> from one to the next"},
    ElementWord{"sprinkler", "nozzle", "did you mean <nozzle>?"},
    ElementWord{"dripper", "nozzle", "did you mean <nozzle>?"},
    ElementWord{"tap", "supply", "write <supply> for the mains; for a valve, <valve> inside its pipe"},
    ElementWord{"mains", "supply", "did you mean <supply>?"},
    ElementWord{"faucet", "supply", "write <supply> for the mains; for a valve, <valve> inside its pipe"},
    ElementWord{"overflow", "standpipe", "did you mean <standpipe>?"},
    ElementWord{"bellsiphon", "siphon", "did you mean <siphon>?"},
    ElementWord{"autosiphon", "siphon", "did you mean <siphon>?"},
    ElementWord{"biofilter", "filter", "did you mean <filter>?"},
    ElementWord{"outage", "power-cut", "did you mean <power-cut>?"},
    ElementWord{"blackout", "power-cut", "did you mean <power-cut>?"},
    ElementWord{"breakdown", "failure", "did you mean <failure>?"},
    ElementWord{"evaporation", "uptake", "did you mean <uptake>?"},
    ElementWord{"harvest", "draw", "did you mean <draw>?"},
    ElementWord{"floatswitch", "level-switch", "did you mean <level-switch>?"},
    ElementWord{"schedule", "routine", "did you mean <routine>?"},
    ElementWord{"elbow", "fitting", kElbow},
    ElementWord{"bend", "fitting", kElbow},
    ElementWord{"elbow90", "fitting", kElbow},
    ElementWord{"elbow45", "fitting", "write <fitting kind=\"elbow-45\" count=\"1\"/>"},
    ElementWord{"tee", "fitting", kTeeInPipe},
    ElementWord{"checkvalve", "valve", "write <valve id=\"V1\" kind=\"check\"/>"},
    ElementWord{"ballvalve", "valve", "write <valve id=\"V1\" kind=\"ball\"/>"},
    ElementWord{"gatevalve", "valve", "write <valve id=\"V1\" kind=\"gate\"/>"},
    ElementWord{"valve", "throttle", "write <open valve=\"V1\"/>, <close valve=\"V1\"/> or <throttle valve=\"V1\" to=\"50 %\"/>"},
    ElementWord{"pump", "run", "write <run pump=\"P1\"/>, <run pump=\"P1\" speed=\"80 %\"/> or <stop pump=\"P1\"/>"},
    ElementWord{"standpipe", "fit", "write <fit standpipe=\"ST\" insert=\"tall\"/>"},
    ElementWord{"filter", "load", "write <load filter=\"F1\" to=\"100 %\"/>"},
    ElementWord{"start", "run", "did you mean <run>?"},
    ElementWord{"shut", "close", "did you mean <close>?"},
};

struct AttributeWord {
    std::string_view written;
    std::string_view element;  ///< empty: wherever `ours` is an attribute
    std::string_view ours;
    std::string_view advice;  ///< empty: "did you mean ...?"
};
constexpr std::string_view kPumpCurve =
    "a pump names its model: model=\"small\", with <pump-model name=\"small\" greatest-flow=\"3 m3/h\" greatest-head=\"3 m\"/> beside it";
constexpr std::string_view kSetValve = "how a valve stands is said in an arrangement: <throttle valve=\"V1\" to=\"50 %\"/>";
constexpr std::array kAttributeWords = {
    AttributeWord{"depth", "", "start-depth", ""},
    AttributeWord{"waterdepth", "", "start-depth", ""},
    AttributeWord{"startlevel", "", "start-depth", ""},
    AttributeWord{"level", "", "start-depth", "write start-depth=, above its own floor"},
    AttributeWord{"height", "", "rim", "write rim=, its elevation above the datum, as floor= is"},
    AttributeWord{"top", "", "rim", ""},
    AttributeWord{"bottom", "", "floor", ""},
    AttributeWord{"elevation", "", "floor", "write floor= and rim=, both above the datum"},
    AttributeWord{"porosity", "", "void-fraction", ""},
    AttributeWord{"voids", "", "void-fraction", ""},
    AttributeWord{"volume", "", "start-depth", "write its plan, diameter= or length= and width=, or a table of <volume at= is=/> inside it"},
    AttributeWord{"diameter", "", "bore", ""},
    AttributeWord{"insidediameter", "", "bore", ""},
    AttributeWord{"id", "", "name", ""},
    AttributeWord{"name", "", "id", ""},
    AttributeWord{"label", "", "id", ""},
    AttributeWord{"start", "", "from", ""},
    AttributeWord{"end", "", "to", ""},
    AttributeWord{"schedule", "", "series", "write series=\"schedule-40\""},
    AttributeWord{"material", "", "series", ""},
    AttributeWord{"type", "", "kind", ""},
    AttributeWord{"k", "", "loss", ""},
    AttributeWord{"quantity", "", "count", ""},
    AttributeWord{"number", "", "count", ""},
    AttributeWord{"flow", "pump", "model", kPumpCurve},
    AttributeWord{"head", "pump", "model", kPumpCurve},
    AttributeWord{"power", "pump", "model", "the power is said in the points of the pump-model: <point flow= head= power=/>"},
    AttributeWord{"speed", "pump", "model", "its speed is said in an arrangement: <run pump=\"P1\" speed=\"80 %\"/>"},
    AttributeWord{"flow", "pump-model", "greatest-flow", ""},
    AttributeWord{"head", "pump-model", "greatest-head", ""},
    AttributeWord{"maxflow", "pump-model", "greatest-flow", ""},
    AttributeWord{"maxhead", "pump-model", "greatest-head", ""},
    AttributeWord{"open", "valve", "id", kSetValve},
    AttributeWord{"opening", "valve", "id", kSetValve},
    AttributeWord{"open", "throttle", "to", ""},
    AttributeWord{"opening", "throttle", "to", ""},
    AttributeWord{"duration", "routine", "lasts", ""},
    AttributeWord{"length", "routine", "lasts", ""},
    AttributeWord{"duration", "draw", "over", ""},
    AttributeWord{"duration", "", "for", ""},
    AttributeWord{"period", "", "every", ""},
    AttributeWord{"interval", "", "every", ""},
    AttributeWord{"time", "", "at", ""},
    AttributeWord{"amount", "", "volume", ""},
    AttributeWord{"valve", "timer", "opens", ""},
    AttributeWord{"pump", "timer", "runs", ""},
    AttributeWord{"pump", "failure", "of", ""},
    AttributeWord{"height", "insert", "lip", ""},
    AttributeWord{"height", "tee", "elevation", ""},
    AttributeWord{"temperature", "site", "water-temperature", ""},
};

bool all_digits(std::string_view text) {
    return !text.empty() && std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; });
}

}  // namespace

std::string_view everyday_element(std::string_view word, const ElementRule& parent) {
    const std::string wanted = folded(word);
    const auto found =
        std::ranges::find_if(kElementWords, [&](const ElementWord& entry) { return entry.written == wanted && may_hold(parent, entry.ours); });
    return found == kElementWords.end() ? std::string_view{} : found->advice;
}

std::string everyday_attribute(std::string_view word, const ElementRule& element) {
    const std::string wanted = folded(word);
    const auto find_for = [&](std::string_view element_name) {
        return std::ranges::find_if(kAttributeWords, [&](const AttributeWord& entry) {
            return entry.written == wanted && entry.element == element_name && find_attribute(element, entry.ours) != nullptr;
        });
    };
    const auto* own = find_for(element.name);
    const auto* const found = own == kAttributeWords.end() ? find_for("") : own;
    if (found == kAttributeWords.end()) {
        return {};
    }
    return found->advice.empty() ? "did you mean " + std::string(found->ours) + "?" : std::string(found->advice);
}

std::string everyday_series(std::string_view word) {
    std::string_view rest;
    const std::string text = folded(word);
    for (const std::string_view beginning : {"pvc", "upvc"}) {
        if (text.starts_with(beginning)) {
            rest = std::string_view(text).substr(beginning.size());
        }
    }
    if (rest.empty()) {
        rest = text;
    }
    for (const auto& [written, ours] : {std::pair<std::string_view, std::string_view>{"schedule", "schedule-"},
                                        {"sched", "schedule-"},
                                        {"sch.", "schedule-"},
                                        {"sch", "schedule-"},
                                        {"pn", "pvc-pn"}}) {
        if (rest.starts_with(written) && all_digits(rest.substr(written.size()))) {
            return std::string(ours) + std::string(rest.substr(written.size()));
        }
    }
    return {};
}

std::string everyday_size(std::string_view word) {
    std::string text(word.substr(0, 60));
    std::ranges::replace(text, ' ', '-');  // "1 1/2 in" is "1-1/2 in" of the series
    for (const std::string_view ending : {"inches", "inch", "in", "\"", "''"}) {
        if (text.ends_with(ending)) {
            text.resize(text.size() - ending.size());
            while (text.ends_with('-')) {
                text.pop_back();
            }
            for (const auto& [decimal, fraction] : {std::pair<std::string_view, std::string_view>{".25", "-1/4"}, {".5", "-1/2"}, {".75", "-3/4"}}) {
                if (text.ends_with(decimal)) {
                    text = text.substr(0, text.size() - decimal.size());
                    text = text.empty() || text == "0" ? std::string(fraction.substr(1)) : text + std::string(fraction);
                }
            }
            return text + " in";
        }
    }
    return {};
}

std::string_view everyday_fitting(std::string_view word) {
    const std::string text = folded(word);
    if (text == "elbow" || text == "90" || text == "90elbow" || text == "bend" || text == "ell") {
        return "write \"elbow-90\", \"elbow-45\" or \"bend-long\"";
    }
    if (text == "tee" || text == "t") {
        return "write \"tee-run\" where the water goes straight on, \"tee-branch\" where it turns";
    }
    return {};
}

}  // namespace ebb::netfiles
