#include "solver/settle/many.h"

#include <algorithm>
#include <utility>

namespace ebb::settle {

Many::Many(const layout::Layout& layout, Options options, std::vector<std::int32_t> arrangements, unsigned threads)
    : layout_(&layout), options_(options), arrangements_(std::move(arrangements)), answers_(arrangements_.size()) {
    const std::size_t useful = std::clamp<std::size_t>(threads, 1, std::max<std::size_t>(arrangements_.size(), 1));
    std::size_t begun = 0;
    while (begun < useful && crew_.start([this] { work(); })) ++begun;
    alone_ = begun == 0;
}

Many::~Many() {
    const std::lock_guard lock(mutex_);
    next_ = arrangements_.size();
}

void Many::work() {
    try {
        Farm farm(*layout_, options_);
        for (;;) {
            std::size_t index = 0;
            {
                const std::lock_guard lock(mutex_);
                if (next_ >= arrangements_.size()) return;
                index = next_++;
            }
            Answer answer = farm.solve(arrangements_[index]);
            {
                const std::lock_guard lock(mutex_);
                answers_[index] = std::move(answer);
            }
            ready_.notify_all();
        }
    } catch (...) {
        {
            const std::lock_guard lock(mutex_);
            failed_ = true;
            next_ = arrangements_.size();
        }
        ready_.notify_all();
        throw;  // to the crew, which keeps it
    }
}

void Many::solve_here(std::size_t index) {
    if (!own_) own_ = std::make_unique<Farm>(*layout_, options_);
    answers_[index] = own_->solve(arrangements_[index]);
}

Answer Many::take(std::size_t index) {
    if (alone_) solve_here(index);
    std::unique_lock lock(mutex_);
    ready_.wait(lock, [&] { return answers_[index].has_value() || failed_; });
    if (!answers_[index].has_value()) {
        lock.unlock();
        crew_.join();  // throws what was thrown
        lock.lock();
    }
    Answer answer = std::move(*answers_[index]);
    return answer;
}

}  // namespace ebb::settle
