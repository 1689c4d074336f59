// The lanes with the instructions that every processor of its kind has.

#include "solver/survey/lane_kernel.h"

namespace ebb::survey {

LaneKernels lane_kernels_baseline() {
    return {advance<false>, advance<true>, [](int which, const Line& x, Line& y) { function(which, x, y); }};
}

}  // namespace ebb::survey
