#include "cli/views/series_file.h"

#include "cli/views/csv.h"
#include "cli/views/json_writer.h"
#include "solver/version.h"

namespace ebb::cli {

SeriesFile::SeriesFile(const std::string& file, const layout::Layout& layout, std::size_t routines)
    : layout_(layout), names_routine_(routines > 1), output_(file) {
    if (file.ends_with(".json")) {
        json_ = std::make_unique<JsonWriter>(output_);
        json_->begin_object();
        json_->entry("ebbwright", kVersion);
        json_->entry("layout", layout.name);
        json_->key("series");
        json_->begin_array();
        return;
    }
    std::string titles = names_routine_ ? "routine,t_s" : "t_s";
    for (const layout::Vessel& vessel : layout.vessels) {
        titles += ',' + csv_cell(vessel.id + "_depth_m");
    }
    for (const layout::Pump& pump : layout.pumps) {
        titles += ',' + csv_cell(pump.id + "_flow_m3_s");
    }
    output_.write(titles + '\n');
}

SeriesFile::~SeriesFile() = default;

void SeriesFile::add(const time::Course& course) {
    if (json_) {
        add_json(course);
    } else {
        add_rows(course);
    }
}

void SeriesFile::add_rows(const time::Course& course) {
    const time::Series& series = course.series;
    const std::size_t vessels = layout_.vessels.size();
    const std::size_t pumps = layout_.pumps.size();
    const std::string begin = names_routine_ ? csv_cell(course.name) + ',' : std::string();
    for (std::size_t row = 0; row < series.t_s.size(); ++row) {
        std::string line = begin + csv_number(series.t_s[row]);
        for (std::size_t i = 0; i < vessels; ++i) {
            line += ',' + csv_number(series.depth_m[row * vessels + i]);
        }
        for (std::size_t i = 0; i < pumps; ++i) {
            line += ',' + csv_number(series.pump_m3_s[row * pumps + i]);
        }
        output_.write(line + '\n');
    }
}

void SeriesFile::add_json(const time::Course& course) {
    JsonWriter& json = *json_;
    const time::Series& series = course.series;
    const auto column = [&](const char* name, const std::vector<double>& values, std::size_t first, std::size_t stride) {
        json.key(name);
        json.begin_array();
        for (std::size_t row = 0; row < series.t_s.size(); ++row) {
            json.value(values[row * stride + first]);
        }
        json.end_array();
    };
    json.new_line();
    json.begin_object();
    json.entry("routine", course.name);
    json.new_line();
    column("t_s", series.t_s, 0, 1);
    const auto list = [&](const char* name, const auto& things, const char* key, const std::vector<double>& values) {
        json.new_line();
        json.key(name);
        json.begin_array();
        for (std::size_t i = 0; i < things.size(); ++i) {
            json.new_line();
            json.begin_object();
            json.entry("id", things[i].id);
            column(key, values, i, things.size());
            json.end_object();
        }
        json.end_array();
    };
    list("vessels", layout_.vessels, "depth_m", series.depth_m);
    list("pumps", layout_.pumps, "flow_m3_s", series.pump_m3_s);
    json.end_object();
}

void SeriesFile::finish() {
    if (json_) {
        json_->end_array();
        json_->end_object();
        json_->finish();
    }
    output_.finish();
}

}  // namespace ebb::cli
