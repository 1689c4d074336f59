#include "cli/views/warnings_json.h"

namespace ebb::cli {

void write_warnings(JsonWriter& json, const Subject& subject, const std::vector<Finding>& found) {
    json.open_list("warnings");
    for (const Finding& finding : found) {
        json.new_line();
        json.begin_object();
        json.entry("code", finding.code);
        json.entry("about", finding.about);
        json.entry("says", finding.says);
        json.entry("trouble", finding.weight == Weight::trouble);
        json.key("place");
        write_place(json, subject.files, finding.place);
        json.end_object();
    }
    json.end_array();
}

}  // namespace ebb::cli
