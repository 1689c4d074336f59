#pragma once
// `survey --keep FILE`: how far a survey is, as a file that appears whole or not at all, and a survey that goes on from there.
//
// What is kept is a part (survey_parts.h) that was broken off: what was asked, with a checksum of everything read, and the statistics to the
// last bit. Rows, when rows are wanted, stand beside it as FILE.rows: the kept file says how many bytes of them count.

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "cli/output.h"
#include "cli/survey_parts.h"

namespace ebb::cli {

class SurveyKeeper {
public:
    /// `now`: what is asked, as a part with its range and nothing done; `has_rows`: rows are wanted.
    SurveyKeeper(std::string file, std::chrono::seconds every, Part now, bool has_rows);
    ~SurveyKeeper();
    SurveyKeeper(const SurveyKeeper&) = delete;
    SurveyKeeper& operator=(const SurveyKeeper&) = delete;

    /// Reads what is kept, if there is anything. False: it cannot be gone on from; that has been told.
    bool open();

    /// Where to begin, and what is known before it; nothing when the survey begins anew.
    const std::optional<Part>& kept() const { return kept_; }

    /// The rows that are kept, to `take`, piece by piece. False: they are not what was written; that has been told.
    template <typename Take>
    bool rows(const Take& take) const {
        std::string piece;
        for (std::uint64_t at = 0; kept_ && kept_->rows && at < kept_->rows->bytes; at += piece.size()) {
            if (!read_rows(at, piece)) return false;
            take(piece);
        }
        return true;
    }

    /// Adds rows that come next.
    void add_rows(std::string_view text);

    /// It is time to save again.
    bool due() const { return !broken_ && std::chrono::steady_clock::now() >= next_; }

    /// Keeps this. What cannot be kept is told, once, and the survey goes on without.
    void save(std::uint64_t end, const survey::Statistics& statistics);

private:
    bool open_rows();
    bool rows_are_whole();
    bool read_rows(std::uint64_t at, std::string& piece) const;
    void flush_rows();
    void give_up(const std::string& why);
    std::string rows_file() const { return file_ + ".rows"; }

    std::string file_;
    std::chrono::steady_clock::duration every_;
    std::chrono::steady_clock::time_point next_;
    Part now_;
    bool has_rows_, broken_ = false;
    std::optional<Part> kept_;
    int rows_ = -1;  ///< descriptor
    std::string waiting_;
    Checksum sum_;
};

}  // namespace ebb::cli
