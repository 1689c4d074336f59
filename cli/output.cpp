#include "cli/output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <ctime>
#include <filesystem>
#include <system_error>
#include <utility>

#include "cli/endings.h"

namespace ebb::cli {
namespace {

constexpr std::size_t kStreamBytes = std::size_t{1} << 16U;  // one write per 64 KiB: few calls, and a pipe's reader sees progress
constexpr std::size_t kFileBytes = std::size_t{1} << 26U;    // results below 64 MiB touch the disk only when they are complete
constexpr mode_t kNewFileMode = 0666;                        // less the umask, as any program creates files

std::string reason() { return std::generic_category().message(errno); }

mode_t mode_for(const std::string& file) {
    struct stat old {};
    if (::stat(file.c_str(), &old) == 0) {
        return old.st_mode & 07777U;
    }
    const mode_t mask = ::umask(0);
    ::umask(mask);
    return kNewFileMode & ~mask;
}

std::string links_followed(const std::string& file) {
    constexpr int kMostLinks = 40;  // as the system itself has it
    std::error_code ignored;
    std::filesystem::path path = file;
    for (int i = 0; i < kMostLinks && std::filesystem::is_symlink(path, ignored); ++i) {  // also where the last one leads to nothing yet
        path = path.parent_path() / std::filesystem::read_symlink(path, ignored);
    }
    const std::filesystem::path followed = std::filesystem::weakly_canonical(path, ignored);
    return followed.empty() ? file : followed.string();
}

/// The part of a temporary's name that says whose it is: hidden, so that no pattern such as part-*.json takes it for a result.
std::string temporary_stem(const std::string& final) {
    constexpr std::size_t kLongestKept = 180;  // a name of 255 bytes is the most there can be
    const std::filesystem::path path = final;
    return (path.parent_path() / ("." + path.filename().string().substr(0, kLongestKept) + ".part-")).string();
}

std::string sixteen_letters() {
    static std::uint64_t count = 0;
    std::uint64_t random = 0;
    if (::getentropy(&random, sizeof random) != 0) {
        random = static_cast<std::uint64_t>(::getpid()) << 32U;
    }
    return fmt::format("{:016x}", random + count++);
}

/// A temporary nobody writes to any more: a writer that was killed lost its lock with it. A young one may be about to be locked.
bool is_left_over(const std::string& file) {
    constexpr std::time_t kYoung_s = 60;
    const int descriptor = ::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (descriptor < 0) {
        return false;
    }
    struct stat status {};
    const bool old = ::fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode) && std::time(nullptr) - status.st_mtime > kYoung_s;
    const bool free = old && ::flock(descriptor, LOCK_EX | LOCK_NB) == 0;
    ::close(descriptor);
    return free;
}

/// Takes away what a run that was killed left beside this file.
void clear_left_overs(const std::string& stem) {
    constexpr int kMostLookedAt = 10'000;  // of a folder of very many files: many runs into one folder stay quick
    const std::filesystem::path path = stem;
    std::error_code error;
    std::filesystem::directory_iterator entry(path.has_parent_path() ? path.parent_path() : std::filesystem::path("."), error);
    for (int i = 0; !error && entry != std::filesystem::directory_iterator() && i < kMostLookedAt; entry.increment(error), ++i) {
        const std::string name = entry->path().filename().string();
        if (name.starts_with(path.filename().string()) && name.size() == path.filename().string().size() + sixteen_letters().size() &&
            is_left_over(entry->path().string())) {
            ::unlink(entry->path().c_str());
        }
    }
}

/// The name in the folder is on the disk too, where the file system can promise it. False: it said that it could not be written.
bool folder_is_kept(const std::string& final) {
    const std::filesystem::path path = final;
    const int folder = ::open(path.has_parent_path() ? path.parent_path().c_str() : ".", O_RDONLY | O_CLOEXEC | O_DIRECTORY);
    if (folder < 0) {
        return true;  // it may be written to, but not listed
    }
    const bool kept = ::fsync(folder) == 0 || (errno != EIO && errno != ENOSPC && errno != EDQUOT);
    const int why = errno;
    ::close(folder);
    errno = why;
    return kept;
}

/// Some file systems say only when a file is closed that it is not written: a copy of the descriptor is closed.
void close_once(int descriptor, const std::string& file) {
    const int copy = ::fcntl(descriptor, F_DUPFD_CLOEXEC, 0);
    if (copy >= 0 && ::close(copy) != 0 && errno != EINTR) {
        throw OutputFailed(fmt::format("cannot write {}: {}", file.empty() ? "the results" : "to '" + file + "'", reason()));
    }
}

}  // namespace

Output::Output(std::string file) : file_(std::move(file)) {
    if (file_.empty()) {
        descriptor_ = STDOUT_FILENO;
        keep_bytes_ = kStreamBytes;
        return;
    }
    struct stat old {};
    const bool exists = ::stat(file_.c_str(), &old) == 0;
    if (exists && S_ISDIR(old.st_mode)) {
        throw OutputFailed(fmt::format("cannot write to '{}': it is a folder; name a file in it", file_));
    }
    if (exists && !S_ISREG(old.st_mode)) {
        descriptor_ = ::open(file_.c_str(), O_WRONLY | O_CLOEXEC);
        if (descriptor_ < 0) {
            throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
        }
        keep_bytes_ = kStreamBytes;
        return;
    }
    final_ = links_followed(file_);
    struct stat standard {};
    if (exists && ::fstat(STDOUT_FILENO, &standard) == 0 && standard.st_dev == old.st_dev && standard.st_ino == old.st_ino) {
        descriptor_ = STDOUT_FILENO;  // /dev/stdout, where the shell has sent that to a file: what stands in it already stays
        keep_bytes_ = kStreamBytes;
        return;
    }
    direct_ = false;
    keep_bytes_ = kFileBytes;
    const std::string folder = std::filesystem::path(final_).parent_path().string();
    if (::access(folder.empty() ? "." : folder.c_str(), W_OK | X_OK) != 0) {
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
    }
    if (exists && ::access(final_.c_str(), W_OK) != 0) {
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
    }
}

Output::~Output() {
    if (descriptor_ >= 0 && descriptor_ != STDOUT_FILENO) {
        ::close(descriptor_);
    }
    if (!temporary_.empty()) {
        ::unlink(temporary_.c_str());
        forget_unfinished(temporary_);
    }
}

void Output::write(std::string_view text) {
    any_ = any_ || !text.empty();
    buffer_.append(text);
    if (buffer_.size() >= keep_bytes_) {
        empty_buffer();
    }
}

void Output::open_temporary() {
    constexpr mode_t kNobodyElse = 0600;
    const std::string stem = temporary_stem(final_);
    clear_left_overs(stem);
    const std::string name = stem + sixteen_letters();
    note_unfinished(name);  // first: there is no moment at which it is there and nobody knows of it
    descriptor_ = ::open(name.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, kNobodyElse);
    if (descriptor_ < 0) {
        const std::string why = reason();
        forget_unfinished(name);
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, why));
    }
    temporary_ = name;
    ::flock(descriptor_, LOCK_EX | LOCK_NB);  // says that somebody writes to it; where there are no locks nothing is ever cleared
}

void Output::empty_buffer() {
    if (descriptor_ < 0) {
        open_temporary();
    }
    std::string_view rest = buffer_;
    while (!rest.empty()) {
        const ssize_t written = ::write(descriptor_, rest.data(), rest.size());
        if (written < 0 && errno == EINTR) {
            continue;
        }
        if (written < 0 && errno == EPIPE) {
            throw OutputClosed();
        }
        if (written < 0) {
            throw OutputFailed(fmt::format("cannot write {}: {}", file_.empty() ? "the results" : "to '" + file_ + "'", reason()));
        }
        rest.remove_prefix(static_cast<std::size_t>(written));
    }
    buffer_.clear();
}

void Output::finish() {
    empty_buffer();
    if (direct_) {
        close_once(descriptor_, file_);
        return;
    }
    struct stat old {};
    if (::stat(final_.c_str(), &old) == 0 && (old.st_uid != ::geteuid() || old.st_gid != ::getegid())) {
        const bool given = ::fchown(descriptor_, old.st_uid, old.st_gid) == 0;  // only the superuser can: else it is ours now
        static_cast<void>(given);
    }
    const bool written = ::fchmod(descriptor_, mode_for(final_)) == 0 && ::fsync(descriptor_) == 0;
    const int why = errno;
    const bool closed = ::close(descriptor_) == 0;
    descriptor_ = -1;
    if (!written) {
        errno = why;
    }
    if (!written || !closed || ::rename(temporary_.c_str(), final_.c_str()) != 0) {
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
    }
    forget_unfinished(temporary_);
    temporary_.clear();
    if (!folder_is_kept(final_)) {
        throw OutputFailed(fmt::format("'{}' is written, but its folder is not safe on the disk: {}", file_, reason()));
    }
}

bool Output::same_file_as(const Output& other) const {
    const auto seen = [](const Output& output, struct stat& status) {
        return (output.direct_ ? ::fstat(output.descriptor_, &status) : ::stat(output.final_.c_str(), &status)) == 0;
    };
    struct stat own {
    }, others{};
    if (seen(*this, own) && seen(other, others)) {
        return own.st_dev == others.st_dev && own.st_ino == others.st_ino && !S_ISCHR(own.st_mode);
    }
    std::error_code ignored;  // neither is there yet; a path of which nothing is there stays relative unless it is made absolute first
    const auto whole = [&](const Output& output) {
        return std::filesystem::weakly_canonical(std::filesystem::absolute(output.final_, ignored), ignored);
    };
    return !direct_ && !other.direct_ && whole(*this) == whole(other);
}

bool Output::overwrites(const std::string& file) const {
    std::error_code ignored;
    return !final_.empty() && std::filesystem::equivalent(final_, file, ignored);
}

}  // namespace ebb::cli
