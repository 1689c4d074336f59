#pragma once
// What would be read, if these faults were there: the farm with the faults in it, settled in each arrangement it was visited in, and looked at.
//
// Water that would leave the farm. A leak, or a vessel that overflows because its way out is blocked, empties a farm in the end; a person reads while
// it is under way. So what leaves is brought back to the sump in which it is missed: flows and levels are those of the moment, at the content of
// water that was drawn; that the sump falls is told by `moves`. A leak out of that sump itself is told by nothing else.
//
// Where the water is when a fault comes. A farm that has run holds water that it never gets rid of again, below lips and holes. So the way to the
// settled state begins where the sound farm stands (`run_in`), with what the fault adds or takes at the start; and at the drawn depths where a vessel
// does not hold what is taken.
//
// Levels that come and go with a siphon, of its bed and of the sump that gives and takes that water, are told by their middle and the half of what
// they move through (`spread`). Watched for its movement (`moves`), such a level falls or rises: value 0, spread 1.
//
// Times of rise and fall are the integral of dV / (in - out) between the two depths, by Gauss-Legendre quadrature, each point one network solve at
// given levels: everything else stays where it had settled.

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "solver/diagnose/fault.h"
#include "solver/diagnose/reading.h"
#include "solver/layout/layout.h"

namespace ebb::diagnose {

/// A reading as a farm would give it, SI as in Observable; `spread` is half of what a swinging level moves through.
struct Predicted {
    double value = layout::kNotSaid;  ///< NaN: nothing determines it, or there is no solution
    double spread = 0.0;
};

inline constexpr double kNever_s = 1e7;  ///< of times: what never gets there

/// Solves the farm with faults in it and says what would be read. A workspace of one thread.
class Predictor {
public:
    /// `layout` is validated and outlives this; one per thread.
    Predictor(const layout::Layout& layout, std::span<const Visit> visits, std::span<const Observable> observables);
    ~Predictor();
    Predictor(Predictor&&) noexcept;

    /// What is read with `faults` in the farm, one entry per observable. False when a visit has no solution: its entries are NaN. `quick`: the state
    /// that direct steps end in, which is another than the way of the water leads to in about one case of a hundred.
    bool predict(std::span<const Injected> faults, std::span<Predicted> predicted, bool quick = false);

    /// The same of another layout of the same things (coefficients changed), and conditions by visit.
    bool predict_in(const layout::Layout& layout, std::span<const layout::Conditions> conditions, std::span<Predicted> predicted, bool quick = false);

    /// Depths of all vessels in each visit, settled, as predict() found them last; and those from which settling begins from now on.
    std::vector<std::vector<double>> depths() const;
    /// Settling begins from these depths from now on, m, by visit and vessel.
    void run_in(std::vector<std::vector<double>> depths);

    const std::vector<layout::Conditions>& conditions() const;  ///< by visit, as drawn
    std::size_t solves() const;                                 ///< network solves so far

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

/// What can be read in a layout by a person: depths and glances at every vessel, flows where pipes and nozzles end in air, siphons, overflows, and
/// pressures at `gauges`; in every visit.
std::vector<Observable> observables_of(const layout::Layout& layout, std::size_t visits, std::span<const layout::Ref> gauges);

}  // namespace ebb::diagnose
