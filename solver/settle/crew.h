#pragma once
// Threads side by side, with their faults: what one of them throws (memory that runs out) is thrown again where the crew is waited for,
// and where the system gives no more threads the work is done by those there are. None of it changes an answer.

#include <atomic>
#include <exception>
#include <mutex>
#include <new>
#include <system_error>
#include <thread>
#include <utility>
#include <vector>

namespace ebb::settle {

class Crew {
public:
    Crew() = default;
    ~Crew() { over_ = true; }  // the threads are waited for
    Crew(const Crew&) = delete;
    Crew& operator=(const Crew&) = delete;

    /// Begins `work` on a thread of its own. False: there is none to be had, and whoever asks does the work without.
    template <typename Work>
    bool start(Work work) {
        try {
            threads_.emplace_back([this, work = std::move(work)]() mutable { guarded(work); });
            return true;
        } catch (const std::system_error&) {
            return false;
        } catch (const std::bad_alloc&) {
            return false;
        }
    }

    /// True once one of them has thrown, or nobody waits for an answer any more: nothing further is to be begun.
    bool over() const { return over_; }

    /// Waits for all of them, and throws again what the first of them threw.
    void join() {
        threads_.clear();
        if (fault_) std::rethrow_exception(fault_);
    }

private:
    template <typename Work>
    void guarded(Work& work) {
        try {
            work();
        } catch (...) {
            const std::lock_guard lock(mutex_);
            if (!fault_) fault_ = std::current_exception();
            over_ = true;
        }
    }

    std::mutex mutex_;
    std::exception_ptr fault_;
    std::atomic<bool> over_{false};
    std::vector<std::jthread> threads_;  // the last: they use the others
};

}  // namespace ebb::settle
