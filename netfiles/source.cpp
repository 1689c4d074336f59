#include "netfiles/source.h"

#include <algorithm>
#include <utility>

#include "netfiles/markup.h"

namespace ebb::netfiles {
namespace {

constexpr std::size_t kWidest = 110;  ///< bytes of a source line that are shown
constexpr std::size_t kBlock = 512;

bool starts_character(char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }

std::size_t count_characters(std::string_view text) { return static_cast<std::size_t>(std::ranges::count_if(text, starts_character)); }

std::string safe_line(std::string_view line) {
    std::string safe(line);
    for (char& c : safe) {
        const auto byte = static_cast<unsigned char>(c);
        if (byte < 0x20 || byte == 0x7F) {
            c = ' ';  // tabs too: the caret below must stand under its character
        }
    }
    return safe;
}

std::string where(const layout::Place& place, std::span<const SourceFile> files) {
    const SourceFile& file = files[static_cast<std::size_t>(place.file)];
    return file.path() + ":" + std::to_string(place.line) + ":" + std::to_string(place.column);
}

bool known(const layout::Place& place, std::span<const SourceFile> files) {
    return place.file >= 0 && static_cast<std::size_t>(place.file) < files.size() && place.line > 0;
}

/// The line with a caret under the column; long lines are cut to a window round it.
std::string excerpt(const layout::Place& place, std::span<const SourceFile> files) {
    const SourceFile& file = files[static_cast<std::size_t>(place.file)];
    const std::string_view line = file.line(place.line);
    if (line.empty()) {
        return {};
    }
    const auto line_begin = static_cast<std::size_t>(line.data() - file.text().data());
    const std::size_t caret = std::min(file.offset_of(place) - line_begin, line.size());
    std::size_t begin = line.size() > kWidest && caret > kWidest * 2 / 3 ? caret - kWidest * 2 / 3 : 0;
    std::size_t end = std::min(line.size(), begin + kWidest);
    while (begin > 0 && !starts_character(line[begin])) {
        --begin;
    }
    while (end < line.size() && !starts_character(line[end])) {
        ++end;
    }
    const std::string number = std::to_string(place.line);
    const std::string margin(number.size() < 5 ? 5 - number.size() : 0, ' ');
    const std::string before = begin > 0 ? "..." : "";
    std::string text = margin + number + " | " + before + safe_line(line.substr(begin, end - begin)) + (end < line.size() ? "..." : "") + "\n";
    const std::size_t indent = before.size() + count_characters(line.substr(begin, caret - begin));
    text += std::string(margin.size() + number.size(), ' ') + " | " + std::string(indent, ' ') + "^\n";
    return text;
}

}  // namespace

SourceFile::SourceFile(std::string shown_path, std::string text) : path_(std::move(shown_path)), text_(std::move(text)) {
    line_starts_.push_back(0);
    for (std::size_t at = text_.find('\n'); at != std::string::npos; at = text_.find('\n', at + 1)) {
        line_starts_.push_back(at + 1);
    }
    const std::string_view whole = text_;
    std::size_t total = 0;
    std::size_t lines = 0;
    block_characters_.reserve(whole.size() / kBlock + 1);
    block_lines_.reserve(whole.size() / kBlock + 2);
    for (std::size_t at = 0; at <= whole.size(); at += kBlock) {
        block_characters_.push_back(total);
        total += count_characters(whole.substr(at, kBlock));
        while (lines < line_starts_.size() && line_starts_[lines] < at) {
            ++lines;
        }
        block_lines_.push_back(lines);
    }
    block_lines_.push_back(line_starts_.size());
    one_byte_each_ = total == whole.size();
}

std::size_t SourceFile::characters_before(std::size_t offset) const {
    if (one_byte_each_) {
        return offset;
    }
    const std::size_t block = offset / kBlock;
    return block_characters_[block] + count_characters(std::string_view(text_).substr(block * kBlock, offset - block * kBlock));
}

layout::Place SourceFile::place_of(std::size_t offset, std::int32_t file) const {
    const std::size_t inside = std::min(offset, text_.size());
    const auto begin_of = [&](std::size_t block) { return line_starts_.begin() + static_cast<std::ptrdiff_t>(block_lines_[block]); };
    const std::size_t block = inside / kBlock;
    const auto after = std::upper_bound(begin_of(block), begin_of(block + 1), inside);
    const auto line = static_cast<std::size_t>(after - line_starts_.begin());
    const std::size_t column = characters_before(inside) - characters_before(line_starts_[line - 1]) + 1;
    return {file, static_cast<std::int32_t>(line), static_cast<std::int32_t>(column)};
}

std::size_t SourceFile::offset_of(layout::Place place) const {
    if (place.line < 1 || static_cast<std::size_t>(place.line) > line_starts_.size() || place.column < 1) {
        return text_.size();
    }
    const std::size_t wanted = characters_before(line_starts_[static_cast<std::size_t>(place.line) - 1]) + static_cast<std::size_t>(place.column) - 1;
    const auto after = std::ranges::upper_bound(block_characters_, wanted);
    std::size_t at = static_cast<std::size_t>(after - block_characters_.begin() - 1) * kBlock;
    for (std::size_t seen = *(after - 1); at < text_.size(); ++at) {
        if (starts_character(text_[at]) && seen++ == wanted) {
            break;
        }
    }
    return at;
}

std::string_view SourceFile::line(std::int32_t number) const {
    if (number < 1 || static_cast<std::size_t>(number) > line_starts_.size()) {
        return {};
    }
    const auto index = static_cast<std::size_t>(number);
    const std::size_t start = line_starts_[index - 1];
    const std::size_t end = index < line_starts_.size() ? line_starts_[index] - 1 : text_.size();
    std::string_view whole = std::string_view(text_).substr(start, end - start);
    if (whole.ends_with('\r')) {
        whole.remove_suffix(1);
    }
    return whole;
}

layout::Place refine_place(std::span<const SourceFile> files, const layout::Place& element, std::string_view attribute) {
    if (element.file < 0 || static_cast<std::size_t>(element.file) >= files.size() || attribute.empty()) {
        return element;
    }
    const SourceFile& file = files[static_cast<std::size_t>(element.file)];
    for (const AttributePlace& found : attributes_at(file.text(), file.offset_of(element))) {
        if (found.name == attribute) {
            return file.place_of(found.value_offset, element.file);
        }
    }
    return element;
}

std::string show(const layout::Problem& problem, std::span<const SourceFile> files) {
    const bool placed = known(problem.place, files);
    const layout::Place place = refine_place(files, problem.place, problem.attribute);
    std::string text = placed ? where(place, files) + ": " : (files.empty() ? "" : files[0].path() + ": ");
    text += problem.severity == layout::Severity::error ? "error: " : "doubt: ";
    text += problem.says + "\n";
    if (placed) {
        text += excerpt(place, files);
    }
    if (known(problem.other_place, files)) {
        text += "      and " + where(problem.other_place, files) + ":\n" + excerpt(problem.other_place, files);
    }
    if (!problem.advice.empty()) {
        text += "      > " + problem.advice + "\n";
    }
    return text;
}

}  // namespace ebb::netfiles
