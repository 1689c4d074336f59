// `cycle` for a person: what is wrong first, then what each bed does, then levels, strips against time, pumps, water, and what happened.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "cli/views/course_sections.h"
#include "cli/views/cycle_view.h"
#include "cli/views/page.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

class CycleText final : public CycleView {
public:
    CycleText(const Subject& subject, Output& output) : subject_(subject), paint_(subject.colour), output_(output) {}

    void begin() override {
        const layout::Layout& farm = subject_.layout;
        output_.write(paint_(Ink::title, farm.name.empty() ? "A layout without a name" : farm.name) + '\n');
    }

    void show(const CycleRun& run) override {
        const CourseScene scene{subject_, run.plan, run.course, run.found, run.targets, paint_};
        std::string text = "\n" + paint_(Ink::title, run.course.name) + '\n';
        text += wrapped("  ", frame(run));
        const std::vector<std::string> wrong = troubles(run);
        for (const std::string& says : wrong) {
            text += paint_(Ink::trouble, wrapped("! ", with_full_stop(says)));
        }
        if (wrong.empty()) {
            text += paint_(Ink::good, wrapped("  ", calm_sentence(run)));
        }
        text += doubts(run);
        text += bed_sentences(scene) + beds_section(scene) + depths_section(scene) + strips_section(scene) + runs_section(scene);
        text += water_section(scene) + events_section(scene, run.all_events) + (run.all_events ? accuracy(run.course) : std::string());
        if (subject_.arrangements == 1) {
            output_.write(text);
            return;
        }
        const std::string says = wrong.empty() ? calm_sentence(run) : wrong.front().substr(0, wrong.front().find("; likewise"));
        lines_.push_back({run.course.name, repeats_cell(run.course), says, wrong.size()});
        details_.push_back(std::move(text));
    }

    void end() override {
        if (subject_.arrangements > 1) {
            output_.write(summary());
            for (const std::string& text : details_) {
                output_.write(text);
            }
        }
        output_.write(cautions_section(subject_.layout, subject_.speech, paint_));
    }

private:
    /// One routine in the summary of several.
    struct Line {
        std::string name, repeats, says;
        std::size_t wrong = 0;
    };

    static std::string repeats_cell(const time::Course& course) {
        if (course.ending == time::Ending::chatters || course.ending == time::Ending::no_solution) {
            return "-";
        }
        switch (course.repeat) {
            case time::Repeat::repeats: return "every " + Speech::duration(course.repeats_every_s);
            case time::Repeat::still: return "at rest";
            case time::Repeat::not_yet: return "not yet";
            case time::Repeat::never: return "never";
            case time::Repeat::not_asked: break;
        }
        return "-";
    }

    /// Of several routines, the one thing of each that matters most; those with trouble on top.
    std::string summary() const {
        std::vector<Line> lines = lines_;
        std::stable_sort(lines.begin(), lines.end(), [](const Line& one, const Line& other) { return one.wrong > 0 && other.wrong == 0; });
        const auto wrong = static_cast<std::size_t>(std::count_if(lines.begin(), lines.end(), [](const Line& line) { return line.wrong > 0; }));
        const std::string count = counted(lines.size(), "routine", "routines");
        std::string text =
            wrong == 0 ? fmt::format("{}, nothing wrong in any of them.\n\n", count) : fmt::format("{}, {} to look at.\n\n", count, wrong);
        Table table({{"routine", Align::left}, {"repeats", Align::left}, {"what matters most", Align::left}});
        constexpr std::size_t kPage = 100;
        constexpr std::size_t kLeast = 40;
        std::size_t taken = 6;  // the mark and the gaps
        std::size_t longest_name = 0;
        std::size_t longest_repeat = 0;
        for (const Line& line : lines) {
            longest_name = std::max(longest_name, width_of(line.name));
            longest_repeat = std::max(longest_repeat, width_of(line.repeats));
        }
        taken += longest_name + longest_repeat;
        const std::size_t room = std::max(kLeast, kPage - std::min(kPage, taken));
        for (const Line& line : lines) {
            const std::string more = line.wrong > 1 ? fmt::format("; and {} more", line.wrong - 1) : std::string();
            std::string says = line.says + more;
            if (width_of(says) > room) {
                says = line.says.substr(0, line.says.rfind(' ', room - 4 - more.size())) + " ..." + more;
            }
            table.add({line.name, line.repeats, says}, line.wrong > 0 ? Ink::trouble : Ink::plain);
        }
        return text + table.text(paint_);
    }

    /// How long, of which arrangement, from where, and whether it repeats.
    std::string frame(const CycleRun& run) const {
        const std::string& arrangement = subject_.layout.arrangements[static_cast<std::size_t>(run.plan.arrangement)].name;
        const char* from = run.plan.routine.from_settled ? "from the settled levels" : "from the levels drawn";
        const bool broken = run.course.ending == time::Ending::chatters || run.course.ending == time::Ending::no_solution;
        const std::string repeats = broken ? std::string() : repeat_sentence(run.course);
        return fmt::format("{} of '{}' {}{}.", Speech::duration(run.course.lasted_s), arrangement, from, repeats.empty() ? "" : "; it " + repeats);
    }

    /// Something to say of one thing; what has the same key is said once, of the worst, and likewise of the others.
    struct Remark {
        std::string key, about, says;
        double badness = 0.0;
    };

    static std::vector<std::string> said_once(const std::vector<Remark>& remarks) {
        std::vector<std::string> sentences;
        std::vector<std::string> keys;
        for (const Remark& remark : remarks) {
            if (std::find(keys.begin(), keys.end(), remark.key) != keys.end()) {
                continue;
            }
            keys.push_back(remark.key);
            const Remark* worst = &remark;
            std::vector<std::string> others;
            for (const Remark& other : remarks) {
                worst = other.key == remark.key && other.badness > worst->badness ? &other : worst;
            }
            for (const Remark& other : remarks) {
                if (other.key == remark.key && &other != worst) {
                    others.push_back(other.about);
                }
            }
            sentences.push_back(worst->says + (others.empty() ? "" : "; likewise " + in_few_words(others, others.size())));
        }
        return sentences;
    }

    std::vector<std::string> troubles(const CycleRun& run) const {
        std::vector<Remark> wrong;
        for (const Finding& finding : run.found) {
            if (finding.weight == Weight::trouble) {
                wrong.push_back({finding.code, finding.about, finding.says});
            }
        }
        for (const TimeTarget& target : run.targets) {
            if (target.asked && !target.met) {
                const double ratio = target.at_most ? target.got / target.wanted : target.wanted / target.got;
                constexpr double kHopeless = 1e9;
                wrong.push_back({target.quantity, target.about, sentence_of(target, subject_.speech), std::isfinite(ratio) ? ratio : kHopeless});
            }
        }
        return said_once(wrong);
    }

    std::string doubts(const CycleRun& run) const {
        std::vector<Remark> remarks;
        for (const Finding& finding : run.found) {
            if (finding.weight == Weight::doubt) {
                remarks.push_back({finding.code, finding.about, finding.says});
            }
        }
        std::string text;
        for (const std::string& says : said_once(remarks)) {
            text += paint_(Ink::doubt, wrapped("? ", with_full_stop(says)));
        }
        std::vector<std::string> unasked;
        for (const TimeTarget& target : run.targets) {
            if (!target.asked && std::find(unasked.begin(), unasked.end(), target.about) == unasked.end()) {
                unasked.push_back(target.about);
            }
        }
        return text + (unasked.empty()
                           ? ""
                           : wrapped("  targets not asked for here, without water or without a cycle: ", in_few_words(unasked, unasked.size())));
    }

    static std::string calm_sentence(const CycleRun& run) {
        const auto asked =
            static_cast<std::size_t>(std::count_if(run.targets.begin(), run.targets.end(), [](const TimeTarget& one) { return one.asked; }));
        const std::string targets = asked == 0 ? "" : "; " + all_of(asked, "target", "targets") + " met";
        return fmt::format("Nothing spills{}{}.", run.course.pumps.empty() ? "" : ", and no pump runs dry", targets);
    }

    std::string accuracy(const time::Course& course) const {
        const time::Counts& counts = course.counts;
        return "\n" + paint_(Ink::quiet, wrapped("  ", fmt::format("Water is kept to {} in {}; {} steps in time, {} solves of the network.",
                                                                   litres(course.worst_water_error_m3), subject_.speech.volume(course.water_m3),
                                                                   counts.steps, counts.network_solves)));
    }

    /// Far too little for a litre with three digits.
    static std::string litres(double volume_m3) {
        constexpr double kLitresPerM3 = 1000.0;
        return fmt::format("{:.0e} l", volume_m3 * kLitresPerM3);
    }

    const Subject& subject_;
    Paint paint_;
    Output& output_;
    std::vector<Line> lines_;
    std::vector<std::string> details_;
};

}  // namespace

std::unique_ptr<CycleView> make_cycle_text(const Subject& subject, Output& output) { return std::make_unique<CycleText>(subject, output); }

}  // namespace ebb::cli
