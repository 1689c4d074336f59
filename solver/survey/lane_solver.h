#pragma once
// Eight arrangements of one network solved side by side: the method of network::Solver, step by step, with eight numbers where it has one.
//
// A lane is one of the eight. Every lane has its own settings, its own levels (given, or unknown over a step of its own length), its own point and
// its own count of steps; what they share is the network, and so the pattern. The caller is a machine of states per lane: it loads a lane, begins
// it, calls advance() until the lane is reported as arrived or failed, reads it, and begins it anew, while the other lanes go on. No lane ever has to
// wait for another, and no lane's digits depend on what the others do.
//
//     LaneSolver lanes(network);
//     for (int lane ...) { lanes.load(lane, settings); lanes.put_levels(lane, levels); lanes.set_step(lane, tau_s, volumes); lanes.begin(lane,
//     false); } while (lanes.active() != 0) {
//         const LaneSolver::Masks ended = lanes.advance();
//         ... lanes of ended.arrived: read, load the next arrangement, begin(); of ended.failed: to be solved by itself
//     }
//
// Answers are those of network::Solver within its tolerances. A lane that fails is left at the point where it was given up; there is no creeping
// here, the single solve does that. Whatever the processor, the digits are the same (lane_kernel.h says how).

#include <cstdint>
#include <memory>
#include <span>

#include "solver/network/laws.h"
#include "solver/network/network.h"
#include "solver/network/newton.h"
#include "solver/survey/lane_data.h"

namespace ebb::survey {

/// Newton's method for eight settings of one network side by side, one to a lane of the processor's vectors. Lanes know nothing of each other.
class LaneSolver {
public:
    /// Sets of instructions; all give the same digits.
    enum class Instructions : std::uint8_t { best, baseline, avx2, avx512 };

    /// What may differ between lanes besides the settings. `shared`: pipes are the network's in every lane. `own`: every lane has its own copy
    /// (set_pipe()), which costs more memory traffic.
    enum class Pipes : std::uint8_t { shared, own };

    /// Lanes that ended in the last advance().
    struct Masks {
        LaneBits arrived = 0, failed = 0;
    };

    /// Networks with tees whose losses are counted on headers are not for lanes.
    static bool supports(const network::Network& network);
    /// Does this processor (and this build) have them? `best` and `baseline` always.
    static bool has(Instructions instructions);

    /// `network` must outlive the solver. All memory is taken here, none later.
    explicit LaneSolver(const network::Network& network, Pipes pipes = Pipes::shared, Instructions instructions = Instructions::best);
    ~LaneSolver();
    LaneSolver(LaneSolver&&) noexcept;
    LaneSolver& operator=(LaneSolver&&) noexcept;

    /// As given.
    const network::Network& network() const;
    Instructions instructions() const;  ///< the ones in use, never `best`

    // ---- what a lane solves; to be set while the lane is not under way

    /// All settings of a lane.
    void load(int lane, const network::Settings& settings);
    /// One link of it.
    void set_link(int lane, std::int32_t link, const network::LinkSetting& setting);
    /// Whether air may come in at a node.
    void set_vented(int lane, std::int32_t node, bool vented);
    /// Whether what is taken at a node cannot be had, and is not.
    void set_dry(int lane, std::int32_t node, bool dry);
    /// As set last.
    const network::LinkSetting& setting(int lane, std::int32_t link) const;

    /// Vessels stay at the levels of the lane's point.
    void give_levels(int lane);
    /// Levels unknown: an implicit step of `tau_s` from these volumes.
    void set_step(int lane, double tau_s, std::span<const double> start_volume_m3);
    /// Another length of the implicit step, s.
    void set_tau(int lane, double tau_s);
    /// Another volume to begin the step with, m3.
    void set_start_volume(int lane, std::int32_t vessel, double volume_m3);
    /// When the lane has arrived.
    void set_tolerances(int lane, const network::Tolerances& tolerances);

    /// Another bore or wall for one pipe of one lane; only with Pipes::own. The settings of the pipe (its local losses) are the caller's to renew.
    void set_pipe(int lane, std::int32_t link, const physics::DarcyPipe& pipe, double bore_m);
    /// The same where Hazen-Williams is counted with.
    void set_pipe(int lane, std::int32_t link, const physics::HazenPipe& pipe, double bore_m);
    /// Another share of the maker's head that one pump keeps (1 - wear, or a doubtful curve's factor). Before the lane's load() or set_link().
    void set_pump_share(int lane, std::int32_t pump, double share);

    // ---- where a lane starts

    /// Vessels at these levels (in the order of the vessels); the rest as it was.
    void put_levels(int lane, std::span<const double> level_m);
    /// Head at one node, m.
    void set_head(int lane, std::int32_t node, double head_m);
    /// The whole point, as a warm start.
    void take(int lane, const network::Point& point);
    /// The present point of another lane.
    void copy_point(int from_lane, int to_lane);

    /// From the next advance() on the lane is under way. `warm`: from its point as it stands. Cold: from its vessels' levels alone.
    void begin(int lane, bool warm);
    /// The lane is under way no longer.
    void stop(int lane);
    /// The lanes under way.
    LaneBits active() const;

    /// Evaluates every lane under way at its point; those that have arrived are ended, the others take one step of Newton's method. A lane fails
    /// after the greatest number of steps, or when its matrix has a pivot that is not positive.
    Masks advance();

    // ---- what a lane found; slopes and holds are those of the last advance() and good until the next

    /// Newton steps since begin().
    int steps(int lane) const;
    /// Head at a node, m above the datum.
    double head_m(std::int32_t node, int lane) const;
    /// Flow in a link, positive from -> to.
    double flow_m3_s(std::int32_t link, int lane) const;
    /// Flow over the rim of a vessel.
    double spill_m3_s(std::int32_t vessel, int lane) const;
    double volume_m3(std::int32_t vessel, int lane) const;  ///< at the last evaluated point
    /// Whether a vessel stands at its rim and what does not fit goes over.
    bool brim(std::int32_t vessel, int lane) const;
    bool air(std::int32_t node, int lane) const;           ///< of plain nodes
    double slope_from(std::int32_t link, int lane) const;  ///< a of dQ = a dH_from - b dH_to
    double slope_to(std::int32_t link, int lane) const;    ///< b
    /// What holds the flow of a link, if anything does.
    network::Hold hold(std::int32_t link, int lane) const;
    /// Writes the lane's point into one made by network::Solver::cold_point().
    void store(int lane, network::Point& point) const;

    // ---- the same, all lanes of one thing after another, for arithmetic on all lanes at once

    const Line* heads() const;    ///< per node
    const Line* flows() const;    ///< per link
    const Line* spills() const;   ///< per vessel
    const Line* volumes() const;  ///< per vessel, at the last evaluated point
    const Line* areas() const;    ///< per vessel: slope of volume by level there
    /// Per link: a of dQ = a dH_from - b dH_to.
    const Line* slopes_from() const;
    /// Per link: b.
    const Line* slopes_to() const;
    const LaneBits* brims() const;  ///< per vessel
    const LaneBits* airs() const;   ///< per plain node

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::survey
