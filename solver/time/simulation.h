#pragma once
// Follows a farm in time.
//
//     layout -> Simulation(layout) once -> run(plan) -> Course
//
// The workspace (compiled network, patterns, memory) is made once and reused for every plan. A Simulation is not to be shared between
// threads; make one for each. The layout must have passed validate() and must outlive it.

#include <memory>

#include "solver/time/answer.h"
#include "solver/time/plan.h"

namespace ebb::time {

/// Follows one layout in time. A workspace of one thread.
class Simulation {
public:
    /// `layout` must have passed validate() and must outlive this.
    explicit Simulation(const layout::Layout& layout, Options options = {});
    ~Simulation();
    Simulation(Simulation&&) noexcept;
    Simulation& operator=(Simulation&&) noexcept;

    /// Runs a plan. Never throws on hydraulic grounds: what cannot be is said in Course::ending and Course::why.
    Course run(const Plan& plan);

    /// As given.
    const layout::Layout& layout() const;
    /// May be changed between runs.
    Options& options();

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

/// The plan of a routine of the layout, from its start depths, or from the settled state of its arrangement where the routine says so.
Plan plan_of_routine(const layout::Layout& layout, std::int32_t routine);

/// Volumes at the layout's start depths; siphons unprimed.
Memory start_memory(const layout::Layout& layout);

/// A beginning at the settled state.
struct SettledStart {
    Memory memory;
    bool found = false;
    bool cycles = false;  ///< not found: siphons go on and on; the memory is the levels they swing about, as good a beginning as any
    std::string why;      ///< when not found
};
/// Volumes of the settled state of `conditions`; siphons as they are there. Sets `found` false when there is none (the start depths then).
SettledStart settled_memory(const layout::Layout& layout, const layout::Conditions& conditions);

}  // namespace ebb::time
