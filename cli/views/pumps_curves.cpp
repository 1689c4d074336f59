// `pumps --curves FILE`: what a person draws to see where a pump runs.
//
//   csv   pump,curve,model,count,speed,arrangement,flow_m3_s,head_m,margin
//   json  {"pumps":[{"id","system":[{"arrangement","flow_m3_s":[..],"head_m":[..],"margin":[..]}],
//                   "candidates":[{"model","count","arrangement","speed","flow_m3_s":[..],"head_m":[..]}]}]}
//
// A pump curve is drawn at the speed and number at which it runs in that arrangement, wear left out: where it crosses the arrangement's system
// curve the pump runs.

#include <algorithm>
#include <memory>
#include <string>
#include <vector>

#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "cli/views/pumps_words.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

struct Curve {
    const choose::Candidate* candidate = nullptr;  ///< null: a system curve
    std::string arrangement;
    double speed = choose::kNotKnown;
    std::vector<double> flow_m3_s, head_m, margin;
};

Curve system_curve(const PumpsWords& words, const choose::Duty& duty) {
    Curve curve;
    curve.arrangement = words.arrangement(duty.arrangement);
    for (const choose::SystemPoint& point : duty.curve) {
        if (!point.solved) continue;
        curve.flow_m3_s.push_back(point.flow_m3_s);
        curve.head_m.push_back(point.head_m);
        curve.margin.push_back(point.margin);
    }
    return curve;
}

Curve pump_curve(const PumpsScene& scene, const PumpsWords& words, const choose::Candidate& candidate, const choose::CandidatePoint& point) {
    constexpr int kPoints = 25;
    const physics::PumpCurve& of = scene.subject.layout.pump_models[at(candidate.model)].curve;
    const physics::PumpDuty duty{.speed = point.speed, .count = candidate.count};
    Curve curve;
    curve.candidate = &candidate;
    curve.arrangement = words.arrangement(point.arrangement);
    curve.speed = point.speed;
    const double end = of.greatest_flow_m3_s(duty);
    for (int i = 0; i < kPoints; ++i) {
        const double flow = end * i / (kPoints - 1);
        curve.flow_m3_s.push_back(flow);
        curve.head_m.push_back(of.head(flow, duty).value);
    }
    return curve;
}

/// Every curve of one pump; those of one candidate that runs alike in several arrangements are drawn once for each, as the system curve differs.
std::vector<Curve> curves_of(const PumpsScene& scene, const PumpsWords& words, const choose::PumpChoice& choice) {
    std::vector<Curve> curves;
    for (const choose::Duty& duty : choice.duties)
        if (!duty.curve.empty()) curves.push_back(system_curve(words, duty));
    for (const choose::Candidate& candidate : choice.candidates)
        for (const choose::CandidatePoint& point : candidate.points)
            if (point.speed > 0.0) curves.push_back(pump_curve(scene, words, candidate, point));
    return curves;
}

void write_column(JsonWriter& json, const char* name, const std::vector<double>& values) {
    json.key(name);
    json.begin_array();
    for (const double value : values) json.value(value);
    json.end_array();
}

void write_one(JsonWriter& json, const PumpsWords& words, const Curve& curve) {
    json.new_line();
    json.begin_object();
    if (curve.candidate != nullptr) {
        json.entry("model", words.model(curve.candidate->model));
        json.entry("count", curve.candidate->count);
        json.entry("speed_mode", name_of(curve.candidate->mode));
        json.entry("speed", curve.speed);
    }
    json.entry("arrangement", curve.arrangement);
    write_column(json, "flow_m3_s", curve.flow_m3_s);
    write_column(json, "head_m", curve.head_m);
    if (curve.candidate == nullptr) write_column(json, "margin", curve.margin);
    json.end_object();
}

void write_json(const PumpsScene& scene, const PumpsWords& words, Output& output) {
    JsonWriter json(output);
    json.begin_object();
    json.entry("ebbwright", kVersion);
    json.entry("layout", scene.subject.layout.name);
    json.open_list("pumps");
    for (const choose::PumpChoice& choice : scene.answer.pumps) {
        const std::vector<Curve> curves = curves_of(scene, words, choice);
        json.open_element(words.pump(choice.pump));
        for (const bool system : {true, false}) {
            json.open_list(system ? "system" : "candidates");
            for (const Curve& curve : curves)
                if ((curve.candidate == nullptr) == system) write_one(json, words, curve);
            json.end_array();
        }
        json.end_object();
    }
    json.end_array();
    json.end_object();
    json.finish();
}

void write_rows(const PumpsScene& scene, const PumpsWords& words, Output& output) {
    output.write("pump,curve,model,count,speed,arrangement,flow_m3_s,head_m,margin\n");
    for (const choose::PumpChoice& choice : scene.answer.pumps) {
        for (const Curve& curve : curves_of(scene, words, choice)) {
            std::string begin = csv_cell(words.pump(choice.pump)) + ',';
            begin += curve.candidate == nullptr ? std::string("system,,,")
                                                : "pump," + csv_cell(words.model(curve.candidate->model)) + ',' +
                                                      std::to_string(curve.candidate->count) + ',' + csv_number(curve.speed);
            begin += ',' + csv_cell(curve.arrangement) + ',';
            for (std::size_t i = 0; i < curve.flow_m3_s.size(); ++i) {
                output.write(begin + csv_number(curve.flow_m3_s[i]) + ',' + csv_number(curve.head_m[i]) + ',' +
                             (i < curve.margin.size() ? csv_number(curve.margin[i]) : std::string()) + '\n');
            }
        }
    }
}

}  // namespace

void write_curves(const PumpsScene& scene, const std::string& file) {
    Output output(file);
    const PumpsWords words(scene);
    if (file.ends_with(".json")) {
        write_json(scene, words, output);
    } else {
        write_rows(scene, words, output);
    }
    output.finish();
}

}  // namespace ebb::cli
