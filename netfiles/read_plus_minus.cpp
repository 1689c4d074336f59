// What is not known exactly.

#include <utility>

#include "netfiles/reading.h"
#include "netfiles/words.h"

namespace ebb::netfiles {

void read_plus_minus(Reading& reading, const Element& element) {
    (void)element.children();
    layout::PlusMinus line;
    line.place = element.place();
    const std::string of = element.text("of");
    for (const std::string_view word : split_words(of)) {
        line.of_ids.emplace_back(word);
    }
    line.roughness = element.number("roughness");
    line.hazen_williams = element.number("hazen-williams");
    line.bore = element.number("bore");
    line.losses = element.number("losses");
    line.start_depth_m = element.number("start-depth");
    line.level_m = element.number("level");
    line.pump_head = element.number("pump-head");
    line.filter_load = element.number("filter-load");
    if (element.sound()) {
        reading.layout.plus_minus.push_back(std::move(line));
    }
}

}  // namespace ebb::netfiles
