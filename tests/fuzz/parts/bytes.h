#pragma once
// Bytes as choices and numbers: what a structured target builds its farm from. When they run out, a generator seeded by the first eight of them
// goes on, so that every input, however short, stands for a whole farm, and changing a late byte changes a late choice only.

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <span>

#include "tests/property/random_farm.h"

namespace ebb::fuzz {

class Bytes {
public:
    explicit Bytes(std::span<const std::uint8_t> bytes) : bytes_(bytes), tail_(seed_of(bytes)) {}

    std::uint8_t byte() { return at_ < bytes_.size() ? bytes_[at_++] : static_cast<std::uint8_t>(tail_.next() >> 56U); }
    bool chance(double probability) { return byte() < 256.0 * probability; }
    int integer(int low, int high) { return low + byte() % (high - low + 1); }
    /// From two bytes: 0 is the lower end exactly, all ones the upper.
    double share() {
        const int high = byte();
        return (256.0 * high + byte()) / 65535.0;
    }
    double uniform(double low, double high) { return low + (high - low) * share(); }
    double log_uniform(double low, double high) {
        const double part = share();
        return part <= 0.0 ? low : part >= 1.0 ? high : std::exp(std::log(low) + (std::log(high) - std::log(low)) * part);
    }

private:
    static std::uint64_t seed_of(std::span<const std::uint8_t> bytes) {
        std::array<std::uint8_t, 8> first{};
        if (!bytes.empty()) std::memcpy(first.data(), bytes.data(), bytes.size() < 8 ? bytes.size() : 8);
        std::uint64_t seed = bytes.size() < 8 ? bytes.size() : 8;
        for (const std::uint8_t one : first) seed = 257U * seed + one;
        return seed;
    }

    std::span<const std::uint8_t> bytes_;
    std::size_t at_ = 0;
    test::Random tail_;
};

}  // namespace ebb::fuzz
