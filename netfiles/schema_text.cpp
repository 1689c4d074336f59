#include "netfiles/schema_text.h"

#include <cmath>
#include <set>
#include <vector>

#include "netfiles/schema.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

// ---------------------------------------------------------------------------------------------- XML Schema

/// A unit as a regular expression of XML Schema: its only special characters are '/' (none) and '-' (none outside brackets).
std::string units_pattern(Dimension dimension) {
    std::string pattern;
    for (const Unit& unit : units_of(dimension)) {
        pattern += (pattern.empty() ? "" : "|") + std::string(unit.name);
    }
    return pattern;
}

std::string type_word(Dimension dimension) {
    switch (dimension) {
        case Dimension::length: return "length";
        case Dimension::volume: return "volume";
        case Dimension::flow: return "flow";
        case Dimension::time: return "time";
        case Dimension::head: return "head";
        case Dimension::power: return "power";
        case Dimension::temperature: return "temperature";
        case Dimension::share: return "share";
        case Dimension::count: return "count";
        case Dimension::velocity: return "velocity";
        default: return "number";
    }
}

bool is_signed(const AttributeRule& attribute) { return attribute.limits.low < 0.0; }

std::string quantity_type(const AttributeRule& attribute) { return (is_signed(attribute) ? "signed-" : "") + type_word(attribute.dimension); }

/// What the reader takes for a quantity: a decimal number, at most one space, a unit; or two numbers with their units.
std::string quantity_pattern(const AttributeRule& attribute) {
    const Dimension dimension = attribute.dimension;
    const std::string sign = is_signed(attribute) ? "[+\\-]?" : "\\+?";
    const std::string number = "([0-9]+(\\.[0-9]*)?|\\.[0-9]+)([eE][+\\-]?[0-9]+)?";
    if (dimension == Dimension::count) {
        return "[1-9][0-9]{0,5}|1000000";
    }
    if (dimension == Dimension::number) {
        return sign + number;
    }
    if (dimension == Dimension::share) {
        return sign + number + "( ?%)?";
    }
    std::string pattern = sign + number + " ?(" + units_pattern(dimension) + ")";
    for (const UnitPair& pair : unit_pairs_of(dimension)) {
        const int ratio = static_cast<int>(pair.ratio);
        const std::string whole = ratio == 12 ? "[0-9]|1[01]" : (ratio == 24 ? "[0-9]|1[0-9]|2[0-3]" : "[0-5]?[0-9]");
        pattern += "|" + sign + "[0-9]{1,9} ?" + std::string(pair.large) + " ?0*(" + whole + ")(\\.[0-9]*)? ?" + std::string(pair.small);
    }
    return pattern;
}

std::string simple_type(const std::string& name, const std::string& restriction) {
    return "  <xs:simpleType name=\"" + name + "\">\n    <xs:restriction base=\"xs:token\">\n" + restriction +
           "    </xs:restriction>\n  </xs:simpleType>\n";
}

std::string pattern_facet(const std::string& pattern) { return "      <xs:pattern value=\"" + pattern + "\"/>\n"; }

std::string element_type_name(const ElementRule& element) {
    return std::string(element.name) + (element.within.empty() ? "" : "-of-" + std::string(element.within)) + "-element";
}

std::string word_type_name(const ElementRule& element, const AttributeRule& attribute) {
    return std::string(element.name) + "-" + std::string(attribute.name) + "-word";
}

std::string word_facets(std::string_view words) {
    std::string facets;
    while (!words.empty()) {
        const std::size_t bar = words.find('|');
        facets += "      <xs:enumeration value=\"" + std::string(words.substr(0, bar)) + "\"/>\n";
        words = bar == std::string_view::npos ? std::string_view{} : words.substr(bar + 1);
    }
    return facets;
}

std::string type_of(const ElementRule& element, const AttributeRule& attribute) {
    switch (attribute.type) {
        case ValueType::quantity: return quantity_type(attribute);
        case ValueType::id:
        case ValueType::reference: return "label";
        case ValueType::references: return "labels";
        case ValueType::text: return "text";
        case ValueType::word: return word_type_name(element, attribute);
    }
    return "text";
}

std::string escaped(std::string_view text) {
    std::string safe;
    for (const char c : text) {
        safe += c == '<' ? "&lt;" : (c == '&' ? "&amp;" : (c == '"' ? "&quot;" : std::string(1, c)));
    }
    return safe;
}

std::string documented(std::string_view says, const std::string& indent) {
    return indent + "<xs:annotation><xs:documentation>" + escaped(says) + "</xs:documentation></xs:annotation>\n";
}

/// Children in any order. Where just one kind is required, it may stand anywhere but must stand somewhere.
std::string content_model(const ElementRule& element) {
    const auto child_line = [&](const ChildRule& child, const std::string& indent, const std::string& occurs) {
        return indent + "<xs:element name=\"" + std::string(child.name) + "\" type=\"" + element_type_name(*find_element(child.name, element.name)) +
               "\"" + occurs + "/>\n";
    };
    const auto choice = [&](bool without_required) {
        const std::string least = element.holds_something ? "1" : "0";
        std::string text = "      <xs:choice minOccurs=\"" + least + "\" maxOccurs=\"unbounded\">\n";
        for (const ChildRule& child : element.children) {
            if (!(without_required && child.least > 0)) {
                text += child_line(child, "        ", "");
            }
        }
        return text + "      </xs:choice>\n";
    };
    if (element.children.empty()) {
        return {};
    }
    if (element.children.size() == 1) {
        const ChildRule& only = element.children[0];
        const std::string occurs =
            " minOccurs=\"" + std::to_string(only.least) + "\" maxOccurs=\"" + (only.most == kAny ? "unbounded" : std::to_string(only.most)) + "\"";
        return "    <xs:sequence>\n" + child_line(only, "      ", occurs) + "    </xs:sequence>\n";
    }
    for (const ChildRule& child : element.children) {
        if (child.least > 0) {
            return "    <xs:sequence>\n" + choice(true) + child_line(child, "      ", "") + choice(false) + "    </xs:sequence>\n";
        }
    }
    return "    <xs:sequence>\n" + choice(false) + "    </xs:sequence>\n";
}

std::string complex_type(const ElementRule& element) {
    std::string text = "  <xs:complexType name=\"" + element_type_name(element) + "\">\n" + documented(element.says, "    ") + content_model(element);
    for (const AttributeRule& attribute : element.attributes) {
        text += "    <xs:attribute name=\"" + std::string(attribute.name) + "\" type=\"" + type_of(element, attribute) + "\"" +
                (attribute.required ? " use=\"required\"" : "") + ">\n";
        std::string says(attribute.says);
        if (!attribute.default_text.empty()) {
            says += " (default " + std::string(attribute.default_text) + ")";
        }
        text += documented(says, "      ") + "    </xs:attribute>\n";
    }
    return text + "  </xs:complexType>\n";
}

/// The elements that can stand below one of `roots`, these included, in the order of the table.
std::vector<const ElementRule*> reachable(std::span<const std::string_view> roots) {
    std::set<const ElementRule*> wanted;
    std::vector<const ElementRule*> open;
    for (const std::string_view root : roots) open.push_back(find_element(root));
    while (!open.empty()) {
        const ElementRule* element = open.back();
        open.pop_back();
        if (!wanted.insert(element).second) continue;
        for (const ChildRule& child : element->children) open.push_back(find_element(child.name, element->name));
    }
    std::vector<const ElementRule*> list;
    for (const ElementRule& element : all_elements())
        if (wanted.contains(&element)) list.push_back(&element);
    return list;
}

std::string simple_types(const std::vector<const ElementRule*>& elements) {
    std::string text = simple_type("text", "      <xs:minLength value=\"1\"/>\n") + simple_type("label", pattern_facet("\\S+")) +
                       simple_type("labels", pattern_facet("\\S+( \\S+)*"));
    std::set<std::string> written;
    for (const ElementRule* element : elements) {
        for (const AttributeRule& attribute : element->attributes) {
            if (attribute.type == ValueType::quantity && written.insert(quantity_type(attribute)).second) {
                text += simple_type(quantity_type(attribute), pattern_facet(quantity_pattern(attribute)));
            } else if (attribute.type == ValueType::word) {
                text += simple_type(word_type_name(*element, attribute), word_facets(attribute.words));
            }
        }
    }
    return text;
}

// ---------------------------------------------------------------------------------------------- Markdown

std::string limits_text(const AttributeRule& attribute) {
    const Limits& limits = attribute.limits;
    if (attribute.type != ValueType::quantity || attribute.dimension == Dimension::count || std::isinf(limits.low)) {
        return "";
    }
    if (std::isinf(limits.high)) {
        return limits.low_open ? ", above 0" : ", 0 or more";
    }
    const bool percent = attribute.dimension == Dimension::share;
    const double scale = percent ? 100.0 : 1.0;
    const std::string unit =
        percent ? " %"
                : (attribute.dimension == Dimension::length
                       ? " m"
                       : (attribute.dimension == Dimension::temperature ? " degC" : (attribute.dimension == Dimension::velocity ? " m/s" : "")));
    return std::string(", ") + (limits.low_open ? "above " : "from ") + brief_number(limits.low * scale) +
           (limits.high_open ? " to below " : " to ") + brief_number(limits.high * scale, 8) + unit;
}

std::string takes(const AttributeRule& attribute) {
    switch (attribute.type) {
        case ValueType::quantity: return type_word(attribute.dimension) + limits_text(attribute);
        case ValueType::id: return "a new label";
        case ValueType::reference: return "a label";
        case ValueType::references: return "labels, with spaces between";
        case ValueType::text: return "text";
        case ValueType::word: {
            std::string words = "`" + std::string(attribute.words) + "`";
            for (std::size_t bar = words.find('|'); bar != std::string::npos; bar = words.find('|', bar)) {
                words.replace(bar, 1, "`, `");
            }
            return words;
        }
    }
    return "";
}

std::string children_text(const ElementRule& element) {
    std::string text;
    for (const ChildRule& child : element.children) {
        text += (text.empty() ? "" : ", ") + ("`" + std::string(child.name) + "`");
        text += child.least > 0 ? " (at least one)" : (child.most == 1 ? " (at most one)" : "");
    }
    return text;
}

}  // namespace

std::string xsd_text(std::string_view root) {
    const std::vector<const ElementRule*> elements = reachable({&root, 1});
    std::string text = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<!-- Written from the table of the language in netfiles/schema_elements.cpp; a "
                       "test keeps the two the same. -->\n"
                       "<xs:schema xmlns:xs=\"http://www.w3.org/2001/XMLSchema\">\n";
    text += "  <xs:element name=\"" + std::string(root) + "\" type=\"" + std::string(root) + "-element\"/>\n";
    for (const ElementRule* element : elements) {
        text += complex_type(*element);
    }
    return text + simple_types(elements) + "</xs:schema>\n";
}

std::string reference_text(std::span<const std::string_view> roots) {
    std::string text;
    for (const ElementRule* each : reachable(roots)) {
        const ElementRule& element = *each;
        text += "### `" + std::string(element.name) + "`" + (element.within.empty() ? "" : " in `" + std::string(element.within) + "`") + "\n\n" +
                std::string(element.says) + ".";
        const std::string children = children_text(element);
        text += (children.empty() ? "" : (element.holds_something ? " Holds at least one of " : " Holds ") + children + ".") + "\n\n";
        if (element.attributes.empty()) {
            continue;
        }
        text += "| attribute | takes | left out | meaning |\n|---|---|---|---|\n";
        for (const AttributeRule& attribute : element.attributes) {
            const std::string left_out =
                attribute.required ? "*must be given*" : (attribute.default_text.empty() ? "" : std::string(attribute.default_text));
            text += "| `" + std::string(attribute.name) + "` | " + takes(attribute) + " | " + left_out + " | " + std::string(attribute.says) + " |\n";
        }
        text += "\n";
    }
    return text;
}

}  // namespace ebb::netfiles
