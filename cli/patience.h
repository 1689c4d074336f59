#pragma once
// Long work: a word of progress on a terminal, and a clean end when the user has had enough.

#include <atomic>
#include <chrono>
#include <cstddef>
#include <mutex>
#include <stop_token>
#include <string>
#include <thread>

namespace ebb::cli {

/// While one stands, the first Ctrl-C asks for an end and the second ends at once; two within half a second are one. The solver is
/// not interrupted inside an arrangement: what is done is shown whole, the rest is not begun. A run in time ends where it is.
class Patience {
public:
    /// `terminate_too`: what Ctrl-C asks for, SIGTERM asks for too. `what`: the word for one of the `parts` that are worked through.
    explicit Patience(std::size_t parts, std::string what = "arrangement", bool terminate_too = false);
    ~Patience();
    Patience(const Patience&) = delete;
    Patience& operator=(const Patience&) = delete;

    /// True when the user wants an end. Call before each arrangement: `done` of them are ready.
    bool wants_end(std::size_t done);

    /// Part `done` begins (from 0): what tell_share() speaks of.
    void begin_part(std::size_t done) { done_ = done; }

    /// Tells how much of the part is done, now and then, and passes on that the user wants an end. To be called often.
    void tell_share(double share);

    /// Is asked to stop once the user wants an end and tell_share() has been called.
    std::stop_token stop() const { return stop_.get_token(); }

    /// Takes the word of progress off the terminal, before results are written.
    void clear_line();

private:
    void show_line(const std::string& line);

    std::size_t parts_;
    std::string what_;
    std::size_t done_ = 0;
    std::chrono::steady_clock::time_point begin_, shown_;
    std::stop_source stop_;
    bool terminal_;
    bool line_shown_ = false;
};

/// While one stands, a thread of its own tells how far the work is and passes on Ctrl-C, however long one part of the work takes. Where the
/// system has no thread to give, whoever reports progress tells it, unless another is telling.
class Teller {
public:
    explicit Teller(Patience& patience);
    Teller(const Teller&) = delete;
    Teller& operator=(const Teller&) = delete;

    /// From any thread.
    void ready(double share);

private:
    void tell(const std::stop_token& over);

    Patience& patience_;
    std::atomic<double> ready_{0.0};
    std::mutex telling_;   ///< where there is no thread
    std::jthread thread_;  // the last: it uses the others
};

}  // namespace ebb::cli
