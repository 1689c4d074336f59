#include "cli/patience.h"

#include <fmt/format.h>
#include <unistd.h>

#include <csignal>
#include <utility>

#include "cli/messages.h"

namespace ebb::cli {
namespace {

// A signal handler can reach nothing but a global: this is the only one of the program.
volatile std::sig_atomic_t end_wanted = 0;

extern "C" void on_interrupt(int signal) {
    end_wanted = 1;
    std::signal(signal, SIG_DFL);  // the next one ends at once
}

}  // namespace

Patience::Patience(std::size_t parts, std::string what)
    : parts_(parts), what_(std::move(what)), begin_(std::chrono::steady_clock::now()), shown_(begin_), terminal_(::isatty(STDERR_FILENO) == 1) {
    end_wanted = 0;
    std::signal(SIGINT, on_interrupt);
}

Patience::~Patience() {
    clear_line();
    std::signal(SIGINT, SIG_DFL);
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

}  // namespace ebb::cli
