#pragma once
// The power goes: every pump stops; pipes, drains, siphons and mains go on. When it returns every pump starts again.
//
// Two runs from one state: without power until nothing moves (or the cut ends), then with power from where the first run left the water.
// While there is no power no valve moves: timers, rotations and level-switches wait where they are, and clocks are found gone on when it returns.
// The first says what drains home, what a submerged inlet draws back, and what goes over a rim; the second whether the farm comes back
// alone: levels as before, no intake bare. The state is the settled one of an arrangement. Where there is none because siphons or clocks
// cycle, the cut is tried at several moments of one cycle and the worst is told: first by what goes over a rim, then by least freeboard.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

/// What is asked of power_cut().
struct PowerCutWanted {
    std::int32_t arrangement = 0;
    std::int32_t routine = -1;          ///< -1: the arrangement left alone
    double lasts_s = kUnknown;          ///< NaN: until nothing moves, at most a day
    double followed_s = 7.0 * 86400.0;  ///< how long a cycle is looked for where there is no settled state and no routine
    int moments = 12;                   ///< of one cycle at which the cut is tried
};

/// Where the farm stood when the power went.
enum class CutStart : std::uint8_t { settled, cycle, start_depths };

/// A vessel in a power cut and after it; times from the cut unless said.
struct CutVessel {
    double before_depth_m = kUnknown;
    double end_depth_m = kUnknown;  ///< when the cut ends
    double gained_m3 = kUnknown;    ///< negative: lost
    double greatest_depth_m = kUnknown, greatest_at_s = kUnknown, least_freeboard_m = kUnknown;
    double spilled_m3 = 0.0, first_spill_s = kUnknown;
    // with the power back; times from its return
    double restart_least_depth_m = kUnknown, restart_least_at_s = kUnknown;
    double restart_spilled_m3 = 0.0, restart_first_spill_s = kUnknown;
    double after_depth_m = kUnknown;
};

/// What came home into a sump: `m3` of the water that stood in `vessel` (-1: from outside).
struct CameFrom {
    std::int32_t vessel = -1;
    double volume_m3 = 0.0;
};
/// What came home into a sump.
struct HomeComing {
    std::int32_t sump = -1;
    double returned_m3 = 0.0;    ///< net, what it spilled included
    std::vector<CameFrom> from;  ///< largest first; traces of less than 0.05 l left out
};

/// What ended the flow back through a submerged inlet.
enum class BackflowEnd : std::uint8_t { port, air_hole, levels_equal, still_running, balance };
/// The word of the JSON contract.
const char* name_of(BackflowEnd end);

/// Water that ran back through a pipe whose end was under water.
struct Backflow {
    std::int32_t pipe = -1;
    std::int32_t vessel = -1;        ///< that loses the water: where the pipe ends
    std::vector<std::int32_t> into;  ///< vessels that got it, largest share first
    double volume_m3 = 0.0;
    double from_depth_m = kUnknown, down_to_depth_m = kUnknown;  ///< of that vessel; its port when it fell below
    BackflowEnd ended = BackflowEnd::balance;
    std::int32_t equal_with = -1;          ///< of levels_equal
    double air_hole_advised_m = kUnknown;  ///< height above the floor at which a hole would have ended it early; NaN: none would
    double saved_m3 = kUnknown;            ///< what then would have stayed in the vessel
    bool evens_out = false;                ///< the pipe joins two vessels directly, with water over both ends
};

/// A pump whose intake was bare after the power came back; seconds from then.
struct BareIntake {
    std::int32_t pump = -1;
    double first_s = kUnknown, for_s = 0.0;
};

/// A power cut and the restart, followed to their ends.
struct PowerCutAnswer {
    std::int32_t arrangement = -1, routine = -1;
    CutStart start = CutStart::settled;
    std::string why_not_settled;
    double moment_s = kUnknown;  ///< of a cycle: the moment of the routine at which the cut is worst
    int moments_tried = 1;
    double period_s = kUnknown;       ///< of that cycle; NaN where the routine does not repeat: the moments are of its last day
    bool any_pump_ran = false;        ///< false: there was nothing to cut
    Course cut, restart;              ///< times from the cut, and from the return of the power
    std::vector<CutVessel> vessels;   ///< per vessel of the layout
    std::vector<HomeComing> home;     ///< per vessel that a pump draws from
    std::vector<Backflow> backflows;  ///< largest first
    double over_after_s = kUnknown;   ///< from then on no level is further than 1 mm from where it ends
    double first_spill_s = kUnknown;
    std::int32_t first_spills = -1;  ///< the vessel
    double spilled_m3 = 0.0;
    // restart
    bool comes_back = false;  ///< every level within 1 cm of before, nothing spilled on the way, no intake bare
    double settled_again_after_s = kUnknown;
    double missing_m3 = 0.0;  ///< water that is no longer in the farm: before less after
    std::vector<BareIntake> bare;
    std::vector<std::int32_t> cycle_now;  ///< vessels whose siphons start again and again after the restart and did not before
    std::vector<std::int32_t> not_back;   ///< vessels that stand elsewhere than before
};

/// Never throws on hydraulic grounds: the Course::ending of `cut` and `restart` tell when a run could not be made.
PowerCutAnswer power_cut(Simulation& simulation, const PowerCutWanted& wanted);

/// The routine as it goes on from `by_s` after its beginning.
layout::Routine gone_on(const layout::Routine& routine, double by_s);

/// The last time at which some vessel stood further than `within_m` from where it ended; needs the series of the course.
double still_from_s(const Course& course, double within_m);

}  // namespace ebb::time
