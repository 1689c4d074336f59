#pragma once
// The language as one table: every element, its attributes and children. The reader checks files against it, the XSDs in docs/ and the
// reference part of docs/layout-format.md are written from it, and messages take their words from it.

#include <cstdint>
#include <limits>
#include <span>
#include <string_view>

#include "netfiles/units.h"

namespace ebb::netfiles {

/// What may stand in an attribute.
enum class ValueType : std::uint8_t {
    quantity,    ///< a number with a unit, of the rule's dimension (or a plain number, a count)
    id,          ///< the label of a thing: no spaces
    reference,   ///< the label of a thing that stands elsewhere
    references,  ///< several of them, with spaces between
    text,        ///< anything but nothing
    word,        ///< one of the rule's words
};

/// The values a quantity may take, in SI.
struct Limits {
    double low = -std::numeric_limits<double>::infinity();
    double high = std::numeric_limits<double>::infinity();
    bool low_open = false;  ///< `low` itself is refused
    bool high_open = false;
};

struct AttributeRule {
    std::string_view name;
    ValueType type = ValueType::text;
    bool required = false;
    Dimension dimension = Dimension::number;
    Limits limits = {};
    std::string_view words;         ///< of a word: "yes|no"
    std::string_view default_text;  ///< what holds when it is left out; for people
    std::string_view says;          ///< one line for people
};

inline constexpr int kAny = 1'000'000'000;

struct ChildRule {
    std::string_view name;
    int least = 0;
    int most = kAny;
};

struct ElementRule {
    std::string_view name;
    std::string_view says;
    std::span<const AttributeRule> attributes;
    std::span<const ChildRule> children;
    bool holds_something = false;  ///< at least one child, of whatever kind
    std::string_view within = {};  ///< of a word with another meaning elsewhere: the one parent in which this rule holds
};

/// Every element, in the order of the documentation.
std::span<const ElementRule> all_elements();

/// The rule of a word, by preference the one that holds within `parent`; nullptr when there is no such element.
const ElementRule* find_element(std::string_view name, std::string_view parent = {});
const AttributeRule* find_attribute(const ElementRule& element, std::string_view name);
bool may_hold(const ElementRule& parent, std::string_view child);

}  // namespace ebb::netfiles
