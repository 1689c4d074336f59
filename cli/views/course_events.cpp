// The list of what happened, in plain words.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "cli/views/course_sections.h"
#include "cli/views/event_words.h"

namespace ebb::cli {
namespace {

/// Events of one moment, said in one sentence.
struct Line {
    std::vector<const time::Event*> events;
    double t_s = 0.0;  ///< of the first of them
    std::string says;
};

constexpr double kOneMomentS = 1.0;

/// The level of an event, when it is the same for all that are said together.
double common_level_m(const Line& line) {
    constexpr double kSameM = 5e-4;
    const double first = line.events.front()->level_m;
    for (const time::Event* event : line.events) {
        if (!(std::abs(event->level_m - first) < kSameM)) {
            return time::kUnknown;
        }
    }
    return first;
}

/// True when the line speaks of that thing already: what a thing does twice is said twice.
bool holds(const Line& line, const time::Event& event) {
    return std::any_of(line.events.begin(), line.events.end(), [&](const time::Event* one) { return one->about_id == event.about_id; });
}

std::vector<Line> lines_of(const CourseScene& scene) {
    std::vector<Line> lines;
    std::size_t moment_begins = 0;  // the lines of the moment that is being gathered
    for (const time::Event& event : scene.course.events) {
        while (moment_begins < lines.size() && !(event.t_s - lines[moment_begins].t_s < kOneMomentS)) {
            ++moment_begins;
        }
        bool joined = false;
        for (std::size_t i = moment_begins; i < lines.size() && !joined; ++i) {
            if (alike(*lines[i].events.front(), event) && !holds(lines[i], event)) {
                lines[i].events.push_back(&event);
                joined = true;
            }
        }
        if (!joined) {
            lines.push_back({{&event}, event.t_s, {}});
        }
    }
    for (Line& line : lines) {
        std::stable_sort(line.events.begin(), line.events.end(),
                         [](const time::Event* one, const time::Event* other) { return one->about.index < other->about.index; });
        line.says = sentence_of(scene.layout(), line.events);
    }
    return lines;
}

/// The lines to show: each sentence at most `times` times.
std::vector<const Line*> first_of_each(const std::vector<Line>& lines, std::size_t times) {
    std::map<std::string, std::size_t> seen;
    std::vector<const Line*> shown;
    for (const Line& line : lines) {
        if (++seen[line.says] <= times) {
            shown.push_back(&line);
        }
    }
    return shown;
}

}  // namespace

std::string events_section(const CourseScene& scene, bool all) {
    constexpr std::size_t kAPage = 30;
    constexpr std::size_t kOften = 4;
    const std::vector<Line> lines = lines_of(scene);
    if (lines.empty()) {
        return "\n" + wrapped("  ", "Nothing happens: no valve moves, no mark is passed.");
    }
    std::vector<const Line*> shown = first_of_each(lines, lines.size());
    for (std::size_t times = kOften; !all && shown.size() > kAPage && times > 0; --times) {
        shown = first_of_each(lines, times);
    }
    Table table({{"h:min:s", Align::right}, {"what happens", Align::left}, {"at a level of", Align::right}});
    for (const Line* line : shown) {
        const time::Event& event = *line->events.front();
        table.add({moment(line->t_s), line->says, scene.speech().level(common_level_m(*line))}, is_trouble(event.what) ? Ink::trouble : Ink::plain);
    }
    std::string text = "\n" + table.text(scene.paint);
    if (shown.size() < lines.size()) {
        const std::string every =
            scene.course.repeat == time::Repeat::repeats ? fmt::format(", every {}", Speech::duration(scene.course.repeats_every_s)) : std::string();
        text += wrapped("  ... ", fmt::format("and so on{}; --events all lists the other {}.", every, lines.size() - shown.size()));
    }
    return text;
}

}  // namespace ebb::cli
