#include "cli/endings.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <climits>
#include <csignal>
#include <cstddef>
#include <cstring>

namespace ebb::cli {
namespace {

constexpr std::size_t kMostFiles = 16;  // a command writes three at most

/// A name is written while `taken` is 1 and read by the handler while it is 2.
struct Entry {
    std::atomic<int> taken = 0;
    std::array<char, PATH_MAX> name{};
};
std::array<Entry, kMostFiles> entries;
static_assert(std::atomic<int>::is_always_lock_free);

extern "C" void on_end(int signal) { end_by(signal); }

void heed(int signal) {
    struct sigaction before {};
    if (::sigaction(signal, nullptr, &before) == 0 && before.sa_handler == SIG_IGN) {  // as nohup asks
        return;
    }
    std::signal(signal, on_end);
}

/// One that was closed is opened so that what is written to standard output still fails: results would be lost.
void open_if_closed(int descriptor) {
    if (::fcntl(descriptor, F_GETFD) >= 0) {
        return;
    }
    const int opened = ::open("/dev/null", descriptor == STDERR_FILENO ? O_WRONLY : O_RDONLY);  // the lowest that is free
    if (opened >= 0 && opened != descriptor) {
        ::dup2(opened, descriptor);
        ::close(opened);
    }
}

}  // namespace

void prepare_for_endings() {
    for (const int descriptor : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO}) {
        open_if_closed(descriptor);
    }
    std::signal(SIGPIPE, SIG_IGN);
    std::signal(SIGXFSZ, SIG_IGN);
    for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
        heed(signal);
    }
}

void note_unfinished(const std::string& file) {
    for (std::size_t i = 0; i < entries.size() && file.size() < PATH_MAX; ++i) {
        int is_free = 0;
        if (entries[i].taken.compare_exchange_strong(is_free, 1)) {
            std::memcpy(entries[i].name.data(), file.c_str(), file.size() + 1);
            entries[i].taken = 2;
            return;
        }
    }
}

void forget_unfinished(const std::string& file) {
    for (Entry& entry : entries) {
        if (entry.taken == 2 && file == entry.name.data()) {
            entry.taken = 0;
        }
    }
}

void end_by(int signal) {
    for (const Entry& entry : entries) {
        if (entry.taken == 2) {
            ::unlink(entry.name.data());
        }
    }
    std::signal(signal, SIG_DFL);
    sigset_t only;
    ::sigemptyset(&only);
    ::sigaddset(&only, signal);
    ::raise(signal);
    ::pthread_sigmask(SIG_UNBLOCK, &only, nullptr);
    constexpr int kBySignal = 128;
    ::_exit(kBySignal + signal);
}

}  // namespace ebb::cli
