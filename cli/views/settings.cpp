#include "cli/views/settings.h"

#include <fmt/format.h>

#include "cli/views/speech.h"

namespace ebb::cli {

Settings settings_of(const layout::Layout& layout, const layout::Conditions& conditions, SettingsFor whom) {
    const bool for_hands = whom == SettingsFor::hands;
    Settings settings;
    for (std::size_t v = 0; v < layout.valves.size(); ++v) {
        const double opening = conditions.valve_opening[v];
        if (for_hands && physics::valve_is_one_way(layout.valves[v].kind)) continue;
        if (opening <= 0.0) settings.shut.push_back(layout.valves[v].id);
        if (opening > 0.0 && opening < 1.0) settings.others.push_back(fmt::format("{} {} open", layout.valves[v].id, Speech::share(opening)));
    }
    for (std::size_t p = 0; p < layout.pumps.size(); ++p) {
        const double speed = conditions.pump_speed[p];
        if (speed <= 0.0)
            settings.others.push_back(layout.pumps[p].id + " stopped");
        else if (speed < 1.0 || (for_hands && speed > 1.0))
            settings.others.push_back(fmt::format("{} at {} speed", layout.pumps[p].id, Speech::share(speed)));
    }
    for (std::size_t f = 0; f < layout.filters.size() && !for_hands; ++f)
        if (conditions.filter_load[f] > 0.0)
            settings.others.push_back(fmt::format("{} {} dirty", layout.filters[f].id, Speech::share(conditions.filter_load[f])));
    for (std::size_t s = 0; s < layout.standpipes.size(); ++s) {
        const layout::Standpipe& standpipe = layout.standpipes[s];
        const auto fitted = static_cast<std::size_t>(conditions.insert[s]);
        if (for_hands && standpipe.inserts.size() > 1)
            settings.others.push_back(fmt::format("{} with '{}'", standpipe.id, standpipe.inserts[fitted].name));
        if (!for_hands && fitted > 0) settings.others.push_back(fmt::format("{} {}", standpipe.id, standpipe.inserts[fitted].name));
    }
    return settings;
}

}  // namespace ebb::cli
