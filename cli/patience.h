#pragma once
// Long work: a word of progress on a terminal, and a clean end when the user has had enough.

#include <chrono>
#include <cstddef>

namespace ebb::cli {

/// While one stands, the first Ctrl-C asks for an end and the second ends at once. The solver is not interrupted inside an
/// arrangement: what is done is shown whole, the rest is not begun.
class Patience {
public:
    explicit Patience(std::size_t arrangements);
    ~Patience();
    Patience(const Patience&) = delete;
    Patience& operator=(const Patience&) = delete;

    /// True when the user wants an end. Call before each arrangement: `done` of them are ready.
    bool wants_end(std::size_t done);

private:
    void clear_line();

    std::size_t arrangements_;
    std::chrono::steady_clock::time_point begin_;
    bool terminal_;
    bool line_shown_ = false;
};

}  // namespace ebb::cli
