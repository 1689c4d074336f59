#include "cli/views/question_if.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/speech.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

constexpr double kPuddle_m3 = 1e-3;  ///< less on the floor is wiped up

using time::Clock;
using time::Strikes;

constexpr double kSeen_m = 0.001;       ///< a level that moved less did not
constexpr double kAtOnce_s = 1.0;       ///< sooner is at once
constexpr double kTogether_s = 60.0;    ///< things that happen within this are told together
constexpr double kTrickle_m3_s = 1e-6;  ///< less over a rim is no flow to speak of
constexpr double kDrops_m3 = 5e-5;      ///< water that is worth a word

std::string name_of_arrangement(const layout::Layout& layout, std::int32_t arrangement) {
    return layout.arrangements[static_cast<std::size_t>(arrangement)].name;
}

std::string when(double t_s) { return t_s < kAtOnce_s ? "at once" : Speech::duration(t_s); }

/// "from the settled levels of 'coupled'", "in routine 'day', from its beginning".
std::string frame(const time::WhatIfAnswer& answer, const layout::Layout& layout) {
    if (answer.routine >= 0) {
        return fmt::format("in routine '{}', from its beginning", layout.routines[static_cast<std::size_t>(answer.routine)].name);
    }
    const std::string name = name_of_arrangement(layout, answer.arrangement);
    return answer.settled ? fmt::format("'{}', from its settled levels", name)
                          : fmt::format("'{}', which does not settle ({}): from where it stands after some time", name, answer.why_not_settled);
}

std::string overflow_words(const Strikes& strike, const Speech& speech) {
    const std::string text = fmt::format("{} runs over its rim: {} in the first hour", strike.about_id, speech.volume(strike.first_hour_m3));
    if (std::isnan(strike.over_s)) {
        return strike.goes_on_m3_s < kTrickle_m3_s ? text : text + fmt::format("; it goes on at {}", speech.flow(strike.goes_on_m3_s));
    }
    return text + fmt::format("; over again after {}", Speech::duration(strike.over_s - strike.t_s));
}

std::string inflow_words(const Strikes& strike, const std::string& names, bool several, const Speech& speech) {
    if (strike.what == Clock::no_inflow) {
        const std::string had = several ? "" : fmt::format(" (before: {})", speech.flow(strike.before_m3_s));
        return fmt::format("{} {} no more water{}", names, several ? "get" : "gets", had);
    }
    if (several) {
        return fmt::format("{} get less than their targets ask for", names);
    }
    return fmt::format("{} gets less than its target asks for ({}; before: {})", names, speech.flow(strike.wanted_m3_s),
                       speech.flow(strike.before_m3_s));
}

std::string strike_words(const Strikes& strike, const std::vector<std::string>& ids, const Speech& speech) {
    std::string text;
    switch (strike.what) {
        case Clock::overflow: text = overflow_words(strike, speech); break;
        case Clock::bare_intake: text = fmt::format("the intake of {} is bare: it draws air", strike.about_id); break;
        case Clock::below_least_depth: text = fmt::format("{} is below its least depth", strike.about_id); break;
        case Clock::inflow_below_target:
        case Clock::no_inflow: text = inflow_words(strike, in_few_words(ids, ids.size()), ids.size() > 1, speech); break;
    }
    if (!std::isnan(strike.over_s) && strike.what != Clock::overflow) {
        text += fmt::format("; over again after {}", Speech::duration(strike.over_s - strike.t_s));
    }
    return text + (strike.also_without ? " (it does without that too)" : "");
}

bool can_be_told_together(const Strikes& one, const Strikes& other) {
    const bool inflow = one.what == Clock::no_inflow || one.what == Clock::inflow_below_target;
    return inflow && one.what == other.what && std::abs(one.t_s - other.t_s) < kTogether_s && std::isnan(one.over_s) && std::isnan(other.over_s);
}

/// One line for each thing that happens, in order of time.
std::string clocks(const time::WhatIfAnswer& answer, const Subject& subject, const Paint& paint) {
    Table table({{"after", Align::right}, {"", Align::left}});
    const auto place_of = [&](const std::string& id) {
        const auto& vessels = subject.layout.vessels;
        return std::find_if(vessels.begin(), vessels.end(), [&](const layout::Vessel& vessel) { return vessel.id == id; });
    };
    std::vector<std::uint8_t> told(answer.strikes.size(), 0);
    for (std::size_t i = 0; i < answer.strikes.size(); ++i) {
        if (told[i] != 0) {
            continue;
        }
        std::vector<std::string> ids{answer.strikes[i].about_id};
        for (std::size_t j = i + 1; j < answer.strikes.size(); ++j) {
            if (can_be_told_together(answer.strikes[i], answer.strikes[j])) {
                told[j] = 1;
                ids.push_back(answer.strikes[j].about_id);
            }
        }
        std::sort(ids.begin(), ids.end(), [&](const auto& a, const auto& b) { return place_of(a) < place_of(b); });
        table.add({when(answer.strikes[i].t_s), strike_words(answer.strikes[i], ids, subject.speech)});
    }
    return table.text(paint);
}

std::string floor_sentence(const time::WhatIfAnswer& answer, const Speech& speech) {
    if (std::isnan(answer.break_elevation_m)) {
        return {};
    }
    const std::string where = fmt::format("Taken as broken at its lower end, at {} ({})", answer.break_at_id, speech.level(answer.break_elevation_m));
    if (answer.floor_m3 < kDrops_m3) {
        return where + ": no water comes out there.";
    }
    return fmt::format("{}: {} runs on the floor at first, {} in the first hour, {} in all.", where, speech.flow(answer.floor_m3_s),
                       speech.volume(answer.floor_first_hour_m3), speech.volume(answer.floor_m3));
}

std::string ending_sentence(const time::WhatIfAnswer& answer) {
    const time::Course& course = answer.course;
    switch (course.ending) {
        case time::Ending::still: return fmt::format("After {} nothing moves any more.", Speech::duration(course.lasted_s));
        case time::Ending::cancelled: return fmt::format("Stopped after {} of it.", Speech::duration(course.lasted_s));
        case time::Ending::chatters:
        case time::Ending::no_solution: return fmt::format("It cannot be followed beyond {}: {}.", Speech::duration(course.lasted_s), course.why);
        default: return fmt::format("It is like this after {}.", Speech::duration(course.lasted_s));
    }
}

/// Where the levels end, of vessels that moved.
std::string levels(const time::WhatIfAnswer& answer, const Subject& subject, const Paint& paint) {
    Table table({{"", Align::left}, {"depth before"}, {"at the end"}, {"least"}, {"greatest"}, {"below the rim"}, {"spilled"}});
    std::size_t still = 0;
    for (std::size_t v = 0; v < answer.course.vessels.size(); ++v) {
        const time::VesselCourse& vessel = answer.course.vessels[v];
        const double before = answer.before_depth_m[v];
        const bool moved = std::max(std::abs(vessel.greatest_depth_m - before), std::abs(vessel.least_depth_m - before)) >= kSeen_m;
        if (!moved) {
            ++still;
            continue;
        }
        const Speech& speech = subject.speech;
        table.add({subject.layout.vessels[v].id, speech.height(before), speech.height(vessel.end_depth_m), speech.height(vessel.least_depth_m),
                   speech.height(vessel.greatest_depth_m), speech.height(vessel.least_freeboard_m),
                   vessel.spilled_m3 >= kDrops_m3 ? speech.volume(vessel.spilled_m3) : ""});
    }
    if (table.empty()) {
        return "  No level changes.\n";
    }
    return table.text(paint) + (still == 0   ? ""
                                : still == 1 ? "  The other vessel keeps its level.\n"
                                             : fmt::format("  The other {} vessels keep their levels.\n", still));
}

void show_text(const IfScene& scene, QuestionPage& page) {
    const time::WhatIfAnswer& answer = scene.answer;
    const Subject& subject = page.subject();
    const Paint& paint = page.paint();
    std::string text = "\n" + paint(Ink::title, "If " + scene.asked) + '\n' + wrapped("  ", with_full_stop(frame(answer, subject.layout)));
    if (!answer.cannot.empty()) {
        page.text(text + paint(Ink::trouble, wrapped("! ", with_full_stop(answer.cannot))));
        return;
    }
    if (answer.nothing_changes) {
        page.text(text + wrapped("  ", fmt::format("It is like that in '{}' already: nothing changes.",
                                                   name_of_arrangement(subject.layout, answer.arrangement))));
        return;
    }
    const bool cut_short = answer.course.ending == time::Ending::no_solution || answer.course.ending == time::Ending::chatters;
    if (answer.strikes.empty() && cut_short) {
        text += paint(Ink::trouble, wrapped("! ", "There is no answer."));
    } else if (answer.strikes.empty() && answer.floor_m3 > kPuddle_m3) {
        text += paint(Ink::trouble, wrapped("! ", "Nothing runs over and no intake goes bare, but water runs out on the floor."));
    } else if (answer.strikes.empty()) {
        const std::string followed = Speech::duration(answer.course.ending == time::Ending::still ? scene.lasts_s : answer.course.lasted_s);
        text += paint(
            Ink::good,
            wrapped("  ", fmt::format("Within {} nothing runs over, no intake goes bare and nobody loses water that a target asks for.", followed)));
    } else {
        text += clocks(answer, subject, paint);
    }
    if (const std::string floor = floor_sentence(answer, subject.speech); !floor.empty()) {
        text += wrapped("  ", floor);
    }
    text += wrapped("  ", ending_sentence(answer)) + levels(answer, subject, paint);
    page.text(text);
}

void write_strikes(const time::WhatIfAnswer& answer, JsonWriter& json) {
    json.key("happens");
    json.begin_array();
    for (const Strikes& strike : answer.strikes) {
        json.new_line();
        json.begin_object();
        json.entry("t_s", strike.t_s);
        json.entry("what", time::name_of(strike.what));
        json.entry("about", strike.about_id);
        json.entry("over_at_s", strike.over_s);
        json.entry("also_without", strike.also_without);
        if (strike.what == Clock::overflow) {
            json.entry("spill_m3_s", strike.spill_m3_s);
            json.entry("first_hour_m3", strike.first_hour_m3);
            json.entry("spilled_m3", strike.spilled_m3);
            json.entry("goes_on_m3_s", strike.goes_on_m3_s);
        }
        if (strike.what == Clock::no_inflow || strike.what == Clock::inflow_below_target) {
            json.entry("inflow_before_m3_s", strike.before_m3_s);
            json.entry("inflow_then_m3_s", strike.then_m3_s);
            json.entry("inflow_wanted_m3_s", strike.wanted_m3_s);
        }
        json.end_object();
    }
    json.end_array();
}

void write_vessels(const time::WhatIfAnswer& answer, const layout::Layout& layout, JsonWriter& json) {
    json.key("vessels");
    json.begin_array();
    for (std::size_t v = 0; v < answer.course.vessels.size(); ++v) {
        const time::VesselCourse& vessel = answer.course.vessels[v];
        json.new_line();
        json.begin_object();
        json.entry("id", layout.vessels[v].id);
        json.entry("before_depth_m", answer.before_depth_m[v]);
        json.entry("least_depth_m", vessel.least_depth_m);
        json.entry("greatest_depth_m", vessel.greatest_depth_m);
        json.entry("end_depth_m", vessel.end_depth_m);
        json.entry("spilled_m3", vessel.spilled_m3);
        json.end_object();
    }
    json.end_array();
}

void show_json(const IfScene& scene, QuestionPage& page) {
    const time::WhatIfAnswer& answer = scene.answer;
    const layout::Layout& layout = page.subject().layout;
    JsonWriter& json = page.json();
    json.new_line();
    json.begin_object();
    json.entry("asks", "if");
    json.entry("what", scene.asked);
    json.entry("about", answer.mishap.about_id);
    json.entry("fault", time::name_of(answer.mishap.fault));
    json.entry("arrangement", name_of_arrangement(layout, answer.arrangement));
    json.key("routine");
    if (answer.routine >= 0) {
        json.value(layout.routines[static_cast<std::size_t>(answer.routine)].name);
    } else {
        json.value(time::kUnknown);
    }
    json.entry("settled", answer.settled);
    json.entry("nothing_changes", answer.nothing_changes);
    json.entry("ending", time::name_of(answer.course.ending));
    json.entry("why", answer.cannot.empty() ? answer.course.why : answer.cannot);
    json.entry("lasted_s", answer.course.lasted_s);
    if (!std::isnan(answer.break_elevation_m)) {
        json.entry("break_at", answer.break_at_id);
        json.entry("break_elevation_m", answer.break_elevation_m);
        json.entry("floor_m3_s", answer.floor_m3_s);
        json.entry("floor_first_hour_m3", answer.floor_first_hour_m3);
        json.entry("floor_m3", answer.floor_m3);
    }
    write_strikes(answer, json);
    write_vessels(answer, layout, json);
    json.end_object();
}

void show_csv(const IfScene& scene, QuestionPage& page) {
    const time::WhatIfAnswer& answer = scene.answer;
    const layout::Layout& layout = page.subject().layout;
    const std::string question = fmt::format("if {} in {}", scene.asked,
                                             answer.routine >= 0 ? layout.routines[static_cast<std::size_t>(answer.routine)].name
                                                                 : name_of_arrangement(layout, answer.arrangement));
    page.word({question, "", "ending", ""}, answer.nothing_changes ? "nothing-changes" : time::name_of(answer.course.ending));
    page.figure({question, "", "lasted", "s"}, answer.course.lasted_s);
    for (const Strikes& strike : answer.strikes) {
        page.figure({question, strike.about_id, time::name_of(strike.what), "s"}, strike.t_s);
        if (strike.what == Clock::overflow) {
            page.figure({question, strike.about_id, "spill", "m3/s"}, strike.spill_m3_s);
            page.figure({question, strike.about_id, "first-hour", "m3"}, strike.first_hour_m3);
            page.figure({question, strike.about_id, "spilled", "m3"}, strike.spilled_m3);
        }
    }
    if (!std::isnan(answer.break_elevation_m)) {
        page.figure({question, answer.break_at_id, "break-elevation", "m"}, answer.break_elevation_m);
        page.figure({question, "", "on-the-floor", "m3"}, answer.floor_m3);
        page.figure({question, "", "on-the-floor-first-hour", "m3"}, answer.floor_first_hour_m3);
    }
    for (std::size_t v = 0; v < answer.course.vessels.size(); ++v) {
        page.figure({question, layout.vessels[v].id, "before-depth", "m"}, answer.before_depth_m[v]);
        page.figure({question, layout.vessels[v].id, "end-depth", "m"}, answer.course.vessels[v].end_depth_m);
    }
}

}  // namespace

void show_if(const IfScene& scene, QuestionPage& page) {
    switch (page.format()) {
        case Format::text: return show_text(scene, page);
        case Format::json: return show_json(scene, page);
        case Format::csv: return show_csv(scene, page);
    }
}

}  // namespace ebb::cli
