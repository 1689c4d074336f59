#pragma once
// Heights and flows that mean something when they are passed: lips, rims, intakes, switch depths, a siphon's start and break.
//
// A mark knows on which side it is and waits at the far one of its two thresholds, so that a level that rests at one of them does not
// make a stream of events. Its value changes sign where the event is.

#include <cstdint>
#include <span>
#include <vector>

#include "solver/time/water_balance.h"

namespace ebb::time {

enum class MarkKind : std::uint8_t { lip, rim, intake, least_depth, inlet, drained, dregs, level_switch, siphon, hose };

struct Mark {
    MarkKind kind = MarkKind::lip;
    std::size_t index = 0;             ///< of the thing it belongs to, in its own list
    std::size_t vessel = 0;            ///< whose level it watches
    double low_m = 0.0, high_m = 0.0;  ///< elevations: passed downwards, upwards
    bool above = false;                ///< which side it is on; of a siphon: primed
    bool end_from = false;             ///< inlets: which end of the pipe
};

class Marks {
public:
    Marks(const layout::Layout& layout, const network::Network& network, const Plan& plan);

    std::size_t count() const { return marks_.size(); }
    Mark& at(std::size_t index) { return marks_[index]; }
    const std::vector<Mark>& all() const { return marks_; }

    /// Lips, and lowest ways out, as the inserts fitted have them.
    void place_lips(const network::Settings& settings, std::span<const std::int32_t> insert);

    /// Puts every mark on the side where the levels are; siphons and switches are told by the caller.
    void look(const WaterBalance& balance, std::span<const double> state);

    /// Signed distance of each mark from what it waits for: positive above, in m (siphons not running: m3/s; hoses: m3 poured past the end).
    /// False when the network found no solution.
    bool values(WaterBalance& balance, std::span<const double> state, std::span<double> value) const;

    /// The lowest way out of a vessel, as elevation, with these inserts fitted (per standpipe); NaN when there is none.
    static double lowest_way_out_m(const layout::Layout& layout, std::span<const std::int32_t> insert, std::size_t vessel);

private:
    const layout::Layout* layout_;
    const network::Network* network_;
    const Plan* plan_;
    std::vector<Mark> marks_;
};

}  // namespace ebb::time
