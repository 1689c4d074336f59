#pragma once
// One differential equation followed step by step: CVODE of SUNDIALS (variable order, variable step backward differentiation; Hindmarsh,
// Brown, Grant, Lee, Serban, Shumaker and Woodward 2005, ACM Transactions on Mathematical Software 31, 363-396), with its root finding for events.
// The linear systems of its Newton iteration are the farm's own sparse ones. Only stepper.cpp knows CVODE.

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <vector>

namespace ebb::time {

/// What is stepped. All spans have `size` entries, but `mark` has `mark_count`. Each returns false when it cannot be done there.
struct Equation {
    std::size_t size = 0, mark_count = 0;
    std::function<bool(double t_s, std::span<const double> state, std::span<double> rate)> rates;
    /// Prepares I - gamma d rate / d state. `keep`: with the slopes of last time, only gamma is new.
    std::function<bool(std::span<const double> state, double gamma, bool keep)> prepare;
    /// Solves (I - gamma d rate / d state) x = b.
    std::function<void(std::span<const double> b, std::span<double> x)> solve;
    std::function<bool(double t_s, std::span<const double> state, std::span<double> mark)> marks;  ///< events are where one changes sign
};

enum class Stepped : std::uint8_t { step, mark, stop, failed };

class Stepper {
public:
    /// Error per step allowed in state i: relative * |state| + absolute[i].
    Stepper(Equation equation, double relative, std::span<const double> absolute);
    ~Stepper();
    Stepper(const Stepper&) = delete;
    Stepper& operator=(const Stepper&) = delete;

    /// Begins (again) at this time and state.
    void restart(double t_s, std::span<const double> state);

    /// One internal step, not past `stop_s`. `mark`: an event was located within it and time and state are there; `stop`: at stop_s.
    Stepped step(double stop_s);

    double time_s() const;
    std::span<const double> state() const;

    /// Which marks changed sign at the event just located: -1, 0 or 1 each.
    const std::vector<int>& crossed() const;

    /// State within the last step, by the method's own polynomial.
    /// False, and nothing in `out`, outside the last step.
    bool inside(double t_s, std::span<double> out) const;

    std::int64_t steps() const;  ///< since made

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::time
