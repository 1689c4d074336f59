#pragma once
// The network solve: Newton's method in flows and heads together, on a pattern fixed once.
//
// Unknowns are the heads of the plain nodes and, when levels are asked for, the levels of the vessels; the flow of every link follows its
// law made linear (laws.h). The balance of every node,
//        sum of flows out - sum of flows in  (+ storage and spill at vessels)  = 0,
// with Q' = q + a dH_from - b dH_to put in, is one sparse system per step; its matrix is a column dominant M-matrix (factor.h).
// For pipe laws this is Newton's method on the convex content of the network (Todini and Pilati 1988 gave the form of the step): mass balance holds
// exactly from the first full step on, and what remains is the error of the laws, which falls quadratically.
//
// Levels: the vessel's balance over an implicit step of length tau from a volume V0 is
//        (V(L) - V0)/tau + out - in + spill = 0,   0 <= spill, L <= rim, one of them equal.
// A small tau follows the water in time; tau towards infinity gives the settled state with the loop's inventory kept, because the sum of these
// balances over a closed loop is sum V = sum V0 whatever tau. One kernel for every question.
//
// A vessel at its rim (brim) is the same trick: its level is known, and the unknown of its column is what goes over.
//
// Vented nodes: air stands in one while its drain can carry what arrives. Then its head is known (its elevation) and the unknown of its
// column is the drain's flow: what arrives is handed on (a cascade), and the column (1 on the diagonal, -1 where the drain ends) keeps the matrix
// what it is.
//
// Safeguards: a cut-off node is held by a tiny proximal term that vanishes as the step does; a step that overshoots along the content is cut; when
// Newton has not arrived after `greatest_steps`, the proximal term is raised to a pseudo-time step on every node and relaxed again, which converges
// from anywhere because the balances form an M-function (Rheinboldt 1970; Kelley and Keyes 1998 on pseudo-transient continuation).

#include <span>

#include "solver/network/assembly.h"
#include "solver/network/factor.h"
#include "solver/network/kinks.h"
#include "solver/network/laws.h"
#include "solver/network/network.h"

namespace ebb::network {

struct Tolerances {
    double head_m = 1e-9;
    double flow_share = 1e-10;  ///< of the largest flow
    int greatest_steps = 60;
    bool keep_water = true;  ///< balances of steps in time to rounding, whatever flow_share says
};

/// How a solve ended. Born "not run".
struct Outcome {
    bool converged = false;
    int steps = -1;
    int fallbacks = 0;
    double worst_error_m = -1.0;
};

/// What to do about levels. given: vessels stay at the levels of the point. step: an implicit step of `tau_s` from `start_volume_m3`.
struct Levels {
    bool unknown = false;
    double tau_s = 0.0;
    std::span<const double> start_volume_m3;
};

/// The workspace of one network: patterns and memory made once.
class Solver {
public:
    explicit Solver(const Network& network);

    /// A starting point: vessels at `levels_m`, heads and flows unset (the next solve starts cold).
    Point cold_point(std::span<const double> levels_m) const;

    /// Solves from `point` (warm: as it stands) into `point`. `safeguard`: creep when Newton does not arrive; callers that can shorten their
    /// step instead pass false. No allocation after the first call of its kind.
    Outcome solve(const Settings& settings, const Levels& levels, const Tolerances& tolerances, bool warm, Point& point, bool safeguard = true);

    /// Makes every link linear at `point`, as the answer wants to see which law or bound holds each.
    void look_at(const Settings& settings, Point& point) { evaluate(settings, point); }

    const Network& network() const { return *network_; }
    const std::vector<Linear>& linears() const { return linear_; }  ///< of the last point evaluated
    /// The link that is furthest from its law at the last point evaluated: where a solve that did not arrive went to and fro.
    std::int32_t worst_link(const Point& point) const;
    const Factor& factor_of_levels(bool unknown) const { return unknown ? levels_.factor : heads_.factor; }

private:
    struct System {
        Factor factor;
        std::vector<std::int32_t> slot;  ///< per link: its place, or kNoSlot
        std::int32_t size = 0;
        bool ready = false;
    };
    void prepare(System& system, bool with_levels);
    void evaluate(const Settings& settings, Point& point);
    void cold_start(const Settings& settings, Point& point);
    double limited_level(const Settings& settings, std::int32_t vessel, double from_m, double to_m) const;
    void lift_starved(const Settings& settings, Point& point);
    void limit_feet(const Settings& settings, Point& point);
    bool head_is_known(const System& system, const Point& point, std::int32_t node) const;
    bool step(System& system, const Settings& settings, const Levels& levels, double proximal, std::span<const double> anchor, Point& point);
    double scale_of_flows(const Point& point) const;
    bool arrived(const Levels& levels, const Tolerances& tolerances, double proximal, std::span<const double> anchor, const Point& point,
                 bool patience_lost);
    Outcome iterate(System& system, const Settings& settings, const Levels& levels, const Tolerances& tolerances, double proximal,
                    std::span<const double> anchor, Point& point);
    void relax(Point& point);
    Outcome creep(System& system, const Settings& settings, const Levels& levels, const Tolerances& tolerances, Point& point);
    double mass_error(const Levels& levels, double tolerance, double proximal, std::span<const double> anchor, const Point& point);

    const Network* network_;
    System heads_, levels_;
    std::vector<Linear> linear_;
    std::vector<std::vector<Kink>> kinks_;  ///< per vessel
    std::vector<double> rhs_, old_flow_, old_head_, balance_, anchor_;
    std::vector<double> taken_m3_s_;  ///< per plain node, under the settings of the last step
    bool full_step_ = false, linear_start_ = false;
    double worst_error_m_ = 0.0;
};

}  // namespace ebb::network
