#include "cli/views/json_writer.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <limits>

namespace ebb::cli {
namespace {

constexpr std::size_t kFlushBytes = std::size_t{1} << 16U;
constexpr unsigned char kFirstPrintable = 0x20;

void append_escaped(std::string& to, std::string_view text) {
    constexpr std::string_view kHex = "0123456789abcdef";
    to.push_back('"');
    const auto is_plain = [](char letter) { return static_cast<unsigned char>(letter) >= kFirstPrintable && letter != '"' && letter != '\\'; };
    const auto plain = static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), is_plain) - text.begin());
    to.append(text.substr(0, plain));  // nearly always the whole
    for (const char letter : text.substr(plain)) {
        const auto byte = static_cast<unsigned char>(letter);
        if (letter == '"' || letter == '\\') {
            to.push_back('\\');
            to.push_back(letter);
        } else if (byte < kFirstPrintable) {
            to += "\\u00";
            to.push_back(kHex[byte >> 4U]);
            to.push_back(kHex[byte & 0xFU]);
        } else {
            to.push_back(letter);
        }
    }
    to.push_back('"');
}

}  // namespace

JsonWriter::JsonWriter(Output& output) : output_(output) {}

void JsonWriter::before_value() {
    if (after_key_) {
        after_key_ = false;
        return;
    }
    if (!has_members_.empty()) {
        if (has_members_.back()) {
            text_.push_back(',');
        }
        has_members_.back() = true;
    }
    if (line_wanted_) {
        text_.push_back('\n');
        text_.append(has_members_.size(), ' ');
        line_wanted_ = false;
    }
    flush_when_large();
}

void JsonWriter::flush_when_large() {
    if (text_.size() >= kFlushBytes) {
        output_.write(text_);
        text_.clear();
    }
}

void JsonWriter::begin_object() {
    before_value();
    text_.push_back('{');
    has_members_.push_back(false);
}

void JsonWriter::end_object() {
    text_.push_back('}');
    has_members_.pop_back();
}

void JsonWriter::begin_array() {
    before_value();
    text_.push_back('[');
    has_members_.push_back(false);
}

void JsonWriter::end_array() {
    text_.push_back(']');
    has_members_.pop_back();
}

void JsonWriter::key(std::string_view name) {
    before_value();
    append_escaped(text_, name);
    text_.push_back(':');
    after_key_ = true;
}

void JsonWriter::value(double number) {
    before_value();
    if (!std::isfinite(number)) {
        text_ += "null";
        return;
    }
    constexpr std::size_t kLongestNumber = 32;
    std::array<char, kLongestNumber> digits{};
    const double without_sign_of_zero = number + 0.0;  // -0 + 0 is 0: a shut pipe says 0, not -0
    const auto [end, error] = std::to_chars(digits.data(), digits.data() + digits.size(), without_sign_of_zero);
    text_.append(digits.data(), end);
}

void JsonWriter::value(std::string_view text) {
    before_value();
    append_escaped(text_, text);
}

void JsonWriter::text_or_null(std::string_view name, const std::string& text) {
    if (text.empty()) {
        entry(name, std::numeric_limits<double>::quiet_NaN());
    } else {
        entry(name, text);
    }
}

void JsonWriter::open_list(std::string_view name) {
    new_line();
    key(name);
    begin_array();
}

void JsonWriter::open_element(const std::string& id, std::string_view name) {
    new_line();
    begin_object();
    entry(name, id);
}

void JsonWriter::finish() {
    text_.push_back('\n');
    output_.write(text_);
    text_.clear();
}

void write_place(JsonWriter& json, const std::vector<std::string>& files, const layout::Place& place) {
    if (place.file < 0 || static_cast<std::size_t>(place.file) >= files.size()) {
        json.value(std::nan(""));
        return;
    }
    json.begin_object();
    json.entry("file", files[static_cast<std::size_t>(place.file)]);
    json.entry("line", place.line);
    json.entry("column", place.column);
    json.end_object();
}

}  // namespace ebb::cli
