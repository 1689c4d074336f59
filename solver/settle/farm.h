#pragma once
// Four nouns, one verb: Layout, Options, Farm::solve(), Answer. A Farm is the workspace of one validated layout, made once and
// reused for every arrangement: the sparsity pattern, its elimination order and all memory are set up here.

#include <memory>

#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::settle {

/// How exactly and how much to solve.
struct Options {
    double head_tolerance_m = 1e-9;            ///< largest error of an element's law, in head
    double flow_tolerance = 1e-11;             ///< largest imbalance, share of the largest flow
    int greatest_steps = 60;                   ///< Newton steps before the safeguarded path takes over
    bool bands = true;                         ///< solve label-only pumps at both ends of their band too
    bool ledgers = true;                       ///< also answer "what if everything stops" for every sump
    double evaporation_share_per_day = 0.015;  ///< of the water of a loop, where no routine says better (1-3 % common practice)
};

/// Solves arrangements of one layout: where the levels come to rest, and what then flows. A workspace of one thread; `const` layouts may be shared.
class Farm {
public:
    /// `layout` must have passed validate() and must outlive the Farm.
    explicit Farm(const layout::Layout& layout, Options options = {});
    ~Farm();
    Farm(Farm&&) noexcept;
    Farm& operator=(Farm&&) noexcept;

    /// Solves one arrangement of the layout, settled or at the start levels as it asks. Never throws on hydraulic grounds:
    /// what cannot be is said in Answer::state and Answer::why.
    Answer solve(std::int32_t arrangement);

    /// The same for conditions made by hand (a sweep of one valve, say). `at_start_levels`: heads and flows at the start depths only.
    Answer solve(const layout::Conditions& conditions, bool at_start_levels);

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::settle
