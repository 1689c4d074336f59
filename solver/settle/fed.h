#pragma once
// Which vessels water can come to at all.

#include <cstdint>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::settle {

/// The ways water can take through a layout, made once; which of them are open is asked for each arrangement. No allocation after construction.
class FedVessels {
public:
    /// `layout` must have passed validate().
    explicit FedVessels(const layout::Layout& layout);

    /// Per vessel of a validated layout: 1 when water of a running pump, a pond or a supply can come to it through pipes without a shut valve,
    /// through vessels and their overflows too; else 0. A question of valves and switches alone: no level, no head, no flow is looked at.
    /// Good until the next call.
    const std::vector<std::uint8_t>& under(const layout::Conditions& conditions);

private:
    struct Way {
        std::int32_t to = -1;
        std::int32_t first_valve = 0, end_valve = 0;  ///< that must all be open
    };
    void reach(std::int32_t place);

    std::vector<std::int32_t> sources_, pumps_;  ///< places that always give; of each pump
    std::vector<std::int32_t> way_start_;        ///< per place
    std::vector<Way> ways_;
    std::vector<std::int32_t> valves_;
    std::vector<std::int32_t> vessel_place_;
    std::vector<std::uint8_t> wet_, fed_;
    std::vector<std::int32_t> waiting_;
};

/// The same, asked once.
std::vector<std::uint8_t> fed_vessels(const layout::Layout& layout, const layout::Conditions& conditions);

/// The same with every valve open and every pump running: 0 where the layout as drawn has no way at all.
std::vector<std::uint8_t> feedable_vessels(const layout::Layout& layout);

}  // namespace ebb::settle
