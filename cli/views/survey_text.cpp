// `survey` for a person: what is wrong in some combination first, then what each vessel gets, two maps, levels, turnover, pumps, the worst.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <set>

#include "cli/views/page.h"
#include "cli/views/question_words.h"
#include "cli/views/sections.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using survey::Range;

constexpr std::size_t kPage = 100;

std::size_t widest_line(const std::string& text) {
    std::size_t widest = 0;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find('\n', begin), text.size());
        widest = std::max(widest, width_of(std::string_view(text).substr(begin, end - begin)));
        begin = end + 1;
    }
    return widest;
}

class SurveyText {
public:
    explicit SurveyText(const SurveyScene& scene)
        : scene_(scene), layout_(scene.subject.layout), statistics_(scene.statistics), speech_(scene.subject.speech), paint_(scene.subject.colour) {}
    std::string whole() const;

private:
    /// Names a combination in a cell; one that takes too many words by its number, to be spelled out below.
    std::string cell(std::uint64_t combination) const {
        constexpr std::size_t kEverything = 100;
        std::string words = combination_words(scene_, combination, kEverything);
        if (width_of(words) <= widest_) return words;
        numbered_.insert(combination);
        return fmt::format("number {}", grouped(combination));
    }
    std::string with(const survey::PlainExtreme& extreme) const { return extreme.there() ? cell(extreme.named.combination) : std::string(); }
    const std::string& id(std::size_t vessel) const { return layout_.vessels[vessel].id; }
    /// The table with as many words for combinations as the page has room for beside the figures.
    std::string fitted(const std::function<Table()>& make) const {
        const std::set<std::uint64_t> before = numbered_;
        std::string text;
        for (const std::size_t widest : {34U, 28U, 22U, 16U, 10U}) {
            widest_ = widest;
            numbered_ = before;
            text = make().text(paint_);
            if (widest_line(make().text(Paint(false))) <= kPage) break;
        }
        return text;
    }
    std::string title(const std::string& text) const { return "\n" + paint_(Ink::title, text) + '\n'; }
    std::string top() const;
    std::string targets() const;
    Table targets_table() const;
    std::string inflows() const;
    Table inflows_table(const std::vector<std::size_t>& rows) const;
    std::string levels() const;
    Table levels_table(const std::vector<std::size_t>& rows) const;
    std::string turnovers() const;
    Table turnovers_table(const std::vector<std::size_t>& rows) const;
    std::string pumps() const;
    std::string worst() const;
    Table worst_table() const;
    std::string worst_words(const settle::Answer& answer) const;
    std::string numbers() const;
    std::string notes() const;

    const SurveyScene& scene_;
    const layout::Layout& layout_;
    const survey::Statistics& statistics_;
    const Speech& speech_;
    Paint paint_;
    mutable std::set<std::uint64_t> numbered_;  ///< combinations that were named by their number
    mutable std::size_t widest_ = 34;           ///< of the words of a combination in a cell
};

std::string SurveyText::top() const {
    std::string text = paint_(Ink::title, layout_.name.empty() ? "A layout without a name" : layout_.name) + '\n';
    std::vector<std::string> names;
    for (const survey::Switch& one : scene_.question.switches) names.push_back(switch_id(layout_, one));
    const int most = scene_.question.at_most_off;
    const std::string which =
        most >= 0 && most < static_cast<int>(names.size())
            ? fmt::format("the {} combination{} with at most {} off", grouped(scene_.asked()), scene_.asked() == 1 ? "" : "s", most)
        : scene_.asked() == 2 ? std::string("both combinations")
                              : fmt::format("all {} combinations", grouped(scene_.asked()));
    text += title(fmt::format("Survey, '{}'", scene_.arrangement));
    text += wrapped("  ", with_full_stop(fmt::format("{} on and off: {}", in_few_words(names, 12), which)));
    if (!scene_.complete())
        say(text, paint_, Ink::trouble, fmt::format("Interrupted: what follows is of the first {} combinations alone.", grouped(statistics_.rows)));
    if (!scene_.again.agrees())
        say(text, paint_, Ink::trouble,
            with_full_stop("These figures are not to be trusted, which is a fault of this program: please report the layout. " +
                           again_sentence(scene_)));
    for (const std::string& sentence : survey_trouble(scene_)) say(text, paint_, Ink::trouble, with_full_stop(sentence));
    for (const std::string& sentence : survey_doubts(scene_)) say(text, paint_, Ink::doubt, with_full_stop(sentence));
    if (const std::string calm = survey_calm(scene_); !calm.empty()) say(text, paint_, Ink::good, with_full_stop(calm));
    return text;
}

std::string SurveyText::targets() const {
    const bool any = std::any_of(statistics_.targets.begin(), statistics_.targets.end(), [](const auto& target) { return target.missed.times > 0; });
    if (!any) return {};
    return title("Targets missed, of the combinations that ask for them") + fitted([this] { return targets_table(); });
}

Table SurveyText::targets_table() const {
    Table table({{"target", Align::left}, {"wanted", Align::left}, {"missed in"}, {"at worst", Align::right}, {"with", Align::left}});
    for (std::size_t t = 0; t < scene_.targets.size(); ++t) {
        const survey::TargetStatistics& target = statistics_.targets[t];
        if (target.missed.times == 0) continue;
        const survey::TargetColumn& column = scene_.targets[t];
        const std::string_view quantity = column.quantity;
        const auto figure = [&](double value) {
            return quantity == "turnover_s"    ? (std::isnan(value) ? "never" : Speech::duration(value))
                   : quantity == "inflow_m3_s" ? speech_.flow(value)
                                               : speech_.head(value);
        };
        table.add({target_about(layout_, column), fmt::format("{} or {}", figure(column.wanted), column.at_most ? "less" : "more"),
                   fmt::format("{} of {}", grouped(target.missed.times), grouped(target.missed.times + target.met)), figure(target.worst_got),
                   with(target.shortfall)},
                  Ink::trouble);
    }
    return table;
}

std::string SurveyText::inflows() const {
    std::vector<std::string> same, never;
    std::vector<std::size_t> rows;
    for (std::size_t v = 0; v < statistics_.vessels.size(); ++v) {
        const survey::Range& inflow = statistics_.vessels[v].inflow_m3_s;
        if (layout_.vessels[v].kind == layout::VesselKind::sump) continue;
        if (!has_inflow_row(scene_, v))
            never.push_back(id(v));
        else if (same_everywhere(inflow))
            same.push_back(fmt::format("{} {}", id(v), speech_.flow(inflow.plain_greatest.value)));
        else
            rows.push_back(v);
    }
    if (rows.empty() && same.empty() && never.empty()) return {};
    std::string text = title("What each vessel gets, while it is fed");
    if (!rows.empty()) text += fitted([&] { return inflows_table(rows); });
    if (!same.empty()) text += wrapped("  ", fmt::format("The same everywhere: {}.", listed(same, 8)));
    if (!never.empty()) text += wrapped("  ", fmt::format("Not fed in any of these combinations: {}.", in_few_words(never, 8)));
    return text;
}

Table SurveyText::inflows_table(const std::vector<std::size_t>& rows) const {
    Table table({{"", Align::left}, {"wants"}, {"all on"}, {"typical"}, {"least"}, {"with", Align::left}, {"greatest"}, {"with", Align::left}});
    for (const std::size_t v : rows) {
        const survey::VesselStatistics& vessel = statistics_.vessels[v];
        const double wants = layout_.vessels[v].inflow_m3_s;
        table.add({id(v), layout::said(wants) ? speech_.flow(wants) : "", speech_.flow(vessel.inflow_alone.back()),
                   speech_.flow(vessel.inflows().median()), speech_.flow(vessel.inflow_m3_s.plain_least.value), with(vessel.inflow_m3_s.plain_least),
                   speech_.flow(vessel.inflow_m3_s.plain_greatest.value), with(vessel.inflow_m3_s.plain_greatest)});
    }
    return table;
}

std::string SurveyText::levels() const {
    constexpr double kSeen_m = 0.001;
    std::vector<std::size_t> rows;
    std::vector<std::string> still;
    for (std::size_t v = 0; v < statistics_.vessels.size(); ++v) {
        const Range& depth = statistics_.vessels[v].depth_m;
        if (!depth.plain_least.there()) continue;
        if (depth.plain_greatest.value - depth.plain_least.value < kSeen_m && statistics_.vessels[v].below_least.times == 0)
            still.push_back(id(v));
        else
            rows.push_back(v);
    }
    if (rows.empty() && still.empty()) return {};
    std::string text = title("Depths of the water");
    if (!rows.empty()) text += fitted([&] { return levels_table(rows); });
    if (!still.empty())
        text += wrapped("  ", fmt::format("The same within 1 mm everywhere: {}{}.", in_few_words(still, 8),
                                          rows.empty() ? "" : "; --format json has the depths"));
    return text;
}

Table SurveyText::levels_table(const std::vector<std::size_t>& rows) const {
    Table table({{"", Align::left}, {"lowest"}, {"with", Align::left}, {"highest"}, {"with", Align::left}, {"to the rim"}});
    for (const std::size_t v : rows) {
        const survey::VesselStatistics& vessel = statistics_.vessels[v];
        const layout::Vessel& own = layout_.vessels[v];
        const bool low = vessel.below_least.times > 0;
        const bool shut =
            (scene_.combinations.off_at(vessel.depth_m.plain_least.named.combination) & scene_.counter.own_switches(v)) != 0;  // goes without saying
        table.add({id(v), shut && !low ? "" : speech_.height(vessel.depth_m.plain_least.value),
                   shut && !low ? "while shut off" : with(vessel.depth_m.plain_least), speech_.height(vessel.depth_m.plain_greatest.value),
                   with(vessel.depth_m.plain_greatest), speech_.height(own.rim_m - own.floor_m - vessel.depth_m.plain_greatest.value)},
                  vessel.spills.times > 0 || low ? Ink::trouble : Ink::plain);
    }
    return table;
}

std::string SurveyText::turnovers() const {
    std::vector<std::size_t> rows;
    for (std::size_t v = 0; v < statistics_.vessels.size(); ++v) {
        const layout::Vessel& own = layout_.vessels[v];
        const bool holds_water = own.kind != layout::VesselKind::bed && own.kind != layout::VesselKind::tier && own.kind != layout::VesselKind::sump;
        if (statistics_.vessels[v].turnover_s.plain_least.there() && (holds_water || layout::said(own.turnover_s))) rows.push_back(v);
    }
    if (rows.empty()) return {};
    return title("Turnover, while it is fed") + fitted([&] { return turnovers_table(rows); });
}

Table SurveyText::turnovers_table(const std::vector<std::size_t>& rows) const {
    Table table({{"", Align::left}, {"wants"}, {"quickest"}, {"with", Align::left}, {"slowest"}, {"with", Align::left}});
    for (const std::size_t v : rows) {
        const survey::VesselStatistics& vessel = statistics_.vessels[v];
        const layout::Vessel& own = layout_.vessels[v];
        const bool one = same_everywhere(vessel.turnover_s);
        table.add({id(v), layout::said(own.turnover_s) ? Speech::duration(own.turnover_s) : "", Speech::duration(vessel.turnover_s.plain_least.value),
                   one ? "the same everywhere" : with(vessel.turnover_s.plain_least),
                   one ? "" : Speech::duration(vessel.turnover_s.plain_greatest.value), one ? "" : with(vessel.turnover_s.plain_greatest)},
                  layout::said(own.turnover_s) && vessel.turnover_s.plain_greatest.value > own.turnover_s * (1.0 + 1e-9) ? Ink::trouble : Ink::plain);
    }
    return table;
}

std::string SurveyText::pumps() const {
    Table table({{"", Align::left}, {"runs in"}, {"moves"}, {"typical"}, {"lifts"}, {"takes"}, {"of best flow"}, {"< 70 %"}, {"> 120 %"}});
    bool any_best = false;
    for (std::size_t p = 0; p < statistics_.pumps.size(); ++p) {
        const survey::PumpStatistics& pump = statistics_.pumps[p];
        if (pump.runs.times == 0) continue;
        const bool best = pump.best_ratio.least.there();
        any_best = any_best || best;
        const auto share = [&](const survey::Tally& tally) { return best ? share_words(tally.times, pump.runs.times) : "-"; };
        const auto range = [](const Range& of, const auto& figure) {
            if (!of.least.there()) return std::string("-");
            const std::string low = figure(of.least.value), high = figure(of.greatest.value);
            return low == high ? low : low.substr(0, low.find(' ')) + " to " + high;
        };
        table.add({layout_.pumps[p].id, pump.runs.times == statistics_.rows ? "" : of_all(pump.runs.times, statistics_.rows),
                   range(pump.flow_m3_s, [&](double value) { return speech_.flow(value); }), speech_.flow(pump.flows.median()),
                   range(pump.head_m, [&](double value) { return speech_.head(value); }),
                   range(pump.power_w, [&](double value) { return speech_.power(value); }),
                   range(pump.best_ratio, [](double value) { return Speech::share(value); }), share(pump.below_best), share(pump.above_best)},
                  pump.nothing.times + pump.bare.times > 0            ? Ink::trouble
                  : pump.below_best.times + pump.above_best.times > 0 ? Ink::doubt
                                                                      : Ink::plain);
    }
    if (table.empty()) return {};
    std::string text = title("Pumps, while they run") + table.text(paint_);
    if (any_best)
        text += wrapped("  ", "The last two columns: in what share of those combinations it works below 70 and above 120 % of its best flow (common "
                              "practice to keep between).");
    return text;
}

std::string SurveyText::worst() const {
    if (statistics_.worst.empty()) return {};
    const std::uint64_t answered = statistics_.rows - statistics_.states[static_cast<std::size_t>(settle::State::no_solution)].times -
                                   statistics_.states[static_cast<std::size_t>(settle::State::not_run)].times;
    const std::uint64_t all = answered - statistics_.all_met.times;
    std::string heading = "The worst combinations";
    if (statistics_.worst.size() < all)
        heading += fmt::format(", {} of {} in which something is wrong (--worst N lists more)", statistics_.worst.size(), grouped(all));
    return title(heading) + fitted([this] { return worst_table(); });
}

Table SurveyText::worst_table() const {
    Table table({{"number"}, {"combination", Align::left}, {"misses"}, {"what is wrong", Align::left}});
    for (const survey::BadCombination& bad : statistics_.worst) {
        const auto found = scene_.again.answers.find(bad.combination);
        const std::string wrong = found == scene_.again.answers.end() ? std::string() : worst_words(found->second);
        table.add({grouped(bad.combination), cell(bad.combination), bad.missed > 0 ? counted(bad.missed, "target", "targets") : "-", wrong},
                  bad.runs_dry || bad.troubles > 0 ? Ink::trouble : Ink::plain);
    }
    return table;
}

/// "runs dry; B1 and B2 run over; PF draws air", and where there is nothing of that the target that is missed by most.
std::string SurveyText::worst_words(const settle::Answer& answer) const {
    constexpr std::size_t kShown = 2;
    std::vector<std::string> over, bare, breaks, says;
    for (const settle::Warning& warning : answer.warnings) {
        if (warning.code == "spills" || warning.code == "spilled-on-the-way") over.push_back(warning.about);
        if (warning.code == "intake-bare") bare.push_back(warning.about);
        if (warning.code == "below-vapour") breaks.push_back(warning.about);
    }
    if (answer.state == settle::State::spills_until_dry) says.emplace_back("a pump runs dry");
    if (!over.empty()) says.push_back(fmt::format("{} {} over", in_few_words(over, kShown), over.size() == 1 ? "runs" : "run"));
    if (!bare.empty()) says.push_back(fmt::format("{} {} air", in_few_words(bare, kShown), bare.size() == 1 ? "draws" : "draw"));
    if (!breaks.empty()) says.push_back("the line breaks at " + in_few_words(breaks, kShown));
    double greatest = -1.0;
    std::string lacks;
    for (const settle::Target& target : answer.targets) {
        if (!is_missed(answer, target)) continue;
        const double shortfall = survey::shortfall_of(target.at_most, target.wanted, target.got);
        if (shortfall > greatest) greatest = shortfall, lacks = sentence_of(target, speech_);
    }
    if (says.empty()) return lacks;
    std::string text = says.front();
    for (std::size_t i = 1; i < says.size(); ++i) text += "; " + says[i];
    return text;
}

std::string SurveyText::numbers() const {
    if (numbered_.empty()) return {};
    constexpr std::size_t kEverything = 100;
    std::string text = title("Combinations named by their number");
    const std::size_t wide = grouped(*numbered_.rbegin()).size();
    for (const std::uint64_t number : numbered_)
        text += wrapped(fmt::format("  {:>{}}  ", grouped(number), wide), combination_words(scene_, number, kEverything));
    return text;
}

std::string SurveyText::notes() const {
    std::string text = title("How to read this");
    for (const std::string& sentence : survey_notes(scene_)) text += wrapped("  - ", with_full_stop(sentence));
    if (const std::string sentence = again_sentence(scene_); !sentence.empty() && scene_.again.agrees())
        text += wrapped("  - ", with_full_stop(sentence));
    return text;
}

std::string SurveyText::whole() const {
    std::string text = top();
    if (statistics_.rows > 0) text += targets() + inflows() + survey_maps(scene_, paint_) + levels() + turnovers() + pumps() + worst();
    text += numbers();  // of what the tables above named
    if (statistics_.rows > 0) text += notes();
    return text + cautions_section(layout_, speech_, paint_);
}

}  // namespace

std::string survey_text(const SurveyScene& scene) { return SurveyText(scene).whole(); }

}  // namespace ebb::cli
