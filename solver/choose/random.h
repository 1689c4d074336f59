#pragma once
// A small random number generator whose numbers are the same everywhere: splitmix64 (G. L. Steele, D. Lea and C. H. Flood, Fast splittable
// pseudorandom number generators, OOPSLA 2014).

#include <cstdint>

namespace ebb::choose {

class Random {
public:
    explicit Random(std::uint64_t seed) : state_(seed) {}

    std::uint64_t bits() {
        std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
        z = (z ^ (z >> 30U)) * 0xbf58476d1ce4e5b9ULL;
        z = (z ^ (z >> 27U)) * 0x94d049bb133111ebULL;
        return z ^ (z >> 31U);
    }

    /// In [0, 1).
    double share() {
        constexpr double kOneOf2To53 = 0x1.0p-53;
        return static_cast<double>(bits() >> 11U) * kOneOf2To53;
    }

    /// In 0 .. below - 1 (the bias of the remainder is below 1e-15 for what is chosen here).
    std::size_t below(std::size_t below) { return static_cast<std::size_t>(bits() % below); }

private:
    std::uint64_t state_;
};

}  // namespace ebb::choose
