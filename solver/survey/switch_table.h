#pragma once
// What every switch of a survey changes in the settings of the network: worked out once, by comparing the settings with it on and off, so that going
// from one combination to the next touches only the links concerned.

#include <cstdint>
#include <vector>

#include "solver/network/network.h"
#include "solver/survey/question.h"

namespace ebb::survey {

/// One change of a switch.
struct LinkChange {
    std::int32_t link = -1;
    network::LinkSetting on, off;
};
struct VentChange {
    std::int32_t node = -1;
    bool on = false, off = false;
};

class SwitchTable {
public:
    SwitchTable(const network::Network& network, const layout::Layout& layout, const Question& question);

    /// Two switches that touch the same link (two valves of one pipe, a valve in the drain of a standpipe that is switched): their settings must be
    /// made anew together.
    bool entangled(std::size_t s) const { return entangled_[s] != 0; }
    const std::vector<LinkChange>& links(std::size_t s) const { return links_[s]; }
    const std::vector<VentChange>& vents(std::size_t s) const { return vents_[s]; }

    /// All settings of a combination, from the beginning.
    network::Settings settings(std::uint64_t off) const;

private:
    const network::Network* network_;
    const layout::Layout* layout_;
    const Question* question_;
    std::vector<std::vector<LinkChange>> links_;
    std::vector<std::vector<VentChange>> vents_;
    std::vector<std::uint8_t> entangled_;
};

}  // namespace ebb::survey
