#pragma once
// What a survey asks: one arrangement, the things that are switched in it, and which of their combinations.
//
// Combinations are numbered from 0, and the number alone says which things are off, on any machine:
//   any number off      bit s of the number is set when switch s is off; there are 2^n
//   at most k off       first all on, then every one alone off, then every two, ...; within one count in the order of the switches
//                       (0 1, 0 2, 1 2, 0 3, ...), the numbering of combinations of D. E. Knuth, The Art of Computer Programming 4A, 7.2.1.3

#include <cstdint>
#include <span>
#include <vector>

#include "solver/layout/layout.h"

namespace ebb::survey {

/// One thing with two positions. On: as the arrangement has it, or open, or at full speed, where the arrangement has it shut or stopped.
/// Off: a valve is closed, a pump stopped, a standpipe has another insert.
struct Switch {
    layout::Ref thing;               ///< a valve, a pump or a standpipe
    std::int32_t other_insert = -1;  ///< of a standpipe: the insert that is "off"
};

/// What is switched, and what all else is like.
struct Question {
    layout::Conditions arrangement;  ///< all on
    bool at_start_levels = false;
    std::vector<Switch> switches;  ///< at most kMostSwitches
    int at_most_off = -1;          ///< -1: any number
};

/// Where numbers of combinations still fit with room for sums of them; with at most k off the count of combinations must stay below 2^62 too.
inline constexpr std::size_t kMostSwitches = 62;

/// The combinations of `switches` things with at most `at_most_off` of them off (-1: any number).
class Combinations {
public:
    /// At most kMostSwitches switches.
    Combinations(std::size_t switches, int at_most_off);

    /// How many combinations there are.
    std::uint64_t count() const { return count_; }

    /// Bit s set: switch s is off.
    std::uint64_t off_at(std::uint64_t combination) const;

    /// What is off in the combination after the one with these off; there must be one. Cheap, where off_at() must search.
    std::uint64_t off_after(std::uint64_t off) const;

    /// The number of the combination with these off: the inverse of off_at(). More off than allowed: asserts.
    std::uint64_t number_of(std::uint64_t off) const;

private:
    std::size_t switches_;
    int at_most_off_;
    std::uint64_t count_ = 0;
};

/// Puts one switch on or off in the conditions of a combination.
void switch_conditions(const Question& question, std::size_t one, bool off, layout::Conditions& conditions);

/// The conditions of the arrangement with the switches of `off` off.
layout::Conditions conditions_with(const Question& question, std::uint64_t off);

/// How many combinations there would be, as a floating number: for messages when there are too many to number.
double how_many(std::size_t switches, int at_most_off);

}  // namespace ebb::survey
