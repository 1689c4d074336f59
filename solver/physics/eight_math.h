#pragma once
// Logarithm and exponential of eight doubles at once, in plain arithmetic: the same digits on every processor, which the standard library does
// not promise. For the sources that eight.h is for.
//
// ln x: x = 2^k m, m from sqrt(1/2) to sqrt 2, f = m - 1, s = f/(2 + f); ln m = f - (f^2/2 - s (f^2/2 + R(s^2))) with R the minimax polynomial of
// degree 14 of FreeBSD's msun (Sun Microsystems 1993), k ln 2 in two parts. Below 1 ulp there; tested to 2.
// e^x: x = k ln 2 + r, |r| <= ln(2)/2 in two parts, Taylor's series to r^13 (what is left: 4e-18), 2^k by the exponent's bits. Tested to 2 ulp.
// x^y = e^(y ln x): the logarithm's half ulp grows to |y ln x| of them; 4e-15 of itself for |y ln x| up to 20, tested.
//
// Range: x positive and normal; |x| <= 700 for e^x. Elsewhere the result is some number, never a trap.

#include "solver/physics/eight.h"

namespace ebb::physics {
namespace {

constexpr double kLn2 = 0.693147180559945309417, kLn2High = 6.93147180369123816490e-01, kLn2Low = 1.90821492927058770002e-10;

EBB_EIGHT Eight ln(Eight x) {
    const Which half_root = every_bits(0x3fe6'a09e'667f'3bcdLL), one = every_bits(0x3ff0'0000'0000'0000LL);
    const Which scaled = take_bits(as_bits(x), half_root);
    const Which exponent = take_bits(shift_right(add_bits(scaled, one), 52), every_bits(1023));
    const Eight k = to_doubles(exponent), m = as_doubles(take_bits(as_bits(x), shift_left(exponent, 52)));
    const Eight f = m - every(1.0), s = f / (f + every(2.0)), z = s * s, w = z * z;
    const Eight even = w * (every(3.999999999940941908e-01) + w * (every(2.222219843214978396e-01) + w * every(1.531383769920937332e-01)));
    const Eight odd = z * (every(6.666666666666735130e-01) +
                           w * (every(2.857142874366239149e-01) + w * (every(1.818357216161805012e-01) + w * every(1.479819860511658591e-01))));
    const Eight half_square = every(0.5) * f * f;
    return k * every(kLn2High) - ((half_square - (s * (half_square + (even + odd)) + k * every(kLn2Low))) - f);
}

EBB_EIGHT Eight exponential(Eight x) {
    const Eight magic = every(6755399441055744.0);  // 1.5 * 2^52: the sum has the integer in its last bits
    const Eight shifted = x * every(1.0 / kLn2) + magic, k = shifted - magic;
    const Eight r = (x - k * every(kLn2High)) - k * every(kLn2Low);
    constexpr double kFactorial[] = {1.0 / 6227020800.0, 1.0 / 479001600.0, 1.0 / 39916800.0, 1.0 / 3628800.0, 1.0 / 362880.0, 1.0 / 40320.0,
                                     1.0 / 5040.0,       1.0 / 720.0,       1.0 / 120.0,      1.0 / 24.0,      1.0 / 6.0,      0.5};
    Eight sum = every(kFactorial[0]);
    for (int i = 1; i < 12; ++i) sum = sum * r + every(kFactorial[i]);
    const Eight result = every(1.0) + (r + r * r * sum);
    return as_doubles(add_bits(as_bits(result), shift_left(as_bits(shifted), 52)));
}

EBB_EIGHT Eight power(Eight x, Eight y) { return exponential(y * ln(x)); }

}  // namespace
}  // namespace ebb::physics
