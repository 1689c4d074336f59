#include "cli/patience.h"

#include <fmt/format.h>
#include <unistd.h>

#include <csignal>

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

Patience::Patience(std::size_t arrangements)
    : arrangements_(arrangements), begin_(std::chrono::steady_clock::now()), terminal_(::isatty(STDERR_FILENO) == 1) {
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

bool Patience::wants_end(std::size_t done) {
    constexpr std::chrono::milliseconds kQuiet{800};  // nobody needs to be told of work that is over before it is read
    if (terminal_ && std::chrono::steady_clock::now() - begin_ > kQuiet) {
        tell_plainly(fmt::format("\r\x1b[Karrangement {} of {}", done + 1, arrangements_));
        line_shown_ = true;
    }
    return end_wanted != 0;
}

}  // namespace ebb::cli
