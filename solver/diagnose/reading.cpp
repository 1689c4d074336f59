#include "solver/diagnose/reading.h"

#include <algorithm>
#include <cmath>

namespace ebb::diagnose {

Instrument usual_instrument(Quantity quantity) {
    switch (quantity) {
        case Quantity::depth: return Instrument::tape;
        case Quantity::flow: return Instrument::bucket;
        case Quantity::pressure: return Instrument::gauge;
        case Quantity::fall_time:
        case Quantity::rise_time: return Instrument::watch;
        default: return Instrument::glance;
    }
}

double usual_sigma(Quantity quantity, double value) {
    const double size = std::abs(value);
    switch (quantity) {
        case Quantity::depth: return 0.5 * kTape_m;
        case Quantity::flow: return 0.5 * std::max(kBucket * size, kLeastFlow_m3_s);
        case Quantity::pressure: return 0.5 * std::max(kGauge * size, kGaugeLeast_m);
        case Quantity::fall_time:
        case Quantity::rise_time: return 0.5 * std::max(kWatch * size, 1.0);
        default: return 0.0;
    }
}

}  // namespace ebb::diagnose
