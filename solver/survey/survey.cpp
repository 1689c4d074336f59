#include "solver/survey/survey.h"

#include <algorithm>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <numeric>
#include <optional>
#include <utility>

#include "solver/settle/crew.h"
#include "solver/survey/lane_settle.h"
#include "solver/survey/row.h"

namespace ebb::survey {

struct Survey::Impl {
    const layout::Layout* layout;
    Question question;
    settle::Options options;
    Combinations combinations;
    std::vector<TargetColumn> targets;

    Impl(const layout::Layout& of, Question asked, settle::Options with)
        : layout(&of), question(std::move(asked)), options(with), combinations(question.switches.size(), question.at_most_off),
          targets(targets_of(of)) {
        options.bands = options.ledgers = false;
    }
};

namespace {

/// Solves whole blocks, one after another: on the lanes where they apply, and singly what they leave alone.
class BlockSolver {
public:
    BlockSolver(const layout::Layout& layout, const Question& question, const settle::Options& options, const std::vector<TargetColumn>& targets)
        : layout_(layout), question_(question), targets_(targets.size()), farm_(layout, options), network_(network::compile(layout)) {
        if (LaneSettle::applies_to(network_, layout)) lanes_ = std::make_unique<LaneSettle>(network_, layout, question, targets, options);
    }

    void solve(const Combinations& combinations, std::uint64_t first, Block& block) {
        const auto rows = static_cast<std::size_t>(std::min(Survey::kBlock, combinations.count() - first));
        resize(layout_, targets_, rows, block);
        block.first = first;
        if (lanes_) {
            lanes_->solve(combinations, block, alone_);
        } else {
            alone_.resize(rows);
            std::iota(alone_.begin(), alone_.end(), std::size_t{0});
        }
        for (const std::size_t row : alone_) {
            const layout::Conditions conditions = conditions_with(question_, combinations.off_at(first + row));
            write_row(layout_, farm_.solve(conditions, question_.at_start_levels), row, block);
        }
    }

private:
    const layout::Layout& layout_;
    const Question& question_;
    std::size_t targets_;
    settle::Farm farm_;
    network::Network network_;
    std::unique_ptr<LaneSettle> lanes_;
    std::vector<std::size_t> alone_;
};

/// Blocks out of order in, digests in order out, and never far ahead of what was taken.
class InOrder {
public:
    InOrder(std::uint64_t blocks, std::size_t most_ahead) : blocks_(blocks), most_ahead_(most_ahead) {}

    /// The next block to solve, once there is room for it; `blocks` when there is none left or the work was broken off.
    std::uint64_t next() {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [&] { return ended_ || next_ >= blocks_ || next_ < taken_ + most_ahead_; });
        return ended_ || next_ >= blocks_ ? blocks_ : next_++;
    }
    void put(std::uint64_t block, std::unique_ptr<Digest> digest) {
        {
            const std::lock_guard lock(mutex_);
            while (ready_.size() <= block - taken_) ready_.emplace_back();
            ready_[static_cast<std::size_t>(block - taken_)] = std::move(digest);
        }
        changed_.notify_all();
    }
    /// Waits for the next digest in order; nothing when solving has failed.
    std::unique_ptr<Digest> take() {
        std::unique_lock lock(mutex_);
        changed_.wait(lock, [&] { return failed_ || (!ready_.empty() && ready_.front() != nullptr); });
        if (failed_) return nullptr;
        std::unique_ptr<Digest> digest = std::move(ready_.front());
        ready_.pop_front();
        ++taken_;
        lock.unlock();
        changed_.notify_all();
        return digest;
    }
    /// A block could not be solved: nobody waits for it.
    void fail() {
        {
            const std::lock_guard lock(mutex_);
            ended_ = failed_ = true;
        }
        changed_.notify_all();
    }
    void end() {
        {
            const std::lock_guard lock(mutex_);
            ended_ = true;
        }
        changed_.notify_all();
    }

private:
    std::mutex mutex_;
    std::condition_variable changed_;
    std::deque<std::unique_ptr<Digest>> ready_;  ///< from block taken_ on
    std::uint64_t blocks_, next_ = 0, taken_ = 0;
    std::size_t most_ahead_;
    bool ended_ = false, failed_ = false;
};

/// Whatever ends the taking, a consumer that throws among them: the threads are not left waiting for it.
class Ending {
public:
    explicit Ending(InOrder& order) : order_(order) {}
    ~Ending() { order_.end(); }
    Ending(const Ending&) = delete;
    Ending& operator=(const Ending&) = delete;

private:
    InOrder& order_;
};

}  // namespace

Survey::Survey(const layout::Layout& layout, Question question, settle::Options options)
    : impl_(std::make_unique<Impl>(layout, std::move(question), options)) {}
Survey::~Survey() = default;
Survey::Survey(Survey&&) noexcept = default;
Survey& Survey::operator=(Survey&&) noexcept = default;

const Combinations& Survey::combinations() const { return impl_->combinations; }
const std::vector<TargetColumn>& Survey::targets() const { return impl_->targets; }

std::uint64_t Survey::run(std::uint64_t first, std::uint64_t last, unsigned threads, const std::stop_token& stop, Consumer& consumer) const {
    last = std::min(last, impl_->combinations.count());
    if (first >= last) return first;
    const std::uint64_t first_block = first / kBlock, blocks = (last - 1) / kBlock - first_block + 1;
    const auto workers = static_cast<unsigned>(std::clamp<std::uint64_t>(threads, 1, blocks));
    InOrder order(blocks, 4 * std::size_t{workers});
    const auto solve = [&](BlockSolver& solver, Block& block, std::uint64_t b) {
        const std::uint64_t start = (first_block + b) * kBlock;
        solver.solve(impl_->combinations, start, block);
        const auto begin = static_cast<std::size_t>(std::max(first, start) - start);
        const auto end = static_cast<std::size_t>(std::min(last, start + block.rows) - start);
        const bool whole = begin == 0 && end == block.rows;
        order.put(b, consumer.digest(whole ? block : part_of(block, begin, end)));
    };
    const auto work = [&] {
        try {
            BlockSolver solver(*impl_->layout, impl_->question, impl_->options, impl_->targets);
            Block block;
            for (std::uint64_t b = order.next(); b < blocks; b = order.next()) solve(solver, block, b);
        } catch (...) {
            order.fail();
            throw;  // to the crew, which keeps it
        }
    };
    settle::Crew crew;
    const Ending ending(order);
    unsigned begun = 0;
    while (begun < workers && crew.start(work)) ++begun;
    std::optional<BlockSolver> alone;  // no thread could be had
    if (begun == 0) alone.emplace(*impl_->layout, impl_->question, impl_->options, impl_->targets);
    Block own;
    std::uint64_t handed = first;
    for (std::uint64_t b = 0; b < blocks && !stop.stop_requested(); ++b) {
        if (alone) solve(*alone, own, order.next());
        std::unique_ptr<Digest> digest = order.take();
        if (!digest) break;
        consumer.take(std::move(digest));
        handed = std::min(last, (first_block + b + 1) * kBlock);
    }
    order.end();
    crew.join();
    return handed;
}

}  // namespace ebb::survey
