#pragma once
// From one arrangement to another: an order of moves in which no vessel spills and no intake goes bare.
//
// The settings in which the two differ are the moves. After each the farm is followed in time, from where it stands, until it is still. A
// state of the search is the set of moves made, with the levels it led to; it is searched best first, by the least margin met so far beyond
// what both arrangements have at rest anyway, deeper states first among equals. With up to kAllOrders moves every order is open to the
// search. With more the deepest state goes first, the greatest margin among equals, and it stops after kMostRuns runs and says so.

#include <cstdint>
#include <string>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/time/simulation.h"

namespace ebb::time {

inline constexpr std::size_t kAllOrders = 10;  ///< moves of which every order is open to the search
inline constexpr int kMostRuns = 600;          ///< of a search through more moves than that
inline constexpr int kMostRunsOfFew = 6000;    ///< of any search: more than every order of single moves needs

/// What is asked of change_over().
struct ChangeOverWanted {
    std::int32_t from = 0, to = 0;    ///< arrangements
    double longest_wait_s = 43200.0;  ///< after each move
    double same_level_m = 0.01;       ///< the end is that of the second arrangement within this; a level that moved less did not
};

/// One thing to be moved.
struct Move {
    layout::Setting setting;  ///< what to do: act, id, value, insert
    double was = kUnknown;    ///< opening, speed or load before
};

/// How near something came to trouble: a vessel to its rim, or a level to an intake.
struct Call {
    layout::Ref about;  ///< vessel or pump
    std::string about_id;
    double margin_m = kUnknown;  ///< freeboard, or water over the intake's bare mark
    double at_s = kUnknown;      ///< after the move; NaN where it is not known
};

/// Moves made at one moment, and what they did.
struct ChangeStep {
    std::vector<std::int32_t> moves;                    ///< made at one moment; usually one
    double wait_s = kUnknown;                           ///< until no level is further than same_level_m from where it comes to rest
    bool still = false;                                 ///< it came to rest within the longest wait
    std::vector<double> before_depth_m, after_depth_m;  ///< per vessel
    Call closest;
};

/// What came of the search.
enum class ChangeEnd : std::uint8_t { not_run, found, nothing_to_do, none, gave_up, cannot_begin, cancelled };
/// The word of the JSON contract.
const char* name_of(ChangeEnd end);

/// The trouble that every order meets, in the best of them.
struct ChangeTrouble {
    std::vector<std::int32_t> after;  ///< moves made before
    std::vector<std::int32_t> moves;  ///< then this
    bool spills = false;              ///< else an intake goes bare
    layout::Ref about;
    std::string about_id;
    double after_s = kUnknown;  ///< from that move
    double spilled_m3 = 0.0;    ///< in all, by then
};

/// The order found, or the trouble that every order meets.
struct ChangeOver {
    ChangeEnd end = ChangeEnd::not_run;
    std::string why;                      ///< of cannot_begin
    std::vector<Move> moves;              ///< all there are to make
    std::vector<ChangeStep> steps;        ///< in order
    bool in_pairs = false;                ///< no order of single moves works; some are made at one moment
    bool need_no_waiting = false;         ///< the same order a minute apart does no harm either
    ChangeTrouble trouble;                ///< of none and gave_up
    bool ends_as_settled = false;         ///< the end is the settled state of the second arrangement
    std::vector<std::int32_t> elsewhere;  ///< vessels that end elsewhere
    std::vector<double> settled_depth_m;  ///< per vessel, of the second arrangement from the drawn water; empty when it does not settle
    int runs = 0;
};

/// Looks for the order. Never throws on hydraulic grounds.
ChangeOver change_over(Simulation& simulation, const ChangeOverWanted& wanted);

}  // namespace ebb::time
