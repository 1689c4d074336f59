// `pipes` for a person: what was chosen and what it costs, how sure that is, then the sizes, what is tightest, and what more would cost.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/money.h"
#include "cli/views/page.h"
#include "cli/views/pipes_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

class PipesText {
public:
    explicit PipesText(const PipesScene& scene)
        : notes_(scene.notes), layout_(scene.subject.layout), speech_(scene.subject.speech), answer_(scene.answer), words_(scene),
          paint_(scene.subject.colour) {}

    std::string text() const {
        std::string page = paint_(Ink::title, layout_.name.empty() ? "A layout without a name" : layout_.name) + '\n';
        if (answer_.result.found) page += told(words_.times(), Weight::trouble);
        page += answer_.result.found ? verdict() + told(words_.findings(), Weight::trouble) : nothing_found();
        if (answer_.result.found) page += told(words_.findings(), Weight::doubt) + told(words_.times(), Weight::doubt);
        for (const std::string& note : notes_) page += paint_(Ink::doubt, wrapped("? ", with_full_stop(note)));
        if (answer_.result.found) page += sizes() + tightest() + money_section() + enlargements() + trade_off();
        return page + cautions();
    }

private:
    std::string title(const char* words) const { return "\n" + paint_(Ink::title, words) + '\n'; }

    std::string told(const std::vector<Finding>& found, Weight weight) const {
        std::string text;
        for (const Finding& one : found) {
            if (one.weight != weight) continue;
            const bool trouble = weight == Weight::trouble;
            text += paint_(trouble ? Ink::trouble : Ink::doubt, wrapped(trouble ? "! " : "? ", with_full_stop(one.says)));
        }
        return text;
    }

    std::string choices_counted() const { return counted(answer_.problem.choices.size(), "size", "sizes"); }

    std::string verdict() const {
        const choose::Verdict& chosen = answer_.result.verdict;
        const std::size_t wanted = static_cast<std::size_t>(
            std::count_if(chosen.judgements.begin(), chosen.judgements.end(), [](const choose::Judgement& one) { return !one.is_limit; }));
        std::string text = paint_(Ink::good, wrapped("  ", fmt::format("The cheapest sizes{} that {} cost {}{}: {}.", answer_.proven ? "" : " found",
                                                                       wanted > 0 ? meets() : "keep every limit", words_.money(chosen.total_cost),
                                                                       energy_too(), words_.against_drawn())));
        text += wrapped("  ", words_.bound());
        text += in_time();
        text += wrapped("  ", fmt::format("To choose: {}; {}.", choices_counted(), words_.effort()));
        if (answer_.stopped) text += paint_(Ink::doubt, wrapped("? ", "The search was stopped: these are the best sizes found until then."));
        if (!chosen.power_known) {
            text += paint_(Ink::doubt, wrapped("? ", "A running pump has no power curve: its energy is not in the cost."));
        }
        return text + as_drawn();
    }

    /// What the times of the beds did to the choice.
    std::string in_time() const {
        const choose::TimesKept& times = answer_.times;
        if (times.chosen.empty() || std::any_of(times.chosen.begin(), times.chosen.end(), [](const choose::BedInTime& one) { return !one.met; }))
            return {};
        const std::string kept =
            fmt::format("In the routines the beds fill and drain in time ({} looked at)", counted(times.chosen.size(), "time", "times"));
        if (!layout::said(times.cost_without)) return wrapped("  ", with_full_stop(kept));
        return wrapped("  ",
                       fmt::format("{}; without that, sizes at {} would do. More water was asked for the beds until they filled in time; what other "
                                   "ways to that could save is not proved.",
                                   kept, words_.money(times.cost_without)));
    }

    const char* meets() const {
        const auto& beds = answer_.times.chosen;
        const bool late = std::any_of(beds.begin(), beds.end(), [](const choose::BedInTime& one) { return !one.met; });
        return late ? "meet every other target and keep every limit" : "meet every target and keep every limit";
    }

    std::string energy_too() const {
        return answer_.result.verdict.total_cost > answer_.result.verdict.pipes_cost
                   ? fmt::format(" with {:.3g} years of energy", answer_.problem.costing.years)
                   : std::string();
    }

    std::string as_drawn() const {
        const choose::Verdict& drawn = answer_.drawn;
        std::string text;
        for (const choose::BedInTime& bed : answer_.times.drawn)
            if (!bed.met) text += paint_(Ink::doubt, wrapped("? ", fmt::format("As drawn, {}.", words_.bed(bed))));
        if (drawn.allowed && text.empty()) return wrapped("  ", fmt::format("What is drawn meets them too, at {}.", words_.money(drawn.total_cost)));
        if (!drawn.solved && drawn.unsolved >= 0) {
            text += paint_(Ink::doubt, wrapped("? ", fmt::format("What is drawn has no settled state in '{}'.", words_.arrangement(drawn.unsolved))));
        }
        constexpr std::size_t kShown = 5;
        std::size_t missed = 0;
        for (const choose::Judgement& one : drawn.judgements) {
            if (one.met || ++missed > kShown) continue;
            text += paint_(Ink::doubt, wrapped("? ", fmt::format("As drawn, {}.", words_.judgement(one))));
        }
        if (missed > kShown) text += fmt::format("  and {} more as drawn: --format json lists them all.\n", missed - kShown);
        return text;
    }

    std::string nothing_found() const {
        const bool given_up = answer_.stopped || !answer_.proven;
        std::string text = paint_(Ink::trouble, wrapped("! ", given_up ? "No choice of sizes was found that meets every target and keeps every limit."
                                                                       : "No choice of sizes meets every target and keeps every limit."));
        constexpr std::size_t kShown = 8;
        const std::vector<std::string> says = words_.infeasible();
        for (std::size_t i = 0; i < std::min(kShown, says.size()); ++i) text += paint_(Ink::trouble, wrapped("! ", with_full_stop(says[i])));
        if (says.size() > kShown) text += fmt::format("  and {} more: --format json lists them all.\n", says.size() - kShown);
        if (answer_.stopped) text += paint_(Ink::doubt, wrapped("? ", "The search was stopped before its end."));
        return text + wrapped("  ", fmt::format("To choose: {}; {}.", choices_counted(), words_.effort()));
    }

    /// What is drawn, as the reader knows it: by the name of the size, else by its bore.
    std::string drawn_words(const choose::ChosenSize& size) const {
        if (!size.changed) return "as drawn";
        return size.drawn_size.empty() ? speech_.bore(size.drawn_bore_m) : size.drawn_size;
    }

    std::string sizes() const {
        const bool several = answer_.problem.arrangements.size() > 1;
        Table table({{"what", Align::left},
                     {"size", Align::right},
                     {"drawn", Align::right},
                     {"length", Align::right},
                     {"cost", Align::right},
                     {"flow", Align::right},
                     {"velocity", Align::right},
                     {"full", Align::right},
                     {"at most in", Align::left}});
        for (const choose::ChosenSize& size : answer_.sizes) {
            const choose::Choice& choice = answer_.problem.choices[size.choice];
            const bool group = choice.pipes.size() > 1;
            const std::int32_t worst_in = layout::said(size.fill_ratio) ? size.fullest_in : size.quickest_in;
            const std::int32_t worst = layout::said(size.fill_ratio) ? size.fullest_pipe : size.quickest_pipe;
            std::string where = several && worst_in >= 0 ? fmt::format("'{}'", words_.arrangement(worst_in)) : "";
            if (group && worst >= 0) where += (where.empty() ? "" : ", ") + layout_.pipes[at(worst)].id;
            table.add({group ? fmt::format("{} ({} pipes)", choice.name, choice.pipes.size()) : choice.name, words_.size_name(choice, size.option),
                       drawn_words(size), speech_.length(size.length_m), words_.money(size.cost), speech_.flow(size.flow_m3_s),
                       speech_.velocity(size.velocity_m_s), layout::said(size.fill_ratio) ? Speech::share(size.fill_ratio) : "", where});
        }
        return title("Sizes") + table.text(paint_);
    }

    std::string tightest() const {
        const auto& all = answer_.result.verdict.judgements;
        constexpr std::size_t kShown = 3;
        constexpr double kNear = 0.5;  // a limit with more to spare is not tight,
        constexpr double kFar = 1.0;   // nor a target with more
        std::string text;
        for (const bool limit : {false, true}) {
            std::size_t shown = 0;
            for (const choose::Judgement& one : all) {
                if (one.is_limit != limit || !std::isfinite(one.margin) || one.margin > (limit ? kNear : kFar) || ++shown > kShown) continue;
                text += wrapped("  - ", fmt::format("{}: {} to spare.", words_.judgement(one), percent(one.margin)));
            }
        }
        return text.empty() ? text : title("What is tightest") + text;
    }

    static std::string percent(double margin) {
        constexpr double kPercent = 100.0;
        return fmt::format("{:.{}f} %", kPercent * margin, std::abs(margin) < 0.1 ? 1 : 0);
    }

    std::string money_section() const {
        const choose::Verdict& chosen = answer_.result.verdict;
        const choose::Verdict& drawn = answer_.drawn;
        if (!(chosen.energy_a_year_kwh > 0.0)) return {};
        Table table({{"", Align::left}, {"chosen", Align::right}, {"drawn", Align::right}});
        table.add({"pipes", words_.money(chosen.pipes_cost), words_.money(drawn.pipes_cost)});
        const double price = answer_.problem.costing.price_per_kwh;
        const auto energy = [](const choose::Verdict& one) { return one.solved ? fmt::format("{:.0f} kWh", one.energy_a_year_kwh) : "-"; };
        table.add({"energy a year", energy(chosen), energy(drawn)});
        table.add({"cost of it a year", words_.money(chosen.energy_a_year_kwh * price),
                   drawn.solved ? words_.money(drawn.energy_a_year_kwh * price) : "-"});
        table.add({"all, over the years", words_.money(chosen.total_cost), drawn.solved ? words_.money(drawn.total_cost) : "-"});
        return title("Money") + table.text(paint_) + wrapped("  ", costing_in_words(answer_.problem.costing, layout_.economy.currency));
    }

    std::string enlargements() const {
        if (answer_.enlargements.empty()) {
            if (answer_.stopped || !std::isfinite(answer_.result.verdict.targets_margin)) return {};
            return title("To enlarge next") + wrapped("  ", "No single larger size gives the worst target more to spare within the limits.");
        }
        constexpr std::size_t kShown = 5;
        Table table({{"what", Align::left}, {"to", Align::right}, {"costs", Align::right}, {"the worst target then has", Align::right}});
        const double base = answer_.result.verdict.targets_margin;
        for (std::size_t i = 0; i < std::min(kShown, answer_.enlargements.size()); ++i) {
            const choose::Enlargement& one = answer_.enlargements[i];
            const choose::Choice& choice = answer_.problem.choices[one.choice];
            table.add({choice.name, words_.size_name(choice, one.option), words_.money(one.more_cost),
                       fmt::format("{} to spare", percent(base + one.more_margin))});
        }
        return title("To enlarge next, the most for the money first") + table.text(paint_);
    }

    std::string trade_off() const {
        if (answer_.trade_off.empty()) return {};
        Table table(
            {{"every target has", Align::left}, {"costs", Align::right}, {"against above", Align::right}, {"sizes that differ", Align::left}});
        for (const choose::TradeOffPoint& point : answer_.trade_off) {
            const std::string wanted = point.margin == 0.0  ? "just what it wants"
                                       : point.margin < 0.0 ? fmt::format("{} missing at most", percent(-point.margin))
                                                            : fmt::format("{} to spare", percent(point.margin));
            if (!point.found) {
                table.add({wanted + " or more", "not to be had", "", ""});
                break;  // nor is more
            }
            const double more = point.verdict.total_cost - answer_.result.verdict.total_cost;
            const bool same = point.design == answer_.result.design;
            table.add({wanted, words_.money(point.verdict.total_cost), same ? "the same" : (more > 0.0 ? "+" : "") + words_.money(more),
                       same ? "" : differing(point.design)});
        }
        return title("What more to spare costs") + table.text(paint_);
    }

    std::string differing(const choose::Design& design) const {
        constexpr std::size_t kNamed = 4;
        std::vector<std::string> names;
        for (std::size_t c = 0; c < design.size(); ++c)
            if (design[c] != answer_.result.design[c])
                names.push_back(fmt::format("{} {}", answer_.problem.choices[c].name, words_.size_name(answer_.problem.choices[c], design[c])));
        return listed(names, kNamed);
    }

    std::string cautions() const {
        return cautions_section(layout_, speech_, paint_) +
               wrapped(
                   "  - ",
                   "Sizes are chosen for steady flow alone. The pressure class of the pipe, water hammer, supports and the slope and venting that "
                   "the local plumbing code asks of drains are for those licensed to judge them.");
    }

    const std::vector<std::string>& notes_;
    const layout::Layout& layout_;
    const Speech& speech_;
    const choose::SizingAnswer& answer_;
    PipesWords words_;
    Paint paint_;
};

}  // namespace

std::string pipes_text(const PipesScene& scene) { return PipesText(scene).text(); }

}  // namespace ebb::cli
