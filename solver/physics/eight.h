#pragma once
// Eight doubles at once, in the registers of the processor the including source is compiled for: one of 512 bits, two of 256, or four of 128.
//
// Written with the vector extension of GCC and Clang: plain + - * /, comparison, choice. Every operation is rounded as IEEE 754 has it and none is
// contracted, so that eight doubles come out with the same digits whatever the registers (the sources that include this are compiled with
// -ffp-contract=off).
//
// For sources compiled with flags of their own (-mavx2 ...), in which nothing may be emitted that another source could share: everything here is
// in an unnamed namespace and forced inline, and no function of the standard library is called. Include it in sources only, never in a header that
// declares an interface.

// a vector type as an argument of a template keeps all that matters of it
#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wignored-attributes"

namespace ebb::physics {
namespace {

#define EBB_EIGHT inline __attribute__((always_inline))

#if defined(__AVX512F__) && defined(__AVX512DQ__) && defined(__AVX512VL__)
#define EBB_EIGHT_BITS 512
#elif defined(__AVX2__)
#define EBB_EIGHT_BITS 256
#else
#define EBB_EIGHT_BITS 128
#endif

constexpr int kWide = EBB_EIGHT_BITS / 64;  ///< doubles in a register
typedef double Register __attribute__((vector_size(EBB_EIGHT_BITS / 8), may_alias));
using Bits = decltype(Register{} < Register{});  ///< as wide: what a comparison gives

/// Two halves that are treated alike.
template <typename T>
struct Two {
    T low, high;
};

#if EBB_EIGHT_BITS == 512
using Eight = Register;  ///< eight doubles
using Which = Bits;      ///< eight answers to a question: all bits of a lane, or none
#elif EBB_EIGHT_BITS == 256
using Eight = Two<Register>;
using Which = Two<Bits>;
#else
using Eight = Two<Two<Register>>;
using Which = Two<Two<Bits>>;
#endif

// ---- one register

EBB_EIGHT Register choose(Bits which, Register yes, Register no) { return which ? yes : no; }
EBB_EIGHT Bits as_bits(Register x) { return (Bits)x; }
EBB_EIGHT Register as_doubles(Bits x) { return (Register)x; }
// integers without signs: what runs over runs over, and zeros come in from the left
typedef unsigned long long Unsigned __attribute__((vector_size(EBB_EIGHT_BITS / 8)));
EBB_EIGHT Bits shift_right(Bits x, int by) { return (Bits)((Unsigned)x >> static_cast<unsigned long long>(by)); }
EBB_EIGHT Bits shift_left(Bits x, int by) { return (Bits)((Unsigned)x << static_cast<unsigned long long>(by)); }
EBB_EIGHT Bits add_bits(Bits x, Bits y) { return (Bits)((Unsigned)x + (Unsigned)y); }
EBB_EIGHT Bits take_bits(Bits x, Bits y) { return (Bits)((Unsigned)x - (Unsigned)y); }

EBB_EIGHT Register square_root(Register x) {
    Register root = x;
    for (int i = 0; i < kWide; ++i) root[i] = __builtin_sqrt(x[i]);
    return root;
}

template <typename T>
struct Of {};
template <>
struct Of<Register> {
    static constexpr int kCount = kWide;
    static EBB_EIGHT Register every(double x) { return x - Register{}; }
    static EBB_EIGHT Register load(const double* from) {
        Register x;
        __builtin_memcpy(&x, __builtin_assume_aligned(from, sizeof x), sizeof x);
        return x;
    }
    static EBB_EIGHT void store(Register x, double* to) { __builtin_memcpy(__builtin_assume_aligned(to, sizeof x), &x, sizeof x); }
};
template <>
struct Of<Bits> {
    static constexpr int kCount = kWide;
    static EBB_EIGHT Bits every(long long x) { return x - Bits{}; }
    /// Bit i of `bits` is lane i.
    static EBB_EIGHT Bits from_mask(unsigned bits) {
#if EBB_EIGHT_BITS == 512
        const Bits one = {1, 2, 4, 8, 16, 32, 64, 128};
#elif EBB_EIGHT_BITS == 256
        const Bits one = {1, 2, 4, 8};
#else
        const Bits one = {1, 2};
#endif
        return (every(static_cast<long long>(bits)) & one) != 0;
    }
};
EBB_EIGHT unsigned to_mask(Bits which) {
#if EBB_EIGHT_BITS == 512
    typedef long long Native __attribute__((vector_size(64)));
    return static_cast<unsigned char>(__builtin_ia32_cvtq2mask512((Native)which));
#elif EBB_EIGHT_BITS == 256
    typedef double Native __attribute__((vector_size(32)));
    return static_cast<unsigned>(__builtin_ia32_movmskpd256((Native)which));
#elif defined(__SSE2__)
    typedef double Native __attribute__((vector_size(16)));
    return static_cast<unsigned>(__builtin_ia32_movmskpd((Native)which));
#else
    unsigned mask = 0;
    for (int i = 0; i < kWide; ++i) mask |= which[i] != 0 ? 1U << i : 0U;
    return mask;
#endif
}

// ---- halves

#define EBB_EIGHT_OPERATOR(op)                                                                                                                       \
    template <typename T>                                                                                                                            \
    EBB_EIGHT auto operator op(Two<T> x, Two<T> y)->Two<decltype(x.low op y.low)> {                                                                  \
        return {x.low op y.low, x.high op y.high};                                                                                                   \
    }
EBB_EIGHT_OPERATOR(+)
EBB_EIGHT_OPERATOR(-)
EBB_EIGHT_OPERATOR(*)
EBB_EIGHT_OPERATOR(/)
EBB_EIGHT_OPERATOR(<)
EBB_EIGHT_OPERATOR(<=)
EBB_EIGHT_OPERATOR(>)
EBB_EIGHT_OPERATOR(>=)
EBB_EIGHT_OPERATOR(==)
EBB_EIGHT_OPERATOR(!=)
EBB_EIGHT_OPERATOR(&)
EBB_EIGHT_OPERATOR(|)
EBB_EIGHT_OPERATOR(^)
#undef EBB_EIGHT_OPERATOR
template <typename T>
EBB_EIGHT Two<T> operator-(Two<T> x) {
    return {-x.low, -x.high};
}
template <typename T>
EBB_EIGHT Two<T> operator~(Two<T> x) {
    return {~x.low, ~x.high};
}
template <typename B, typename D>
EBB_EIGHT Two<D> choose(Two<B> which, Two<D> yes, Two<D> no) {
    return {choose(which.low, yes.low, no.low), choose(which.high, yes.high, no.high)};
}
template <typename T>
EBB_EIGHT auto as_bits(Two<T> x) -> Two<decltype(as_bits(x.low))> {
    return {as_bits(x.low), as_bits(x.high)};
}
template <typename T>
EBB_EIGHT auto as_doubles(Two<T> x) -> Two<decltype(as_doubles(x.low))> {
    return {as_doubles(x.low), as_doubles(x.high)};
}
template <typename T>
EBB_EIGHT Two<T> shift_right(Two<T> x, int by) {
    return {shift_right(x.low, by), shift_right(x.high, by)};
}
template <typename T>
EBB_EIGHT Two<T> shift_left(Two<T> x, int by) {
    return {shift_left(x.low, by), shift_left(x.high, by)};
}
template <typename T>
EBB_EIGHT Two<T> add_bits(Two<T> x, Two<T> y) {
    return {add_bits(x.low, y.low), add_bits(x.high, y.high)};
}
template <typename T>
EBB_EIGHT Two<T> take_bits(Two<T> x, Two<T> y) {
    return {take_bits(x.low, y.low), take_bits(x.high, y.high)};
}
template <typename T>
EBB_EIGHT Two<T> square_root(Two<T> x) {
    return {square_root(x.low), square_root(x.high)};
}
template <typename T>
struct Of<Two<T>> {
    static constexpr int kCount = 2 * Of<T>::kCount;
    template <typename Scalar>
    static EBB_EIGHT Two<T> every(Scalar x) {
        return {Of<T>::every(x), Of<T>::every(x)};
    }
    static EBB_EIGHT Two<T> load(const double* from) { return {Of<T>::load(from), Of<T>::load(from + Of<T>::kCount)}; }
    static EBB_EIGHT void store(Two<T> x, double* to) {
        Of<T>::store(x.low, to);
        Of<T>::store(x.high, to + Of<T>::kCount);
    }
    static EBB_EIGHT Two<T> from_mask(unsigned bits) { return {Of<T>::from_mask(bits), Of<T>::from_mask(bits >> Of<T>::kCount)}; }
};
template <typename T>
EBB_EIGHT unsigned to_mask(Two<T> which) {
    return to_mask(which.low) | to_mask(which.high) << Of<T>::kCount;
}

// ---- eight

EBB_EIGHT Eight every(double x) { return Of<Eight>::every(x); }
EBB_EIGHT Which every_bits(long long x) { return Of<Which>::every(x); }
/// `from` and `to` lie on multiples of 64 bytes.
EBB_EIGHT Eight load(const double* from) { return Of<Eight>::load(from); }
EBB_EIGHT void store(Eight x, double* to) { Of<Eight>::store(x, to); }
EBB_EIGHT Which which_of(unsigned bits) { return Of<Which>::from_mask(bits); }
EBB_EIGHT Eight size_of(Eight x) { return as_doubles(as_bits(x) & every_bits(0x7fff'ffff'ffff'ffffLL)); }
/// `size` >= 0 with the sign of `sign`.
EBB_EIGHT Eight with_sign(Eight size, Eight sign) {
    return as_doubles(as_bits(size) | (as_bits(sign) & every_bits(static_cast<long long>(0x8000'0000'0000'0000ULL))));
}
/// The first where it is greater (less), else the second: with no number in `x` the second.
EBB_EIGHT Eight greater_of(Eight x, Eight y) { return choose(x > y, x, y); }
EBB_EIGHT Eight lesser_of(Eight x, Eight y) { return choose(x < y, x, y); }
/// The integers of eight lanes below 2^51 in size, as doubles.
EBB_EIGHT Eight to_doubles(Which x) {
    const Which magic = every_bits(0x4338'0000'0000'0000LL);  // 1.5 * 2^52
    return as_doubles(add_bits(x, magic)) - every(6755399441055744.0);
}

}  // namespace
}  // namespace ebb::physics

#pragma GCC diagnostic pop
