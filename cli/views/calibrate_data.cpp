// `diagnose --calibrate` for programs: JSON in SI, and CSV with one row for each coefficient.

#include "cli/views/calibrate_view.h"
#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "solver/version.h"

namespace ebb::cli {

namespace {

using diagnose::FittedCoefficient;
using diagnose::Told;

const char* told_name(Told told) {
    switch (told) {
        case Told::yes: return "fitted";
        case Told::moves_nothing: return "moves-nothing";
        case Told::too_weakly: return "too-weakly";
        case Told::not_apart: return "not-apart";
    }
    return "";
}

const char* unit_of(diagnose::Coefficient what) { return what == diagnose::Coefficient::roughness ? "m" : ""; }

void write_coefficient(JsonWriter& json, const CalibrationScene& scene, const FittedCoefficient& one) {
    json.new_line();
    json.begin_object();
    json.entry("what", name_of(one.what));
    json.key("of");
    json.begin_array();
    for (const std::string& id : ids_of(scene, one)) json.value(id);
    json.end_array();
    json.key("arrangements");
    json.begin_array();
    for (const std::int32_t visit : one.visits) json.value(scene.words.arrangement(visit));
    json.end_array();
    json.text_or_null("unit", unit_of(one.what));
    json.entry("drawn", one.drawn);
    json.entry("fitted", one.fitted);
    json.entry("low", one.low);
    json.entry("high", one.high);
    json.entry("told", told_name(one.told));
    json.text_or_null("why_not", why_not(scene, one));
    json.key("partner");
    if (one.partner < 0)
        json.value(settle::kUnknown);
    else
        json.value(one.partner);
    json.entry("if_it_alone", one.told == Told::not_apart ? one.alone : settle::kUnknown);
    json.entry("at_limit", one.at_limit);
    json.end_object();
}

}  // namespace

void write_calibration_json(const CalibrationScene& scene, Output& output) {
    const diagnose::Calibration& calibration = scene.calibration;
    JsonWriter json(output);
    json.begin_object();
    json.entry("ebbwright", kVersion);
    json.entry("layout", scene.subject.layout.name);
    json.entry("readings_name", scene.readings_name);
    json.entry("outcome", name_of(calibration.outcome));
    json.new_line();
    json.key("says");
    json.begin_array();
    for (const std::string& sentence : calibration_verdict(scene)) json.value(sentence);
    json.end_array();
    json.open_list("coefficients");
    for (const FittedCoefficient& one : calibration.coefficients) write_coefficient(json, scene, one);
    json.end_array();
    json.open_list("readings");
    for (std::size_t i = 0; i < scene.readings.readings.size() && i < calibration.before.size(); ++i) {
        const diagnose::Reading& reading = scene.readings.readings[i];
        json.new_line();
        json.begin_object();
        json.entry("says", scene.words.observable(reading.what));
        json.entry("read", reading.value);
        json.entry("standard_deviation", diagnose::is_glance(reading.what.quantity) ? settle::kUnknown : reading.sigma);
        json.entry("as_drawn", calibration.before[i].value);
        json.entry("fitted", calibration.after[i].value);
        json.key("place");
        write_place(json, scene.readings_files, reading.place);
        json.end_object();
    }
    json.end_array();
    json.entry("chi_squared_before", calibration.chi_squared_before);
    json.entry("chi_squared_after", calibration.chi_squared_after);
    json.entry("readings_used", calibration.used);
    json.entry("coefficients_fitted", calibration.told);
    json.entry("fits", calibration.fits);
    json.entry("converged", calibration.converged);
    json.entry("network_solves", calibration.solves);
    json.end_object();
    json.finish();
}

void write_calibration_csv(const CalibrationScene& scene, Output& output) {
    output.write("what,of,unit,drawn,fitted,low,high,told\n");
    for (const FittedCoefficient& one : scene.calibration.coefficients) {
        std::string ids;
        for (const std::string& id : ids_of(scene, one)) ids += (ids.empty() ? "" : " ") + id;
        output.write(csv_cell(name_of(one.what)) + ',' + csv_cell(ids) + ',' + csv_cell(unit_of(one.what)) + ',' + csv_number(one.drawn) + ',' +
                     csv_number(one.fitted) + ',' + csv_number(one.low) + ',' + csv_number(one.high) + ',' + csv_cell(told_name(one.told)) + '\n');
    }
}

}  // namespace ebb::cli
