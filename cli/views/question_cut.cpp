// `--power-cut` as JSON and CSV; the text stands in question_cut_text.cpp.

#include "cli/views/question_cut.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "cli/views/question_cut_text.h"
#include "cli/views/question_words.h"

namespace ebb::cli {
namespace {

constexpr double kSpillM3 = 1e-6;

const char* name_of_start(time::CutStart start) {
    switch (start) {
        case time::CutStart::cycle: return "cycle";
        case time::CutStart::start_depths: return "start-depths";
        case time::CutStart::settled: break;
    }
    return "settled";
}

std::string routine_of(const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    return answer.routine < 0 ? std::string() : layout.routines[static_cast<std::size_t>(answer.routine)].name;
}

void write_vessels(JsonWriter& json, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    json.key("vessels");
    json.begin_array();
    for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
        const time::CutVessel& vessel = answer.vessels[v];
        json.new_line();
        json.begin_object();
        json.entry("id", layout.vessels[v].id);
        json.entry("before_depth_m", vessel.before_depth_m);
        json.entry("end_depth_m", vessel.end_depth_m);
        json.entry("gained_m3", vessel.gained_m3);
        json.entry("greatest_depth_m", vessel.greatest_depth_m);
        json.entry("greatest_at_s", vessel.greatest_at_s);
        json.entry("least_freeboard_m", vessel.least_freeboard_m);
        json.entry("spilled_m3", vessel.spilled_m3);
        json.entry("first_spill_s", vessel.first_spill_s);
        json.entry("restart_least_depth_m", vessel.restart_least_depth_m);
        json.entry("restart_least_at_s", vessel.restart_least_at_s);
        json.entry("restart_spilled_m3", vessel.restart_spilled_m3);
        json.entry("after_depth_m", vessel.after_depth_m);
        json.end_object();
    }
    json.end_array();
}

void write_home(JsonWriter& json, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    json.key("home");
    json.begin_array();
    for (const time::HomeComing& home : answer.home) {
        json.new_line();
        json.begin_object();
        json.entry("id", vessel_id(layout, home.sump));
        json.entry("returned_m3", home.returned_m3);
        json.key("from");
        json.begin_array();
        for (const time::CameFrom& one : home.from) {
            json.begin_object();
            json.entry("id", vessel_id(layout, one.vessel));
            json.entry("volume_m3", one.volume_m3);
            json.end_object();
        }
        json.end_array();
        json.end_object();
    }
    json.end_array();
}

void write_backflows(JsonWriter& json, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    json.key("drawn_back");
    json.begin_array();
    for (const time::Backflow& flow : answer.backflows) {
        json.new_line();
        json.begin_object();
        json.entry("pipe", layout.pipes[static_cast<std::size_t>(flow.pipe)].id);
        json.entry("vessel", vessel_id(layout, flow.vessel));
        write_ids(json, "into", layout, flow.into);
        json.entry("volume_m3", flow.volume_m3);
        json.entry("from_depth_m", flow.from_depth_m);
        json.entry("down_to_depth_m", flow.down_to_depth_m);
        json.entry("ended_by", time::name_of(flow.ended));
        json.entry("joins_two_vessels", flow.evens_out);
        json.entry("air_hole_advised_m", flow.air_hole_advised_m);
        json.entry("air_hole_saves_m3", flow.saved_m3);
        json.end_object();
    }
    json.end_array();
}

void write_restart(JsonWriter& json, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    json.key("restart");
    json.begin_object();
    json.entry("comes_back", answer.comes_back);
    json.entry("settled_again_after_s", answer.settled_again_after_s);
    json.entry("missing_m3", answer.missing_m3);
    write_ids(json, "cycle_now", layout, answer.cycle_now);
    write_ids(json, "not_back", layout, answer.not_back);
    json.key("bare");
    json.begin_array();
    for (const time::BareIntake& bare : answer.bare) {
        json.begin_object();
        json.entry("pump", layout.pumps[static_cast<std::size_t>(bare.pump)].id);
        json.entry("first_s", bare.first_s);
        json.entry("for_s", bare.for_s);
        json.end_object();
    }
    json.end_array();
    json.end_object();
}

void write_json(JsonWriter& json, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    json.new_line();
    json.begin_object();
    json.entry("asks", "power-cut");
    json.entry("arrangement", layout.arrangements[static_cast<std::size_t>(answer.arrangement)].name);
    if (answer.routine >= 0) {
        json.entry("routine", routine_of(layout, answer));
    }
    json.entry("begins_from", name_of_start(answer.start));
    json.entry("moment_s", answer.moment_s);
    json.entry("cycle_s", answer.period_s);
    json.entry("moments_tried", answer.moments_tried);
    json.entry("any_pump_ran", answer.any_pump_ran);
    json.entry("ending", time::name_of(answer.cut.ending));
    json.entry("lasted_s", answer.cut.lasted_s);
    json.entry("over_after_s", answer.over_after_s);
    json.entry("spilled_m3", answer.spilled_m3);
    json.entry("first_spill_s", answer.first_spill_s);
    write_vessels(json, layout, answer);
    write_home(json, layout, answer);
    write_backflows(json, layout, answer);
    write_restart(json, layout, answer);
    json.end_object();
}

void write_csv(QuestionPage& page, const layout::Layout& layout, const time::PowerCutAnswer& answer) {
    const std::string asked =
        "power-cut: " + (answer.routine >= 0 ? routine_of(layout, answer) : layout.arrangements[static_cast<std::size_t>(answer.arrangement)].name);
    page.word({asked, "", "begins_from", ""}, name_of_start(answer.start));
    page.figure({asked, "", "over_after", "s"}, answer.over_after_s);
    page.figure({asked, "", "spilled", "m3"}, answer.spilled_m3);
    page.figure({asked, "", "first_spill", "s"}, answer.first_spill_s);
    page.word({asked, "", "comes_back", ""}, answer.comes_back ? "yes" : "no");
    page.figure({asked, "", "settled_again_after", "s"}, answer.settled_again_after_s);
    page.figure({asked, "", "missing", "m3"}, answer.missing_m3);
    for (std::size_t v = 0; v < answer.vessels.size(); ++v) {
        const time::CutVessel& vessel = answer.vessels[v];
        const std::string& id = layout.vessels[v].id;
        page.figure({asked, id, "before_depth", "m"}, vessel.before_depth_m);
        page.figure({asked, id, "end_depth", "m"}, vessel.end_depth_m);
        page.figure({asked, id, "gained", "m3"}, vessel.gained_m3);
        page.figure({asked, id, "greatest_depth", "m"}, vessel.greatest_depth_m);
        page.figure({asked, id, "least_freeboard", "m"}, vessel.least_freeboard_m);
        page.figure({asked, id, "spilled", "m3"}, vessel.spilled_m3);
        page.figure({asked, id, "first_spill", "s"}, vessel.first_spill_s);
        page.figure({asked, id, "restart_least_depth", "m"}, vessel.restart_least_depth_m);
        page.figure({asked, id, "restart_least_at", "s"}, vessel.restart_least_at_s);
        page.figure({asked, id, "after_depth", "m"}, vessel.after_depth_m);
    }
    for (const time::HomeComing& home : answer.home) {
        page.figure({asked, vessel_id(layout, home.sump), "returned", "m3"}, home.returned_m3);
    }
    for (const time::Backflow& flow : answer.backflows) {
        const std::string& id = layout.pipes[static_cast<std::size_t>(flow.pipe)].id;
        page.figure({asked, id, "drawn_back", "m3"}, flow.volume_m3);
        page.figure({asked, id, "down_to_depth", "m"}, flow.down_to_depth_m);
        page.word({asked, id, "ended_by", ""}, time::name_of(flow.ended));
    }
    for (const time::BareIntake& bare : answer.bare) {
        const std::string& id = layout.pumps[static_cast<std::size_t>(bare.pump)].id;
        page.figure({asked, id, "bare_first", "s"}, bare.first_s);
        page.figure({asked, id, "bare_for", "s"}, bare.for_s);
    }
}

}  // namespace

bool cut_does_harm(const time::PowerCutAnswer& answer) {
    const bool spills = std::any_of(answer.vessels.begin(), answer.vessels.end(), [](const time::CutVessel& vessel) {
        return vessel.spilled_m3 > kSpillM3 || vessel.restart_spilled_m3 > kSpillM3;
    });
    return spills || !answer.bare.empty();
}

void write_cuts(QuestionPage& page, const std::vector<time::PowerCutAnswer>& answers) {
    const layout::Layout& layout = page.subject().layout;
    switch (page.format()) {
        case Format::json:
            for (const time::PowerCutAnswer& answer : answers) {
                write_json(page.json(), layout, answer);
            }
            break;
        case Format::csv:
            for (const time::PowerCutAnswer& answer : answers) {
                write_csv(page, layout, answer);
            }
            break;
        case Format::text: page.text(cuts_text(page.subject(), page.paint(), answers)); break;
    }
}

}  // namespace ebb::cli
