#pragma once
// What an answer says of a design: its targets and limits, one by one, on the scale of margins.h.

#include <limits>
#include <vector>

#include "solver/choose/sizing.h"

namespace ebb::choose {

/// Adds up judgements as they come.
struct Tally {
    double worst = std::numeric_limits<double>::infinity(), of_targets = std::numeric_limits<double>::infinity();
    double missed = 0.0;
    bool allowed = true, limits_kept = true;

    void target(double margin, bool met, double least_margin);
    void limit(double margin, bool met);
};

/// A target is met as the answer says, or, where more than nothing has to be spared, when its margin is that (to 1e-9).
bool has_margin(double margin, bool met, double least_margin);

/// Margin of a figure that may be at most, or must be at least, `wanted`; whether it keeps to it (to 1e-9 of it).
struct Kept {
    double margin = 0.0;
    bool met = true;
};
Kept at_most(double got, double wanted);
Kept at_least(double got, double wanted);

/// Flow below which nothing flows in a chosen pipe that a limit could speak of, m3/s (4 ml an hour).
inline constexpr double kNoWater_m3_s = 1e-9;

/// Velocity limits of a chosen pipe under pressure that flows with `velocity_m_s` (magnitude), and `flow_m3_s`.
template <typename Take>
void judge_velocity(const SizingProblem& problem, std::int32_t pipe, double velocity_m_s, double flow_m3_s, Take&& take) {
    const double most = greatest_velocity_m_s(problem, pipe);
    if (layout::said(most)) take("velocity_m_s", true, most, velocity_m_s, at_most(velocity_m_s, most));
    const double least = problem.limits.least_velocity_m_s;
    if (layout::said(least) && flow_m3_s > kNoWater_m3_s) take("velocity_m_s", false, least, velocity_m_s, at_least(velocity_m_s, least));
}

/// Judges a solved answer to one arrangement of the problem; `judgements`: gets everything by name, when there.
void judge_answer(const SizingProblem& problem, std::int32_t arrangement, const settle::Answer& answer, Tally& tally,
                  std::vector<Judgement>* judgements);

}  // namespace ebb::choose
