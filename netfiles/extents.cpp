#include "netfiles/extents.h"

#include <algorithm>
#include <cstdint>

#include "netfiles/markup.h"

namespace ebb::netfiles {
namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

/// What stands at a '<'.
enum class Token : std::uint8_t { start_tag, end_tag, other };

Token token_at(std::string_view text, std::size_t at) {
    const char next = at + 1 < text.size() ? text[at + 1] : '\0';
    if (next == '/') {
        return Token::end_tag;
    }
    return next == '!' || next == '?' ? Token::other : Token::start_tag;
}

/// Behind a comment, a declaration or an end tag that begins at `at`.
std::size_t behind(std::string_view text, std::size_t at) {
    const bool comment = text.substr(at, 4) == "<!--";
    const std::size_t close = comment ? text.find("-->", at + 4) : text.find('>', at);
    return close == std::string_view::npos ? text.size() : close + (comment ? 3 : 1);
}

/// The start tag alone: content_end and end are not known yet.
Extent start_tag_at(std::string_view text, std::size_t offset) {
    Extent tag;
    tag.begin = offset;
    tag.name_end = offset + 1;
    while (tag.name_end < text.size() && !is_blank(text[tag.name_end]) && text[tag.name_end] != '/' && text[tag.name_end] != '>') {
        ++tag.name_end;
    }
    tag.attributes_end = tag.name_end;
    for (const AttributePlace& attribute : attributes_at(text, offset)) {
        tag.attributes_end = text.find(text[attribute.value_offset - 1], attribute.value_offset) + 1;
    }
    std::size_t close = tag.attributes_end;
    while (close < text.size() && is_blank(text[close])) {
        ++close;
    }
    tag.closes_itself = close < text.size() && text[close] == '/';
    tag.content_begin = std::min(close + (tag.closes_itself ? 2 : 1), text.size());
    tag.content_end = tag.end = tag.content_begin;
    return tag;
}

}  // namespace

Extent extent_at(std::string_view text, std::size_t offset) {
    Extent element = start_tag_at(text, offset);
    if (element.closes_itself) {
        return element;
    }
    int depth = 1;
    std::size_t at = text.find('<', element.content_begin);
    while (at != std::string_view::npos) {
        std::size_t next = 0;
        const Token token = token_at(text, at);
        if (token == Token::start_tag) {
            const Extent inside = start_tag_at(text, at);
            depth += inside.closes_itself ? 0 : 1;
            next = inside.content_begin;
        } else {
            next = behind(text, at);
        }
        if (token == Token::end_tag && --depth == 0) {
            element.content_end = at;
            element.end = next;
            return element;
        }
        at = text.find('<', next);
    }
    element.content_end = element.end = text.size();
    return element;
}

Extent root_of(std::string_view text) {
    std::size_t at = text.find('<');
    while (at != std::string_view::npos && token_at(text, at) != Token::start_tag) {
        at = text.find('<', behind(text, at));
    }
    return at == std::string_view::npos ? Extent{} : extent_at(text, at);
}

std::vector<Extent> children_of(std::string_view text, const Extent& parent) {
    std::vector<Extent> children;
    std::size_t at = text.find('<', parent.content_begin);
    while (at < parent.content_end) {
        std::size_t next = 0;
        if (token_at(text, at) == Token::start_tag) {
            children.push_back(extent_at(text, at));
            next = children.back().end;
        } else {
            next = behind(text, at);
        }
        at = text.find('<', next);
    }
    return children;
}

std::string_view word_of(std::string_view text, const Extent& element) {
    return text.substr(element.begin + 1, element.name_end - element.begin - 1);
}

}  // namespace ebb::netfiles
