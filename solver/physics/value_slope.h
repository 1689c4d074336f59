#pragma once

namespace ebb::physics {

/// A law's value and its derivative with respect to the law's first physical argument, from one evaluation.
/// For a loss: value in m of head, slope in m per m3/s. For a flow law: value in m3/s, slope in m3/s per m.
struct ValueSlope {
    double value = 0.0;
    double slope = 0.0;
};

}  // namespace ebb::physics
