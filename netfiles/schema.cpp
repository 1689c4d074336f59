#include "netfiles/schema.h"

#include <algorithm>
#include <string>
#include <unordered_map>

namespace ebb::netfiles {

const ElementRule* find_element(std::string_view name, std::string_view parent) {
    if (!parent.empty()) {
        for (const ElementRule& element : all_elements()) {
            if (element.within == parent && element.name == name) {
                return &element;
            }
        }
    }
    static const auto by_name = [] {
        std::unordered_map<std::string_view, const ElementRule*> map;
        for (const ElementRule& element : all_elements()) {
            if (element.within.empty()) {
                map.emplace(element.name, &element);
            }
        }
        return map;
    }();
    const auto found = by_name.find(name);
    return found == by_name.end() ? nullptr : found->second;
}

const AttributeRule* find_attribute(const ElementRule& element, std::string_view name) {
    const auto found = std::ranges::find(element.attributes, name, &AttributeRule::name);
    return found == element.attributes.end() ? nullptr : &*found;
}

bool may_hold(const ElementRule& parent, std::string_view child) {
    return std::ranges::find(parent.children, child, &ChildRule::name) != parent.children.end();
}

}  // namespace ebb::netfiles
