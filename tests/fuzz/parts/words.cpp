#include "tests/fuzz/parts/words.h"

#include <algorithm>
#include <string_view>

#include "netfiles/catalogue.h"
#include "netfiles/schema.h"
#include "netfiles/units.h"
#include "solver/physics/valves.h"

namespace ebb::fuzz {

std::vector<std::string> words_of_the_language() {
    std::vector<std::string> words = {"/>",        "</",   "\"",           "&quot;",     "<!--",     "-->",     "<?xml",  "<!DOCTYPE",
                                      "<![CDATA[", "&#0;", "\xEF\xBB\xBF", "\xC3\xA9",   "-0",       "1e308",   "1e-308", "0.",
                                      "1,5",       "+",    "id=\"a\"",     "from=\"a\"", "to=\"a\"", "in=\"a\""};
    for (const auto& element : netfiles::all_elements()) {
        words.push_back("<" + std::string(element.name) + " ");
        words.push_back("</" + std::string(element.name) + ">");
        for (const auto& attribute : element.attributes) {
            words.push_back(" " + std::string(attribute.name) + "=\"");
            std::string_view left = attribute.words;
            while (!left.empty()) {
                const std::size_t end = std::min(left.find('|'), left.size());
                words.emplace_back(left.substr(0, end));
                left.remove_prefix(std::min(end + 1, left.size()));
            }
        }
    }
    for (int d = 0; d <= static_cast<int>(netfiles::Dimension::energy); ++d)
        for (const auto& unit : netfiles::units_of(static_cast<netfiles::Dimension>(d))) words.push_back("1 " + std::string(unit.name));
    for (const auto kind : physics::valve_kinds()) words.emplace_back(physics::valve_kind_name(kind));
    for (const auto& series : netfiles::built_in_catalogue().series) words.push_back(series.name);
    for (const auto& fitting : netfiles::built_in_catalogue().fittings) words.push_back(fitting.name);
    std::ranges::sort(words);
    words.erase(std::unique(words.begin(), words.end()), words.end());  // clang 14 does not take the ranges of this library
    return words;
}

}  // namespace ebb::fuzz
