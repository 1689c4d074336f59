#include "netfiles/rewrite.h"

#include <algorithm>
#include <tuple>

#include "netfiles/extents.h"
#include "netfiles/markup.h"

namespace ebb::netfiles {
namespace fs = std::filesystem;
namespace {

constexpr std::string_view kBlanks = " \t\r\n";

/// One replacement in a text; an insertion where begin == end.
struct Edit {
    std::size_t begin = 0, end = 0;
    std::string now;
};

/// The part of a text from `begin` to `end` with its edits made. An edit inside one already made is left out.
std::string edited(std::string_view text, std::size_t begin, std::size_t end, std::vector<Edit> edits) {
    std::ranges::stable_sort(edits, {}, &Edit::begin);
    std::string result;
    std::size_t at = begin;
    for (const Edit& edit : edits) {
        if (edit.begin < at || edit.end > end) {
            continue;
        }
        result += text.substr(at, edit.begin - at);
        result += edit.now;
        at = edit.end;
    }
    result += text.substr(at, end - at);
    return result;
}

std::string_view trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(kBlanks);
    return first == std::string_view::npos ? std::string_view{} : text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::string_view line_end_of(std::string_view text) { return text.find("\r\n") != std::string_view::npos ? "\r\n" : "\n"; }

std::string with_line_ends(std::string_view text, std::string_view line_end) {
    std::string result;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\n') {
            result += line_end;
        } else if (text[i] != '\r' || i + 1 >= text.size() || text[i + 1] != '\n') {
            result += text[i];
        }
    }
    return result;
}

/// The blanks the line of `offset` begins with; `first` tells whether nothing else stands before it.
std::string_view indent_at(std::string_view text, std::size_t offset, bool* first = nullptr) {
    const std::size_t before = offset == 0 ? std::string_view::npos : text.rfind('\n', offset - 1);
    const std::size_t line = before == std::string_view::npos ? 0 : before + 1;
    const std::size_t word = std::min(text.find_first_not_of(" \t", line), text.size());
    if (first != nullptr) {
        *first = word >= offset;
    }
    return text.substr(line, std::min(word, offset) - line);
}

/// How much deeper the children of the root stand than the root.
std::string indent_step(std::string_view text) {
    const Extent root = root_of(text);
    for (const Extent& child : children_of(text, root)) {
        bool first = false;
        const std::string_view deep = indent_at(text, child.begin, &first), shallow = indent_at(text, root.begin);
        if (first && deep.size() > shallow.size() && deep.starts_with(shallow)) {
            return std::string(deep.substr(shallow.size()));
        }
    }
    return "  ";
}

/// Lines of markup, each on a line of its own: a line end in them begins another one, a tab behind it goes one step deeper.
std::string own_lines(const std::vector<std::string>& markups, std::string_view line_end, std::string_view indent, std::string_view step) {
    std::string text;
    for (const std::string& markup : markups) {
        text.append(line_end).append(indent);
        for (const char c : markup) {
            if (c == '\n') {
                text.append(line_end).append(indent);
            } else if (c == '\t') {
                text.append(step);
            } else {
                text += c;
            }
        }
    }
    return text;
}

Edit child_edit(std::string_view text, const Extent& element, const std::vector<std::string>& markups) {
    const std::string step = indent_step(text);
    const std::string_view line_end = line_end_of(text);
    const std::string outer(indent_at(text, element.begin));
    if (element.closes_itself) {
        const std::string word(word_of(text, element));
        std::string now = ">" + own_lines(markups, line_end, outer + step, step);
        now.append(line_end).append(outer).append("</" + word + ">");
        return {element.attributes_end, element.end, std::move(now)};
    }
    const std::string_view content = text.substr(element.content_begin, element.content_end - element.content_begin);
    const std::size_t last = content.find_last_not_of(kBlanks);
    const std::size_t place = element.content_begin + (last == std::string_view::npos ? 0 : last + 1);
    if (text.substr(place, element.content_end - place).find('\n') == std::string_view::npos) {  // all on one line
        std::string now;
        for (const std::string& markup : markups) {
            now += markup;
        }
        now.erase(std::remove_if(now.begin(), now.end(), [](char c) { return c == '\n' || c == '\t'; }), now.end());
        return {place, place, std::move(now)};
    }
    std::string indent = outer + step;
    for (const Extent& child : children_of(text, element)) {
        bool first = false;
        const std::string_view its = indent_at(text, child.begin, &first);
        if (first) {
            indent = its;
        }
    }
    return {place, place, own_lines(markups, line_end, indent, step)};
}

}  // namespace

/// The files with their changes, put together.
class Rewrite::Assembly {
public:
    Assembly(const ReadResult& read, const Changes& changes, bool splice_all) : read_(read), changes_(changes), includes_(read.files.size()) {
        find_includes(0);
        whole_ = edited_file(0, splice_all);
    }
    std::string whole() && { return std::move(whole_); }

private:
    struct Include {
        Extent element;
        std::size_t file = 0;
    };

    std::string_view text_of(std::size_t file) const { return read_.files[file].text(); }

    /// The files stand in the order in which their includes are met, each with its own before the next (document.cpp).
    void find_includes(std::size_t file) {
        const std::string_view text = text_of(file);
        for (const Extent& child : children_of(text, root_of(text))) {
            if (word_of(text, child) == "include" && ++last_file_ < includes_.size()) {
                includes_[file].push_back({child, last_file_});
                find_includes(last_file_);
            }
        }
    }

    bool touched(std::size_t file) const {
        const auto first = changes_.lower_bound({static_cast<std::int32_t>(file), 0});
        const bool here = first != changes_.end() && first->first.first == static_cast<std::int32_t>(file);
        return here || std::ranges::any_of(includes_[file], [&](const Include& include) { return touched(include.file); });
    }

    std::vector<Edit> edits_of(std::size_t file, bool splice_all) const {
        const std::string_view text = text_of(file);
        std::vector<Edit> edits;
        const auto index = static_cast<std::int32_t>(file);
        for (auto change = changes_.lower_bound({index, 0}); change != changes_.end() && change->first.first == index; ++change) {
            element_edits(text, extent_at(text, change->first.second), change->second, edits);
        }
        for (const Include& include : includes_[file]) {
            if (splice_all || touched(include.file)) {
                edits.push_back({include.element.begin, include.element.end, spliced(file, include)});
            }
        }
        return edits;
    }

    std::string edited_file(std::size_t file, bool splice_all) const {
        return edited(text_of(file), 0, text_of(file).size(), edits_of(file, splice_all));
    }

    /// The children of an included file as they are to stand in place of its include; comments round its root are kept.
    std::string spliced(std::size_t into, const Include& include) const {
        const std::string_view text = text_of(include.file);
        const Extent root = root_of(text);
        const std::size_t declared = text.starts_with("<?xml") ? text.find("?>") + 2 : 0;
        const std::string indent(indent_at(text_of(into), include.element.begin));
        const std::string body = edited(text, root.content_begin, root.content_end, edits_of(include.file, true));
        const std::string& path = read_.files[include.file].path();
        std::string whole =
            path.find("--") == std::string::npos && !path.ends_with('-') ? "<!-- from " + path + " -->" : "<!-- from another file -->";
        const auto add = [&](std::string_view more) {
            if (!more.empty()) {
                whole += "\n" + indent + std::string(more);
            }
        };
        add(trimmed(text.substr(declared, root.begin - declared)));
        const std::size_t end = body.find_last_not_of(kBlanks);
        const std::string_view lines = std::string_view(body).substr(0, end == std::string::npos ? 0 : end + 1);
        const std::size_t word = lines.find_first_not_of(kBlanks);
        const std::size_t line = word == std::string_view::npos ? word : lines.rfind('\n', word);
        if (line != std::string_view::npos) {
            whole += std::string(lines.substr(line));
        } else {
            add(trimmed(lines));
        }
        add(trimmed(text.substr(root.end)));
        return with_line_ends(whole, line_end_of(text_of(into)));
    }

    static void element_edits(std::string_view text, const Extent& element, const ElementChange& change, std::vector<Edit>& edits) {
        if (change.replacement) {
            edits.push_back({element.begin, element.end, *change.replacement});
            return;
        }
        if (!change.word.empty() && word_of(text, element) != change.word) {
            const std::size_t length = element.name_end - element.begin - 1;
            edits.push_back({element.begin + 1, element.name_end, change.word});
            if (!element.closes_itself) {
                edits.push_back({element.content_end + 2, element.content_end + 2 + length, change.word});
            }
        }
        attribute_edits(text, element, change, edits);
        if (!change.children.empty()) {
            edits.push_back(child_edit(text, element, change.children));
        }
    }

    static void attribute_edits(std::string_view text, const Extent& element, const ElementChange& change, std::vector<Edit>& edits) {
        const std::vector<AttributePlace> places = attributes_at(text, element.begin);
        std::string added;
        for (const auto& [name, value] : change.values) {
            const auto found = std::ranges::find(places, name, &AttributePlace::name);
            if (found == places.end()) {
                added += value ? " " + name + "=\"" + escaped_value(*value) + "\"" : "";
                continue;
            }
            const char quote = text[found->value_offset - 1];
            const std::size_t close = text.find(quote, found->value_offset);
            if (value) {
                edits.push_back({found->value_offset, close, escaped_value(*value, quote)});
            } else {
                edits.push_back({text.find_last_not_of(kBlanks, found->name_offset - 1) + 1, close + 1, ""});
            }
        }
        if (!added.empty()) {
            edits.push_back({element.attributes_end, element.attributes_end, added});
        }
    }

    const ReadResult& read_;
    const Changes& changes_;
    std::size_t last_file_ = 0;
    std::vector<std::vector<Include>> includes_;  ///< per file
    std::string whole_;
};

std::string escaped_value(std::string_view text, char quote) {
    std::string safe;
    for (const char c : text) {
        switch (c) {
            case '&': safe += "&amp;"; break;
            case '<': safe += "&lt;"; break;
            case '\n': safe += "&#10;"; break;
            case '\r': safe += "&#13;"; break;
            case '\t': safe += "&#9;"; break;
            default: safe += c == quote ? std::string(quote == '"' ? "&quot;" : "&apos;") : std::string(1, c);
        }
    }
    return safe;
}

Rewrite::Where Rewrite::where(const layout::Place& element) const {
    return {element.file, read_->files[static_cast<std::size_t>(element.file)].offset_of(element)};
}

void Rewrite::set_attribute(const layout::Place& element, const std::string& attribute, const std::string& value) {
    changes_[where(element)].values[attribute] = value;
}

void Rewrite::remove_attribute(const layout::Place& element, const std::string& attribute) {
    changes_[where(element)].values[attribute] = std::nullopt;
}

void Rewrite::rename_element(const layout::Place& element, const std::string& word) { changes_[where(element)].word = word; }

void Rewrite::replace_element(const layout::Place& element, const std::string& markup) { changes_[where(element)].replacement = markup; }

void Rewrite::add_child(const layout::Place& element, const std::string& markup) { changes_[where(element)].children.push_back(markup); }

std::string Rewrite::text(const fs::path& file) const {
    Changes changes = changes_;
    apply_settings(changes);
    const auto folder = [](const fs::path& path) {
        std::error_code ignored;
        const fs::path real = fs::weakly_canonical(path, ignored);
        return (real.empty() ? path : real).parent_path();
    };
    const bool elsewhere = folder(file) != folder(read_->files[0].path());
    const std::string mark = read_->files[0].byte_order_mark() ? "\xEF\xBB\xBF" : "";
    return mark + Assembly(*read_, changes, elsewhere).whole();
}

ReadResult Rewrite::reread(const fs::path& file) const { return read_layout_as(file, text(file)); }

}  // namespace ebb::netfiles
