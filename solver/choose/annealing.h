#pragma once
// One walk of the search for sizes (sizing_search.h says how): annealing, then exchanges until none is cheaper.

#include <functional>

#include "solver/choose/random.h"
#include "solver/choose/sizing.h"

namespace ebb::choose {

/// A design and what it is worth.
struct Judged {
    Design design;
    Verdict verdict;
};

class Annealing {
public:
    struct Effort {
        std::int64_t evaluations = 0;  ///< of this walk
        std::uint64_t seed = 1;
        bool walk_from_start = false;  ///< Evaluator::walk_from_now_on
    };

    /// `goes_on`: asked before every evaluation with the number so far; false ends the walk. `found`: told of every better allowed design.
    Annealing(const SizingProblem& problem, const Effort& effort, std::function<bool(std::int64_t)> goes_on,
              std::function<void(const Judged&)> found);

    void run(const Design& start);

    bool has_allowed() const { return has_allowed_; }
    const Judged& best() const { return best_; }  ///< allowed, or else the one that misses least
    std::int64_t evaluations() const { return evaluations_; }

private:
    struct Memo {
        std::uint64_t key = 0;
        double energy_kwh = 0.0, missed = 0.0;
        bool full = false, allowed = false, solved = false;
    };
    struct Move {
        std::size_t one = 0, other = 0;  ///< the same: only one changes
        std::uint8_t one_to = 0, other_to = 0;
    };

    bool judge(const Design& design, double pipes_cost, Verdict& verdict);
    void remember(const Design& design, const Verdict& verdict);
    Move draw_move(const Design& design);
    void scale_temperatures();
    void lead_price(bool allowed);
    double cost_after(const Design& design, double cost, const Move& move) const;
    void anneal(const Design& start);
    void exchange();
    bool exchange_once();

    const SizingProblem& problem_;
    Effort effort_;
    std::function<bool(std::int64_t)> goes_on_;
    std::function<void(const Judged&)> found_;
    Evaluator evaluator_;
    Random random_;
    std::vector<std::vector<std::uint64_t>> marks_;  ///< per choice and option: a design's key is the exclusive or of its marks
    std::vector<Memo> memo_;
    Judged best_;
    bool has_allowed_ = false, ended_ = false;
    std::int64_t evaluations_ = 0;
    double price_ = 0.0, hot_ = 0.0, cold_ = 0.0;
    int recent_ = 0, recent_allowed_ = 0;
};

}  // namespace ebb::choose
