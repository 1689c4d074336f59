#pragma once
// A part of a survey as a file: what it was asked, and its statistics to the last bit, so that parts made anywhere can be put together.

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cli/output.h"
#include "netfiles/reader.h"
#include "solver/survey/statistics.h"

namespace ebb::cli {

/// A sum over bytes that finds a file cut short or changed by accident (not by malice): words of eight bytes folded as FNV-1a folds bytes.
class Checksum {
public:
    void add(std::string_view bytes);
    std::uint64_t bytes() const { return bytes_; }
    /// Sixteen hexadecimal digits.
    std::string text() const;

private:
    void fold(std::uint64_t word);

    std::uint64_t sum_ = 0xcbf29ce484222325U, waiting_ = 0, bytes_ = 0;
};

/// What all parts of one survey have in common.
struct PartQuestion {
    std::string version, layout_checksum, arrangement;
    std::vector<std::string> switches;  ///< as --switch takes them: "VB1", "SB1=short"
    int at_most_off = -1;
    std::uint64_t combinations = 0, worst = 0, parts = 0;
    bool first_taken = false;  ///< no arrangement was named

    friend bool operator==(const PartQuestion&, const PartQuestion&) = default;
};

/// The CSV of a part, when one was written.
struct PartRows {
    std::string file;
    std::uint64_t bytes = 0;
    std::string checksum;
};

struct Part {
    PartQuestion question;
    std::string layout_file;                     ///< where it stood; on another machine it may stand elsewhere
    std::uint64_t number = 0;                    ///< from 1
    std::uint64_t first = 0, last = 0, end = 0;  ///< combinations from first to last (exclusive) were wanted; end: where it stopped
    std::optional<PartRows> rows;
    survey::Statistics statistics;

    std::string file;  ///< it was read from
};

/// The combinations of part `number` of `parts`: whole blocks, where there are enough of them.
struct PartRange {
    std::uint64_t first, last;
};
PartRange range_of_part(std::uint64_t number, std::uint64_t parts, std::uint64_t combinations);

/// The checksum of everything that was read for a layout.
std::string checksum_of(const netfiles::ReadResult& read);

void write_part(const Part& part, Output& output);

/// Nothing: told what is wrong with the file.
std::optional<Part> read_part_file(const std::string& file);

}  // namespace ebb::cli
