#pragma once
// The cycle of every bed: when its water came, when it stood at the lip, when the water was shut off, when it was drained; or when its
// siphon started and broke. Figures are of the last complete cycle (answer.h: BedCourse);
// of a bed that has none, the time in which it filled stands alone.

#include <span>
#include <vector>

#include "solver/time/answer.h"

namespace ebb::time {

class BedWatch {
public:
    explicit BedWatch(const layout::Layout& layout);

    /// In- and outflow of every vessel now.
    void flows(double t_s, std::span<const double> inflow_m3_s, std::span<const double> outflow_m3_s);

    /// The beginning: what flows before anything happened is no opening.
    void before(std::span<const double> inflow_m3_s);

    void reaches_lip(double t_s, std::size_t vessel);
    void drained(double t_s, std::size_t vessel);
    /// Whether the level stands near the lowest way out already: then shutting its water off leaves nothing to drain.
    void empty(std::size_t vessel, bool is_empty);
    void siphon_starts(double t_s, std::size_t vessel);
    void siphon_breaks(double t_s, std::size_t vessel);

    /// `running`, `dribbling`: per vessel, a siphon in it does so now and its level stands.
    std::vector<BedCourse> finish(std::span<const std::uint8_t> running, std::span<const std::uint8_t> dribbling) const;

private:
    struct Bed {
        BedCourse course;
        bool fed = false, empty = false;
        // of the cycle under way
        double opened_s = kUnknown, lip_s = kUnknown, closed_s = kUnknown, drained_s = kUnknown;
        double started_s = kUnknown, broke_s = kUnknown;
    };
    static void complete(Bed& bed);
    Bed* of(std::size_t vessel);

    std::vector<Bed> beds_;
    std::vector<std::int32_t> bed_of_;  // per vessel
};

}  // namespace ebb::time
