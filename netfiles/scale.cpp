#include "netfiles/scale.h"

namespace ebb::netfiles {

Scale farm_scale(Dimension dimension) {
    switch (dimension) {
        case Dimension::length:
        case Dimension::head: return {1e5, 1e-6, "100000 m", "0.001 mm"};
        case Dimension::flow: return {1e3, 1e-12, "1000 m3/s", "0.0001 l/day"};
        case Dimension::time: return {1e10, 1e-3, "1e10 s (300 years)", "0.001 s"};
        case Dimension::volume: return {1e9, 1e-9, "1e9 m3", "1e-6 l"};
        case Dimension::power: return {1e9, 1e-6, "1e6 kW", "1e-6 W"};
        case Dimension::number:
        case Dimension::count: return {1e12, 0.0, "1e12", ""};
        default: return {};
    }
}

}  // namespace ebb::netfiles
