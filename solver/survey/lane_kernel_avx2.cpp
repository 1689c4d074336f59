// The lanes with AVX2, where CMakeLists.txt compiles this so; elsewhere none.

#if defined(__AVX2__) && !defined(__AVX512F__)

#include "solver/survey/lane_kernel.h"

namespace ebb::survey {

LaneKernels lane_kernels_avx2() {
    return {advance<false>, advance<true>, [](int which, const Line& x, Line& y) { function(which, x, y); }};
}

}  // namespace ebb::survey

#else

#include "solver/survey/lane_data.h"

namespace ebb::survey {

LaneKernels lane_kernels_avx2() { return {nullptr, nullptr, nullptr}; }

}  // namespace ebb::survey

#endif
