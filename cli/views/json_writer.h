#pragma once
// Writes JSON piece by piece, so that a layout of a million pipes never stands in memory as a document.
// Numbers are the shortest text that reads back as the same double (at most 17 digits); NaN and infinities become null.

#include <concepts>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "cli/output.h"
#include "solver/layout/layout.h"

namespace ebb::cli {

class JsonWriter {
public:
    explicit JsonWriter(Output& output);

    void begin_object();
    void end_object();
    void begin_array();
    void end_array();
    void key(std::string_view name);

    void value(double number);
    void value(std::string_view text);
    void value(const char* text) { value(std::string_view(text)); }
    void value(const std::string& text) { value(std::string_view(text)); }
    template <std::same_as<bool> Truth>
    void value(Truth truth) {
        before_value();
        text_ += truth ? "true" : "false";
    }
    template <std::integral Whole>
    requires(!std::same_as<Whole, bool>) void value(Whole number) {
        before_value();
        text_ += std::to_string(number);
    }

    template <typename Value>
    void entry(std::string_view name, const Value& content) {
        key(name);
        value(content);
    }

    /// The next value starts a new line, indented by the depth of nesting: one line per thing of the farm.
    void new_line() { line_wanted_ = true; }

    /// The text, or null for none.
    void text_or_null(std::string_view name, const std::string& text);

    /// A list of things under a key, and a thing in it that begins with its id: each on a line of its own. To be ended as array and object.
    void open_list(std::string_view name);
    void open_element(const std::string& id, std::string_view name = "id");

    /// Ends the text with a line end and hands everything to the output.
    void finish();

private:
    void before_value();
    void flush_when_large();

    Output& output_;
    std::string text_;
    std::vector<bool> has_members_;  ///< one entry per open object or array
    bool after_key_ = false;
    bool line_wanted_ = false;
};

/// {"file":"farm.xml","line":12,"column":3}, or null for a thing without a place. `files` are named as Place::file counts them.
void write_place(JsonWriter& json, const std::vector<std::string>& files, const layout::Place& place);

}  // namespace ebb::cli
