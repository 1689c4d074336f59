#pragma once
// The whole answer to "which pipe sizes?": the cheapest design found, what is proved of it, how it stands beside what is drawn, which pipes to
// enlarge next, and what more margin costs.

#include <functional>
#include <stop_token>
#include <string>
#include <vector>

#include "solver/choose/bed_times.h"
#include "solver/choose/bound.h"
#include "solver/choose/sizing_search.h"
#include "solver/settle/answer.h"

namespace ebb::choose {

/// What is asked of size_pipes().
struct SizingQuestion {
    std::vector<std::int32_t> arrangements;  ///< empty: those that count (economy.h)
    EconomySaid said;
    double effort = 1.0;           ///< of the ordinary effort of the search
    std::int64_t bound_nodes = 1;  ///< of the lower bound; 0: none
    bool until_stopped = false;    ///< search again and again, from other seeds, until stopped (or proved)
    bool trade_off = false;
    bool routines = true;  ///< follow the routines: do the beds fill and drain in time?
    unsigned threads = 1;
    std::stop_token stop;
    std::function<void(double share)> progress;  ///< of the work; from any thread, one at a time
};

/// One choice in the design that is shown.
struct ChosenSize {
    std::size_t choice = 0, option = 0;
    double cost = 0.0;
    double drawn_bore_m = layout::kNotSaid;  ///< the widest of its pipes as drawn
    std::string drawn_size = {};             ///< its name there; empty when only a bore was drawn
    bool changed = false;
    double length_m = 0.0;  ///< of all its pipes
    // in the arrangement and the pipe of it where the water is quickest
    double velocity_m_s = layout::kNotSaid, flow_m3_s = layout::kNotSaid;
    std::int32_t quickest_pipe = -1, quickest_in = -1;
    // drains: where it is fullest; NaN for pipes under pressure
    double fill_ratio = layout::kNotSaid;
    std::int32_t fullest_pipe = -1, fullest_in = -1;
};

/// A chosen drain that is narrower than what lets water into it: not against any limit, but against common practice (solids, roots).
struct NarrowDrain {
    std::int32_t drain = -1;
    std::string after;  ///< id of the drain, standpipe or siphon above it
    double bore_m = 0.0, after_bore_m = 0.0;
};

/// Whether the beds keep the times the layout gives them.
struct TimesKept {
    bool asked = false;                      ///< a bed has a time to keep
    bool followed = false;                   ///< and routines were followed
    std::vector<BedInTime> chosen;           ///< with the chosen sizes
    std::vector<BedInTime> drawn;            ///< as drawn
    std::vector<std::int32_t> not_seen;      ///< beds with a time to keep that no routine lets be judged
    int rounds = 0;                          ///< of choosing anew, with more water asked for beds that filled too late
    double cost_without = layout::kNotSaid;  ///< of the sizes that were cheapest before more was asked
};

/// A design one size larger somewhere.
struct Enlargement {
    std::size_t choice = 0, option = 0;
    double more_cost = 0.0;    ///< of pipes and energy together; may be negative
    double more_margin = 0.0;  ///< of the worst target
};

/// The cheapest design found that leaves every target so much to spare.
struct TradeOffPoint {
    double margin = 0.0;  ///< asked of every target
    bool found = false;
    Design design;
    Verdict verdict;
};

/// The sizes found, what is proved of them, and what stands beside: the layout as drawn, enlargements, the trade-off.
struct SizingAnswer {
    SizingProblem problem;
    SizingResult result;
    Verdict drawn;                ///< of the layout as drawn (Evaluator::explain_drawn)
    Verdict largest;              ///< with every choice at its largest size
    SizingResult without_limits;  ///< where no design is allowed: the same targets without the limits
    BoundResult bound;
    bool bounded = false;      ///< `bound` is there
    bool proven = false;       ///< the design is the cheapest there is (or, without one, none is allowed)
    double lower_bound = 0.0;  ///< of what the layout asks, without SizingProblem::feeds: it holds with them too
    TimesKept times;
    layout::Layout sized;                   ///< with the design in it; empty when none was found
    std::vector<settle::Answer> solved;     ///< of the design, one for each arrangement of the problem
    std::vector<NarrowDrain> narrow;        ///< of the design
    std::vector<ChosenSize> sizes;          ///< empty when no design was found
    std::vector<Enlargement> enlargements;  ///< the most margin for the money first; empty without targets
    std::vector<TradeOffPoint> trade_off;   ///< by rising margin
    bool stopped = false;
};

/// `layout` must have passed validate() and outlive the answer.
SizingAnswer size_pipes(const layout::Layout& layout, const SizingQuestion& question);

}  // namespace ebb::choose
