#include "solver/survey/histogram.h"

#include <algorithm>
#include <bit>
#include <limits>

namespace ebb::survey {

namespace {

constexpr int kBitsBelowBin = 52 - 7;  // of the 52 of a double's fraction, seven say the bin within the octave
constexpr std::uint64_t kSmallest = std::bit_cast<std::uint64_t>(kNothing) >> kBitsBelowBin;

double lower_edge(int bin) { return std::bit_cast<double>((kSmallest + static_cast<std::uint64_t>(bin - 1)) << kBitsBelowBin); }

}  // namespace

int Histogram::bin_of(double value) {
    if (!(value > kNothing)) return 0;
    const std::uint64_t above = (std::bit_cast<std::uint64_t>(value) >> kBitsBelowBin) - kSmallest;
    return static_cast<int>(std::min<std::uint64_t>(above + 1, kBins - 1));
}

double Histogram::middle_of(int bin) {
    if (bin == 0) return 0.0;
    constexpr double kHalf = 0.5;
    return bin == kBins - 1 ? lower_edge(bin) : kHalf * (lower_edge(bin) + lower_edge(bin + 1));
}

void Histogram::make_room(int first, int last) {
    if (counts_.empty()) {
        first_ = first;
    } else if (first < first_) {
        counts_.insert(counts_.begin(), static_cast<std::size_t>(first_ - first), 0);
        first_ = first;
    }
    const auto wanted = static_cast<std::size_t>(last - first_) + 1;
    if (counts_.size() < wanted) counts_.resize(wanted, 0);
}

void Histogram::add(int bin, std::uint64_t times) {
    if (times == 0) return;
    make_room(bin, bin);
    counts_[static_cast<std::size_t>(bin - first_)] += times;
}

void Histogram::add(int first, std::span<const std::uint16_t> counts) {
    std::size_t begin = 0, end = counts.size();
    while (begin < end && counts[begin] == 0) ++begin;
    while (end > begin && counts[end - 1] == 0) --end;
    if (begin == end) return;
    make_room(first + static_cast<int>(begin), first + static_cast<int>(end) - 1);
    std::uint64_t* to = &counts_[static_cast<std::size_t>(first + static_cast<int>(begin) - first_)];
    for (std::size_t i = begin; i < end; ++i) *to++ += counts[i];
}

void Histogram::merge(const Histogram& other) {
    if (other.counts_.empty()) return;
    make_room(other.first_, other.first_ + static_cast<int>(other.counts_.size()) - 1);
    std::uint64_t* to = &counts_[static_cast<std::size_t>(other.first_ - first_)];
    for (const std::uint64_t times : other.counts_) *to++ += times;
}

std::uint64_t Histogram::count() const {
    std::uint64_t sum = 0;
    for (const std::uint64_t times : counts_) sum += times;
    return sum;
}

double Histogram::median() const {
    const std::uint64_t all = count();
    std::uint64_t below = 0;
    for (std::size_t i = 0; i < counts_.size(); ++i) {
        below += counts_[i];
        if (below >= all - all / 2 && all > 0) return middle_of(first_ + static_cast<int>(i));
    }
    return std::numeric_limits<double>::quiet_NaN();
}

std::vector<Histogram::Bin> Histogram::bins() const {
    std::vector<Bin> bins;
    for (std::size_t i = 0; i < counts_.size(); ++i)
        if (counts_[i] != 0) bins.push_back({first_ + static_cast<int>(i), counts_[i]});
    return bins;
}

}  // namespace ebb::survey
