#pragma once
// Where the answers to questions go, one after the other.
//
//   json  {"ebbwright":"...","layout":"...","questions":[ one object per answer, its first key "asks" ]}
//   csv   question,about,quantity,unit,value
//   text  the name of the farm, then what each answer says

#include <optional>
#include <string>
#include <string_view>

#include "cli/output.h"
#include "cli/request.h"
#include "cli/views/json_writer.h"
#include "cli/views/page.h"
#include "cli/views/view.h"

namespace ebb::cli {

class QuestionPage {
public:
    QuestionPage(Format format, const Subject& subject, Output& output);

    void begin();
    void end();

    Format format() const { return format_; }
    const Subject& subject() const { return subject_; }
    const Paint& paint() const { return paint_; }

    /// Of Format::json: stands inside "questions". Write one object per answer.
    JsonWriter& json() { return json_; }

    /// Of Format::text: the text as it is.
    void text(std::string_view text) { output_.write(text); }

    /// Of Format::csv: one row. `about` is an id, or empty for the whole answer.
    struct Cell {
        std::string_view question, about, quantity, unit;
    };
    void figure(const Cell& cell, double value);
    void word(const Cell& cell, std::string_view value);

private:
    Format format_;
    const Subject& subject_;
    Output& output_;
    JsonWriter json_;
    Paint paint_;
};

}  // namespace ebb::cli
