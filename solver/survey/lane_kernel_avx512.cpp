// The lanes with AVX-512, where CMakeLists.txt compiles this so; elsewhere none.

#if defined(__AVX512F__) && defined(__AVX512DQ__) && defined(__AVX512VL__)

#include "solver/survey/lane_kernel.h"

namespace ebb::survey {

LaneKernels lane_kernels_avx512() {
    return {advance<false>, advance<true>, [](int which, const Line& x, Line& y) { function(which, x, y); }};
}

}  // namespace ebb::survey

#else

#include "solver/survey/lane_data.h"

namespace ebb::survey {

LaneKernels lane_kernels_avx512() { return {nullptr, nullptr, nullptr}; }

}  // namespace ebb::survey

#endif
