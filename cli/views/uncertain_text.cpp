// `flows --uncertain` for a person: between what and what each figure lies, and what to measure to know better.

#include <fmt/format.h>

#include <cmath>
#include <functional>

#include "cli/views/survey_view.h"
#include "cli/views/uncertain.h"
#include "cli/words.h"
#include "solver/survey/row.h"

namespace ebb::cli {
namespace {

using survey::Spread;
using survey::UncertainAnswer;

constexpr double kDrops_m3_s = 1e-9;

/// A target met less often than not is trouble; less often than in 95 of 100 cases, a doubt.
constexpr double kRather = 0.5, kNearlySure = 0.95;

class UncertainText {
public:
    UncertainText(const Subject& subject, const UncertainAnswer& unsure, const Paint& paint)
        : subject_(subject), layout_(subject.layout), unsure_(unsure), paint_(paint) {}

    std::string top() const;
    std::string targets() const;
    std::string inflows() const;
    std::string depths() const;
    std::string pumps() const;
    std::string pipes() const;
    std::string measure() const;

private:
    using Say = std::function<std::string(double)>;

    static Table table(const char* first) { return Table({{first, Align::left}, {"5 %"}, {"middle"}, {"95 %"}, {"moved most by", Align::left}}); }
    std::string title(const std::string& text) const { return "\n" + paint_(Ink::title, text) + '\n'; }
    std::string causes(const Spread& spread, std::size_t most = survey::kMostCauses) const {
        constexpr double kWorthAWord = 0.15;
        constexpr double kNearlyAll = 0.7;
        std::string text;
        for (const survey::Cause& cause : spread.causes) {
            if (!text.empty() && (cause.share < kWorthAWord || --most == 0)) break;
            text += (text.empty() ? "" : ", ") + words_of(layout_, unsure_.uncertainties[cause.uncertainty], subject_.speech) + ' ' +
                    Speech::share(cause.share);
            if (cause.share > kNearlyAll) break;
        }
        return text;
    }
    void add(Table& table, const std::string& name, const Spread& spread, const Say& say) const {
        if (std::isnan(spread.middle)) return;
        table.add({name, say(spread.low), say(spread.middle), say(spread.high), say(spread.low) == say(spread.high) ? "" : causes(spread)});
    }
    Say flow() const {
        return [this](double value) { return subject_.speech.flow(value); };
    }
    Say height() const {
        return [this](double value) { return subject_.speech.height(value); };
    }
    static std::string duration(double seconds) { return std::isinf(seconds) ? "never" : Speech::duration(seconds); }
    /// A share; of few samples their number, which would else be 0 %.
    std::string share_of_samples(std::size_t times) const {
        constexpr std::size_t kFew = 100;
        if (times * kFew < unsure_.solved) return fmt::format("{} of {}", grouped(times), grouped(unsure_.solved));
        return Speech::share(static_cast<double>(times) / static_cast<double>(unsure_.solved));
    }

    const Subject& subject_;
    const layout::Layout& layout_;
    const UncertainAnswer& unsure_;
    const Paint& paint_;
};

std::string UncertainText::top() const {
    std::string text = title("How sure");
    text +=
        wrapped("  ", fmt::format("Solved {} times, each time with everything that is not known exactly a little different: 90 of 100 times a figure "
                                  "lies between the columns 5 % and 95 %. Behind a name: its share in what is unsure of the figure.",
                                  grouped(unsure_.samples)));
    const auto say = [&](Ink ink, const std::string& sentence) { text += paint_(ink, wrapped(ink == Ink::trouble ? "! " : "? ", sentence)); };
    if (unsure_.solved < unsure_.samples) {
        say(Ink::trouble, fmt::format("{} of {} times there is no settled state; the figures are of the others.",
                                      grouped(unsure_.samples - unsure_.solved), grouped(unsure_.samples)));
    }
    if (unsure_.solved == 0) return text;
    if (unsure_.spills > 0) say(Ink::trouble, fmt::format("In {} of the samples water goes over a rim.", share_of_samples(unsure_.spills)));
    if (unsure_.bare > 0) say(Ink::trouble, fmt::format("In {} of the samples a pump draws air.", share_of_samples(unsure_.bare)));
    const auto tees = [&](std::size_t survey::TeeSpread::*samples) {
        std::vector<std::string> ids;
        for (std::size_t t = 0; t < unsure_.tees.size(); ++t)
            if (unsure_.tees[t].*samples > 0) ids.push_back(layout_.tees[t].id);
        return in_few_words(ids, 3);
    };
    if (unsure_.breaks > 0)
        say(Ink::trouble,
            fmt::format("In {} of the samples the water at {} would hang lower than any can: the line breaks there, and the flows through it "
                        "are not to be had.",
                        share_of_samples(unsure_.breaks), tees(&survey::TeeSpread::breaks)));
    if (unsure_.vacuum > 0)
        say(Ink::doubt, fmt::format("In {} of the samples the water at {} hangs below the pressure of the air: air gathers there.",
                                    share_of_samples(unsure_.vacuum), tees(&survey::TeeSpread::vacuum)));
    if (unsure_.below_least > 0)
        say(Ink::doubt, fmt::format("In {} of the samples a vessel stands below its least depth.", share_of_samples(unsure_.below_least)));
    return text;
}

std::string UncertainText::targets() const {
    Table table({{"target", Align::left}, {"wanted"}, {"met in"}, {"5 %"}, {"middle"}, {"95 %"}, {"moved most by", Align::left}});
    const std::vector<survey::TargetColumn> columns = survey::targets_of(layout_);
    for (std::size_t t = 0; t < columns.size(); ++t) {
        const survey::TargetSpread& target = unsure_.targets[t];
        if (target.asked == 0) continue;
        const std::string_view quantity = columns[t].quantity;
        const Say say = quantity == "turnover_s"    ? Say(&duration)
                        : quantity == "inflow_m3_s" ? flow()
                                                    : Say([this](double value) { return subject_.speech.head(value); });
        const std::string& id = columns[t].vessel >= 0 ? layout_.vessels[static_cast<std::size_t>(columns[t].vessel)].id
                                                       : layout_.tees[static_cast<std::size_t>(columns[t].tee)].id;
        const char* const what = quantity == "turnover_s" ? " turnover" : quantity == "inflow_m3_s" ? " inflow" : " pressure";
        const double share = static_cast<double>(target.met) / static_cast<double>(target.asked);
        const std::string met = target.met == target.asked ? "all" : target.met == 0 ? "none" : fmt::format("{:.1f} %", 100.0 * share);
        table.add({id + what, say(columns[t].wanted), met, say(target.got.low), say(target.got.middle), say(target.got.high), causes(target.got, 1)},
                  share < kRather       ? Ink::trouble
                  : share < kNearlySure ? Ink::doubt
                                        : Ink::plain);
    }
    return table.empty() ? std::string() : title("Targets, of which share of the times they are met") + table.text(paint_);
}

std::string UncertainText::inflows() const {
    Table table = UncertainText::table("");
    for (std::size_t v = 0; v < unsure_.vessels.size(); ++v)
        if (unsure_.vessels[v].inflow_m3_s.high > kDrops_m3_s) add(table, layout_.vessels[v].id, unsure_.vessels[v].inflow_m3_s, flow());
    return table.empty() ? std::string() : title("What flows into each vessel") + table.text(paint_);
}

std::string UncertainText::depths() const {
    Table table = UncertainText::table("");
    for (std::size_t v = 0; v < unsure_.vessels.size(); ++v) add(table, layout_.vessels[v].id, unsure_.vessels[v].depth_m, height());
    return table.empty() ? std::string() : title("Depths") + table.text(paint_);
}

std::string UncertainText::pumps() const {
    Table table = UncertainText::table("");
    for (std::size_t p = 0; p < unsure_.pumps.size(); ++p) {
        const survey::PumpSpread& pump = unsure_.pumps[p];
        if (std::isnan(pump.head_m.middle)) continue;  // at rest
        const std::string& id = layout_.pumps[p].id;
        add(table, id + " moves", pump.flow_m3_s, flow());
        add(table, id + " lifts", pump.head_m, [this](double value) { return subject_.speech.head(value); });
        add(table, id + " takes", pump.power_w, [this](double value) { return subject_.speech.power(value); });
    }
    return table.empty() ? std::string() : title("Pumps") + table.text(paint_);
}

std::string UncertainText::pipes() const {
    constexpr std::size_t kShown = 200;
    Table table({{"", Align::left}, {"5 %"}, {"middle"}, {"95 %"}});
    std::size_t more = 0;
    for (std::size_t p = 0; p < unsure_.pipe_flow_m3_s.size(); ++p) {
        const Spread& spread = unsure_.pipe_flow_m3_s[p];
        if (std::isnan(spread.middle) || std::max(std::abs(spread.low), std::abs(spread.high)) <= kDrops_m3_s) continue;
        if (table.size() >= kShown) {
            ++more;
            continue;
        }
        table.add({layout_.pipes[p].id, subject_.speech.flow(spread.low), subject_.speech.flow(spread.middle), subject_.speech.flow(spread.high)});
    }
    if (table.empty()) return {};
    return title("Flows in pipes and drains") + table.text(paint_) +
           (more > 0 ? fmt::format("  and {} more: --format json lists them all.\n", more) : "");
}

std::string UncertainText::measure() const {
    if (unsure_.measure.empty()) return {};
    Table table({{"", Align::left}, {"share", Align::right}, {"as said", Align::left}});
    for (const survey::Cause& cause : unsure_.measure) {
        const survey::Uncertainty& one = unsure_.uncertainties[cause.uncertainty];
        table.add({words_of(layout_, one, subject_.speech), Speech::share(cause.share), one.assumed ? "assumed" : "by the layout"});
    }
    return title("What to measure to know better") + table.text(paint_) +
           wrapped("  ", "Share: of what is unsure of the targets (without targets: of the inflows), on average.");
}

}  // namespace

std::string uncertain_section(const Subject& subject, const UncertainAnswer* unsure, const Paint& paint, bool compact) {
    if (unsure == nullptr) {
        return "\n" + paint(Ink::title, "How sure") + '\n' +
               wrapped("  ", "Not asked: there is no settled state whose figures could be more or less sure.");
    }
    const UncertainText text(subject, *unsure, paint);
    if (unsure->solved == 0) return text.top();
    return text.top() + text.targets() + text.inflows() + text.depths() + text.pumps() + (compact ? std::string() : text.pipes()) + text.measure();
}

}  // namespace ebb::cli
