#pragma once
// Every combination of a few things on and off, solved: rows of plain numbers, handed out block by block in the order of the combinations.
//
// A block is a fixed run of combinations (the same whatever the threads, the part asked for or the machine), solved as a whole by one thread;
// nothing in its rows depends on who solved it or what was solved before.

#include <cstdint>
#include <functional>
#include <memory>
#include <stop_token>
#include <vector>

#include "solver/settle/farm.h"
#include "solver/survey/question.h"

namespace ebb::survey {

/// What a row says of a target; `not_asked`: its water is shut off on purpose.
enum class TargetState : std::uint8_t { unknown, met, missed, not_asked };

/// One wish of the layout, in the order of judge(): which rows of Block::target_* are about what.
struct TargetColumn {
    std::int32_t vessel = -1, tee = -1;  ///< one of them
    const char* quantity = "";           ///< "turnover_s", "inflow_m3_s", "pressure_m"
    bool at_most = false;
    double wanted = 0.0;
};

/// What stands out in a row, as bits.
enum Alarm : std::uint8_t {
    kIntakeBare = 1,     ///< a running pump draws air
    kBeyondCurve = 2,    ///< a pump works beyond the last point of its curve
    kAgainstShut = 4,    ///< a pump runs and nothing flows
    kBelowLeast = 8,     ///< a vessel stands below its least depth
    kSpills = 16,        ///< water goes over a rim, now or on the way
    kSolvedAlone = 32,   ///< not an alarm: solved by the single solve (the quick way did not apply), for the count
    kBelowVapour = 64,   ///< water would have to hang lower below the pressure of the air than any can: a line breaks
    kUnderVacuum = 128,  ///< water hangs below the pressure of the air, less than that
};

/// Water at a tee that hangs below the pressure of the air, in a row.
struct Hanging {
    std::uint32_t row = 0;
    std::int32_t tee = 0;
    double pressure_m = 0.0;
    bool breaks = false;  ///< kBelowVapour, else kUnderVacuum
    friend bool operator==(const Hanging&, const Hanging&) = default;
};

/// Rows of consecutive combinations. Arrays are row after row: value of thing i in row r stands at [r * things + i]. NaN: there is none.
struct Block {
    std::uint64_t first = 0;  ///< combination of row 0
    std::size_t rows = 0, vessels = 0, pumps = 0, targets = 0;
    std::vector<settle::State> state;                               ///< per row
    std::vector<std::uint8_t> alarms;                               ///< per row
    std::vector<double> depth_m, volume_m3, inflow_m3_s;            ///< per row and vessel; turnover is volume / inflow
    std::vector<double> spill_m3_s, spilled_m3;                     ///< per row and vessel
    std::vector<double> pump_flow_m3_s, pump_head_m, pump_power_w;  ///< per row and pump; head NaN at rest
    std::vector<double> pump_best_ratio;                            ///< per row and pump: flow over that of best efficiency; NaN at rest
    std::vector<std::uint8_t> pump_alarms;                          ///< per row and pump: kIntakeBare, kBeyondCurve, kAgainstShut
    std::vector<Hanging> hanging;                                   ///< of few rows, in no order
    std::size_t pipes = 0;                                          ///< 0: flows of pipes are not wanted
    std::vector<double> pipe_flow_m3_s;                             ///< per row and pipe
    std::vector<double> target_got;                                 ///< per row and target
    std::vector<TargetState> target_state;                          ///< per row and target
};

/// What a consumer makes of a block in the thread that solved it; handed on in the order of the blocks.
class Digest {
public:
    Digest() = default;
    Digest(const Digest&) = delete;
    Digest& operator=(const Digest&) = delete;
    virtual ~Digest() = default;
};

/// Who is handed the blocks of a survey.
class Consumer {
public:
    Consumer() = default;
    Consumer(const Consumer&) = delete;
    Consumer& operator=(const Consumer&) = delete;
    virtual ~Consumer() = default;
    /// In a solving thread, several at once: makes what is wanted of a block (its lines of text, its sums).
    virtual std::unique_ptr<Digest> digest(const Block& block) const = 0;
    /// One at a time, in order of the combinations, in the thread that called run().
    virtual void take(std::unique_ptr<Digest> digest) = 0;
};

/// Solves all combinations of a question in blocks, many at a time (lane_solver.h).
class Survey {
public:
    /// `layout` must have passed validate() and must outlive the Survey.
    Survey(const layout::Layout& layout, Question question, settle::Options options = {});
    ~Survey();
    Survey(Survey&&) noexcept;
    Survey& operator=(Survey&&) noexcept;

    /// What there is to solve.
    const Combinations& combinations() const;
    /// The wishes, in the order of the columns of a block.
    const std::vector<TargetColumn>& targets() const;

    /// Blocks begin at multiples of this many combinations.
    static constexpr std::uint64_t kBlock = 1024;

    /// Solves combinations `first` to `last` (exclusive) on `threads` threads and hands every block to `consumer`. A block that `first` or `last`
    /// cuts is solved whole and handed out in part. Ends early, between blocks, when asked to stop; returns the end of what was handed out.
    std::uint64_t run(std::uint64_t first, std::uint64_t last, unsigned threads, const std::stop_token& stop, Consumer& consumer) const;

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::survey
