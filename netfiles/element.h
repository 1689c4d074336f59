#pragma once
// One element of a file, checked against the table: its attributes as SI numbers and texts.

#include <optional>
#include <pugixml.hpp>
#include <string>
#include <string_view>
#include <vector>

#include "netfiles/document.h"
#include "netfiles/schema.h"

namespace ebb::netfiles {

/// What reading needs of its surroundings.
struct ElementContext {
    const Documents& documents;
    Report& report;
    double density_kg_m3 = 1000.0;  ///< turns pressures into head
};

class Element {
public:
    /// Checks every attribute of `node` against the table and reports what is wrong. Values that cannot be read count as not given.
    Element(const ElementContext& context, const pugi::xml_node& node, std::int32_t file, const ElementRule& rule, std::string_view owner = {});

    bool has(std::string_view attribute) const { return find(attribute) != nullptr; }
    double number(std::string_view attribute) const;  ///< NaN when not given
    double number(std::string_view attribute, double otherwise) const;
    int count(std::string_view attribute, int otherwise) const;
    std::string text(std::string_view attribute) const;  ///< empty when not given
    bool is(std::string_view attribute, std::string_view word) const;

    std::string_view name() const { return rule_->name; }
    const ElementRule& rule() const { return *rule_; }
    const pugi::xml_node& node() const { return node_; }
    std::int32_t file() const { return file_; }
    bool sound() const { return sound_; }  ///< nothing was wrong with it
    const std::string& about() const { return about_; }

    layout::Place place() const;
    layout::Place place_of(std::string_view attribute) const;

    /// Reports something wrong with this element, at one of its attributes or (attribute empty) at its beginning.
    void complain(std::string code, std::string says, std::string advice, std::string_view attribute = {}) const;

    /// The elements inside, checked against the table: unknown words, stray text, too few or too many are reported and left out.
    std::vector<pugi::xml_node> children() const;

private:
    struct Value {
        const AttributeRule* rule = nullptr;
        std::string_view text;
        double number = 0.0;
    };
    const Value* find(std::string_view attribute) const;
    void read_attribute(const pugi::xml_attribute& attribute);
    void read_quantity(const AttributeRule& attribute, std::string_view text);
    void read_word(const AttributeRule& attribute, std::string_view text);
    void unknown_attribute(std::string_view name);
    bool within(const AttributeRule& attribute, std::string_view text, double value);
    bool meant(const AttributeRule& attribute, std::string_view text, double value);
    void fault(std::string code, std::string says, std::string advice, std::string_view attribute = {});

    const ElementContext* context_;
    pugi::xml_node node_;
    const ElementRule* rule_;
    std::int32_t file_;
    bool sound_ = true;
    std::string about_;
    std::vector<Value> values_;
};

/// Reports an element that the table does not know, or not here, with the nearest word that would do. `owner`: label of what holds it.
void report_strange_element(const ElementContext& context, const pugi::xml_node& node, std::int32_t file, const ElementRule& parent,
                            const std::string& owner = {});

}  // namespace ebb::netfiles
