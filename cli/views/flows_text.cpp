// `flows` for a person: what is wrong first, then levels, minutes and litres, then pressures. With several arrangements a summary
// comes first; what holds for all of them (assumptions, cautions) comes once, at the end.

#include <fmt/format.h>

#include <algorithm>

#include "cli/views/page.h"
#include "cli/views/sections.h"
#include "cli/views/settings.h"
#include "cli/views/uncertain.h"
#include "cli/views/view.h"
#include "cli/words.h"
#include "solver/layout/layout.h"

namespace ebb::cli {
namespace {

class FlowsText final : public FlowsView {
public:
    FlowsText(const Subject& subject, Output& output) : subject_(subject), paint_(subject.colour), output_(output) {}

    void begin() override {
        const layout::Layout& farm = subject_.layout;
        output_.write(paint_(Ink::title, farm.name.empty() ? "A layout without a name" : farm.name) + '\n');
    }

    void show(const settle::Answer& answer, const std::vector<Finding>& found, const survey::UncertainAnswer* unsure) override {
        const std::string says = headline(answer, found, subject_.speech);
        const bool wrong = wants_attention(answer, found);
        summary_.push_back({answer.name, targets_cell(answer), says, wrong});
        if (subject_.arrangements == 1) {
            output_.write(details(answer, found) + how_sure(unsure));
        } else {
            details_.push_back(details(answer, found) + how_sure(unsure));
        }
    }

    void end() override {
        if (subject_.arrangements > 1) {
            output_.write(summary());
            for (const std::string& text : details_) {
                output_.write(text);
            }
        }
        output_.write(basis_);
        output_.write(compact() ? more_section() : assumptions_section(subject_.layout, subject_.speech, paint_));
        output_.write(cautions_section(subject_.layout, subject_.speech, paint_));
    }

private:
    struct Line {
        std::string name, targets, says;
        bool wrong = false;
    };

    /// Of several arrangements only what a grower needs of each; of one, everything.
    bool compact() const { return subject_.arrangements > 1 && !subject_.everything; }

    static std::string targets_cell(const settle::Answer& answer) {
        const std::size_t asked = targets_asked(answer);
        return asked == 0 ? std::string(answer.targets.empty() ? "" : "-") : fmt::format("{} of {}", asked - targets_missed(answer), asked);
    }

    /// And what that rests on, which is the same for all arrangements and comes after them.
    std::string how_sure(const survey::UncertainAnswer* unsure) {
        if (!subject_.uncertain) {
            return {};
        }
        if (unsure != nullptr && basis_.empty()) {
            basis_ = uncertain_basis(subject_, *unsure, paint_);
        }
        return uncertain_section(subject_, unsure, paint_, compact());
    }

    /// What the short page leaves out, and how to get it.
    std::string more_section() const {
        const std::size_t assumed = assumptions_in_use(subject_.layout).size();
        std::string text = "\n" + paint_(Ink::title, "More") + '\n';
        text += wrapped("  - ", "Pipes, drains, overflows, nozzles and tees: --arrangement NAME for one arrangement, --all for every one.");
        if (assumed > 0) {
            text +=
                wrapped("  - ", fmt::format("What is above rests on {}, as the layout does not say better; they are listed there too, each with the "
                                            "range in which the truth plausibly lies.",
                                            counted(assumed, "assumption", "assumptions")));
        }
        return text;
    }

    std::string summary() const {
        std::vector<Line> lines = summary_;
        std::stable_sort(lines.begin(), lines.end(), [](const Line& one, const Line& other) { return one.wrong && !other.wrong; });
        const auto wrong = static_cast<std::size_t>(std::count_if(lines.begin(), lines.end(), [](const Line& line) { return line.wrong; }));
        std::string text = wrong == 0 ? fmt::format("{}, nothing wrong in any of them.\n\n", counted(lines.size(), "arrangement", "arrangements"))
                                      : fmt::format("{}, {} to look at.\n\n", counted(lines.size(), "arrangement", "arrangements"), wrong);
        constexpr std::size_t kPage = 100;
        constexpr std::size_t kLeast = 40;
        constexpr std::size_t kBesides = 16;  // the mark, the gaps, the column of targets
        std::size_t longest = 0;
        for (const Line& line : lines) {
            longest = std::max(longest, width_of(line.name));
        }
        const std::size_t room = std::max(kLeast, kPage - std::min(kPage, longest + kBesides));
        Table table({{"arrangement", Align::left}, {"targets", Align::right}, {"what matters most", Align::left}});
        for (const Line& line : lines) {
            std::string says = line.says;
            if (width_of(says) > room) {
                says = says.substr(0, says.rfind(' ', room - 4)) + " ...";
            }
            table.add({line.name, line.targets, says}, line.wrong ? Ink::trouble : Ink::plain);
        }
        return text + table.text(paint_);
    }

    std::string details(const settle::Answer& answer, const std::vector<Finding>& found) const {
        const layout::Conditions conditions = layout::conditions_of(subject_.layout, answer.arrangement);
        const Scene scene{subject_.layout, answer, found, conditions, subject_.speech, paint_, compact()};
        const bool wrong = wants_attention(answer, found);
        std::string text = "\n" + paint_(Ink::title, answer.name) + '\n';
        text += paint_(wrong ? Ink::trouble : Ink::good, wrapped(wrong ? "! " : "  ", with_full_stop(headline(answer, found, subject_.speech))));
        const Settings set = settings_of(subject_.layout, conditions, SettingsFor::reader);
        if (!set.shut.empty()) text += wrapped("  shut: ", listed(set.shut, set.shut.size()));  // all of them: it is what hands must set
        if (!set.others.empty()) text += wrapped("  set: ", listed(set.others, set.others.size()));
        const std::vector<std::string> off = shut_off_on_purpose(answer);
        if (!off.empty() && !every_pump_stopped(answer)) {
            text += wrapped("  without water on purpose: ", in_few_words(off, off.size()));
        }
        text += troubles(answer, found);
        if (answer.state == settle::State::no_solution || answer.state == settle::State::not_run) {
            return text;
        }
        text += levels_section(scene) + sumps_section(scene) + pumps_section(scene);
        if (compact()) {
            return text;
        }
        return text + outlets_section(scene) + overflows_section(scene) + drains_section(scene) + pipes_section(scene) + devices_section(scene);
    }

    /// Targets missed, then the findings: trouble with "!", doubts with "?".
    std::string troubles(const settle::Answer& answer, const std::vector<Finding>& found) const {
        constexpr std::size_t kShown = 25;
        std::string text;
        std::size_t lines = 0;
        const auto add = [&](Ink ink, const std::string& says) {
            if (++lines <= kShown) {
                text += paint_(ink, wrapped(ink == Ink::trouble ? "! " : "? ", with_full_stop(says)));
            }
        };
        const std::string said = headline(answer, found, subject_.speech);
        for (const settle::Target& target : answer.targets) {
            const std::string says = sentence_of(target, subject_.speech, answer.rests_on_label);
            if (is_missed(answer, target) && said.find(says) == std::string::npos) {
                add(Ink::trouble, says);
            } else if (target.met && !target.band_meets) {
                add(Ink::doubt, says + "; but not with every pump that its label fits");
            }
        }
        for (const Finding& finding : found) {
            if (said.find(finding.says) == std::string::npos) {
                add(finding.weight == Weight::trouble ? Ink::trouble : Ink::doubt, finding.says);
            }
        }
        if (lines > kShown) {
            text += fmt::format("  and {} more: --format json lists them all.\n", lines - kShown);
        }
        return text.empty() ? text : "\n" + text;
    }

    const Subject& subject_;
    Paint paint_;
    Output& output_;
    std::vector<Line> summary_;
    std::vector<std::string> details_;
    std::string basis_;  ///< of what was asked about how sure the figures are
};

}  // namespace

std::unique_ptr<FlowsView> make_flows_text(const Subject& subject, Output& output) { return std::make_unique<FlowsText>(subject, output); }

}  // namespace ebb::cli
