#pragma once
// Choosing pumps: the duty a farm needs of a pump, the candidates held against it, their ranking by what they cost over the years.
//
//     Layout, PumpQuestion -> choose_pumps() -> PumpsAnswer
//
// One pump is chosen in turn while the others stay as they are; then all winners are put in at once (together). Everything is found by
// solving the farm (settle::Farm); no system curve is assumed.

#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "solver/choose/bed_times.h"
#include "solver/choose/economy.h"
#include "solver/choose/pump_workers.h"
#include "solver/layout/layout.h"
#include "solver/settle/answer.h"

namespace ebb::choose {

inline constexpr double kNotKnown = std::numeric_limits<double>::quiet_NaN();

/// What is asked of choose_pumps(). Indices are those of the layout.
struct PumpQuestion {
    std::vector<std::int32_t> pumps;         ///< to be chosen; empty: every pump
    std::vector<std::int32_t> arrangements;  ///< that count; empty: arrangements_that_count()
    std::vector<std::int32_t> models;        ///< candidates; empty: those of the economy, else every model
    int most = 0;                            ///< in parallel; 0: as the economy says, else as many as stand there now
    EconomySaid said;
    int curve_points = 0;  ///< points of each system curve; 0: none
    bool routines = true;  ///< follow the routines of the layout with the leading candidates, where beds are to fill or drain in time
    int leading = 3;       ///< so many of them
    bool standby = false;  ///< ask what a pump that stops leaves unmet
    bool beside = false;   ///< ask what the winners change in the arrangements that do not count
    Watch watch;
};

// ---------------------------------------------------------------------------------------------- duty

/// A point of a system curve: the flow that goes through the place of the pump when it lifts so high.
struct SystemPoint {
    double flow_m3_s = kNotKnown, head_m = kNotKnown;
    double margin = kNotKnown;  ///< least margin of the targets that depend on this pump (margins.h)
    bool solved = false;        ///< settled, nothing runs over on the pump's account, its intake under water
};

/// What came of looking for a duty.
enum class DutyOutcome : std::uint8_t {
    not_run,
    needed,          ///< flow and head were found at which the targets are just met
    rests,           ///< the arrangement stops this pump
    nothing_asked,   ///< no target of this arrangement depends on it
    met_by_nothing,  ///< the targets that depend on it are met however little it lifts
    unreachable,     ///< no head meets them all
};

/// What stands in the way of more water when no head is enough.
enum class Obstacle : std::uint8_t { none, head, spills, runs_dry, no_solution };

/// The element that takes the most head between the pump and what is short of water.
struct HeadTaken {
    std::int32_t pipe = -1, filter = -1;
    std::int32_t valve = -1;  ///< of that pipe, the least open one, when it is throttled
    double loss_m = kNotKnown, whole_loss_m = kNotKnown;
    /// Whether anything was found.
    bool there() const { return pipe >= 0 || filter >= 0; }
};

/// What a pump must do in one arrangement: flow and head at which the targets that depend on it are just met.
struct Duty {
    std::int32_t arrangement = -1;
    DutyOutcome outcome = DutyOutcome::not_run;
    double flow_m3_s = kNotKnown, head_m = kNotKnown;  ///< needed; of `unreachable`: where the targets come nearest
    double static_head_m = kNotKnown;                  ///< below it nothing flows
    double npsh_available_m = kNotKnown;               ///< at the duty
    settle::Target sets;                               ///< the target that is just met; of `unreachable`: the one that remains
    double margin = kNotKnown;                         ///< least margin there: 0 when needed, negative when unreachable
    HeadTaken taken;                                   ///< of `needed` and `unreachable`: on the way to that target
    double asked_m3_s = kNotKnown;                     ///< what its targets of flow add up to, of vessels it feeds with no vessel between
    std::string gets_most;                             ///< of these, beside the one that is just met, the one with the most for what it asks
    double most_share = kNotKnown;                     ///< it gets so much of it
    bool met_without = false;                          ///< of `met_by_nothing`: they are met with the pump stopped too
    Obstacle obstacle = Obstacle::none;                ///< of `unreachable`: why more head does not help
    std::string at;                                    ///< of `spills`: the vessel that runs over
    std::vector<settle::Target> apart;                 ///< missed targets that are not this pump's, as they stand
    std::vector<std::uint8_t> own;                     ///< per target of an answer: 1 when it is this pump's to meet
    std::vector<std::uint8_t> judged;                  ///< the same, and those of other pumps that are met now and that it could spoil
    std::vector<std::uint8_t> spills_anyway;           ///< per vessel: runs over with the pump stopped too
    std::vector<double> spilled_anyway_m3;             ///< per vessel: over its rim on the way with the pump stopped too
    std::vector<SystemPoint> curve;                    ///< by rising head
};

// ---------------------------------------------------------------------------------------------- candidates

/// How the speed of a candidate is set.
enum class SpeedMode : std::uint8_t {
    as_arranged,  ///< the speeds the arrangements say
    one_speed,    ///< one speed for all arrangements, the least that meets the targets
    variable,     ///< in each arrangement the least speed that meets its targets
};

/// Why a candidate will not do.
enum class Fault : std::uint8_t {
    none,
    target_missed,
    shut_off_too_low,  ///< at no flow it lifts less than the duty
    no_solution,
    spills,  ///< for good, or on the way from the start depths: `value` then is the volume, m3
    runs_dry,
    too_slow,  ///< an arrangement runs it slower than it can be turned down
    beyond_curve,
    cavitates,
    moves_nothing,  ///< it runs and nothing flows, where another pump would move water
    fills_late,     ///< a bed does not fill within its time in a routine
    drains_late,
};

/// What is worth a second look though it does not reject.
enum class Doubt : std::uint8_t {
    far_left,         ///< below 70 % of best-efficiency flow
    far_right,        ///< above 120 %
    little_npsh,      ///< less than 1.1 times, or less than 0.5 m more than, what it needs
    npsh_unknown,     ///< its curve does not say
    speed_unsaid,     ///< an arrangement turns it down, and its model does not say that it can be
    against_shut,     ///< it runs and nothing flows
    below_least,      ///< a sump stands below its least depth
    spills_on_way,    ///< water goes over a rim on the way from the start depths
    cycles_unjudged,  ///< siphons go on for ever: what the levels cannot judge was left unjudged
};

/// One candidate in one arrangement.
struct CandidatePoint {
    std::int32_t arrangement = -1;
    double speed = kNotKnown;  ///< 0: it rests here
    settle::State state = settle::State::not_run;
    settle::PumpAnswer pump;
    double all_power_w = kNotKnown;  ///< of all pumps; NaN when one is not known
    double margin = kNotKnown;       ///< least margin of the targets that depend on it; infinite without any
    std::vector<settle::Target> missed;
};

/// The reason in figures; which of them are there depends on the fault.
struct Reason {
    Fault fault = Fault::none;
    std::int32_t arrangement = -1, routine = -1;
    settle::Target target;                                                        ///< missed; of beds: "fill_s" or "drain_s"
    double needed_head_m = kNotKnown, head_m = kNotKnown, flow_m3_s = kNotKnown;  ///< at the flow of the duty it lifts so much, and so much is needed
    double speed = kNotKnown;                                                     ///< at which it ran
    std::string about;                                                            ///< vessel that runs over
    double value = kNotKnown, limit = kNotKnown;                                  ///< NPSH, speed, flow against the end of its curve
    int others = 0;                                                               ///< further targets or arrangements it fails in
};

/// A doubt about a candidate, in the arrangement where it is greatest.
struct DoubtAt {
    Doubt doubt = Doubt::far_left;
    std::int32_t arrangement = -1;
    double value = kNotKnown;
    int others = 0;            ///< further arrangements in which it is the same
    std::int32_t vessel = -1;  ///< of below_least: the sump
    double limit = kNotKnown;  ///< and its least depth
};

/// Whether a candidate will do; `perhaps`: one known only by its label meets the targets at one end of its band.
enum class Standing : std::uint8_t { not_run, meets, perhaps, rejected };

/// A model, a number of them and a way to set their speed, looked at for one pump: what it does, costs, and why it will not do.
struct Candidate {
    std::int32_t model = -1;
    int count = 1;
    SpeedMode mode = SpeedMode::as_arranged;
    double speed = kNotKnown;  ///< of one_speed
    bool present = false;      ///< model and number as they stand in the layout now
    Standing standing = Standing::not_run;
    Reason reason;  ///< of rejected; of perhaps: what the low end of its band misses
    std::vector<DoubtAt> doubts;
    std::vector<CandidatePoint> points;                   ///< one per arrangement that counts
    std::vector<CandidatePoint> points_low, points_high;  ///< of a pump known only by its label
    std::vector<BedInTime> beds;
    bool followed = false;  ///< the routines were followed with it
    double price = kNotKnown;
    double energy_kwh_year = kNotKnown, all_energy_kwh_year = kNotKnown;
    double energy_cost_year = kNotKnown;
    double life_cycle_cost = kNotKnown;  ///< price, and the present worth of its own energy
    double least_npsh_spare_m = kNotKnown, least_npsh_ratio = kNotKnown;
    double least_margin = kNotKnown;
};

/// What is known of one pump.
struct PumpChoice {
    std::int32_t pump = -1;
    std::vector<Duty> duties;                             ///< one per arrangement that counts
    std::int32_t greatest_head = -1, greatest_flow = -1;  ///< index into duties, the same where it has nearly both; -1: nothing is needed
    bool any_unreachable = false;
    int tried = 0, to_try = 0;          ///< models and numbers looked at, of so many
    std::vector<Candidate> candidates;  ///< the best first; the rejected last
    Candidate as_it_is;                 ///< what stands there now, whether or not it is a candidate
    /// The winner, or null: the first that meets everything (or perhaps does).
    const Candidate* winner() const {
        return candidates.empty() || (candidates.front().standing != Standing::meets && candidates.front().standing != Standing::perhaps)
                   ? nullptr
                   : &candidates.front();
    }
};

// ---------------------------------------------------------------------------------------------- together, and standby

/// All winners in the farm at once.
struct Together {
    bool done = false;
    bool all_met = false;
    int rounds = 0;            ///< of choosing one after the other with the others' winners in place
    bool chosen_anew = false;  ///< the first choice of one pump was changed by the others
    /// One arrangement with all winners in it.
    struct InArrangement {
        std::int32_t arrangement = -1;
        settle::State state = settle::State::not_run;
        double margin = kNotKnown;
        std::vector<settle::Target> missed;
    };
    std::vector<InArrangement> arrangements;
    double price = kNotKnown, energy_kwh_year = kNotKnown, life_cycle_cost = kNotKnown;
};

/// One pump of those in parallel stops.
struct Failed {
    std::int32_t pump = -1, arrangement = -1;
    int left = 0;      ///< of its count still run
    bool ran = false;  ///< false: it rests in this arrangement anyway
    settle::State state = settle::State::not_run;
    std::string why;
    std::vector<settle::Target> unmet;        ///< met, or asked, while it ran
    std::vector<std::string> unmet_before;    ///< ids of targets missed already while it ran
    std::vector<std::int32_t> without_water;  ///< vessels that get nothing now and got some before; not sumps
    std::vector<std::int32_t> spills;
    std::vector<std::int32_t> bare;                                    ///< pumps whose intake is bare
    double flow_before_m3_s = kNotKnown, flow_after_m3_s = kNotKnown;  ///< of that pump
};

/// What is left unmet when a pump stops, pump by pump and arrangement by arrangement: as the layout is, or with the winners.
struct Standby {
    bool of_winners = false;
    std::vector<Failed> cases;
    std::vector<std::int32_t> without_check_valve;  ///< pumps through which water may run back while they stand
};

/// An arrangement that does not count, but in which a pump chosen runs.
struct Beside {
    std::int32_t arrangement = -1;
    settle::State state = settle::State::not_run;
    bool had_balance = false;            ///< as the layout is
    std::vector<settle::Target> missed;  ///< and met, as the layout is
    std::vector<std::int32_t> spills;    ///< vessels that run over, and do not as the layout is
    /// Whether the winners make this arrangement worse than it was.
    bool spoiled() const { return !missed.empty() || !spills.empty() || (had_balance && state == settle::State::no_solution); }
};

/// All that choose_pumps() finds, per pump asked about and for all winners together.
struct PumpsAnswer {
    std::vector<std::int32_t> arrangements;
    Costing costing;
    std::vector<PumpChoice> pumps;
    Together together;
    std::vector<Standby> standby;                     ///< as the layout is; then with the winners
    std::vector<Beside> beside;                       ///< when asked for
    std::vector<std::int32_t> routines_not_followed;  ///< in which a pump chosen takes part; when `beside` is asked for
    bool stopped = false;                             ///< ended before everything was looked at
    int tried = 0, to_try = 0;                        ///< models and numbers looked at for all pumps, of so many
};

/// Speeds of a candidate, per arrangement that counts: what the `run` lines would have to say.
std::vector<double> speeds_of(const Candidate& candidate);

/// `layout` must have passed validate(). Never throws on hydraulic grounds.
PumpsAnswer choose_pumps(const layout::Layout& layout, const PumpQuestion& question);

}  // namespace ebb::choose
