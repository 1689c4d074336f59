#pragma once
// Does the farm do the same again? Its whole state (volumes, siphons, switches) is looked at whenever a section is passed: the
// beginning of the clock's common period, or, without a clock, each time the same siphon breaks or the same switch goes over. Two
// sections of the same kind with the same state are one cycle apart (Poincare's section).
//
// A slow drift must not pass for a repetition: levels may differ by 0.01 mm, and over a day of such cycles by no more than 1 mm; and of the water
// that crossed the farm's bounds in the cycle (spills, ponds, mains, draws, uptakes, hoses) no more than a hundredth may have stayed or be missing.

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "solver/time/recorder.h"

namespace ebb::time {

class Repeats {
public:
    Repeats(const network::Network& network, double tolerance_m);

    /// A section of this kind is passed. `state_m3`: the volumes of all vessels, then the accounts of what crossed the farm's bounds. True when the
    /// state is that of an earlier one.
    bool section(std::int64_t kind, double t_s, std::span<const double> state_m3, std::vector<std::uint8_t> memory, Totals totals);

    bool found() const { return period_s_ > 0.0; }
    double period_s() const { return period_s_; }
    double from_s() const { return from_s_; }

    /// Begin and end of the last cycle: of the period found, or between the last two sections of the kind seen last. False when there is none.
    bool last_cycle(Totals& from, Totals& to) const;

    /// Change of the water in all vessels over the last cycle seen and over the one before it, m3; and the largest change of a level, m.
    struct Drift {
        bool known = false;
        double last_m3 = 0.0, before_m3 = 0.0, level_m = 0.0, cycle_s = 0.0;
        std::int32_t vessel = -1;  ///< whose level changed most
    };
    Drift drift() const;

private:
    struct Section {
        std::int64_t kind;
        std::vector<double> level_m;
        double water_m3;
        std::vector<double> account_m3;
        std::vector<std::uint8_t> memory;
        Totals totals;
    };
    double difference_m(const Section& first, const Section& second, std::int32_t* vessel = nullptr) const;
    bool keeps_its_water(const Section& first, const Section& second) const;
    const Section* previous(std::size_t before, std::int64_t kind) const;

    const network::Network* network_;
    double tolerance_m_;
    std::vector<Section> sections_;
    double period_s_ = 0.0, from_s_ = 0.0;
    std::size_t first_ = 0, last_ = 0;  // of the cycle found, in sections_
};

}  // namespace ebb::time
