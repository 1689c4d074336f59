#pragma once
// How often a flow was how large: counts in bins of nearly equal relative width, for a middle value that can be merged exactly.
//
// Whole numbers alone are added, so that any order of adding and merging ends at the same counts. Bins are cut from the bits of the number: 128
// equal ones in every octave, from 2^-30 to 2^10; bin 0 is everything smaller (4 ml an hour in m3/s: nothing flows), the last everything larger.
// The middle of a bin is within 0.4 % of every number in it.

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace ebb::survey {

inline constexpr double kNothing = 0x1p-30;  ///< what is not larger is nothing

class Histogram {
public:
    static constexpr int kBins = 1 + 40 * 128 + 1;

    static int bin_of(double value);
    static double middle_of(int bin);

    void add(int bin, std::uint64_t times);
    /// Adds counts[i] to bin first + i.
    void add(int first, std::span<const std::uint16_t> counts);
    void merge(const Histogram& other);

    std::uint64_t count() const;
    /// The middle of the bin that holds the lower of the middle values; NaN when there are none.
    double median() const;

    struct Bin {
        int bin;
        std::uint64_t times;
    };
    std::vector<Bin> bins() const;  ///< those that are not empty, rising

private:
    void make_room(int first, int last);

    int first_ = 0;
    std::vector<std::uint64_t> counts_;  ///< of bins from first_ on
};

}  // namespace ebb::survey
