// `diagnose` for a person: the verdict, the explanations in order, readings against them, what to read next, what was ruled out, what to do.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "cli/views/diagnose_view.h"
#include "cli/views/page.h"
#include "cli/views/question_words.h"
#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {

namespace {

using diagnose::Diagnosis;
using diagnose::Explanation;
using diagnose::Tie;
using diagnose::Verdict;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr std::size_t kGroups = 6, kOfGroup = 6, kColumns = 3, kRuledOut = 8, kNext = 3, kRemedies = 4, kPlaces = 2, kPage = 100;
constexpr double kWorthALine = 0.005, kWorthARemedy = 0.05;  // probability

std::string probability(double share) {
    constexpr double kAlmost = 0.995, kHardly = 0.01;
    return share >= kAlmost ? "> 99 %" : share < kHardly ? "< 1 %" : fmt::format("{:.0f} %", 100.0 * share);
}

std::string effort(double seconds) {
    constexpr double kMinutes = 120.0;
    return seconds < kMinutes ? fmt::format("{:.0f} s", seconds) : Speech::duration(seconds);
}

class DiagnoseText {
public:
    explicit DiagnoseText(const DiagnoseScene& scene)
        : scene_(scene), words_(scene.words), diagnosis_(scene.diagnosis), paint_(scene.subject.colour) {
        for (const Tie& tie : diagnosis_.ties)
            if (groups_.size() < kGroups && (groups_.empty() || tie.probability >= kWorthALine || scene.subject.everything)) groups_.push_back(&tie);
    }
    std::string whole() const {
        std::string text = top();
        if (diagnosis_.verdict != Verdict::no_solution) text += explanations() + next() + readings() + ruled_out() + remedies() + beside();
        return text + cautions();
    }

private:
    const Explanation& first_of(const Tie& tie) const { return diagnosis_.explanations[tie.explanations.front()]; }
    bool all_is_well() const { return diagnosis_.verdict == Verdict::nothing_needed; }
    bool none_fits() const { return diagnosis_.verdict == Verdict::none_of_these; }
    bool holds_sound(const Tie& tie) const {
        return std::find(tie.explanations.begin(), tie.explanations.end(), diagnosis_.sound) != tie.explanations.end();
    }
    std::string top() const;
    std::string group(const Tie& tie, std::size_t number) const;
    std::string explanations() const;
    std::string readings_table(std::size_t columns) const;
    std::string readings() const;
    std::string next_table(std::size_t columns) const;
    std::string next() const;
    /// The table with as many columns of explanations as the page has room for.
    template <typename Made>
    std::string as_wide_as_fits(const Made& made) const {
        std::size_t columns = std::min(kColumns, groups_.size());
        std::string text = made(columns);
        while (columns > 1 && width_of(text.substr(0, text.find('\n'))) > kPage) text = made(--columns);
        return text;
    }
    std::string ruled_out() const;
    std::string remedies() const;
    std::string beside() const;
    std::string cautions() const;

    const DiagnoseScene& scene_;
    const DiagnoseWords& words_;
    const Diagnosis& diagnosis_;
    Paint paint_;
    std::vector<const Tie*> groups_;
};

std::string DiagnoseText::top() const {
    const layout::Layout& layout = scene_.subject.layout;
    std::string text = paint_(Ink::title, layout.name.empty() ? "A layout without a name" : layout.name) + '\n';
    std::vector<std::string> names;
    for (std::size_t v = 0; v < words_.visits(); ++v) names.push_back(words_.arrangement(static_cast<std::int32_t>(v)));
    text += "\n" +
            paint_(Ink::title, fmt::format("Diagnosis of {}{}, {}", counted(scene_.readings.readings.size(), "reading", "readings"),
                                           scene_.readings_name.empty() ? "" : " (" + scene_.readings_name + ")", quoted_list(names, 4))) +
            '\n';
    const Ink ink = all_is_well() ? Ink::good : diagnosis_.verdict == Verdict::read_again ? Ink::doubt : Ink::trouble;
    bool first = true;
    for (const std::string& sentence : diagnose_verdict(scene_)) {
        say(text, paint_, first ? ink : Ink::plain, with_full_stop(sentence));
        first = false;
    }
    for (const std::string& sentence : readings_doubts(scene_)) say(text, paint_, Ink::doubt, with_full_stop(sentence));
    return text;
}

/// One group: a line for each explanation in it. What goes with the sound farm is only counted.
std::string DiagnoseText::group(const Tie& tie, std::size_t number) const {
    const std::string head = fmt::format("  {}. {:>6}  ", number, none_fits() ? "" : probability(tie.probability));
    const std::string indent(width_of(head), ' ');
    std::string text;
    if (tie.explanations.size() == 1) {
        text = wrapped(head, explanation_sentence(scene_, first_of(tie)));
    } else if (holds_sound(tie)) {
        text = wrapped(head, explanation_sentence(scene_, diagnosis_.explanations[diagnosis_.sound]));
        text += wrapped(indent, fmt::format("with it {} too small or too far away to tell by these readings",
                                            counted(tie.explanations.size() - 1, "explanation goes that is", "explanations go that are")));
    } else {
        text = wrapped(head, "these cannot be told apart by the readings; their order is how common they are:");
        std::size_t shown = 0;
        for (const std::size_t e : tie.explanations) {
            if (shown++ >= kOfGroup && !scene_.subject.everything) break;
            text += wrapped(indent + "- ", explanation_sentence(scene_, diagnosis_.explanations[e]));
        }
        if (shown > kOfGroup && !scene_.subject.everything)
            text += wrapped(indent + "- ", fmt::format("and {} more (--all)", tie.explanations.size() - kOfGroup));
    }
    std::vector<std::string> bad;
    for (const std::size_t i : badly_explained(first_of(tie))) bad.push_back(words_.observable(scene_.readings.readings[i].what));
    return bad.empty() ? text : text + wrapped(indent, "explains badly: " + listed(bad, 4));
}

std::string DiagnoseText::explanations() const {
    if (all_is_well() && groups_.size() == 1 && !scene_.subject.everything) return {};
    std::string text = "\n" + paint_(Ink::title, none_fits() ? "What comes nearest" : "What would explain them") + '\n';
    std::size_t number = 0;
    for (const Tie* tie : groups_) text += group(*tie, ++number);
    const std::size_t left = diagnosis_.ties.size() - groups_.size();
    if (left > 0) text += wrapped("  ", fmt::format("and {} less likely.", counted(left, "other", "others")));
    if (none_fits()) return text;
    return text + wrapped("  ", "Per cent: of everything considered here, by fit and by how common each fault is; not of everything that can be.");
}

std::string DiagnoseText::readings_table(std::size_t columns) const {
    std::vector<Column> titles{{"reading", Align::left}, {"read"}, {"plus-minus"}, {"nothing wrong"}};
    for (std::size_t k = 0; k < columns; ++k) titles.push_back({fmt::format("{}.", k + 1)});
    Table table(titles);
    const Explanation& sound = diagnosis_.explanations[diagnosis_.sound];
    const auto cell = [&](const Explanation& one, std::size_t i) {
        const bool far = std::abs(one.pulls[i]) > 2.0;
        return words_.value(scene_.readings.readings[i].what, one.predicted[i].value, one.predicted[i].spread) + (far ? " !" : "  ");
    };
    for (std::size_t i = 0; i < scene_.readings.readings.size(); ++i) {
        const diagnose::Reading& reading = scene_.readings.readings[i];
        std::vector<std::string> row{words_.observable(reading.what), words_.value(reading.what, reading.value), words_.plus_minus(reading),
                                     cell(sound, i)};
        for (std::size_t k = 0; k < columns; ++k) row.push_back(cell(first_of(*groups_[k]), i));
        table.add(row);
    }
    return table.text(paint_);
}

std::string DiagnoseText::readings() const {
    return "\n" + paint_(Ink::title, "The readings, and what each explanation says of them") + '\n' +
           as_wide_as_fits([this](std::size_t columns) { return readings_table(columns); }) +
           wrapped("  ",
                   fmt::format("!: further off than the reading's plus-minus{} allows.", scene_.exact ? "" : " and what is not known of the layout"));
}

std::string DiagnoseText::next_table(std::size_t columns) const {
    std::vector<Column> titles{{"", Align::right}, {"read", Align::left}, {"takes"}, {"settles"}};
    for (std::size_t k = 0; k < columns; ++k) titles.push_back({fmt::format("{}. says", k + 1)});
    Table table(titles);
    for (std::size_t n = 0; n < std::min(kNext, diagnosis_.next.size()); ++n) {
        const diagnose::NextReading& one = diagnosis_.next[n];
        const diagnose::Observable& what = scene_.signatures.observables()[one.observable];
        std::vector<std::string> row{fmt::format("{}.", n + 1), words_.way_to_read(what), effort(one.cost_s),
                                     fmt::format("{:.0f} %", 100.0 * one.separates)};
        for (std::size_t k = 0; k < columns; ++k) {
            const std::size_t e = groups_[k]->explanations.front();
            row.push_back(e < one.predicted.size() ? words_.value(what, one.predicted[e].value, one.predicted[e].spread) : "-");
        }
        table.add(row);
    }
    return table.text(paint_);
}

std::string DiagnoseText::next() const {
    if (diagnosis_.next.empty() || none_fits() || all_is_well()) return {};
    return "\n" + paint_(Ink::title, "Read next") + '\n' + as_wide_as_fits([this](std::size_t columns) { return next_table(columns); }) +
           wrapped("  ", "settles: the share of the doubt among the leading explanations that the reading is expected to take away; the cheapest of "
                         "the good ones first.");
}

/// Those of one kind that one reading speaks against are one line.
std::string DiagnoseText::ruled_out() const {
    if (diagnosis_.ruled_out.empty() || all_is_well()) return {};
    struct Line {
        const diagnose::RuledOut* nearest = nullptr;
        std::vector<std::string> places;
    };
    std::vector<Line> lines;
    for (const diagnose::RuledOut& one : diagnosis_.ruled_out) {
        const diagnose::Fault& fault = scene_.signatures.faults()[one.fault];
        const auto like = std::find_if(lines.begin(), lines.end(), [&](const Line& line) {
            return line.nearest->reading == one.reading && scene_.signatures.faults()[line.nearest->fault].kind == fault.kind;
        });
        Line& line = like == lines.end() ? lines.emplace_back(Line{&one, {}}) : *like;
        if (std::abs(one.pull) < std::abs(line.nearest->pull)) line.nearest = &one;
        line.places.push_back(fault.other.index < 0 ? words_.id(fault.at) : fmt::format("{} with {}", words_.id(fault.at), words_.id(fault.other)));
    }
    for (Line& line : lines) line.places.erase(std::unique(line.places.begin(), line.places.end()), line.places.end());
    const std::size_t told = scene_.subject.everything ? lines.size() : std::min(lines.size(), kRuledOut);
    std::string shown, sentences;
    for (std::size_t places = kPlaces; places > 0 && (shown.empty() || width_of(shown.substr(0, shown.find('\n'))) > kPage); --places) {
        Table table({{"not", Align::left}, {"at", Align::left}, {"because of", Align::left}, {"says at best"}, {"read"}});
        sentences.clear();
        for (std::size_t n = 0; n < told; ++n) {
            const diagnose::Reading& reading = scene_.readings.readings[at(lines[n].nearest->reading)];
            const std::vector<std::string> row{diagnose::data_of(scene_.signatures.faults()[lines[n].nearest->fault].kind).title,
                                               in_few_words(lines[n].places, places), words_.observable(reading.what),
                                               words_.value(reading.what, lines[n].nearest->predicted), words_.value(reading.what, reading.value)};
            table.add(row);
            sentences += wrapped("  - ", fmt::format("{} at {}: {} would be {} at best, was read as {}.", row[0], row[1], row[2], row[3], row[4]));
        }
        shown = table.text(paint_);
    }
    if (width_of(shown.substr(0, shown.find('\n'))) > kPage) shown = sentences;
    std::string text = "\n" + paint_(Ink::title, "Ruled out") + '\n' + shown;
    if (lines.size() > kRuledOut && !scene_.subject.everything)
        text += wrapped("  ", fmt::format("and {} more lines (--all), the commoner first.", lines.size() - kRuledOut));
    return text;
}

std::string DiagnoseText::remedies() const {
    if (diagnosis_.verdict != Verdict::one && diagnosis_.verdict != Verdict::two) return {};
    std::string lines;
    std::set<diagnose::FaultKind> told;
    for (const Tie* tie : groups_) {
        if (tie != groups_.front() && tie->probability < kWorthARemedy) continue;
        for (const std::size_t e : holds_sound(*tie) ? std::vector<std::size_t>{} : tie->explanations)
            for (const std::size_t f : diagnosis_.explanations[e].faults) {
                const diagnose::Fault& fault = scene_.signatures.faults()[f];
                if (told.size() >= kRemedies || !told.insert(fault.kind).second) continue;
                const Remedy remedy = remedy_of(fault.kind);
                lines += wrapped("  - ", fmt::format("{}: {} Usually done: {}.", capital(diagnose::data_of(fault.kind).title),
                                                     with_full_stop(remedy.proof), remedy.usual));
            }
    }
    return lines.empty() ? lines : "\n" + paint_(Ink::title, "To make sure, and what is usually done") + '\n' + lines;
}

std::string DiagnoseText::beside() const {
    std::string text = "\n" + paint_(Ink::title, "Beside the diagnosis") + '\n';
    text += wrapped(
        "  - ", fmt::format("Considered: {} single faults at every place of the layout{}; {} of them move none of the readings. {} network solves.",
                            diagnosis_.considered, diagnosis_.pairs_tried ? ", and two at once where none of them alone explains the readings" : "",
                            diagnosis_.silent, diagnosis_.solves));
    text += wrapped(
        "  - ", scene_.exact
                    ? "The layout's own figures were taken to be exact (--exact)."
                    : fmt::format("What the layout knows to a plus-minus only ({}) was allowed for; --exact trusts its figures to the last digit.",
                                  counted(scene_.unknowns, "figure", "figures")));
    text += wrapped("  - ",
                    fmt::format("How common each fault is: common practice{}. 90 % of the time a size lies in the range told, if that fault it is.",
                                scene_.readings.chances.empty() ? ", to be replaced by <how-often> in the readings file"
                                                                : ", with the readings file's own <how-often>"));
    return text;
}

std::string DiagnoseText::cautions() const {
    std::string text = cautions_section(scene_.subject.layout, scene_.subject.speech, paint_);
    text += wrapped("  - ", "Before a pump, a screen or a pipe is opened: switched off, unplugged or locked out, valves shut, pressure let off. "
                            "Look where the water goes when something comes loose at once.");
    return text + wrapped("  - ", "Sludge, mineralisation tanks and closed sumps can give off hydrogen sulphide, and little oxygen is left in them: "
                                  "air them, do not lean or "
                                  "climb in alone; what local rules say of confined spaces governs (common practice).");
}

}  // namespace

std::string diagnose_text(const DiagnoseScene& scene) { return DiagnoseText(scene).whole(); }

}  // namespace ebb::cli
