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

std::uint64_t Combinations::off_after(std::uint64_t off) const {
    if (at_most_off_ < 0) return off + 1;
    const std::uint64_t end = std::uint64_t{1} << switches_;
    if (off != 0) {  // the next number with as many bits set: the lowest run of ones moves its top up, the rest falls to the bottom
        const std::uint64_t lowest = off & (~off + 1), above = off + lowest;
        const std::uint64_t next = above | (((off ^ above) >> 2U) / lowest);
        if (next < end) return next;
    }
    return (std::uint64_t{1} << (static_cast<unsigned>(std::popcount(off)) + 1U)) - 1;
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

void switch_conditions(const Question& question, std::size_t one, bool off, layout::Conditions& conditions) {
    const Switch& is = question.switches[one];
    const std::size_t thing = at(is.thing.index);
    // on: as the arrangement has it, unless that is off
    const auto on = [](double as_arranged) { return as_arranged > 0.0 ? as_arranged : 1.0; };
    switch (is.thing.kind) {
        case layout::Kind::valve: conditions.valve_opening[thing] = off ? 0.0 : on(question.arrangement.valve_opening[thing]); break;
        case layout::Kind::pump: conditions.pump_speed[thing] = off ? 0.0 : on(question.arrangement.pump_speed[thing]); break;
        case layout::Kind::standpipe: conditions.insert[thing] = off ? is.other_insert : question.arrangement.insert[thing]; break;
        default: assert(false);
    }
}

layout::Conditions conditions_with(const Question& question, std::uint64_t off) {
    layout::Conditions conditions = question.arrangement;
    for (std::size_t s = 0; s < question.switches.size(); ++s) switch_conditions(question, s, (off >> s & 1U) != 0, conditions);
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
