#pragma once
// From the rows of a block to its statistics.
//
// Column after column: the values of one vessel are gathered from the rows (a few vessels at a time, so that a line of memory is fetched once)
// and looked through at once. What each vessel gets at least with every switch on or off comes of one walk in the manner of a tournament: the
// column is halved switch by switch, the lesser of each pair going on, so that all of ten switches cost little more than one look each.

#include <vector>

#include "solver/layout/layout.h"
#include "solver/survey/statistics.h"
#include "solver/survey/survey.h"

namespace ebb::survey {

/// A target is missed in a row. A bed that cycles without a figure misses none: there is nothing to hold the target against.
bool is_missed(const Block& block, std::size_t row, std::size_t target);

/// Makes statistics of blocks. Const, so that many threads may count at once.
class Counter {
public:
    /// `layout` must outlive the Counter. `most_worst`: how many of the worst combinations are kept.
    Counter(const layout::Layout& layout, const Question& question, std::vector<TargetColumn> targets, std::size_t most_worst);

    /// Statistics of no combination: what all blocks are merged into.
    Statistics none() const;

    /// Statistics of a block. May be called by several threads at once.
    Statistics of(const Block& block) const;

    /// The switches that alone shut the water of a vessel off, as bits.
    std::uint64_t own_switches(std::size_t vessel) const { return own_switches_[vessel]; }
    /// With everything on water can come to the vessel.
    bool can_be_fed(std::size_t vessel) const { return can_be_fed_[vessel] != 0; }

private:
    struct Work;
    void vessel_columns(Work& work, std::size_t first, std::size_t count) const;
    void one_vessel(Work& work, std::size_t vessel, std::size_t column) const;
    void find_fed(Work& work, std::size_t vessel) const;
    void count_inflow(Work& work, VesselStatistics& to) const;
    void with_switches(Work& work, VesselStatistics& to) const;
    void pumps(Work& work) const;
    void troubles(Work& work) const;
    void trouble_of_row(Work& work, std::size_t row) const;
    void judge(Work& work) const;

    const layout::Layout& layout_;
    Question question_;
    Combinations combinations_;
    std::vector<TargetColumn> targets_;
    std::size_t most_worst_;
    std::size_t most_off_;  ///< greatest number of things off
    std::vector<std::uint64_t> own_switches_;
    std::vector<std::uint8_t> can_be_fed_;
};

}  // namespace ebb::survey
