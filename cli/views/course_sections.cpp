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

/// What one bed does, without its name.
std::string bed_words(const time::BedCourse& bed, const Speech& speech) {
    std::vector<std::string> parts;
    const auto add = [&](const char* verb, double seconds) {
        if (std::isfinite(seconds)) {
            parts.push_back(fmt::format("{} {}", verb, Speech::duration(seconds)));
        }
    };
    add("fills in", bed.fill_s);
    if (bed.hold_s > 0.0) {
        add("holds", bed.hold_s);
    }
    add("drains in", bed.drain_s);
    std::string text;
    for (const std::string& part : parts) {
        text += (text.empty() ? "" : ", ") + part;
    }
    if (std::isfinite(bed.spare_s)) {
        text += fmt::format("{}{} before the next water", text.empty() ? "" : "; ", Speech::duration(bed.spare_s));
    } else if (std::isfinite(bed.period_s)) {
        text += fmt::format("{}again every {}", text.empty() ? "" : "; ", Speech::duration(bed.period_s));
    }
    if (text.empty() && bed.fills > 0) {
        text = "stays full to its lip";
    } else if (text.empty() && bed.peak_drain_m3_s > 0.0) {
        text = fmt::format("gives at most {}, without ever being full to its lip", speech.flow(bed.peak_drain_m3_s));
    }
    return text;
}

const time::BedCourse* bed_of(const time::Course& course, std::size_t vessel) {
    const auto found = std::find_if(course.beds.begin(), course.beds.end(), [&](const time::BedCourse& bed) { return at(bed.vessel) == vessel; });
    return found == course.beds.end() ? nullptr : &*found;
}

}  // namespace

std::string bed_sentences(const CourseScene& scene) {
    std::vector<std::pair<std::string, std::vector<std::string>>> said;  // what is said, of which beds
    for (const time::BedCourse& bed : scene.course.beds) {
        const layout::Vessel& vessel = scene.layout().vessels[at(bed.vessel)];
        std::string words = bed_words(bed, scene.speech());
        if (words.empty()) {
            words = "gets no water that reaches its lip";
        }
        words.insert(0, fmt::format("{}:", layout::name_of(vessel.kind)));
        const auto same = std::find_if(said.begin(), said.end(), [&](const auto& one) { return one.first == words; });
        if (same == said.end()) {
            said.push_back({words, {vessel.id}});
        } else {
            same->second.push_back(vessel.id);
        }
    }
    constexpr std::size_t kMost = 12;  // beyond, the table alone
    if (said.empty() || said.size() > kMost) {
        return {};
    }
    std::string text = "\n";
    for (const auto& [words, names] : said) {
        const std::size_t colon = words.find(':');
        const std::string kind = words.substr(0, colon) + (names.size() > 1 ? "s" : "");
        text += wrapped("  ", fmt::format("{} {}: {}.", kind, in_few_words(names, names.size()), words.substr(colon + 1)));
    }
    return text;
}

std::string beds_section(const CourseScene& scene) {
    Table table({{"bed", Align::left},
                 {"fills in"},
                 {"holds"},
                 {"drains in"},
                 {"again after"},
                 {"to spare"},
                 {"most down the drain"},
                 {"filled"},
                 {"siphon starts"}});
    for (const time::BedCourse& bed : scene.course.beds) {
        const std::string& id = scene.layout().vessels[at(bed.vessel)].id;
        table.add({id, Speech::duration(bed.fill_s), Speech::duration(bed.hold_s), Speech::duration(bed.drain_s), Speech::duration(bed.period_s),
                   Speech::duration(bed.spare_s), scene.speech().flow(bed.peak_drain_m3_s), fmt::format("{} x", bed.fills),
                   bed.has_siphon ? fmt::format("{} x", bed.starts) : "-"},
                  ink_of(scene, id));
    }
    return table.empty() ? std::string() : "\n" + table.text(scene.paint);
}

std::string depths_section(const CourseScene& scene) {
    Table table({{"vessel", Align::left},
                 {"least depth"},
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
    return "\n" + table.text(scene.paint);
}

std::string strips_section(const CourseScene& scene) {
    const time::Course& course = scene.course;
    const bool repeats = course.repeat == time::Repeat::repeats;
    const StripWish wish{.begin_s = repeats ? course.cycle_begin_s : 0.0,
                         .end_s = repeats ? course.cycle_end_s : course.lasted_s,
                         .width = scene.subject.width,
                         .block_letters = scene.subject.block_letters};
    const std::string strips = strip_chart(scene.layout(), course, wish, scene.speech(), scene.paint);
    if (strips.empty()) {
        return {};
    }
    const std::string of = repeats ? "one cycle" : "all the time";
    const char* how = scene.subject.block_letters ? "from least to greatest" : "tenths of the way from least to greatest";
    return "\n" + scene.paint(Ink::quiet, fmt::format("  depths over {}, {}", of, how)) + '\n' + strips;
}

std::string runs_section(const CourseScene& scene) {
    Table table({{"pump", Align::left}, {"runs"}, {"dry"}, {"starts"}, {"moves"}, {"at least"}, {"at most"}, {"energy"}, {"a day"}});
    constexpr double kDayS = 86400.0;
    constexpr double kBlinkS = 0.5;
    const double lasted_s = scene.course.lasted_s;
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
                   speech.flow(pump.greatest_flow_m3_s), Speech::energy(pump.energy_j), Speech::energy(pump.energy_j / lasted_s * kDayS)},
                  ink_of(scene, as_drawn.id));
    }
    return table.empty() ? std::string() : "\n" + table.text(scene.paint);
}

std::string water_section(const CourseScene& scene) {
    const time::Course& course = scene.course;
    const layout::Layout& farm = scene.layout();
    const Speech& speech = scene.speech();
    Table table({{"water", Align::left}, {"", Align::left}, {"comes in"}, {"goes out"}, {"missing"}});
    const auto source = [&](const std::string& id, const char* what, double given_m3) {
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
    for (std::size_t i = 0; i < course.vessels.size(); ++i) {
        if (course.vessels[i].spilled_m3 > 0.0) {
            table.add({farm.vessels[i].id, "spills", "-", speech.volume(course.vessels[i].spilled_m3)}, Ink::trouble);
        }
    }
    if (table.empty()) {
        return {};
    }
    double end_m3 = 0.0;
    for (const time::VesselCourse& vessel : course.vessels) {
        end_m3 += vessel.end_volume_m3;
    }
    const std::string held = fmt::format("The farm holds {} at the start and {} at the end.", speech.volume(course.water_m3), speech.volume(end_m3));
    return "\n" + table.text(scene.paint) + wrapped("  ", held);
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
