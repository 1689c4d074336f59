#include "cli/survey_keep.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <filesystem>
#include <system_error>
#include <utility>

#include "cli/messages.h"
#include "cli/survey_run.h"

namespace ebb::cli {
namespace {

constexpr std::size_t kAtOnce = std::size_t{1} << 20U;

std::string reason() { return std::generic_category().message(errno); }

}  // namespace

SurveyKeeper::SurveyKeeper(std::string file, std::chrono::seconds every, Part now, bool has_rows)
    : file_(std::move(file)), every_(every), next_(std::chrono::steady_clock::now() + every), now_(std::move(now)), has_rows_(has_rows) {}

SurveyKeeper::~SurveyKeeper() {
    if (rows_ >= 0) ::close(rows_);
}

bool SurveyKeeper::open() {
    const std::string remedy = "; name another file, or take it away to begin anew";
    {
        const Output trial(file_);  // it can be written to
    }
    std::error_code error;
    if (std::filesystem::exists(file_, error)) {
        kept_ = read_part_file(file_);
        if (!kept_) return false;
        if (!(kept_->question == now_.question) || kept_->number != now_.number) {
            const std::string differs =
                kept_->question == now_.question ? std::string("of another part") : what_differs(*kept_, now_, "it was kept of", "this is");
            tell(fmt::format("--keep '{}' holds another survey: {}{}", file_, differs, remedy));
            return false;
        }
        if (kept_->first != now_.first || kept_->last != now_.last || kept_->end < kept_->first || kept_->end > kept_->last ||
            kept_->statistics.rows != kept_->end - kept_->first || !now_.statistics.fits(kept_->statistics)) {
            tell(fmt::format("--keep '{}' is not how far this survey was{}", file_, remedy));
            return false;
        }
        if (kept_->rows.has_value() != has_rows_) {
            tell(fmt::format("--keep '{}' was kept {} rows, and now they are {}wanted{}", file_, has_rows_ ? "without" : "with",
                             has_rows_ ? "" : "not ", remedy));
            return false;
        }
    }
    return !has_rows_ || (open_rows() && rows_are_whole());
}

bool SurveyKeeper::open_rows() {
    constexpr mode_t kNewFileMode = 0666;
    rows_ = ::open(rows_file().c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NONBLOCK, kNewFileMode);
    struct stat status {};
    if (rows_ < 0 || ::fstat(rows_, &status) != 0) {
        tell(fmt::format("cannot write to '{}': {}", rows_file(), reason()));
        return false;
    }
    if (!S_ISREG(status.st_mode)) {
        tell(fmt::format("cannot keep rows in '{}': it is no file", rows_file()));
        return false;
    }
    if (::flock(rows_, LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
        tell(fmt::format("--keep '{}' is in use: another survey is keeping its rows there", file_));
        return false;
    }
    if (!kept_ && status.st_size > 0 && ::ftruncate(rows_, 0) != 0) {  // of a run that was ended before it kept anything
        tell(fmt::format("cannot write to '{}': {}", rows_file(), reason()));
        return false;
    }
    return true;
}

/// The bytes that count are those that were written; what a killed run wrote beyond them goes.
bool SurveyKeeper::rows_are_whole() {
    std::string piece;
    for (std::uint64_t at = 0; kept_ && at < kept_->rows->bytes; at += piece.size()) {
        if (!read_rows(at, piece)) break;
        sum_.add(piece);
    }
    if (kept_ && (sum_.bytes() != kept_->rows->bytes || sum_.text() != kept_->rows->checksum)) {
        tell(fmt::format("the rows in '{}' are not as they were written; take '{}' away to begin anew", rows_file(), file_));
        return false;
    }
    const auto bytes = static_cast<off_t>(sum_.bytes());
    if (::ftruncate(rows_, bytes) == 0 && ::lseek(rows_, bytes, SEEK_SET) == bytes) return true;
    tell(fmt::format("cannot write to '{}': {}", rows_file(), reason()));
    return false;
}

bool SurveyKeeper::read_rows(std::uint64_t at, std::string& piece) const {
    piece.resize(static_cast<std::size_t>(std::min<std::uint64_t>(kAtOnce, kept_->rows->bytes - at)));
    const ssize_t got = ::pread(rows_, piece.data(), piece.size(), static_cast<off_t>(at));
    piece.resize(static_cast<std::size_t>(std::max<ssize_t>(got, 0)));
    return got > 0;
}

void SurveyKeeper::add_rows(std::string_view text) {
    if (!has_rows_ || broken_) return;
    waiting_ += text;
    sum_.add(text);
    if (waiting_.size() >= kAtOnce) flush_rows();
}

void SurveyKeeper::flush_rows() {
    for (std::string_view rest = waiting_; !rest.empty() && !broken_;) {
        const ssize_t written = ::write(rows_, rest.data(), rest.size());
        if (written > 0)
            rest.remove_prefix(static_cast<std::size_t>(written));
        else if (errno != EINTR)
            give_up(fmt::format("cannot write to '{}': {}", rows_file(), reason()));
    }
    waiting_.clear();
}

void SurveyKeeper::save(std::uint64_t end, const survey::Statistics& statistics) {
    if (broken_) return;
    const auto begin = std::chrono::steady_clock::now();
    if (has_rows_) {
        flush_rows();
        if (!broken_ && ::fdatasync(rows_) != 0) give_up(fmt::format("cannot write to '{}': {}", rows_file(), reason()));
        if (broken_) return;
        now_.rows = PartRows{rows_file(), sum_.bytes(), sum_.text()};
    }
    now_.end = end;
    now_.statistics = statistics;
    try {
        Output output(file_);
        write_part(now_, output);
        output.finish();
    } catch (const OutputFailed& failed) {
        give_up(failed.what());
    }
    constexpr int kShareOfWork = 50;  // where writing is slow it is done more rarely
    const auto done = std::chrono::steady_clock::now();
    next_ = done + std::max(every_, kShareOfWork * (done - begin));
}

void SurveyKeeper::give_up(const std::string& why) {
    broken_ = true;
    tell(why + "; the survey goes on, and what was kept before stays");
}

}  // namespace ebb::cli
