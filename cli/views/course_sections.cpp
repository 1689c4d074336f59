// Beds, vessels, pumps and the ledger of water of one course.

#include "cli/views/course_sections.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "cli/views/strip_chart.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// How to mark the row of a thing: by the worst that was found about it.
Ink ink_of(const CourseScene& scene, const std::string& id) {
    Ink ink = Ink::plain;
    for (const Finding& finding : scene.found) {
        if (finding.about == id) {
            ink = finding.weight == Weight::trouble ? Ink::trouble : ink == Ink::plain ? Ink::doubt : ink;
        }
    }
    const bool missed =
        std::any_of(scene.targets.begin(), scene.targets.end(), [&](const TimeTarget& one) { return one.about == id && one.asked && !one.met; });
    return missed ? Ink::trouble : ink;
}

/// The figures of a bed's cycle that its sentence says; NaN where there is none.
struct Cycle {
    const char* kind = "";
    double fill_s = time::kUnknown, hold_s = time::kUnknown, drain_s = time::kUnknown, spare_s = time::kUnknown, period_s = time::kUnknown;
    double peak_m3_s = time::kUnknown;
    bool fills = false, wet = false;
};

/// True when the water never fell below the lip of an overflow in this vessel.
bool always_full(const CourseScene& scene, std::int32_t vessel) {
    const layout::Layout& farm = scene.layout();
    for (std::size_t i = 0; i < farm.standpipes.size(); ++i) {
        const layout::Standpipe& standpipe = farm.standpipes[i];
        if (standpipe.in.kind == layout::Kind::vessel && standpipe.in.index == vessel) {
            return scene.course.vessels[at(vessel)].least_depth_m >= standpipe.inserts[at(scene.plan.conditions.insert[i])].lip_m;
        }
    }
    return false;
}

Cycle cycle_of(const CourseScene& scene, const time::BedCourse& bed, const layout::Vessel& vessel) {
    return {.kind = layout::name_of(vessel.kind),
            .fill_s = bed.fill_s,
            .hold_s = bed.hold_s > 0.0 ? bed.hold_s : time::kUnknown,
            .drain_s = bed.drain_s > 0.0 ? bed.drain_s : time::kUnknown,
            .spare_s = bed.spare_s,
            .period_s = bed.period_s,
            .peak_m3_s = bed.peak_drain_m3_s,
            .fills = bed.fills > 0 || always_full(scene, bed.vessel),
            .wet = bed.peak_drain_m3_s > 0.0};
}

/// Close enough to be said in one sentence: a fifth apart, or a few seconds.
bool close_to(double one, double other) {
    constexpr double kShare = 0.2;
    constexpr double kFewS = 5.0;
    return std::isnan(one) == std::isnan(other) && !(std::abs(one - other) > std::max(kFewS, kShare * std::max(std::abs(one), std::abs(other))));
}

bool close_to(const Cycle& one, const Cycle& other) {
    return std::string_view(one.kind) == other.kind && one.fills == other.fills && one.wet == other.wet && close_to(one.fill_s, other.fill_s) &&
           close_to(one.hold_s, other.hold_s) && close_to(one.drain_s, other.drain_s) && close_to(one.spare_s, other.spare_s) &&
           close_to(one.period_s, other.period_s);
}

/// "16 min 25 s to 17 min 54 s", "82 to 84 s", or one figure where both are said alike.
std::string from_to(const std::string& low, const std::string& high) {
    if (low == high) {
        return high;
    }
    const std::size_t first = low.find(' ');
    const bool one_unit = first != std::string::npos && first == low.rfind(' ') && high.find(' ') == high.rfind(' ') &&
                          low.substr(first) == high.substr(std::min(high.size(), high.find(' ')));
    return fmt::format("{} to {}", one_unit ? low.substr(0, first) : low, high);
}

/// Beds that do nearly the same.
struct Alike {
    std::vector<std::string> names;
    std::vector<Cycle> cycles;

    /// Least and greatest of one figure, as `say` says it; empty when there is none.
    template <typename Say>
    std::string range(double Cycle::*figure, const Say& say) const {
        double low = time::kUnknown;
        double high = time::kUnknown;
        for (const Cycle& cycle : cycles) {
            low = std::fmin(low, cycle.*figure);
            high = std::fmax(high, cycle.*figure);
        }
        return std::isnan(low) ? std::string() : from_to(say(low), say(high));
    }
};

std::string words_of(const Alike& beds, const Speech& speech) {
    const bool one = beds.names.size() == 1;
    const auto time_said = [](double seconds) { return Speech::duration(seconds); };
    const auto flow_said = [&](double flow_m3_s) { return speech.flow(flow_m3_s); };
    std::string text;
    const auto add = [&](const char* verb, const std::string& range) {
        if (!range.empty()) {
            text += fmt::format("{}{} {}", text.empty() ? "" : ", ", verb, range);
        }
    };
    add(one ? "fills in" : "fill in", beds.range(&Cycle::fill_s, time_said));
    add(one ? "holds" : "hold", beds.range(&Cycle::hold_s, time_said));
    add(one ? "drains in" : "drain in", beds.range(&Cycle::drain_s, time_said));
    const std::string spare = beds.range(&Cycle::spare_s, time_said);
    const std::string period = beds.range(&Cycle::period_s, time_said);
    if (!text.empty() && !spare.empty()) {
        text += fmt::format("; {} before the next water", spare);
    } else if (!text.empty() && !period.empty()) {
        text += fmt::format("; again every {}", period);
    }
    const Cycle& first = beds.cycles.front();
    if (text.empty()) {
        text = first.fills ? (one ? "stays full to its lip" : "stay full to their lips")
               : first.wet ? "water runs through"
               : one       ? "stays dry"
                           : "stay dry";
    }
    return first.wet ? fmt::format("{}; at most {} goes down the drain", text, beds.range(&Cycle::peak_m3_s, flow_said)) : text;
}

const time::BedCourse* bed_of(const time::Course& course, std::size_t vessel) {
    const auto found = std::find_if(course.beds.begin(), course.beds.end(), [&](const time::BedCourse& bed) { return at(bed.vessel) == vessel; });
    return found == course.beds.end() ? nullptr : &*found;
}

}  // namespace

std::vector<std::string> bed_lines(const CourseScene& scene) {
    std::vector<Alike> groups;
    for (const time::BedCourse& bed : scene.course.beds) {
        const layout::Vessel& vessel = scene.layout().vessels[at(bed.vessel)];
        const Cycle cycle = cycle_of(scene, bed, vessel);
        auto same = std::find_if(groups.begin(), groups.end(), [&](const Alike& group) { return close_to(group.cycles.front(), cycle); });
        if (same == groups.end()) {
            same = groups.insert(groups.end(), Alike{});
        }
        same->names.push_back(vessel.id);
        same->cycles.push_back(cycle);
    }
    constexpr std::size_t kMost = 12;  // beyond, the table alone
    if (groups.empty() || groups.size() > kMost) {
        return {};
    }
    std::vector<std::string> lines;
    for (const Alike& group : groups) {
        const char* plural = group.names.size() > 1 ? "s" : "";
        lines.push_back(fmt::format("{}{} {}: {}.", group.cycles.front().kind, plural, in_few_words(group.names, group.names.size()),
                                    words_of(group, scene.speech())));
    }
    return lines;
}

std::string bed_sentences(const CourseScene& scene) {
    std::string text;
    for (const std::string& line : bed_lines(scene)) {
        text += (text.empty() ? "\n" : "") + wrapped("  ", line);
    }
    return text;
}

Table beds_table(const CourseScene& scene) {
    Table table(
        {{"bed", Align::left}, {"fills in"}, {"holds"}, {"drains in"}, {"again after"}, {"to spare"}, {"peak drain"}, {"filled"}, {"siphon"}});
    const auto times = [](std::int32_t count) { return count > 0 ? fmt::format("{} x", count) : std::string("-"); };
    for (const time::BedCourse& bed : scene.course.beds) {
        if (std::isnan(bed.fill_s) && std::isnan(bed.drain_s) && std::isnan(bed.period_s)) {
            continue;  // nothing comes and goes in it
        }
        const std::string& id = scene.layout().vessels[at(bed.vessel)].id;
        table.add({id, Speech::duration(bed.fill_s), bed.hold_s > 0.0 ? Speech::duration(bed.hold_s) : "-",
                   bed.drain_s > 0.0 ? Speech::duration(bed.drain_s) : "-", Speech::duration(bed.period_s), Speech::duration(bed.spare_s),
                   scene.speech().flow(bed.peak_drain_m3_s), times(bed.fills), bed.has_siphon ? fmt::format("{} x", bed.starts) : "-"},
                  ink_of(scene, id));
    }
    return table;
}

std::string beds_section(const CourseScene& scene) {
    return scene.course.beds.size() < 2 ? std::string() : "\n" + beds_table(scene).text(scene.paint);  // of one bed its sentence has said it all
}

Table depths_table(const CourseScene& scene) {
    Table table({{"vessel", Align::left},
                 {"least"},
                 {"after"},
                 {"greatest"},
                 {"after"},
                 {"below rim"},
                 {"at the end"},
                 {"spilled"},
                 {"turnover"},
                 {"wants"}});
    for (std::size_t i = 0; i < scene.course.vessels.size(); ++i) {
        const time::VesselCourse& vessel = scene.course.vessels[i];
        const layout::Vessel& as_drawn = scene.layout().vessels[i];
        const Speech& speech = scene.speech();
        const bool turns = bed_of(scene.course, i) == nullptr;  // a bed's water comes and goes whole
        table.add({as_drawn.id, speech.height(vessel.least_depth_m), Speech::duration(vessel.least_at_s), speech.height(vessel.greatest_depth_m),
                   Speech::duration(vessel.greatest_at_s), speech.height(vessel.least_freeboard_m), speech.height(vessel.end_depth_m),
                   vessel.spilled_m3 > 0.0 ? speech.volume(vessel.spilled_m3) : "-", turns ? Speech::duration(vessel.turnover_s) : "-",
                   layout::said(as_drawn.turnover_s) ? Speech::duration(as_drawn.turnover_s) : "-"},
                  ink_of(scene, as_drawn.id));
    }
    return table;
}

std::string depths_section(const CourseScene& scene) { return "\n" + depths_table(scene).text(scene.paint); }

std::string strips_section(const CourseScene& scene) {
    const time::Course& course = scene.course;
    StripWish wish{.begin_s = 0.0, .end_s = course.lasted_s, .width = scene.subject.width, .block_letters = scene.subject.block_letters};
    std::string of = "from beginning to end";
    double period_s = 0.0;
    for (const time::BedCourse& bed : course.beds) {
        period_s = std::fmax(period_s, bed.period_s);
    }
    constexpr double kTooMany = 6.0;  // cycles that would flicker on one line
    if (course.repeat == time::Repeat::repeats) {
        wish.begin_s = course.cycle_begin_s;
        wish.end_s = course.cycle_end_s;
        of = "of one cycle";
    } else if (period_s > 0.0 && course.lasted_s > kTooMany * period_s) {
        wish.begin_s = course.lasted_s - 2.0 * period_s;
        of = "of the last " + Speech::duration(2.0 * period_s);
    }
    const std::string strips = strip_chart(scene.layout(), course, wish, scene.speech(), scene.paint);
    if (strips.empty()) {
        return {};
    }
    const char* how =
        scene.subject.block_letters ? "each from its least to its greatest" : "in tenths of the way from its least (0) to its greatest (9)";
    return "\n" + scene.paint(Ink::quiet, fmt::format("  depths {}, {}", of, how)) + '\n' + strips;
}

Table runs_table(const CourseScene& scene) {
    Table table({{"pump", Align::left}, {"runs"}, {"dry"}, {"starts"}, {"moves"}, {"at least"}, {"at most"}, {"energy"}, {"a day"}});
    constexpr double kDayS = 86400.0;
    constexpr double kBlinkS = 0.5;
    const double lasted_s = scene.course.lasted_s;
    const bool any_day = scene.course.repeat == time::Repeat::repeats || lasted_s >= kDayS;  // else a day might be quite another
    for (std::size_t i = 0; i < scene.course.pumps.size(); ++i) {
        const time::PumpCourse& pump = scene.course.pumps[i];
        const layout::Pump& as_drawn = scene.layout().pumps[i];
        const Speech& speech = scene.speech();
        if (!(pump.run_s > 0.0)) {
            table.add({as_drawn.id, "never"});
            continue;
        }
        const bool whole = pump.run_s > lasted_s - kBlinkS;
        table.add({as_drawn.id, whole ? "all the time" : Speech::duration(pump.run_s), pump.dry_s > kBlinkS ? Speech::duration(pump.dry_s) : "-",
                   fmt::format("{} x", pump.starts), speech.volume(pump.pumped_m3), speech.flow(pump.least_flow_m3_s),
                   speech.flow(pump.greatest_flow_m3_s), Speech::energy(pump.energy_j),
                   any_day ? Speech::energy(pump.energy_j / lasted_s * kDayS) : "-"},
                  ink_of(scene, as_drawn.id));
    }
    return table;
}

std::string runs_section(const CourseScene& scene) {
    const Table table = runs_table(scene);
    return table.empty() ? std::string() : "\n" + table.text(scene.paint);
}

Table water_table(const CourseScene& scene) {
    const time::Course& course = scene.course;
    const layout::Layout& farm = scene.layout();
    const Speech& speech = scene.speech();
    Table table({{"water", Align::left}, {"", Align::left}, {"comes in"}, {"goes out"}, {"missing"}});
    const auto source = [&](const std::string& id, const char* what, double given_m3) {
        if (given_m3 == 0.0) {
            return;
        }
        table.add({id, what, given_m3 > 0.0 ? speech.volume(given_m3) : "-", given_m3 < 0.0 ? speech.volume(-given_m3) : "-"});
    };
    for (std::size_t i = 0; i < course.supplies.size(); ++i) {
        source(farm.supplies[i].id, "supply", course.supplies[i].given_m3);
    }
    for (std::size_t i = 0; i < course.ponds.size(); ++i) {
        source(farm.ponds[i].id, "pond", course.ponds[i].given_m3);
    }
    const auto taken = [&](const std::string& id, const std::string& what, const time::TakenCourse& water) {
        constexpr double kThimbleM3 = 1e-6;
        const bool short_of = water.missing_m3 > kThimbleM3;
        table.add({id, what, "-", speech.volume(water.taken_m3), short_of ? speech.volume(water.missing_m3) : "-"},
                  short_of ? Ink::trouble : Ink::plain);
    };
    for (std::size_t i = 0; i < course.draws.size(); ++i) {
        const layout::Draw& draw = scene.plan.routine.draws[i];
        taken(draw.from_id, draw.into_id.empty() ? "draw" : "draw into " + draw.into_id, course.draws[i]);
    }
    for (std::size_t i = 0; i < course.uptakes.size(); ++i) {
        taken(scene.plan.routine.uptakes[i].from_id, "uptake", course.uptakes[i]);
    }
    for (std::size_t i = 0; i < course.tees.size(); ++i) {
        if (course.tees[i].wanted_m3 > 0.0) {
            taken(farm.tees[i].id, "taken at the tee", course.tees[i]);
        }
    }
    for (std::size_t i = 0; i < course.vessels.size(); ++i) {
        if (course.vessels[i].spilled_m3 > 0.0) {
            table.add({farm.vessels[i].id, "spills", "-", speech.volume(course.vessels[i].spilled_m3)}, Ink::trouble);
        }
    }
    return table;
}

std::string held_sentence(const CourseScene& scene) {
    double end_m3 = 0.0;
    for (const time::VesselCourse& vessel : scene.course.vessels) {
        end_m3 += vessel.end_volume_m3;
    }
    return fmt::format("The farm holds {} at the start and {} at the end.", scene.speech().volume(scene.course.water_m3),
                       scene.speech().volume(end_m3));
}

std::string water_section(const CourseScene& scene) {
    const Table table = water_table(scene);
    return table.empty() ? std::string() : "\n" + table.text(scene.paint) + wrapped("  ", held_sentence(scene));
}

std::string repeat_sentence(const time::Course& course) {
    const std::string why = course.why_no_repeat.empty() ? "" : ": " + course.why_no_repeat;
    switch (course.repeat) {
        case time::Repeat::repeats:
            return course.repeats_from_s > 0.0 ? fmt::format("repeats every {}, from {} on", Speech::duration(course.repeats_every_s),
                                                             Speech::duration(course.repeats_from_s))
                                               : fmt::format("repeats every {}, from the start", Speech::duration(course.repeats_every_s));
        case time::Repeat::still: return "comes to rest: every level stands still";
        case time::Repeat::not_yet: return "does not repeat yet" + why;
        case time::Repeat::never: return "never repeats" + why;
        case time::Repeat::not_asked: break;
    }
    return {};
}

}  // namespace ebb::cli
