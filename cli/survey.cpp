// `survey`: every combination of a few things on and off, all of them or a part, and what is to be known of them.

#include "cli/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <memory>
#include <system_error>
#include <thread>
#include <utility>

#include "cli/commands.h"
#include "cli/messages.h"
#include "cli/patience.h"
#include "cli/session.h"
#include "cli/survey_keep.h"
#include "cli/survey_run.h"
#include "cli/views/survey_rows.h"
#include "cli/views/survey_view.h"
#include "cli/words.h"
#include "solver/version.h"

namespace ebb::cli {
namespace {

/// Of these a run is not begun: years, even at a million a second.
constexpr std::uint64_t kMostAtOnce = std::uint64_t{1} << 40U;
/// From here on it is said how long it will take.
constexpr std::uint64_t kWorthATime = std::uint64_t{1} << 24U;

/// Where the rows of CSV go: to a file of their own, or to the results.
class RowsOut {
public:
    explicit RowsOut(const std::string& file) : own_(std::make_unique<Output>(file)), output_(*own_) {}
    explicit RowsOut(Output& output) : output_(output) {}

    void write(const std::string& text) {
        if (own_) sum_.add(text);
        output_.write(text);
    }
    void finish() {
        if (own_) own_->finish();
    }
    const Output& output() const { return output_; }
    const Checksum& sum() const { return sum_; }

private:
    std::unique_ptr<Output> own_;
    Output& output_;
    Checksum sum_;
};

struct BlockDigest final : survey::Digest {
    survey::Statistics statistics;
    std::string rows;
    std::uint64_t count = 0;
};

/// Takes blocks in: statistics and rows made in the threads that solve, put together in the one that asked.
class Gatherer final : public survey::Consumer {
public:
    /// `keeper`: may be none.
    Gatherer(const SurveyAsked& asked, RowsOut* rows_out, SurveyKeeper* keeper, PartRange range)
        : asked_(asked), rows_(asked.read.layout, asked.question, asked.survey.targets()), rows_out_(rows_out), keeper_(keeper), first_(range.first),
          wanted_(std::max<std::uint64_t>(1, range.last - range.first)), statistics_(asked.counter.none()),
          patience_(1, "combinations", keeper != nullptr), begin_(std::chrono::steady_clock::now()) {
        if (keeper_ != nullptr && keeper_->kept()) {
            statistics_.merge(keeper_->kept()->statistics);
            done_ = kept_ = keeper_->kept()->end - first_;
            rows_are_whole_ = rows_out_ == nullptr || keeper_->rows([&](const std::string& text) { rows_out_->write(text); });
        } else if (rows_out_ != nullptr) {
            put(rows_.titles());
        }
    }
    bool rows_are_whole() const { return rows_are_whole_; }
    std::uint64_t begin() const { return first_ + done_; }

    std::unique_ptr<survey::Digest> digest(const survey::Block& block) const override {
        auto digest = std::make_unique<BlockDigest>();
        digest->statistics = asked_.counter.of(block);
        if (rows_out_ != nullptr) digest->rows = rows_.rows(block);
        digest->count = block.rows;
        return digest;
    }

    void take(std::unique_ptr<survey::Digest> digest) override {
        const auto& block = static_cast<const BlockDigest&>(*digest);
        statistics_.merge(block.statistics);
        if (rows_out_ != nullptr) put(block.rows);
        done_ += block.count;
        if (keeper_ != nullptr && keeper_->due()) keeper_->save(first_ + done_, statistics_);
        patience_.tell_share(static_cast<double>(done_) / static_cast<double>(wanted_));
        if (wanted_ > kWorthATime) tell_time();
    }

    const survey::Statistics& statistics() const { return statistics_; }
    std::stop_token stop() const { return patience_.stop(); }

private:
    void put(const std::string& rows) {
        rows_out_->write(rows);
        if (keeper_ != nullptr) keeper_->add_rows(rows);
    }

    /// Once, when some seconds have shown how fast it goes.
    void tell_time() {
        constexpr std::chrono::seconds kEnough{2};
        const auto took = std::chrono::steady_clock::now() - begin_;
        if (time_told_ || took < kEnough) return;
        time_told_ = true;
        const double seconds =
            std::chrono::duration<double>(took).count() / static_cast<double>(done_ - kept_) * static_cast<double>(wanted_ - done_);
        patience_.clear_line();
        tell(fmt::format("{} combinations will take about {} more here; --part K/N shares them among machines", grouped(wanted_),
                         Speech::duration(seconds)));
    }

    const SurveyAsked& asked_;
    SurveyRows rows_;
    RowsOut* rows_out_;
    SurveyKeeper* keeper_;
    std::uint64_t first_, wanted_, done_ = 0, kept_ = 0;
    bool rows_are_whole_ = true;
    survey::Statistics statistics_;
    Patience patience_;
    std::chrono::steady_clock::time_point begin_;
    bool time_told_ = false;
};

Part part_of(const SurveyAsked& asked, const SurveyRequest& request, PartRange range, std::uint64_t end, const survey::Statistics& statistics,
             const RowsOut* rows) {
    Part part;
    part.question = {.version = kVersion,
                     .layout_checksum = checksum_of(asked.read),
                     .arrangement = asked.arrangement,
                     .switches = switch_words(asked.read.layout, asked.question),
                     .at_most_off = request.at_most_off,
                     .combinations = asked.survey.combinations().count(),
                     .worst = request.worst,
                     .parts = request.parts,
                     .first_taken = asked.first_taken};
    part.layout_file = request.common.layout_file;
    part.number = request.part;
    part.first = range.first, part.last = range.last, part.end = end;
    part.statistics = statistics;
    if (rows != nullptr) part.rows = PartRows{request.each_file, rows->sum().bytes(), rows->sum().text()};
    return part;
}

bool files_are_apart(const SurveyRequest& request, const netfiles::ReadResult& read, const Output& output, const RowsOut* rows) {
    if (!output_is_safe(output, read) || !file_is_safe("--each", request.each_file, read)) return false;
    return request.each_file.empty() || rows_are_apart(rows->output(), request, output);
}

std::unique_ptr<RowsOut> rows_out(const SurveyRequest& request, Output& output) {
    if (!request.each_file.empty()) return std::make_unique<RowsOut>(request.each_file);
    return request.common.format == Format::csv ? std::make_unique<RowsOut>(output) : nullptr;
}

bool makes_sense(const SurveyRequest& request) {
    if (request.common.layout_file.empty()) {
        tell("survey needs a layout file: ebbwright survey LAYOUT --switch \"VB1 VB2\"");
        return false;
    }
    if (request.parts > 0 && request.common.format == Format::csv) {
        tell("a part is JSON, for --merge; have its rows written beside it with --each FILE");
        return false;
    }
    return rows_once(request);
}

/// The combinations of this run; false when they are too many.
bool can_be_run(const SurveyAsked& asked, const SurveyRequest& request, PartRange range) {
    if (range.last - range.first <= kMostAtOnce) return true;
    tell(fmt::format("{} switches have {} combinations, too many for one run: name fewer, keep to a few off at once with --at-most-off 3{}",
                     asked.question.switches.size(), grouped(range.last - range.first),
                     request.parts > 0 ? ", or take more parts" : ", or share them among machines with --part K/N"));
    return false;
}

/// False, with a message, when how far it is would be kept in a file of something else.
bool kept_apart(const SurveyRequest& request, const SurveyAsked& asked, const Output& output, const RowsOut* rows) {
    for (const std::string& file : {request.keep_file, request.keep_file + ".rows"}) {
        if (!file_is_safe("--keep", file, asked.read)) return false;
        const Output kept(file);
        std::error_code ignored;
        const auto there = std::filesystem::status(file, ignored);
        if (std::filesystem::exists(there) && !std::filesystem::is_regular_file(there)) {
            tell(fmt::format("--keep '{}' is a device or a pipe; name a file", file));
            return false;
        }
        if (!kept.same_file_as(output) && (rows == nullptr || !kept.same_file_as(rows->output()))) continue;
        tell(fmt::format("--keep would write to '{}', where results go; name another file", file));
        return false;
    }
    return true;
}

/// Of an interrupted survey: what there is of its files, and how to go on.
void tell_what_becomes(const SurveyRequest& request) {
    if (!request.each_file.empty()) tell(fmt::format("'{}' stays as it was: its rows would not be whole", request.each_file));
    if (!request.keep_file.empty()) tell(fmt::format("how far it is stands in '{}': the same command goes on from there", request.keep_file));
}

}  // namespace

ExitStatus run_survey(const SurveyRequest& request, Output& output) {
    if (!request.merge.empty()) return merge_survey(request, output);
    if (!makes_sense(request)) return ExitStatus::command_line;
    const netfiles::ReadResult read = netfiles::read_layout(request.common.layout_file);
    if (!read.good()) {
        tell_problems(read.problems, read.files);
        return ExitStatus::file;
    }
    const std::optional<SurveyAsked> asked = survey_asked(read, request);
    if (!asked) return ExitStatus::command_line;
    const std::unique_ptr<RowsOut> rows = rows_out(request, output);
    if (!files_are_apart(request, read, output, rows.get())) return ExitStatus::command_line;
    const std::uint64_t all = asked->survey.combinations().count();
    const PartRange range = request.parts > 0 ? range_of_part(request.part, request.parts, all) : PartRange{0, all};
    if (!can_be_run(*asked, request, range)) return ExitStatus::command_line;

    std::optional<SurveyKeeper> keeper;
    if (!request.keep_file.empty()) {
        if (!kept_apart(request, *asked, output, rows.get())) return ExitStatus::command_line;
        keeper.emplace(request.keep_file, std::chrono::seconds(request.keep_every_s),
                       part_of(*asked, request, range, range.first, asked->counter.none(), nullptr), rows != nullptr);
        if (!keeper->open()) return ExitStatus::file;
    }
    const unsigned threads = request.threads > 0 ? request.threads : std::max(1U, std::thread::hardware_concurrency());
    survey::Statistics statistics;
    std::uint64_t end = 0;
    {
        Gatherer gatherer(*asked, rows.get(), keeper ? &*keeper : nullptr, range);
        if (!gatherer.rows_are_whole()) return ExitStatus::file;
        end = asked->survey.run(gatherer.begin(), range.last, threads, gatherer.stop(), gatherer);
        statistics = gatherer.statistics();
        if (keeper) keeper->save(end, statistics);
    }
    const bool interrupted = end < range.last;
    if (rows && !interrupted) rows->finish();
    if (interrupted) tell(fmt::format("interrupted: {} of {} combinations are done", grouped(end - range.first), grouped(range.last - range.first)));
    if (interrupted) tell_what_becomes(request);
    ExitStatus status = ExitStatus::fine;
    if (request.parts > 0)
        write_part(part_of(*asked, request, range, end, statistics, interrupted ? nullptr : rows.get()), output);
    else
        status = show_survey(*asked, statistics, request, output);
    return interrupted ? ExitStatus::interrupted : status;
}

}  // namespace ebb::cli
