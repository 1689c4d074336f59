#pragma once
// Many arrangements at once: each thread has a Farm of its own, arrangements are taken in order, answers are handed out in order.
// An answer does not depend on which thread made it, or on how many there were: every arrangement is solved from its own start.

#include <condition_variable>
#include <cstddef>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "solver/settle/crew.h"
#include "solver/settle/farm.h"

namespace ebb::settle {

/// Solves several arrangements side by side and hands the answers out in order.
class Many {
public:
    /// Starts solving `arrangements` of a validated layout, which must outlive this, on `threads` threads (at least one).
    Many(const layout::Layout& layout, Options options, std::vector<std::int32_t> arrangements, unsigned threads);

    /// Ends after the arrangements under way; the rest is never begun.
    ~Many();
    Many(const Many&) = delete;
    Many& operator=(const Many&) = delete;

    /// Waits for the answer of the `index`-th arrangement asked for and hands it out. Each may be taken once. Throws what solving threw; where the
    /// system had no thread to give, it solves here.
    Answer take(std::size_t index);

private:
    void work();
    void solve_here(std::size_t index);

    const layout::Layout* layout_;
    Options options_;
    std::vector<std::int32_t> arrangements_;
    std::mutex mutex_;
    std::condition_variable ready_;
    std::size_t next_ = 0;
    std::vector<std::optional<Answer>> answers_;
    bool alone_ = false;  ///< no thread could be had
    bool failed_ = false;
    std::unique_ptr<Farm> own_;
    Crew crew_;  // the last: its threads use the others
};

}  // namespace ebb::settle
