#include "cli/output.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <system_error>
#include <utility>

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
    direct_ = false;
    keep_bytes_ = kFileBytes;
    final_ = links_followed(file_);
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
    std::string name = final_ + ".part-XXXXXX";
    descriptor_ = ::mkostemp(name.data(), O_CLOEXEC);
    if (descriptor_ < 0) {
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
    }
    temporary_ = name;
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
        return;
    }
    const bool written = ::fchmod(descriptor_, mode_for(final_)) == 0 && ::fsync(descriptor_) == 0;
    const bool closed = ::close(descriptor_) == 0;
    descriptor_ = -1;
    if (!written || !closed || ::rename(temporary_.c_str(), final_.c_str()) != 0) {
        throw OutputFailed(fmt::format("cannot write to '{}': {}", file_, reason()));
    }
    temporary_.clear();
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
    return !direct_ && std::filesystem::equivalent(final_, file, ignored);
}

}  // namespace ebb::cli
