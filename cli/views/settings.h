#pragma once
// How the valves, pumps, filters and standpipes stand in an arrangement, as far as it is worth a word.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::cli {

struct Settings {
    std::vector<std::string> shut;    ///< ids of the valves
    std::vector<std::string> others;  ///< "V3 30 % open", "P1 stopped"
};

enum class SettingsFor : std::uint8_t {
    reader,  ///< what is otherwise than wide open, running, clean and as the file has it first
    hands,   ///< what somebody sets at the farm: no check valves, no dirt in filters, every insert where there is a choice
};
Settings settings_of(const layout::Layout& layout, const layout::Conditions& conditions, SettingsFor whom);

}  // namespace ebb::cli
