#pragma once
// Where the levels end when an arrangement is left alone: the settled state of one network under one set of settings.
//
// Direct: one implicit step of the water balances, of 1e7 s, from the start volumes (newton.h). Its sums over every closed loop keep
// the loop's inventory, idle vessels keep their level, vessels joined by an open pipe level out, and what remains out of balance is
// the change over the step, which is nothing once the step is repeated from its own end. (A longer step would gain nothing: the last digit of the
// flows times the step is water made or lost.)
//
// What spills over a rim on the way is gone, and where several vessels could take what one gives, which of them gets it is decided on the
// way; the direct step cannot know either, it sees only the end. Mostly it is certain without looking that neither happens (certainty.h). Else the
// way is walked once in coarse steps. Where no level comes near its rim and a direct step from near the end ends where the first did, the direct
// answer stands; else the way is walked again in fine steps (march.h) and the direct step starts from where they end.

#include <span>
#include <vector>

#include "solver/network/newton.h"
#include "solver/settle/certainty.h"

namespace ebb::settle {

/// What was lost over one rim on the way.
struct Lost {
    double volume_m3 = 0.0;
    double first_s = -1.0;  ///< -1: never
};

struct Settled {
    bool found = false;
    network::Point point;
    std::vector<Lost> lost;  ///< per vessel
    bool ran_dry = false;    ///< a closed loop spilled until an intake was bare
    double dry_after_s = -1.0;
    double longest_step_s = 0.0;  ///< of the steps that settled it
    int newton_steps = 0;         ///< of the last direct step
    int newton_steps_total = 0, network_solves = 0, fallbacks = 0;
};

struct LevelTolerances {
    network::Tolerances network;
    bool walk = true;  ///< look for spills on the way
};

/// Settles from `start_volume_m3` (one per vessel). `guess`: levels to start Newton from. `certainty`: asked whether the walk can be spared; null:
/// always walk.
Settled settle_levels(network::Solver& solver, const network::Settings& settings, std::span<const double> start_volume_m3,
                      std::span<const double> guess_m, const LevelTolerances& tolerances, Certainty* certainty = nullptr);

/// The settled state directly, without the walk, by Newton from a point settled before (of another pipe size, say): quick, and wrong where what
/// spills on the way decides (`lost` then says what went over by the account of the long step).
Settled settle_near(network::Solver& solver, const network::Settings& settings, std::span<const double> start_volume_m3, const network::Point& near,
                    const LevelTolerances& tolerances);

}  // namespace ebb::settle
