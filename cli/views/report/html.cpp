#include "cli/views/report/html.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "cli/views/report/report_words.h"

namespace ebb::cli::html {
namespace {

// Elements of HTML that never have an end tag (HTML Living Standard, 13.1.2); the library writes them as they are without content. Every other one
// must be written with its end tag, which an empty text in it brings about.
constexpr std::array<std::string_view, 14> kVoid = {"area",  "base", "br",   "col",   "embed",  "hr",    "img",
                                                    "input", "link", "meta", "param", "source", "track", "wbr"};

struct Filler : pugi::xml_tree_walker {
    bool for_each(Node& node) override {
        const std::string_view name = node.name();
        if (node.type() == pugi::node_element && !node.first_child() && std::find(kVoid.begin(), kVoid.end(), name) == kVoid.end())
            node.append_child(pugi::node_pcdata).set_value("");
        return true;
    }
};

struct Writer : pugi::xml_writer {
    std::string text;
    void write(const void* data, std::size_t size) override { text.append(static_cast<const char*>(data), size); }
};

/// Bytes in hexadecimal as base64 (RFC 4648).
std::string base64_of(std::string_view hexadecimal) {
    constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    constexpr unsigned kBitsOfHex = 4, kBitsOfDigit = 6, kMask = 63;
    std::string text;
    std::uint32_t bits = 0;
    unsigned count = 0;
    for (const char letter : hexadecimal) {
        bits = bits << kBitsOfHex | static_cast<std::uint32_t>(letter <= '9' ? letter - '0' : letter - 'a' + 10);
        count += kBitsOfHex;
        if (count >= kBitsOfDigit) {
            count -= kBitsOfDigit;
            text += kDigits[bits >> count & kMask];
        }
    }
    if (count > 0) text += kDigits[bits << (kBitsOfDigit - count) & kMask];
    while (text.size() % 4 != 0) text += '=';
    return text;
}

std::string sums_of(const std::vector<assets::Asset>& all) {
    std::string text;
    for (const assets::Asset& one : all) text += fmt::format(" 'sha256-{}'", base64_of(one.sha256));
    return text;
}

/// JSON that may stand in an element of script: nothing in it can end the element or begin a comment.
std::string script_safe(const std::string& json) {
    std::string safe;
    safe.reserve(json.size());
    for (const char letter : json) {
        if (letter == '<')
            safe += "\\u003c";
        else
            safe += letter;
    }
    return safe;
}

std::string escaped(std::string_view says) {
    pugi::xml_document document;
    add(document, "t", {}, says);
    Writer writer;
    document.first_child().first_child().print(writer, "", pugi::format_raw);
    return writer.text;
}

/// The word a reader of the screen hears for the mark of a row.
std::string_view word_of(Ink ink) { return ink == Ink::trouble ? words::kTrouble : words::kDoubt; }

}  // namespace

void mark(Node cell, Ink ink) {
    if (ink != Ink::trouble && ink != Ink::doubt) return;
    add(cell, "abbr", {{"class", "mark"}, {"title", std::string(word_of(ink))}}, ink == Ink::trouble ? "!" : "?");
    text(cell, " ");
}

const char* class_of(Ink ink) {
    switch (ink) {
        case Ink::trouble: return "trouble";
        case Ink::doubt: return "doubt";
        case Ink::good: return "good";
        case Ink::quiet: return "quiet";
        case Ink::title:
        case Ink::plain: break;
    }
    return "";
}

Node add(Node parent, const char* element, Attributes attributes) {
    Node node = parent.append_child(element);
    for (const Attribute& attribute : attributes) node.append_attribute(attribute.name).set_value(attribute.value.c_str());
    return node;
}

Node add(Node parent, const char* element, Attributes attributes, std::string_view says) {
    Node node = add(parent, element, attributes);
    text(node, says);
    return node;
}

void text(Node parent, std::string_view says) { parent.append_child(pugi::node_pcdata).set_value(std::string(says).c_str()); }

std::string tenths(double value) {
    constexpr double kTen = 10.0;
    return fmt::format("{}", std::round(value * kTen) / kTen + 0.0);
}

Node table(Node parent, const cli::Table& table, std::string_view caption, Caption shown) {
    if (table.empty()) return {};
    std::vector<std::size_t> columns;
    std::string classes;  // which columns hold numbers, once for the table and not in every cell: pages with many tables weigh half as much
    for (std::size_t i = 0; i < table.columns().size(); ++i) {
        if (!table.shows(i)) continue;
        columns.push_back(i);
        if (table.columns()[i].align == Align::right) classes += fmt::format("{}r{}", classes.empty() ? "" : " ", columns.size());
    }
    const Node made = add(scroll_box(parent, caption), "table");
    Node node = made;
    if (!classes.empty()) node.append_attribute("class").set_value(classes.c_str());
    add(made, "caption", shown == Caption::heard ? Attributes{{"class", "unseen"}} : Attributes{}, caption);
    const Node titles = add(add(made, "thead"), "tr");
    for (const std::size_t i : columns) add(titles, table.columns()[i].title.empty() ? "td" : "th", {}, table.columns()[i].title);
    const Node body = add(made, "tbody");
    for (const Table::Row& row : table.rows()) {
        Node line = add(body, "tr");
        if (*class_of(row.ink) != '\0') line.append_attribute("class").set_value(class_of(row.ink));
        for (const std::size_t i : columns) {
            const Node cell = add(line, i == columns.front() ? "th" : "td");
            if (i == columns.front()) mark(cell, row.ink);
            text(cell, row.cells[i]);
        }
    }
    return made;
}

Node scroll_box(Node parent, std::string_view name) {
    return add(parent, "div", {{"class", "wide"}, {"tabindex", "0"}, {"role", "group"}, {"aria-label", std::string(name)}});
}

Node section(Node parent, const std::string& id, std::string_view heading) {
    const Node made = add(parent, "section", {{"id", id}, {"aria-labelledby", id + "-h"}});
    add(made, "h2", {{"id", id + "-h"}}, heading);
    return made;
}

std::string written(const Head& head, Node body) {
    Filler filler;
    body.traverse(filler);
    const std::string policy = fmt::format("default-src 'none'; style-src{}; script-src{}; base-uri 'none'; form-action 'none'", sums_of(head.styles),
                                           sums_of(head.scripts));
    std::string text = "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
    text += fmt::format("<meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n", policy);
    text += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n";
    text += fmt::format("<title>{}</title>\n", escaped(head.title));
    for (const assets::Asset& style : head.styles) text += fmt::format("<style>{}</style>\n", style.text);
    text += "</head>\n<body>\n";
    Writer writer;
    for (const Node child : body.children()) {
        child.print(writer, "", pugi::format_raw);
        writer.text += '\n';
    }
    text += writer.text;
    text += fmt::format("<script type=\"application/json\" id=\"data\">{}</script>\n", script_safe(head.data));
    for (const assets::Asset& script : head.scripts) text += fmt::format("<script>{}</script>\n", script.text);
    return text + "</body>\n</html>\n";
}

}  // namespace ebb::cli::html
