#pragma once
// What a person reads with a tape, a bucket, a watch, a gauge or by looking, and what can be read in a layout. SI.
//
// A plus-minus is an expanded uncertainty with a coverage factor of 2 (JCGM 100:2008, 6.2), as in layouts: sigma is half of it.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::diagnose {

/// What can be read, and in which unit.
enum class Quantity : std::uint8_t {
    depth,      ///< of a vessel, m above its floor
    flow,       ///< of a pipe, nozzle or float valve, m3/s, positive from -> to; by bucket and watch where it ends in air, else by a meter
    pressure,   ///< at a tee, or at the outlet of a pump or filter, m of water above the elevation of the place
    fall_time,  ///< s from one depth of a vessel down to another, with nothing else changed
    rise_time,  ///< the same upwards
    spills,     ///< of a vessel, over its rim: 0 or 1
    overflows,  ///< of a standpipe, over its lip: 0 or 1
    siphon,     ///< 0 silent, 1 dribbles, 2 runs for ever, 3 starts and breaks
    moves,      ///< of a vessel's level, watched for some minutes: -1 falls, 0 stays, 1 rises
    draws_air,  ///< of a pump: 0 or 1
};
/// A matter of yes, no or a few words: read right but for `kMisread` of times.
inline bool is_glance(Quantity quantity) { return quantity >= Quantity::spills; }
inline constexpr double kMisread = 0.02;

/// What can be read: of what, where, in which visit.
struct Observable {
    Quantity quantity = Quantity::depth;
    layout::Ref of = {};
    double from_m = layout::kNotSaid, to_m = layout::kNotSaid;  ///< of fall and rise times: depths
    std::int32_t visit = 0;                                     ///< index of the arrangement the farm was in, in Readings::visits
    friend bool operator==(const Observable& x, const Observable& y) {
        return x.quantity == y.quantity && x.of == y.of && x.visit == y.visit && (x.from_m == y.from_m || x.from_m != x.from_m) &&
               (x.to_m == y.to_m || x.to_m != x.to_m);
    }
};

/// What a person reads with.
enum class Instrument : std::uint8_t { glance, tape, gauge, bucket, meter, watch };

/// One reading: what, its value in SI, and how sure.
struct Reading {
    layout::Place place = {};
    Observable what;
    double value = 0.0;
    double sigma = 0.0;  ///< standard deviation; of glances unused
    Instrument by = Instrument::tape;
};

/// The farm in one arrangement, settled, while it was read.
struct Visit {
    layout::Place place = {};
    std::int32_t arrangement = 0;
};

/// A chance of the user's in place of the table's.
struct OwnChance {
    layout::Place place = {};
    std::string kind;
    double chance = 0.0;
};

/// All that a readings file holds.
struct Readings {
    std::vector<Visit> visits;
    std::vector<Reading> readings;
    std::vector<layout::Ref> gauges;  ///< tees, pumps, filters at which a gauge hangs or can be hung: pressures that may be asked for next
    std::vector<OwnChance> chances;
};

/// What is taken for the plus-minus of a reading that does not say (common practice): a tape against a wall 5 mm, a bucket and watch 5 %, a gauge 2 %
/// of the reading and no less than 0.2 m of water, a watched level 10 % of the time.
inline constexpr double kTape_m = 0.005, kBucket = 0.05, kGauge = 0.02, kGaugeLeast_m = 0.2, kMeter = 0.03, kWatch = 0.10, kLeastFlow_m3_s = 2e-6;

/// What a person would read it with, and the standard deviation then.
Instrument usual_instrument(Quantity quantity);
/// The standard deviation of such a reading, in the unit of the quantity.
double usual_sigma(Quantity quantity, double value);

}  // namespace ebb::diagnose
