#include "cli/views/page.h"

#include <algorithm>

namespace ebb::cli {
namespace {

constexpr std::string_view kReset = "\x1b[0m";

std::string_view escape_of(Ink ink) {
    switch (ink) {
        case Ink::title: return "\x1b[1m";
        case Ink::trouble: return "\x1b[1;31m";
        case Ink::doubt: return "\x1b[33m";
        case Ink::good: return "\x1b[32m";
        case Ink::quiet: return "\x1b[2m";
        case Ink::plain: break;
    }
    return {};
}

std::string_view mark_of(Ink ink) { return ink == Ink::trouble ? "! " : ink == Ink::doubt ? "? " : "  "; }

bool is_digit(char letter) { return letter >= '0' && letter <= '9'; }

void trim_end(std::string& line) { line.erase(line.find_last_not_of(' ') + 1); }

}  // namespace

std::string Paint::operator()(Ink ink, std::string_view text) const {
    if (!colour_ || ink == Ink::plain || text.empty()) {
        return std::string(text);
    }
    return std::string(escape_of(ink)).append(text).append(kReset);
}

std::size_t width_of(std::string_view text) {
    constexpr unsigned char kContinuationMask = 0xC0;
    constexpr unsigned char kContinuation = 0x80;
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char letter) { return (static_cast<unsigned char>(letter) & kContinuationMask) != kContinuation; }));
}

void Table::add(std::vector<std::string> cells, Ink ink) {
    cells.resize(columns_.size());
    rows_.push_back({std::move(cells), ink});
}

bool Table::shows(std::size_t column) const {
    return std::any_of(rows_.begin(), rows_.end(), [column](const Row& row) { return !row.cells[column].empty() && row.cells[column] != "-"; });
}

std::vector<std::size_t> Table::widths() const {
    std::vector<std::size_t> widths(columns_.size(), 0);
    for (std::size_t i = 0; i < columns_.size(); ++i) {
        if (!shows(i)) {
            continue;
        }
        widths[i] = std::max<std::size_t>(1, width_of(columns_[i].title));
        for (const Row& row : rows_) {
            widths[i] = std::max(widths[i], width_of(row.cells[i]));
        }
    }
    return widths;
}

std::string Table::text(const Paint& paint) const {
    const std::vector<std::size_t> wide = widths();
    const auto line_of = [&](const std::vector<std::string>& cells, std::string_view mark) {
        std::string line(mark);
        bool first = true;
        for (std::size_t i = 0; i < cells.size(); ++i) {
            if (wide[i] == 0) {
                continue;
            }
            line += first ? "" : "  ";
            first = false;
            const std::string gap(wide[i] - std::min(wide[i], width_of(cells[i])), ' ');
            line += columns_[i].align == Align::right ? gap + cells[i] : cells[i] + gap;
        }
        trim_end(line);
        return line;
    };
    std::vector<std::string> titles;
    for (const Column& column : columns_) {
        titles.push_back(column.title);
    }
    std::string text = paint(Ink::quiet, line_of(titles, "  ")) + '\n';
    for (const Row& row : rows_) {
        text += paint(row.ink, line_of(row.cells, mark_of(row.ink))) + '\n';
    }
    return text;
}

std::string wrapped(std::string_view first, std::string_view sentence, std::size_t width) {
    const std::string indent(width_of(first), ' ');
    std::string text;
    std::string line(first);
    bool line_has_word = false;
    while (!sentence.empty()) {
        std::size_t end = std::min(sentence.find(' '), sentence.size());
        while (end > 0 && end < sentence.size() && is_digit(sentence[end - 1])) {
            end = std::min(sentence.find(' ', end + 1), sentence.size());  // a number stays with its unit
        }
        const std::string_view word = sentence.substr(0, end);
        sentence.remove_prefix(std::min(end + 1, sentence.size()));
        if (line_has_word && width_of(line) + 1 + width_of(word) > width) {
            text += line + '\n';
            line = indent;
            line_has_word = false;
        }
        line += line_has_word ? " " : "";
        line += word;
        line_has_word = true;
    }
    return text + line + '\n';
}

}  // namespace ebb::cli
