#include "solver/survey/question.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>

namespace ebb::survey {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// n over k, for results below 2^62.
std::uint64_t binomial(std::uint64_t n, std::uint64_t k) {
    if (k > n) return 0;
    std::uint64_t result = 1;
    for (std::uint64_t i = 0; i < std::min(k, n - k); ++i) result = result * (n - i) / (i + 1);  // stays whole: a product of i + 1 in a row
    return result;
}

}  // namespace

Combinations::Combinations(std::size_t switches, int at_most_off)
    : switches_(switches), at_most_off_(at_most_off < 0 ? -1 : std::min(at_most_off, static_cast<int>(switches))) {
    assert(switches <= kMostSwitches);
    if (at_most_off_ < 0)
        count_ = std::uint64_t{1} << switches;
    else
        for (int k = 0; k <= at_most_off_; ++k) count_ += binomial(switches, static_cast<std::uint64_t>(k));
}

std::uint64_t Combinations::off_at(std::uint64_t combination) const {
    assert(combination < count_);
    if (at_most_off_ < 0) return combination;
    std::uint64_t rest = combination, off = 0;
    std::uint64_t k = 0;
    for (; rest >= binomial(switches_, k); ++k) rest -= binomial(switches_, k);
    // combinatorial number system: the greatest switch first
    for (std::uint64_t s = switches_; k > 0; --k) {
        do --s;
        while (binomial(s, k) > rest);
        rest -= binomial(s, k);
        off |= std::uint64_t{1} << s;
    }
    return off;
}

std::uint64_t Combinations::number_of(std::uint64_t off) const {
    if (at_most_off_ < 0) return off;
    const auto count = static_cast<std::uint64_t>(std::popcount(off));
    assert(count <= static_cast<std::uint64_t>(at_most_off_));
    std::uint64_t number = 0;
    for (std::uint64_t k = 0; k < count; ++k) number += binomial(switches_, k);
    for (std::uint64_t s = 0, k = 0; s < switches_; ++s)
        if ((off >> s & 1U) != 0) number += binomial(s, ++k);
    return number;
}

layout::Conditions conditions_with(const Question& question, std::uint64_t off) {
    layout::Conditions conditions = question.arrangement;
    for (std::size_t s = 0; s < question.switches.size(); ++s) {
        const Switch& one = question.switches[s];
        const bool is_off = (off >> s & 1U) != 0;
        switch (one.thing.kind) {
            case layout::Kind::valve: {
                double& opening = conditions.valve_opening[at(one.thing.index)];
                opening = is_off ? 0.0 : opening > 0.0 ? opening : 1.0;
                break;
            }
            case layout::Kind::pump: {
                double& speed = conditions.pump_speed[at(one.thing.index)];
                speed = is_off ? 0.0 : speed > 0.0 ? speed : 1.0;
                break;
            }
            case layout::Kind::standpipe:
                if (is_off) conditions.insert[at(one.thing.index)] = one.other_insert;
                break;
            default: assert(false);
        }
    }
    return conditions;
}

double how_many(std::size_t switches, int at_most_off) {
    const auto n = static_cast<double>(switches);
    if (at_most_off < 0) return std::exp2(n);
    double sum = 0.0, term = 1.0;
    for (int k = 0; k <= std::min(at_most_off, static_cast<int>(switches)); ++k) {
        sum += term;
        term *= (n - k) / (k + 1);
    }
    return sum;
}

}  // namespace ebb::survey
