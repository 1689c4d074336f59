#pragma once
// A text file held for messages: from offset to line and column, and a problem shown with its line, a caret and the advice.

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "solver/layout/problems.h"

namespace ebb::netfiles {

/// One file that was read. Lines and columns count from 1; columns count characters (code points), not bytes.
class SourceFile {
public:
    SourceFile() = default;
    SourceFile(std::string shown_path, std::string text);

    const std::string& path() const { return path_; }          ///< as the user would write it
    const std::string& text() const { return text_; }          ///< without the mark
    bool byte_order_mark() const { return byte_order_mark_; }  ///< the file began with the mark some editors leave
    void note_byte_order_mark() { byte_order_mark_ = true; }
    layout::Place place_of(std::size_t offset, std::int32_t file) const;
    std::size_t offset_of(layout::Place place) const;  ///< text().size() for a place outside the file
    std::string_view line(std::int32_t number) const;  ///< without its end; empty outside the file

private:
    std::size_t characters_before(std::size_t offset) const;

    std::string path_;
    std::string text_;
    bool byte_order_mark_ = false;
    std::vector<std::size_t> line_starts_;
    // what lies before every block: one endless line costs no more than many, and many no more than one
    std::vector<std::size_t> block_characters_;
    std::vector<std::size_t> block_lines_;  ///< line starts before it; one entry more than blocks
    bool one_byte_each_ = false;            ///< every character is one byte
};

/// Where the value of an attribute begins, from the place of its element; the place itself when there is no such attribute there.
layout::Place refine_place(std::span<const SourceFile> files, const layout::Place& element, std::string_view attribute);

/// The problem as a person reads it: `file:line:column: error: what is wrong`, the line, a caret, the advice; and the second place of
/// a contradiction. Ends with a newline.
std::string show(const layout::Problem& problem, std::span<const SourceFile> files);

}  // namespace ebb::netfiles
