#pragma once
// The plain-text page: aligned tables, wrapped sentences, a little colour where a terminal shows it.

#include <string>
#include <string_view>
#include <vector>

namespace ebb::cli {

/// What a piece of text is; a Paint decides how that looks.
enum class Ink : unsigned char { plain, title, trouble, doubt, good, quiet };

/// Colours text for a terminal, or leaves it alone.
class Paint {
public:
    explicit Paint(bool colour) : colour_(colour) {}
    std::string operator()(Ink ink, std::string_view text) const;

private:
    bool colour_;
};

/// A sentence and what it is.
struct Said {
    Ink ink = Ink::plain;
    std::string sentence;
};

enum class Align : unsigned char { left, right };

struct Column {
    std::string title;
    Align align = Align::right;
};

/// Rows of cells under titles, each column as wide as its widest cell. A column in which no row has anything to say is left out.
class Table {
public:
    explicit Table(std::vector<Column> columns) : columns_(std::move(columns)) {}

    /// Adds a row; cells beyond those given are empty. `ink` other than plain marks the whole row, with "!" for trouble and "?" for a doubt.
    void add(std::vector<std::string> cells, Ink ink = Ink::plain);
    bool empty() const { return rows_.empty(); }
    std::size_t size() const { return rows_.size(); }

    struct Row {
        std::vector<std::string> cells;
        Ink ink = Ink::plain;
    };
    const std::vector<Column>& columns() const { return columns_; }
    const std::vector<Row>& rows() const { return rows_; }
    /// False where no row has anything to say in this column: it is left out.
    bool shows(std::size_t column) const;

    /// The table, two columns in from the margin, one line per row, without trailing spaces.
    std::string text(const Paint& paint) const;

private:
    std::vector<std::size_t> widths() const;

    std::vector<Column> columns_;
    std::vector<Row> rows_;
};

/// Columns a text takes on the screen (one per character of UTF-8, without regard to wide characters).
std::size_t width_of(std::string_view text);

/// The sentence broken into lines of at most `width` columns; the first begins with `first`, the others with as many spaces.
std::string wrapped(std::string_view first, std::string_view sentence, std::size_t width = 100);

}  // namespace ebb::cli
