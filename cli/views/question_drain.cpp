// `--drain` as JSON and CSV; the text stands in question_drain_text.cpp.

#include "cli/views/question_drain.h"

#include "cli/views/question_drain_text.h"
#include "cli/views/question_words.h"

namespace ebb::cli {
namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

std::string id_of(const layout::Layout& layout, const layout::Ref& ref) {
    switch (ref.kind) {
        case layout::Kind::pipe: return layout.pipes[at(ref.index)].id;
        case layout::Kind::nozzle: return layout.nozzles[at(ref.index)].id;
        case layout::Kind::float_valve: return layout.float_valves[at(ref.index)].id;
        case layout::Kind::standpipe: return layout.standpipes[at(ref.index)].id;
        case layout::Kind::siphon: return layout.siphons[at(ref.index)].id;
        case layout::Kind::pump: return layout.pumps[at(ref.index)].id;
        default: return {};
    }
}

void write_ways(JsonWriter& json, const layout::Layout& layout, const time::DrainAnswer& answer) {
    json.key("ways_out");
    json.begin_array();
    for (const time::OpenWay& way : answer.ways_out) {
        json.begin_object();
        json.entry("kind", time::name_of(way.kind));
        json.entry("id", id_of(layout, way.about));
        json.entry("height_m", way.height_m);
        json.end_object();
    }
    json.end_array();
    json.key("through");
    json.begin_array();
    for (const time::WayTaken& way : answer.taken) {
        json.begin_object();
        json.entry("pipe", layout.pipes[at(way.pipe)].id);
        json.entry("volume_m3", way.volume_m3);
        json.entry("greatest_flow_m3_s", way.greatest_flow_m3_s);
        json.end_object();
    }
    json.end_array();
}

void write_others(JsonWriter& json, const layout::Layout& layout, const time::DrainAnswer& answer) {
    json.key("others");
    json.begin_array();
    for (const time::DrainOther& other : answer.others) {
        json.new_line();
        json.begin_object();
        json.entry("id", vessel_id(layout, other.vessel));
        json.entry("before_depth_m", other.before_depth_m);
        json.entry("greatest_depth_m", other.greatest_depth_m);
        json.entry("end_depth_m", other.end_depth_m);
        json.entry("gained_m3", other.gained_m3);
        json.entry("least_freeboard_m", other.least_freeboard_m);
        json.entry("spilled_m3", other.spilled_m3);
        json.end_object();
    }
    json.end_array();
}

void write_json(JsonWriter& json, const layout::Layout& layout, const time::DrainAnswer& answer) {
    json.new_line();
    json.begin_object();
    json.entry("asks", "drain");
    json.entry("arrangement", layout.arrangements[at(answer.arrangement)].name);
    json.entry("vessel", vessel_id(layout, answer.vessel));
    json.entry("stops", time::name_of(answer.stop));
    json.key("level_with");
    if (answer.level_with >= 0) {
        json.value(vessel_id(layout, answer.level_with));
    } else {
        json.value(time::kUnknown);
    }
    json.entry("before_depth_m", answer.before_depth_m);
    json.entry("before_volume_m3", answer.before_m3);
    json.entry("end_depth_m", answer.end_depth_m);
    json.entry("end_volume_m3", answer.end_m3);
    json.entry("to_75_percent_s", answer.share_after_s[0]);
    json.entry("to_50_percent_s", answer.share_after_s[1]);
    json.entry("to_25_percent_s", answer.share_after_s[2]);
    json.entry("drain_s", answer.drained_after_s);
    json.entry("wanted_s", answer.wanted_s);
    json.entry("in_time", answer.in_time);
    json.entry("peak_m3_s", answer.peak_m3_s);
    json.entry("over_lip_m3", answer.over_lip_m3);
    json.key("shut");
    json.begin_array();
    for (const layout::Ref& ref : answer.shut) {
        json.value(id_of(layout, ref));
    }
    json.end_array();
    write_ways(json, layout, answer);
    write_others(json, layout, answer);
    json.end_object();
}

void write_csv(QuestionPage& page, const layout::Layout& layout, const time::DrainAnswer& answer) {
    const std::string asked = "drain: " + layout.arrangements[at(answer.arrangement)].name;
    const std::string id = vessel_id(layout, answer.vessel);
    page.word({asked, id, "stops", ""}, time::name_of(answer.stop));
    page.figure({asked, id, "before_depth", "m"}, answer.before_depth_m);
    page.figure({asked, id, "before_volume", "m3"}, answer.before_m3);
    page.figure({asked, id, "end_depth", "m"}, answer.end_depth_m);
    page.figure({asked, id, "end_volume", "m3"}, answer.end_m3);
    page.figure({asked, id, "to_75_percent", "s"}, answer.share_after_s[0]);
    page.figure({asked, id, "to_50_percent", "s"}, answer.share_after_s[1]);
    page.figure({asked, id, "to_25_percent", "s"}, answer.share_after_s[2]);
    page.figure({asked, id, "drain", "s"}, answer.drained_after_s);
    page.figure({asked, id, "wanted", "s"}, answer.wanted_s);
    page.figure({asked, id, "peak", "m3/s"}, answer.peak_m3_s);
    for (const time::WayTaken& way : answer.taken) {
        page.figure({asked, layout.pipes[at(way.pipe)].id, "through", "m3"}, way.volume_m3);
    }
    for (const time::DrainOther& other : answer.others) {
        page.figure({asked, vessel_id(layout, other.vessel), "gained", "m3"}, other.gained_m3);
        page.figure({asked, vessel_id(layout, other.vessel), "greatest_depth", "m"}, other.greatest_depth_m);
        page.figure({asked, vessel_id(layout, other.vessel), "spilled", "m3"}, other.spilled_m3);
    }
}

}  // namespace

void write_drains(QuestionPage& page, const std::vector<time::DrainAnswer>& answers) {
    const layout::Layout& layout = page.subject().layout;
    switch (page.format()) {
        case Format::json:
            for (const time::DrainAnswer& answer : answers) {
                write_json(page.json(), layout, answer);
            }
            break;
        case Format::csv:
            for (const time::DrainAnswer& answer : answers) {
                write_csv(page, layout, answer);
            }
            break;
        case Format::text: page.text(drains_text(page.subject(), page.paint(), answers)); break;
    }
}

}  // namespace ebb::cli
