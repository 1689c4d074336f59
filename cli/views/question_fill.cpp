// `--fill` as JSON and CSV; the text stands in question_fill_text.cpp.

#include "cli/views/question_fill.h"

#include "cli/views/question_fill_text.h"
#include "cli/views/question_words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

void write_loops(JsonWriter& json, const layout::Layout& layout, const time::FillWay& way) {
    json.key("loops");
    json.begin_array();
    for (const time::FilledLoop& loop : way.loops) {
        json.new_line();
        json.begin_object();
        json.entry("hose_in", vessel_id(layout, loop.vessel));
        write_ids(json, "fills", layout, loop.members);
        json.entry("up_to_depth_m", loop.up_to_depth_m);
        json.entry("wanted_m3", loop.wanted_m3);
        json.entry("hose_m3", loop.hose_m3);
        json.entry("mains_m3", loop.mains_m3);
        json.entry("hose_ends_s", loop.hose_ends_s);
        json.end_object();
    }
    json.end_array();
}

void write_vessels(JsonWriter& json, const layout::Layout& layout, const time::FillWay& way) {
    json.key("vessels");
    json.begin_array();
    for (std::size_t v = 0; v < way.vessels.size(); ++v) {
        const time::FilledVessel& vessel = way.vessels[v];
        json.new_line();
        json.begin_object();
        json.entry("id", layout.vessels[v].id);
        json.entry("running_depth_m", vessel.running_depth_m);
        json.entry("end_depth_m", vessel.end_depth_m);
        json.entry("end_volume_m3", vessel.end_m3);
        json.entry("reaches_after_s", vessel.reaches_after_s);
        json.entry("greatest_depth_m", vessel.greatest_depth_m);
        json.entry("spilled_m3", vessel.spilled_m3);
        json.entry("first_spill_s", vessel.first_spill_s);
        json.entry("rest_depth_m", vessel.rest_depth_m);
        json.end_object();
    }
    json.end_array();
}

void write_pumps(JsonWriter& json, const layout::Layout& layout, const time::FillWay& way) {
    json.key("pumps");
    json.begin_array();
    for (std::size_t p = 0; p < way.pumps.size(); ++p) {
        json.new_line();
        json.begin_object();
        json.entry("id", layout.pumps[p].id);
        json.entry("covered_s", way.pumps[p].covered_s);
        json.entry("gulps_s", way.pumps[p].gulps_s);
        json.entry("starts", way.pumps[p].starts);
        json.end_object();
    }
    json.end_array();
}

void write_way(JsonWriter& json, std::string_view key, const layout::Layout& layout, const time::FillWay& way) {
    json.key(key);
    json.begin_object();
    json.entry("ending", time::name_of(way.course.ending));
    json.entry("done_after_s", way.done_after_s);
    json.entry("spilled_m3", way.spilled_m3);
    write_loops(json, layout, way);
    write_vessels(json, layout, way);
    write_pumps(json, layout, way);
    json.end_object();
}

void write_json(JsonWriter& json, const layout::Layout& layout, const time::FillAnswer& answer) {
    json.new_line();
    json.begin_object();
    json.entry("asks", "fill");
    json.entry("arrangement", layout.arrangements[at(answer.arrangement)].name);
    json.entry("hose_m3_s", answer.hose_m3_s);
    json.entry("reaches_running_levels", answer.reaches_running);
    write_ids(json, "elsewhere", layout, answer.elsewhere);
    if (!answer.left_on.loops.empty()) {
        write_way(json, "pumps_left_on", layout, answer.left_on);
    }
    if (answer.by_hand.made) {
        json.key("hands");
        json.begin_array();
        for (const layout::LevelSwitch& hand : answer.hands) {
            json.begin_object();
            json.entry("pump", hand.about_id);
            json.entry("watches", hand.watches_id);
            json.entry("off_below_m", hand.below_m);
            json.entry("on_above_m", hand.above_m);
            json.end_object();
        }
        json.end_array();
        write_way(json, "pumps_by_hand", layout, answer.by_hand);
    }
    json.end_object();
}

void write_csv(QuestionPage& page, const layout::Layout& layout, const time::FillAnswer& answer) {
    const std::string asked = "fill: " + layout.arrangements[at(answer.arrangement)].name;
    const time::FillWay& way = way_to_follow(answer);
    page.word({asked, "", "pumps", ""}, &way == &answer.by_hand ? "by hand" : "left on");
    page.figure({asked, "", "done_after", "s"}, way.done_after_s);
    page.figure({asked, "", "spilled", "m3"}, way.spilled_m3);
    for (const time::FilledLoop& loop : way.loops) {
        const std::string id = vessel_id(layout, loop.vessel);
        page.figure({asked, id, "loop_water", "m3"}, loop.wanted_m3);
        page.figure({asked, id, "by_hose", "m3"}, loop.hose_m3);
        page.figure({asked, id, "by_mains", "m3"}, loop.mains_m3);
        page.figure({asked, id, "hose_ends", "s"}, loop.hose_ends_s);
    }
    for (std::size_t v = 0; v < way.vessels.size(); ++v) {
        const time::FilledVessel& vessel = way.vessels[v];
        const std::string& id = layout.vessels[v].id;
        page.figure({asked, id, "end_depth", "m"}, vessel.end_depth_m);
        page.figure({asked, id, "reaches_after", "s"}, vessel.reaches_after_s);
        page.figure({asked, id, "rest_depth", "m"}, vessel.rest_depth_m);
        page.figure({asked, id, "spilled", "m3"}, vessel.spilled_m3);
    }
    for (std::size_t p = 0; p < way.pumps.size(); ++p) {
        page.figure({asked, layout.pumps[p].id, "gulps", "s"}, way.pumps[p].gulps_s);
        page.figure({asked, layout.pumps[p].id, "starts", ""}, way.pumps[p].starts);
    }
}

}  // namespace

const time::FillWay& way_to_follow(const time::FillAnswer& answer) { return answer.by_hand.made ? answer.by_hand : answer.left_on; }

void write_fills(QuestionPage& page, const std::vector<time::FillAnswer>& answers) {
    const layout::Layout& layout = page.subject().layout;
    switch (page.format()) {
        case Format::json:
            for (const time::FillAnswer& answer : answers) {
                write_json(page.json(), layout, answer);
            }
            break;
        case Format::csv:
            for (const time::FillAnswer& answer : answers) {
                write_csv(page, layout, answer);
            }
            break;
        case Format::text: page.text(fills_text(page.subject(), page.paint(), answers)); break;
    }
}

}  // namespace ebb::cli
