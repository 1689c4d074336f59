// Routines in the course of time: levels in strips, what happened, and one cycle of each bed.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/course_sections.h"
#include "cli/views/event_words.h"
#include "cli/views/report/report_page.h"
#include "cli/views/report/report_units.h"
#include "cli/views/report/report_words.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Time in hours, or in minutes where it is short.
struct Clock {
    explicit Clock(double lasts_s) : hours(lasts_s > 7200.0) {}
    double operator()(double t_s) const { return t_s / (hours ? 3600.0 : 60.0); }
    std::string name() const { return std::string(hours ? words::kHoursAxis : words::kMinutesAxis); }
    bool hours;
};

struct Levels {
    std::vector<double> t_s, depth_m;
};

/// The depths of a vessel between two moments.
Levels levels_of(const time::Series& series, std::size_t vessel, double from_s, double to_s) {
    const std::size_t vessels = series.t_s.empty() ? 1 : series.depth_m.size() / series.t_s.size();
    Levels levels;
    for (std::size_t i = 0; i < series.t_s.size(); ++i) {
        if (series.t_s[i] < from_s || series.t_s[i] > to_s) continue;
        levels.t_s.push_back(series.t_s[i]);
        levels.depth_m.push_back(series.depth_m[i * vessels + vessel]);
    }
    return levels;
}

class CoursePlots {
public:
    CoursePlots(const ReportScene& scene, const CourseMade& made)
        : scene_(scene), made_(made), clock_(made.course.lasted_s), units_(scene.speech()) {}

    void add(html::Node section) const {
        const time::Course& course = made_.course;
        const CourseScene said{scene_.subject, made_.plan, course, made_.found, made_.targets, scene_.plain};
        add_said(section, remarks());
        for (const std::string& line : bed_lines(said)) html::add(section, "p", {}, line);
        add_strips(section);
        add_cycles(section);
        html::table(section, beds_table(said), words::kBedsCaption);
        const html::Node figures = html::add(section, "details");
        html::add(figures, "summary", {}, words::kTimeFigures);
        html::table(figures, depths_table(said), words::kDepthsCaption);
        html::table(figures, runs_table(said), words::kPumps);
        html::table(figures, water_table(said), words::kWaterCaption);
        add_events(section);
    }

private:
    std::vector<Said> remarks() const {
        std::vector<Said> said;
        for (const TimeTarget& target : made_.targets)
            if (target.asked && !target.met) said.push_back({Ink::trouble, with_full_stop(sentence_of(target, scene_.speech()))});
        for (const Finding& finding : made_.found)
            said.push_back({finding.weight == Weight::trouble ? Ink::trouble : Ink::doubt, with_full_stop(finding.says)});
        const std::string repeats = repeat_sentence(made_.course);
        if (!repeats.empty()) said.push_back({Ink::plain, with_full_stop(made_.course.name + " " + repeats)});
        return said;
    }

    StripPlot::Strip strip_of(std::size_t vessel) const {
        const layout::Vessel& drawn = scene_.layout().vessels[vessel];
        const time::VesselCourse& course = made_.course.vessels[vessel];
        constexpr double kPixels = 54.0;
        const Levels levels = levels_of(made_.course.series, vessel, 0.0, made_.course.lasted_s);
        const double height_m = drawn.rim_m - drawn.floor_m;
        const Points kept = thinned(levels.t_s, levels.depth_m, 0.4 * height_m / kPixels);
        StripPlot::Strip strip;
        strip.name = drawn.id;
        strip.says =
            fmt::format("{}: {} to {}", drawn.id, scene_.speech().height(course.least_depth_m), scene_.speech().height(course.greatest_depth_m));
        for (std::size_t i = 0; i < kept.x.size(); ++i) {
            strip.x.push_back(std::round(clock_(kept.x[i]) * 1e4) / 1e4);
            strip.y.push_back(std::round(kept.y[i] * 1e4) / 1e4);
        }
        strip.least = 0.0;
        strip.most = height_m;
        strip.least_says = "↓ " + scene_.speech().height(course.least_depth_m);
        strip.most_says = "↑ " + scene_.speech().height(course.greatest_depth_m);
        for (std::size_t s = 0; s < scene_.layout().standpipes.size(); ++s) {
            const layout::Standpipe& standpipe = scene_.layout().standpipes[s];
            if (standpipe.in == layout::Ref{layout::Kind::vessel, static_cast<std::int32_t>(vessel)})
                strip.lines.push_back({standpipe.inserts[at(made_.plan.conditions.insert[s])].lip_m, standpipe.id});
        }
        return strip;
    }

    void add_strips(html::Node section) const {
        constexpr double kMoves_m = 0.005;
        constexpr std::size_t kMost = 12;
        if (made_.course.series.t_s.size() < 2) return;
        std::vector<std::string> still, more;
        StripPlot plot;
        plot.x = {clock_.name(), 0.0, clock_(made_.course.lasted_s)};
        plot.says = fmt::format(words::kTimeSays, made_.course.name);
        for (std::size_t v = 0; v < made_.course.vessels.size(); ++v) {
            const time::VesselCourse& vessel = made_.course.vessels[v];
            const std::string& id = scene_.layout().vessels[v].id;
            if (!(vessel.greatest_depth_m - vessel.least_depth_m > kMoves_m))
                still.push_back(id);
            else if (plot.strips.size() < kMost)
                plot.strips.push_back(strip_of(v));
            else
                more.push_back(id);
        }
        add_moments(plot);
        if (!plot.strips.empty()) {
            scene_.painter.draw(section, plot, fmt::format(words::kTimeCaption, made_.course.name));
            html::add(section, "p", {{"class", "note"}}, words::kTimeNote);
        }
        if (!more.empty()) html::add(section, "p", {{"class", "note"}}, fmt::format(words::kMoreStrips, in_few_words(more, more.size())));
        if (!still.empty()) html::add(section, "p", {{"class", "note"}}, fmt::format(words::kStill, in_few_words(still, still.size())));
    }

    /// Cuts of the power as stretches; what is trouble by itself as marks.
    void add_moments(StripPlot& plot) const {
        double failed_s = settle::kUnknown;
        constexpr std::size_t kMostMarks = 60;
        for (const time::Event& event : made_.course.events) {
            if (event.what == time::Happening::power_fails) failed_s = event.t_s;
            if (event.what == time::Happening::power_returns && std::isfinite(failed_s)) {
                plot.spans.push_back(
                    {.from = clock_(failed_s), .to = clock_(event.t_s), .name = std::string(words::kNoPower), .says = std::string(words::kNoPower)});
                failed_s = settle::kUnknown;
            }
            const bool pump = event.what == time::Happening::pump_stops || event.what == time::Happening::pump_restarts;
            const bool changes = event.what == time::Happening::setting_changes;
            if ((is_trouble(event.what) || pump || changes) && plot.marks.size() < kMostMarks)
                plot.marks.push_back({.x = clock_(event.t_s),
                                      .says = fmt::format("{}: {}", moment(event.t_s), sentence_of(scene_.layout(), event)),
                                      .ink = is_trouble(event.what) ? 1 : 6});
        }
        if (std::isfinite(failed_s))
            plot.spans.push_back({.from = clock_(failed_s),
                                  .to = clock_(made_.course.lasted_s),
                                  .name = std::string(words::kNoPower),
                                  .says = std::string(words::kNoPower)});
    }

    /// The moments of the last opening before the last whole period of a bed.
    void add_cycles(html::Node section) const {
        html::Node plots;
        constexpr std::size_t kMost = 8;
        std::size_t drawn = 0;
        for (const time::BedCourse& bed : made_.course.beds) {
            if (!(bed.period_s > 0.0) || !(bed.fill_s > 0.0) || drawn >= kMost) continue;
            const double begin_s = beginning_of(bed);
            if (std::isnan(begin_s)) continue;
            if (!plots) {
                const html::Node details = html::add(section, "details", {{"open", ""}});
                html::add(details, "summary", {}, words::kCyclesSummary);
                plots = html::add(details, "div", {{"class", "plots small"}});
            }
            add_cycle(plots, bed, begin_s);
            ++drawn;
        }
    }

    /// Where the last whole cycle of a bed begins: at an opening, or a break, after which a whole period was followed.
    double beginning_of(const time::BedCourse& bed) const {
        const time::Series& series = made_.course.series;
        const Levels all = levels_of(series, at(bed.vessel), 0.0, made_.course.lasted_s);
        const double latest_s = made_.course.lasted_s - bed.period_s;
        if (all.t_s.size() < 3 || latest_s < 0.0) return settle::kUnknown;
        // the last low point from which it rises, early enough
        for (std::size_t i = all.t_s.size() - 1; i > 0; --i) {
            constexpr double kRises_m = 1e-5;
            if (all.t_s[i] <= latest_s && all.depth_m[i] > all.depth_m[i - 1] + kRises_m &&
                (i < 2 || all.depth_m[i - 1] <= all.depth_m[i - 2] + kRises_m))
                return all.t_s[i - 1];
        }
        return settle::kUnknown;
    }

    void add_cycle(html::Node plots, const time::BedCourse& bed, double begin_s) const {
        const layout::Vessel& drawn = scene_.layout().vessels[at(bed.vessel)];
        const Levels levels = levels_of(made_.course.series, at(bed.vessel), begin_s, begin_s + bed.period_s);
        const Clock clock(bed.period_s);
        const Points kept = thinned(levels.t_s, levels.depth_m, 0.0005);
        PlotSeries line;
        for (std::size_t i = 0; i < kept.x.size(); ++i) {
            line.x.push_back(clock(kept.x[i] - begin_s));
            line.y.push_back(units_.depth(kept.y[i]));
        }
        const double hold_s = bed.hold_s > 0.0 ? bed.hold_s : 0.0, drain_s = bed.drain_s > 0.0 ? bed.drain_s : 0.0;
        Plot plot;
        plot.height = 170.0;
        plot.says =
            fmt::format(words::kCycleSays, drawn.id, Speech::duration(bed.fill_s), Speech::duration(bed.hold_s), Speech::duration(bed.drain_s));
        plot.x = {clock.name(), 0.0, clock(bed.period_s)};
        plot.y = {fmt::format(words::kDepthAxis, units_.depth_name()), 0.0, units_.depth(drawn.rim_m - drawn.floor_m)};
        const auto span = [&](double from_s, double lasts_s, std::string_view name, int ink) {
            if (lasts_s > 0.0)
                plot.spans.push_back(
                    {clock(from_s), clock(from_s + lasts_s), std::string(name), fmt::format("{} {}", name, Speech::duration(lasts_s)), ink});
        };
        span(0.0, bed.fill_s, words::kFills, 0);
        span(bed.fill_s, hold_s, words::kHolds, 2);
        span(bed.fill_s + hold_s, drain_s, words::kDrainsSpan, 1);
        plot.series.push_back(std::move(line));
        scene_.painter.draw(plots, plot, fmt::format(words::kCycleCaption, drawn.id));
    }

    void add_events(html::Node section) const {
        constexpr std::size_t kShown = 60;
        const auto& events = made_.course.events;
        if (events.empty()) return;
        const html::Node details = html::add(section, "details");
        html::add(details, "summary", {}, words::kEvents);
        Table table({{words::kColAfter, Align::right}, {words::kColWhatHappens, Align::left}});
        std::vector<const time::Event*> together;
        const auto tell = [&] {
            if (together.empty()) return;
            table.add({moment(together.front()->t_s), sentence_of(scene_.layout(), together)},
                      is_trouble(together.front()->what) ? Ink::trouble : Ink::plain);
            together.clear();
        };
        for (const time::Event& event : events) {
            if (!together.empty() && !(together.front()->t_s == event.t_s && alike(*together.front(), event))) tell();
            if (table.size() >= kShown) break;
            together.push_back(&event);
        }
        if (table.size() < kShown) tell();
        html::table(details, table, words::kEvents, html::Caption::heard);
        if (table.size() >= kShown) html::add(details, "p", {{"class", "note"}}, fmt::format(words::kEventsFirst, kShown, events.size()));
    }

    const ReportScene& scene_;
    const CourseMade& made_;
    Clock clock_;
    AxisUnits units_;
};

}  // namespace

void add_courses(html::Node main, const ReportScene& scene) {
    if (scene.matter.courses.empty()) return;
    const html::Node section = html::section(main, "time", words::kTime);
    for (std::size_t i = 0; i < scene.matter.courses.size(); ++i) {
        html::Node one = html::add(section, "details", {{"id", anchor("routine", i)}});
        if (i == 0) one.append_attribute("open").set_value("");
        html::add(one, "summary", {}, scene.matter.courses[i].course.name);
        CoursePlots(scene, scene.matter.courses[i]).add(one);
    }
}

}  // namespace ebb::cli
