#include "cli/patience.h"

#include <condition_variable>
#include <fmt/format.h>
#include <mutex>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <cstdint>
#include <ctime>
#include <new>
#include <system_error>
#include <utility>

#include "cli/endings.h"
#include "cli/messages.h"

namespace ebb::cli {
namespace {

// A signal handler can reach nothing but globals: these are the only ones of the program.
volatile std::sig_atomic_t end_wanted = 0, somebody_waits = 0;
std::atomic<std::int64_t> last_ms = 0;  ///< when an end was wanted; 0: never
static_assert(std::atomic<std::int64_t>::is_always_lock_free);

std::int64_t now_ms() {
    constexpr std::int64_t kPerSecond = 1000, kPerMillisecond = 1'000'000;
    timespec now{};
    ::clock_gettime(CLOCK_MONOTONIC, &now);  // POSIX lets a handler call it
    return std::int64_t{now.tv_sec} * kPerSecond + now.tv_nsec / kPerMillisecond;
}

/// A launcher passes one Ctrl-C on to programs that the terminal has told already: the second of such a pair is no wish of its own.
extern "C" void on_interrupt(int signal) {
    constexpr std::int64_t kOneWish_ms = 500;
    const std::int64_t now = now_ms(), last = last_ms;
    if (last != 0 && now - last < kOneWish_ms) {
        return;
    }
    last_ms = now;
    if (end_wanted == 0 && somebody_waits != 0) {
        end_wanted = 1;
        return;
    }
    end_by(signal);  // enough: ends at once
}

}  // namespace

Patience::Patience(std::size_t parts, std::string what, bool terminate_too)
    : parts_(parts), what_(std::move(what)), begin_(std::chrono::steady_clock::now()), shown_(begin_), terminal_(::isatty(STDERR_FILENO) == 1) {
    end_wanted = 0;
    somebody_waits = 1;
    std::signal(SIGINT, on_interrupt);
    if (terminate_too) std::signal(SIGTERM, on_interrupt);
}

Patience::~Patience() {
    clear_line();
    somebody_waits = 0;  // the handler stays, for the second of a pair that comes when the first has been heeded
}

void Patience::clear_line() {
    if (line_shown_) {
        tell_plainly("\r\x1b[K");
        line_shown_ = false;
    }
}

void Patience::show_line(const std::string& line) {
    constexpr std::chrono::milliseconds kQuiet{800};  // nobody needs to be told of work that is over before it is read
    if (terminal_ && std::chrono::steady_clock::now() - begin_ > kQuiet) {
        tell_plainly("\r\x1b[K" + line);
        line_shown_ = true;
    }
}

bool Patience::wants_end(std::size_t done) {
    show_line(fmt::format("{} {} of {}", what_, done + 1, parts_));
    return end_wanted != 0;
}

void Patience::tell_share(double share) {
    constexpr std::chrono::milliseconds kBetween{200};
    constexpr double kPercent = 100.0;
    if (end_wanted != 0) {
        stop_.request_stop();
    }
    const auto now = std::chrono::steady_clock::now();
    if (now - shown_ < kBetween) {
        return;
    }
    shown_ = now;
    const std::string which = parts_ > 1 ? fmt::format("{} {} of {}: ", what_, done_ + 1, parts_) : std::string();
    show_line(fmt::format("{}{:.0f} %", which, kPercent * share));
}

Teller::Teller(Patience& patience) : patience_(patience) {
    try {
        thread_ = std::jthread([this](const std::stop_token& over) { tell(over); });
    } catch (const std::system_error&) {  // NOLINT(bugprone-empty-catch): without it ready() tells
    } catch (const std::bad_alloc&) {     // NOLINT(bugprone-empty-catch): the same
    }
}

void Teller::ready(double share) {
    ready_ = share;
    if (thread_.joinable()) return;
    if (const std::unique_lock alone(telling_, std::try_to_lock); alone) patience_.tell_share(share);
}

void Teller::tell(const std::stop_token& over) {
    constexpr std::chrono::milliseconds kBetween{50};
    std::mutex waiting;
    std::condition_variable_any woken;
    std::unique_lock lock(waiting);
    while (!over.stop_requested()) {
        patience_.tell_share(ready_);
        woken.wait_for(lock, over, kBetween, [] { return false; });
    }
}

}  // namespace ebb::cli
