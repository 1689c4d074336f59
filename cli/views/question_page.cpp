#include "cli/views/question_page.h"

#include "cli/views/csv.h"
#include "solver/version.h"

namespace ebb::cli {

QuestionPage::QuestionPage(Format format, const Subject& subject, Output& output)
    : format_(format), subject_(subject), output_(output), json_(output), paint_(subject.colour) {}

void QuestionPage::begin() {
    switch (format_) {
        case Format::json:
            json_.begin_object();
            json_.entry("ebbwright", kVersion);
            json_.entry("layout", subject_.layout.name);
            json_.key("questions");
            json_.begin_array();
            break;
        case Format::csv: output_.write("question,about,quantity,unit,value\n"); break;
        case Format::text:
            output_.write(paint_(Ink::title, subject_.layout.name.empty() ? "A layout without a name" : subject_.layout.name) + '\n');
            break;
    }
}

void QuestionPage::end() {
    if (format_ == Format::json) {
        json_.end_array();
        json_.end_object();
        json_.finish();
    }
}

void QuestionPage::word(const Cell& cell, std::string_view value) {
    std::string line = csv_cell(cell.question) + ',' + csv_cell(cell.about) + ',';
    line.append(cell.quantity).append(1, ',').append(cell.unit).append(1, ',').append(csv_cell(value)).append("\n");
    output_.write(line);
}

void QuestionPage::figure(const Cell& cell, double value) { word(cell, csv_number(value)); }

}  // namespace ebb::cli
