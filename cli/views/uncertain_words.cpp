// What is not known exactly, in words.

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "cli/views/uncertain.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

using survey::Unsure;

const std::string& id_of(const layout::Layout& layout, Unsure what, std::int32_t thing) {
    const auto i = static_cast<std::size_t>(thing);
    switch (what) {
        case Unsure::pump_head: return layout.pumps[i].id;
        case Unsure::start_depth: return layout.vessels[i].id;
        case Unsure::pond_level: return layout.ponds[i].id;
        case Unsure::filter_load: return layout.filters[i].id;
        default: return layout.pipes[i].id;
    }
}

const char* property(Unsure what) {
    switch (what) {
        case Unsure::pump_head: return "head of";
        case Unsure::start_depth: return "start depth of";
        case Unsure::pond_level: return "level of";
        case Unsure::roughness: return "roughness of";
        case Unsure::hazen_williams: return "C of";
        case Unsure::bore: return "bore of";
        case Unsure::filter_load: return "load of";
        case Unsure::losses: break;
    }
    return "local losses of";
}

/// The kind of thing a line of the basis speaks of, in the plural.
const char* kind_words(Unsure what) {
    switch (what) {
        case Unsure::pump_head: return "heads of pumps";
        case Unsure::start_depth: return "depths at the start";
        case Unsure::pond_level: return "levels of ponds";
        case Unsure::roughness: return "roughness of pipe walls";
        case Unsure::hazen_williams: return "Hazen-Williams C";
        case Unsure::bore: return "bores";
        case Unsure::filter_load: return "loads of filters";
        case Unsure::losses: break;
    }
    return "losses of fittings, valves and ends";
}

std::string plus_minus_words(const survey::Uncertainty& one, const Speech& speech) {
    const bool length = one.what == Unsure::start_depth || one.what == Unsure::pond_level;
    return "+/- " + (length ? speech.height(one.plus_minus) : fmt::format("{:.3g} %", 100.0 * one.plus_minus));
}

}  // namespace

std::string words_of(const layout::Layout& layout, const survey::Uncertainty& one, const Speech& speech) {
    const std::string begin = std::string(property(one.what)) + ' ';
    if (one.things.size() == 1) {
        return begin + id_of(layout, one.what, one.things.front());
    }
    const layout::Pipe& first = layout.pipes[static_cast<std::size_t>(one.things.front())];
    const std::string count = counted(one.things.size(), "pipe", "pipes");
    if (first.series.empty()) {
        return begin + count + (one.what == Unsure::bore ? " of " + speech.bore(first.bore_m) : std::string(" without a series"));
    }
    return begin + (one.what == Unsure::bore ? first.size + ' ' : std::string()) + first.series + " (" + count + ")";
}

std::string uncertain_basis(const Subject& subject, const survey::UncertainAnswer& unsure, const Paint& paint) {
    struct Line {
        std::size_t unknowns = 0;
        std::vector<std::string> ids;
    };
    std::map<std::tuple<Unsure, bool, double>, Line> lines;
    for (const survey::Uncertainty& one : unsure.uncertainties) {
        Line& line = lines[{one.what, one.assumed, one.plus_minus}];
        ++line.unknowns;
        for (const std::int32_t thing : one.things) {
            line.ids.push_back(id_of(subject.layout, one.what, thing));
        }
    }
    std::string text = "\n" + paint(Ink::title, "What was taken as not known exactly") + '\n';
    Table table({{"", Align::left}, {"in 95 of 100 cases", Align::left}, {"unknowns"}, {"says", Align::left}, {"of", Align::left}});
    for (const auto& [key, line] : lines) {
        const auto& [what, assumed, plus_minus] = key;
        survey::Uncertainty one;
        one.what = what;
        one.plus_minus = plus_minus;
        table.add({kind_words(what), plus_minus_words(one, subject.speech), std::to_string(line.unknowns), assumed ? "assumed" : "the layout",
                   in_few_words(line.ids, 3)});
    }
    text += table.text(paint);
    const auto assumed = [&](auto which) {
        return std::any_of(unsure.uncertainties.begin(), unsure.uncertainties.end(), [&](const auto& one) { return one.assumed && which(one.what); });
    };
    if (assumed([](Unsure) { return true; })) {
        const bool pumps = assumed([](Unsure what) { return what == Unsure::pump_head; });
        text += wrapped("  ", std::string("Assumed: common practice") +
                                  (pumps ? "; heads of pumps that have a curve as in acceptance grade 2B of ISO 9906:2012 (from memory)" : "") +
                                  ". Write <plus-minus roughness=\"50 %\" .../> in the layout to say better.");
    }
    return text + wrapped("  ", "Shares are factors: 25 % is 1/1.25 to 1.25 times.");
}

}  // namespace ebb::cli
