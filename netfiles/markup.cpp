#include "netfiles/markup.h"

#include <algorithm>
#include <array>
#include <cstdint>

#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

/// Letters, '_', ':' and everything outside ASCII may begin a name.
constexpr bool begins_name(char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == ':' || (static_cast<unsigned char>(c) & 0x80U) != 0U;
}
bool continues_name(char c) {
    static constexpr auto kContinues = [] {
        std::array<bool, 256> table{};
        for (unsigned byte = 0; byte < table.size(); ++byte) {
            const char letter = static_cast<char>(byte);
            table[byte] = begins_name(letter) || (letter >= '0' && letter <= '9') || letter == '-' || letter == '.';
        }
        return table;
    }();
    return kContinues[static_cast<unsigned char>(c)];
}

/// The length in bytes of the UTF-8 character at `at`, or 0 if it is not one (overlong, surrogate, beyond U+10FFFF, cut off).
std::size_t utf8_length(std::string_view text, std::size_t at) {
    const auto byte = [&](std::size_t i) { return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U; };
    const auto follows = [&](std::size_t i) { return (byte(i) & 0xC0U) == 0x80U; };
    const unsigned first = byte(0);
    if (first < 0x80U) {
        return 1;
    }
    if (first >= 0xC2U && first <= 0xDFU) {
        return follows(1) ? 2 : 0;
    }
    if (first >= 0xE0U && first <= 0xEFU) {
        const bool overlong = first == 0xE0U && byte(1) < 0xA0U;
        const bool surrogate = first == 0xEDU && byte(1) > 0x9FU;
        return follows(1) && follows(2) && !overlong && !surrogate ? 3 : 0;
    }
    if (first >= 0xF0U && first <= 0xF4U) {
        const bool overlong = first == 0xF0U && byte(1) < 0x90U;
        const bool beyond = first == 0xF4U && byte(1) > 0x8FU;
        return follows(1) && follows(2) && follows(3) && !overlong && !beyond ? 4 : 0;
    }
    return 0;
}

/// One pass over the text. Each step returns false after reporting.
class Scan {
public:
    Scan(const SourceFile& file, std::int32_t file_index, Report& report)
        : file_(file), text_(file.text()), file_index_(file_index), report_(report) {}

    bool whole_file() {
        if (!is_text()) {
            return false;
        }
        while (at_ < text_.size()) {
            if (text_[at_] == '<' ? !markup() : !character_data()) {
                return false;
            }
        }
        if (!open_.empty()) {
            return complain("unclosed-element", "<" + printable(open_.back().name) + "> is never closed",
                            "write </" + printable(open_.back().name) + "> where it ends", open_.back().offset);
        }
        if (!root_seen_) {
            return complain("no-root", "the file holds no element", "begin it with <layout name=\"...\"> and end it with </layout>", 0);
        }
        return true;
    }

private:
    struct Open {
        std::string_view name;
        std::size_t offset;
    };

    bool complain(std::string code, std::string says, std::string advice, std::size_t offset, layout::Place other = {}) {
        report_.add({std::move(code), "", std::move(says), std::move(advice), ""}, file_.place_of(offset, file_index_), other);
        return false;
    }

    bool is_text() {
        if (std::ranges::all_of(text_, is_blank)) {
            return complain("empty-file", "the file is empty", "begin it with <layout name=\"...\"> and end it with </layout>", 0);
        }
        if (text_.starts_with("\xFF\xFE") || text_.starts_with("\xFE\xFF")) {
            return complain("not-utf-8", "the file is written in UTF-16", "save it as UTF-8", 0);
        }
        for (std::size_t at = 0; at < text_.size();) {
            const auto byte = static_cast<unsigned char>(text_[at]);
            if (byte >= 0x20U && byte < 0x80U) {  // nearly all of nearly every file
                ++at;
                continue;
            }
            if (byte < 0x20U && !is_blank(text_[at])) {
                return complain("not-text", "there is a control character (byte " + std::to_string(byte) + ") in the file, which is no text file",
                                "check that this is the layout file and not something else", at);
            }
            const std::size_t length = byte < 0x80U ? 1 : utf8_length(text_, at);
            if (length == 0) {
                return complain("not-utf-8", "the file is not written in UTF-8: a byte " + std::to_string(byte) + " stands here", "save it as UTF-8",
                                at);
            }
            at += length;
        }
        return true;
    }

    bool character_data() {
        const std::size_t end = std::min(text_.find('<', at_), text_.size());
        if (open_.empty()) {
            const auto stray =
                std::find_if_not(text_.begin() + static_cast<std::ptrdiff_t>(at_), text_.begin() + static_cast<std::ptrdiff_t>(end), is_blank);
            const auto offset = static_cast<std::size_t>(stray - text_.begin());
            if (offset < end) {
                return complain("stray-text", "text stands outside the " + std::string(root_seen_ ? "layout" : "first element"),
                                "a layout file begins with <layout> and ends with </layout>", offset);
            }
        }
        if (!entities_known(at_, end)) {
            return false;
        }
        const std::size_t close = text_.substr(at_, end - at_).find("]]>");
        if (close != std::string_view::npos) {
            return complain("bad-markup", "\"]]>\" stands in the text", "take it out", at_ + close);
        }
        at_ = end;
        return true;
    }

    bool markup() {
        const std::string_view rest = text_.substr(at_);
        if (rest.starts_with("<!--")) {
            return comment();
        }
        if (rest.starts_with("<!DOCTYPE") || rest.starts_with("<!ENTITY")) {
            return complain("doctype", "the file has a DOCTYPE, which is refused", "take it out: a layout file needs no DOCTYPE and no entities",
                            at_);
        }
        if (rest.starts_with("<![CDATA[")) {
            return complain("bad-markup", "the file has a CDATA section, which means nothing here", "take it out", at_);
        }
        if (rest.starts_with("<?")) {
            return instruction();
        }
        if (rest.starts_with("</")) {
            return end_tag();
        }
        return start_tag();
    }

    bool comment() {
        const std::size_t dashes = text_.find("--", at_ + 4);
        if (dashes == std::string_view::npos) {
            return complain("bad-markup", "a comment is never closed", "write --> where it ends", at_);
        }
        if (dashes + 2 >= text_.size() || text_[dashes + 2] != '>') {
            return complain("bad-markup", "\"--\" stands inside a comment", "write a single dash, or close the comment with -->", dashes);
        }
        at_ = dashes + 3;
        return true;
    }

    bool instruction() {
        const std::size_t end = text_.find("?>", at_ + 2);
        if (end == std::string_view::npos) {
            return complain("bad-markup", "\"<?\" is never closed", "write ?> where it ends", at_);
        }
        const std::string_view body = text_.substr(at_ + 2, end - at_ - 2);
        const bool declaration = body.starts_with("xml") && body.size() > 3 && is_blank(body[3]);
        if (!declaration) {
            return complain("bad-markup", "a processing instruction means nothing here", "take it out", at_);
        }
        if (at_ != 0) {
            return complain("bad-markup", "<?xml ...?> may only stand at the very beginning of the file", "move it there or take it out", at_);
        }
        const bool utf8 = body.find("encoding") == std::string_view::npos || body.find("UTF-8") != std::string_view::npos ||
                          body.find("utf-8") != std::string_view::npos || body.find("US-ASCII") != std::string_view::npos;
        if (!utf8 || body.find("1.0") == std::string_view::npos) {
            return complain("not-utf-8", "the file says it is not XML 1.0 in UTF-8",
                            "save it as UTF-8 and write <?xml version=\"1.0\" encoding=\"UTF-8\"?>", at_);
        }
        at_ = end + 2;
        return true;
    }

    std::string_view name_here() {
        const std::size_t start = at_;
        if (at_ < text_.size() && begins_name(text_[at_])) {
            while (at_ < text_.size() && continues_name(text_[at_])) {
                ++at_;
            }
        }
        return text_.substr(start, at_ - start);
    }

    bool skip_blanks() {
        const std::size_t start = at_;
        while (at_ < text_.size() && is_blank(text_[at_])) {
            ++at_;
        }
        return at_ > start;
    }

    bool end_tag() {
        const std::size_t start = at_;
        at_ += 2;
        const std::string_view name = name_here();
        skip_blanks();
        if (at_ >= text_.size() || text_[at_] != '>') {
            return complain("bad-markup", "the closing tag </" + printable(name) + " does not end", "write </" + printable(name) + ">", start);
        }
        ++at_;
        if (open_.empty()) {
            return complain("tags-do-not-match", "</" + printable(name) + "> closes nothing", "take it out", start);
        }
        if (open_.back().name != name) {
            const std::string opened = printable(open_.back().name);
            return complain("tags-do-not-match", "</" + printable(name) + "> stands where <" + opened + "> is still open",
                            "write </" + opened + "> first, or end the first one with />", start, file_.place_of(open_.back().offset, file_index_));
        }
        open_.pop_back();
        return true;
    }

    bool start_tag() {
        const std::size_t start = at_++;
        const std::string_view name = name_here();
        if (name.empty()) {
            return complain("bad-markup", "\"<\" is not followed by a word", "write &lt; for the sign itself, or take it out", start);
        }
        if (open_.empty() && root_seen_) {
            return complain("second-root", "<" + printable(name) + "> stands after the end of the " + "first element",
                            "put it inside: a file holds one <layout> or one <catalogue>", start);
        }
        root_seen_ = true;
        if (open_.size() >= kDeepest) {
            return complain("too-deep", "elements are nested more than " + std::to_string(kDeepest) + " deep",
                            "a layout never needs more than four levels", start);
        }
        names_.clear();
        for (;;) {
            const bool blank = skip_blanks();
            if (at_ >= text_.size()) {
                return complain("bad-markup", "the tag <" + printable(name) + " is never closed", "write > or /> where it ends", start);
            }
            if (text_[at_] == '>') {
                ++at_;
                open_.push_back({name, start});
                return true;
            }
            if (text_[at_] == '/' && at_ + 1 < text_.size() && text_[at_ + 1] == '>') {
                at_ += 2;
                return true;
            }
            if (!blank && begins_name(text_[at_])) {
                return complain("bad-markup", "two attributes of <" + printable(name) + "> stand without a space between them", "put a space here",
                                at_);
            }
            if (!attribute(name)) {
                return false;
            }
        }
    }

    bool attribute(std::string_view element) {
        const std::size_t start = at_;
        const std::string_view name = name_here();
        if (name.empty()) {
            return complain("bad-markup", "\"" + printable(text_.substr(at_, 1)) + "\" cannot stand in the tag <" + printable(element) + ">",
                            "write attributes as name=\"value\" and end the tag with > or />", start);
        }
        if (std::ranges::find(names_, name) != names_.end()) {
            return complain("attribute-twice", printable(name) + "= is given twice in <" + printable(element) + ">", "keep one of them", start);
        }
        names_.push_back(name);
        if (names_.size() > kMostAttributes) {
            return complain("bad-markup", "<" + printable(element) + "> has more than " + std::to_string(kMostAttributes) + " attributes",
                            "take some out", start);
        }
        skip_blanks();
        if (at_ >= text_.size() || text_[at_] != '=') {
            return complain("bad-markup", "the attribute " + printable(name) + " has no value", "write " + printable(name) + "=\"value\"", start);
        }
        ++at_;
        skip_blanks();
        if (at_ >= text_.size() || (text_[at_] != '"' && text_[at_] != '\'')) {
            return complain("bad-markup", "the value of " + printable(name) + " is not in quotes", "write " + printable(name) + "=\"value\"", start);
        }
        const std::size_t close = text_.find(text_[at_], at_ + 1);
        const std::size_t value = at_ + 1;
        if (close == std::string_view::npos || text_.substr(value, close - value).find('<') != std::string_view::npos) {
            return complain("bad-markup", "the quotes round the value of " + printable(name) + " are not closed", "write the closing quotation mark",
                            start);
        }
        if (close - value > kLongestValue) {
            return complain("bad-markup", "the value of " + printable(name) + " is longer than " + std::to_string(kLongestValue) + " bytes",
                            "shorten it", start);
        }
        at_ = close + 1;
        return entities_known(value, close);
    }

    /// Only the five entities of XML and character numbers may follow an ampersand.
    bool entities_known(std::size_t begin, std::size_t end) {
        for (std::size_t at = text_.substr(0, end).find('&', begin); at != std::string_view::npos; at = text_.substr(0, end).find('&', at + 1)) {
            const std::string_view rest = text_.substr(at, std::min<std::size_t>(end - at, 12));
            constexpr std::array<std::string_view, 5> kKnown = {"&amp;", "&lt;", "&gt;", "&quot;", "&apos;"};
            const bool known = std::ranges::any_of(kKnown, [&](std::string_view entity) { return rest.starts_with(entity); });
            if (!known && !is_character_number(rest)) {
                return complain("unknown-entity", "\"&\" begins an entity that is not known here", "write &amp; for the sign itself", at);
            }
        }
        return true;
    }

    /// "&#65;" or "&#x41;", of a printable character.
    static bool is_character_number(std::string_view rest) {
        if (!rest.starts_with("&#")) {
            return false;
        }
        const bool hexadecimal = rest.starts_with("&#x");
        const std::size_t end = rest.find(';');
        const std::size_t start = hexadecimal ? 3 : 2;
        if (end == std::string_view::npos || end == start) {
            return false;
        }
        std::uint32_t number = 0;
        for (const char c : rest.substr(start, end - start)) {
            const bool digit = c >= '0' && c <= '9';
            const bool letter = hexadecimal && ((c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F'));
            if (!digit && !letter) {
                return false;
            }
            const int value = digit ? c - '0' : (c | 0x20) - 'a' + 10;
            number = number * (hexadecimal ? 16U : 10U) + static_cast<std::uint32_t>(value);
        }
        const bool surrogate = number >= 0xD800U && number <= 0xDFFFU;
        const bool character = (number >= 0x20U || number == 9U || number == 10U || number == 13U) && number <= 0x10FFFFU;
        return character && !surrogate && number != 0xFFFEU && number != 0xFFFFU;
    }

    const SourceFile& file_;
    std::string_view text_;
    std::int32_t file_index_;
    Report& report_;
    std::size_t at_ = 0;
    bool root_seen_ = false;
    std::vector<Open> open_;
    std::vector<std::string_view> names_;
};

}  // namespace

bool check_markup(const SourceFile& file, std::int32_t file_index, Report& report) { return Scan(file, file_index, report).whole_file(); }

std::vector<AttributePlace> attributes_at(std::string_view text, std::size_t offset) {
    std::vector<AttributePlace> places;
    std::size_t at = offset;
    const auto skip = [&](auto&& wanted) {
        while (at < text.size() && wanted(text[at])) {
            ++at;
        }
    };
    if (at >= text.size() || text[at] != '<') {
        return places;
    }
    ++at;
    skip(continues_name);
    while (at < text.size() && places.size() <= kMostAttributes) {
        skip(is_blank);
        const std::size_t name = at;
        skip(continues_name);
        const std::size_t name_end = at;
        skip(is_blank);
        if (name_end == name || at >= text.size() || text[at] != '=') {
            break;
        }
        ++at;
        skip(is_blank);
        const std::size_t close = at < text.size() ? text.find(text[at], at + 1) : std::string_view::npos;
        if (close == std::string_view::npos) {
            break;
        }
        places.push_back({text.substr(name, name_end - name), name, at + 1});
        at = close + 1;
    }
    return places;
}

}  // namespace ebb::netfiles
