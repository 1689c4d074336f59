#pragma once
// `survey --format csv` and `--each FILE`: one row for every combination, SI.
//
//   combination,off,state,targets_missed,missed,alarms,B1_inflow_m3_s,B1_depth_m,B1_spill_m3_s,B1_spilled_m3,...,P1_flow_m3_s,P1_head_m,P1_best_ratio,...
//
// Rows are made in the threads that solve, a block at a time into one text that grows: numbers are put straight behind one another.

#include <span>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/survey/survey.h"

namespace ebb::cli {

class SurveyRows {
public:
    /// `layout` must outlive the rows.
    SurveyRows(const layout::Layout& layout, const survey::Question& question, const std::vector<survey::TargetColumn>& targets);

    const std::string& titles() const { return titles_; }
    /// The rows of a block. May be called by several threads at once.
    std::string rows(const survey::Block& block) const;

private:
    using Hanging = std::span<const survey::Hanging>;
    void row(const survey::Block& block, std::size_t r, std::uint64_t off, Hanging hanging, std::string& to) const;
    void alarms(const survey::Block& block, std::size_t r, Hanging hanging, std::string& to) const;

    const layout::Layout& layout_;

    survey::Combinations combinations_;
    std::vector<std::string> switches_, targets_;  ///< ids, as cells
    std::string titles_;
    bool quoted_ = false;  ///< an id holds a letter that CSV must quote
};

}  // namespace ebb::cli
