#include "solver/settle/many.h"

#include <algorithm>
#include <utility>

namespace ebb::settle {

Many::Many(const layout::Layout& layout, Options options, std::vector<std::int32_t> arrangements, unsigned threads)
    : layout_(&layout), options_(options), arrangements_(std::move(arrangements)), answers_(arrangements_.size()) {
    const std::size_t useful = std::clamp<std::size_t>(threads, 1, std::max<std::size_t>(arrangements_.size(), 1));
    threads_.reserve(useful);
    for (std::size_t i = 0; i < useful; ++i) threads_.emplace_back([this](const std::stop_token& stop) { work(stop); });
}

Many::~Many() {
    for (auto& thread : threads_) thread.request_stop();
}

void Many::work(const std::stop_token& stop) {
    Farm farm(*layout_, options_);
    while (!stop.stop_requested()) {
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
}

Answer Many::take(std::size_t index) {
    std::unique_lock lock(mutex_);
    ready_.wait(lock, [&] { return answers_[index].has_value(); });
    Answer answer = std::move(*answers_[index]);
    return answer;
}

}  // namespace ebb::settle
