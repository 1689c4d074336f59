#pragma once
// Work that falls into parts, spread over threads. Each part writes its own result, so that what comes out does not depend on how many
// threads there were or on which of them was quicker.

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <functional>
#include <mutex>
#include <stop_token>
#include <vector>

#include "solver/settle/crew.h"

namespace ebb::choose {

/// Thrown inside a part when the work is to end: that part is then not done. It never leaves work_through().
struct Stopped {};

/// How long work is watched and ended. `progress` is called from any thread, but never from two at once.
struct Watch {
    std::stop_token stop;
    std::function<void(double share)> progress;
    unsigned threads = 1;
};

/// Calls `work(i)` for i in [0, parts); after a stop no further part is begun, and one may end by Stopped. Returns the parts done, per part.
/// `from`, `to`: the share of the whole work that these parts are, for `watch.progress`.
template <typename Work>
std::vector<std::uint8_t> work_through(std::size_t parts, const Watch& watch, double from, double to, const Work& work) {
    std::vector<std::uint8_t> done(parts, 0);
    std::atomic<std::size_t> next{0}, ready{0};
    std::mutex telling;
    settle::Crew crew;
    const auto run = [&] {
        for (std::size_t i = next++; i < parts && !watch.stop.stop_requested() && !crew.over(); i = next++) {
            try {
                work(i);
            } catch (const Stopped&) {
                return;
            }
            done[i] = 1;
            const double share = static_cast<double>(++ready) / static_cast<double>(parts);
            if (watch.progress) {
                const std::scoped_lock lock(telling);
                watch.progress(from + (to - from) * share);
            }
        }
    };
    const std::size_t helpers = std::min<std::size_t>(std::max(1U, watch.threads), parts);
    for (std::size_t t = 1; t < helpers && crew.start(run); ++t) {
    }
    run();
    crew.join();
    return done;
}

}  // namespace ebb::choose
