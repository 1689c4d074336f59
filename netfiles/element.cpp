#include "netfiles/element.h"

#include <algorithm>
#include <cmath>

#include "netfiles/display.h"
#include "netfiles/everyday.h"
#include "netfiles/scale.h"
#include "netfiles/words.h"

namespace ebb::netfiles {
namespace {

std::string in_quotes(std::string_view text) { return "\"" + printable(text) + "\""; }

constexpr std::string_view kBlanks = " \t\r\n";

std::string_view trim(std::string_view text) {
    const std::size_t first = text.find_first_not_of(kBlanks);
    return first == std::string_view::npos ? std::string_view{} : text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

std::vector<std::string_view> split_bars(std::string_view words) {
    std::vector<std::string_view> list;
    while (!words.empty()) {
        const std::size_t bar = words.find('|');
        list.push_back(words.substr(0, bar));
        words = bar == std::string_view::npos ? std::string_view{} : words.substr(bar + 1);
    }
    return list;
}

std::string bounds(const AttributeRule& attribute) {
    const Limits& limits = attribute.limits;
    const std::string unit = si_unit(attribute.dimension);
    const bool has_high = std::isfinite(limits.high);
    if (!has_high && limits.low == 0.0) {
        return limits.low_open ? "more than nothing" : "nothing or more";
    }
    return (limits.low_open ? "above " : "from ") + brief_number(limits.low) + unit + (limits.high_open ? " to below " : " to ") +
           brief_number(limits.high) + unit;
}

/// A sample of what may be written, for the advice of a missing attribute.
std::string sample(const AttributeRule& attribute) {
    switch (attribute.type) {
        case ValueType::word: return std::string(split_bars(attribute.words)[0]);
        case ValueType::quantity:
            if (attribute.dimension == Dimension::share) {
                return "40 %";
            }
            if (attribute.dimension == Dimension::number || attribute.dimension == Dimension::count) {
                return "2";
            }
            return "1.5 " + std::string(units_of(attribute.dimension)[0].name);
        default: return "...";
    }
}

/// Where an element of the language may stand.
std::string home_of(std::string_view word) {
    std::vector<std::string> homes;
    for (const ElementRule& element : all_elements()) {
        if (may_hold(element, word)) {
            homes.push_back("<" + std::string(element.name) + ">");
        }
    }
    const std::vector<std::string_view> views(homes.begin(), homes.end());
    return homes.empty() ? "it is the root of a file" : "it belongs in " + join_words(views, "or");
}

}  // namespace

Element::Element(const ElementContext& context, const pugi::xml_node& node, std::int32_t file, const ElementRule& rule, std::string_view owner)
    : context_(&context), node_(node), rule_(&rule), file_(file) {
    const pugi::xml_attribute label = node.attribute("id");
    const pugi::xml_attribute called = label || !owner.empty() ? label : node.attribute("name");
    about_ = called ? std::string(trim(called.value())) : std::string(owner);
    values_.reserve(8);
    for (const pugi::xml_attribute& attribute : node.attributes()) {
        read_attribute(attribute);
    }
    for (const AttributeRule& attribute : rule.attributes) {
        if (attribute.required && find(attribute.name) == nullptr && !node.attribute(std::string(attribute.name).c_str())) {
            const std::string name(attribute.name);
            fault("missing-attribute",
                  "<" + std::string(rule.name) + "> does not say " + name + "=" +
                      (attribute.says.empty() ? "" : " (" + std::string(attribute.says) + ")"),
                  "write " + name + "=\"" + sample(attribute) + "\"");
        }
    }
}

void Element::fault(std::string code, std::string says, std::string advice, std::string_view attribute) {
    sound_ = false;
    complain(std::move(code), std::move(says), std::move(advice), attribute);
}

void Element::complain(std::string code, std::string says, std::string advice, std::string_view attribute) const {
    if (context_->report.full()) {
        return;
    }
    const layout::Place where = attribute.empty() ? place() : place_of(attribute);
    context_->report.add({std::move(code), about_, std::move(says), std::move(advice), std::string(attribute)}, where);
}

layout::Place Element::place() const { return netfiles::place_of(context_->documents, node_, file_); }

layout::Place Element::place_of(std::string_view attribute) const { return place_of_attribute(context_->documents, node_, file_, attribute); }

void Element::read_attribute(const pugi::xml_attribute& attribute) {
    const AttributeRule* rule = find_attribute(*rule_, attribute.name());
    if (rule == nullptr) {
        return unknown_attribute(attribute.name());
    }
    const std::string_view text = trim(attribute.value());
    if (rule->type == ValueType::quantity) {
        return read_quantity(*rule, text);
    }
    if (text.empty()) {
        return fault("empty-attribute", std::string(rule->name) + "= is empty",
                     "write " + std::string(rule->name) + "=\"" + sample(*rule) + "\" or leave it out", rule->name);
    }
    if (rule->type == ValueType::word) {
        return read_word(*rule, text);
    }
    const bool one_word = rule->type == ValueType::id || rule->type == ValueType::reference;
    if (one_word && text.find_first_of(kBlanks) != std::string_view::npos) {
        return fault("space-in-label", std::string(rule->name) + "=" + in_quotes(text) + " has a space in it",
                     "write one word, such as \"" + std::string(split_words(text)[0]) + "-2\"", rule->name);
    }
    values_.push_back({rule, text, 0.0});
}

void Element::read_quantity(const AttributeRule& attribute, std::string_view text) {
    Quantity quantity = parse_quantity(text, attribute.dimension, context_->density_kg_m3);
    if (!quantity.good()) {
        return fault(std::move(quantity.code), std::string(attribute.name) + ": " + quantity.says, std::move(quantity.advice), attribute.name);
    }
    if (within(attribute, text, quantity.value) && meant(attribute, text, quantity.value)) {
        values_.push_back({&attribute, text, quantity.value});
    }
}

bool Element::within(const AttributeRule& attribute, std::string_view text, double value) {
    const Limits& limits = attribute.limits;
    const bool minus = limits.low >= 0.0 && text.starts_with('-');  // "-0 m" too
    const bool low = !minus && (limits.low_open ? value > limits.low : value >= limits.low);
    const bool high = limits.high_open ? value < limits.high : value <= limits.high;
    if (low && high) {
        return true;
    }
    const std::string name(attribute.name);
    const bool percent_meant = attribute.dimension == Dimension::share && value > 1.0 && value <= 150.0 && text.find('%') == std::string_view::npos;
    fault("out-of-bounds", name + "=" + in_quotes(text) + " is not possible: it must be " + bounds(attribute),
          percent_meant ? "did you mean " + in_quotes(std::string(text) + " %") + "?"
                        : std::string("write a value ") + (bounds(attribute).starts_with("n") ? "that is " : "") + bounds(attribute),
          attribute.name);
    return false;
}

bool Element::meant(const AttributeRule& attribute, std::string_view text, double value) {
    const Scale scale = farm_scale(attribute.dimension);
    const auto begin = [&] { return std::string(attribute.name) + "=" + in_quotes(text); };
    if (std::abs(value) > scale.greatest) {
        fault("beyond-a-farm", begin() + " is beyond any farm",
              "write " + std::string(name_of(attribute.dimension)) + " of " + std::string(scale.greatest_text) + " at most", attribute.name);
        return false;
    }
    if (attribute.limits.low_open && attribute.limits.low == 0.0 && value < scale.least) {
        fault("next-to-nothing", begin() + " is next to nothing", "write " + std::string(scale.least_text) + " or more", attribute.name);
        return false;
    }
    return true;
}

void Element::read_word(const AttributeRule& attribute, std::string_view text) {
    for (std::string_view rest = attribute.words; !rest.empty();) {
        const std::size_t bar = std::min(rest.find('|'), rest.size());
        if (rest.substr(0, bar) == text) {
            values_.push_back({&attribute, text, 0.0});
            return;
        }
        rest.remove_prefix(std::min(bar + 1, rest.size()));
    }
    const std::vector<std::string_view> words = split_bars(attribute.words);
    const std::string near = nearest_word(text, words);
    fault("unknown-word", std::string(attribute.name) + "=" + in_quotes(text) + " is not known",
          (near.empty() ? "" : "did you mean \"" + near + "\"? ") + ("Write " + join_words(words, "or")), attribute.name);
}

void Element::unknown_attribute(std::string_view name) {
    const bool root = rule_->name == "layout" || rule_->name == "catalogue" || rule_->name == "readings";
    if (root && (name == "xmlns:xsi" || name == "xsi:noNamespaceSchemaLocation")) {
        return;  // how an editor is told of the XSD
    }
    std::vector<std::string_view> known;
    for (const AttributeRule& attribute : rule_->attributes) {
        known.push_back(attribute.name);
    }
    std::string advice = everyday_attribute(name, *rule_);
    if (const std::string near = nearest_word(name, known); advice.empty() && !near.empty()) {
        advice = "did you mean " + near + "?";
    }
    const std::string all = known.empty() ? "it has none" : "it has " + join_words(known, "and");
    fault("unknown-attribute", "<" + std::string(rule_->name) + "> has no attribute " + printable(name), advice.empty() ? all : advice, name);
}

const Element::Value* Element::find(std::string_view attribute) const {
    const auto found = std::ranges::find_if(values_, [&](const Value& value) { return value.rule->name == attribute; });
    return found == values_.end() ? nullptr : &*found;
}

double Element::number(std::string_view attribute) const { return number(attribute, layout::kNotSaid); }

double Element::number(std::string_view attribute, double otherwise) const {
    const Value* value = find(attribute);
    return value == nullptr ? otherwise : value->number;
}

int Element::count(std::string_view attribute, int otherwise) const {
    const Value* value = find(attribute);
    return value == nullptr ? otherwise : static_cast<int>(value->number);
}

std::string Element::text(std::string_view attribute) const {
    const Value* value = find(attribute);
    return value == nullptr ? std::string{} : std::string(value->text);
}

bool Element::is(std::string_view attribute, std::string_view word) const {
    const Value* value = find(attribute);
    return value != nullptr && value->text == word;
}

std::vector<pugi::xml_node> Element::children() const {
    std::vector<pugi::xml_node> kept;
    std::vector<int> seen(rule_->children.size(), 0);
    for (const pugi::xml_node& child : node_.children()) {
        if (child.type() != pugi::node_element) {
            context_->report.add({"stray-text", about_, "text stands inside <" + std::string(rule_->name) + ">: " + in_quotes(trim(child.value())),
                                  "everything is said in attributes; take it out, or make it a comment <!-- ... -->", ""},
                                 netfiles::place_of(context_->documents, child, file_));
            continue;
        }
        const auto known = std::ranges::find(rule_->children, std::string_view(child.name()), &ChildRule::name);
        if (known == rule_->children.end()) {
            report_strange_element(*context_, child, file_, *rule_, about_);
            continue;
        }
        if (++seen[static_cast<std::size_t>(known - rule_->children.begin())] > known->most) {
            context_->report.add({"too-many-elements", about_,
                                  "<" + std::string(rule_->name) + "> holds more than one <" + std::string(known->name) + ">", "keep one of them",
                                  ""},
                                 netfiles::place_of(context_->documents, child, file_));
            continue;
        }
        kept.push_back(child);
    }
    if (rule_->holds_something && node_.first_child().empty()) {
        std::vector<std::string_view> names;
        for (const ChildRule& child : rule_->children) {
            names.push_back(child.name);
        }
        complain("missing-element", "<" + std::string(rule_->name) + "> holds nothing", "write inside it " + join_words(names, "or"));
    }
    for (std::size_t i = 0; i < seen.size(); ++i) {
        if (seen[i] < rule_->children[i].least) {
            const std::string name(rule_->children[i].name);
            complain("missing-element", "<" + std::string(rule_->name) + "> holds no <" + name + ">",
                     "write at least one <" + name + " .../> inside it");
        }
    }
    return kept;
}

void report_strange_element(const ElementContext& context, const pugi::xml_node& node, std::int32_t file, const ElementRule& parent,
                            const std::string& owner) {
    if (context.report.full()) {
        return;
    }
    const std::string_view word = node.name();
    const std::string about = node.attribute("id") ? node.attribute("id").value() : owner;
    const layout::Place place = place_of(context.documents, node, file);
    const std::string everyday(everyday_element(word, parent));
    if (find_element(word) != nullptr) {
        context.report.add({"misplaced-element", about, "<" + std::string(word) + "> cannot stand in <" + std::string(parent.name) + ">",
                            everyday.empty() ? home_of(word) : everyday, ""},
                           place);
        return;
    }
    std::vector<std::string_view> known;
    for (const ChildRule& child : parent.children) {
        known.push_back(child.name);
    }
    const std::string near = everyday.empty() ? nearest_word(word, known) : "";
    const std::string all = known.empty() ? "nothing can stand in it" : "in <" + std::string(parent.name) + "> can stand " + join_words(known, "and");
    context.report.add({"unknown-element", about, "<" + printable(word) + "> is not known here",
                        !everyday.empty() ? everyday : (near.empty() ? all : "did you mean <" + near + ">?"), ""},
                       place);
}

}  // namespace ebb::netfiles
