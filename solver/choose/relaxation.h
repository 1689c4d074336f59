#pragma once
// The sizing problem made easier in a way that lets a linear program bound it (relaxation.cpp says how and why it holds).
//
// A box is a part of the problem: which sizes each choice may still have, and between what the flows and heads of every arrangement lie. tighten()
// narrows a box without losing an allowed design of it, solve() bounds the cost of all its designs from below.

#include <array>
#include <cstdint>
#include <optional>
#include <stop_token>
#include <vector>

#include "solver/choose/law_lines.h"
#include "solver/choose/linear_program.h"
#include "solver/choose/sizing.h"

namespace ebb::choose {

struct Interval {
    double low = 0.0, high = 0.0;
    double width() const { return high - low; }
};

struct Box {
    std::vector<std::vector<std::uint8_t>> may;  ///< per choice and size: it may still have it
    std::vector<Interval> flow;                  ///< per arrangement and link, m3/s
    std::vector<Interval> head;                  ///< per arrangement and node, m
    double bound = 0.0;                          ///< no design of it costs less
    int idle = 0;                                ///< how many times its flows were parted without its bound rising
    int parted = 0;                              ///< how many times its flows were parted at all
};

/// Sizes that are left of a choice, and how many designs of the box there are (at most `most`).
std::size_t sizes_left(const Box& box, std::size_t choice);
std::int64_t designs_left(const Box& box, std::int64_t most);

/// How a box can be parted.
struct Split {
    bool of_flow = false;
    std::size_t place = 0;  ///< of Box::flow, or the choice
    double at = 0.0;        ///< flow, or: sizes up to this one against those above
    double worth = 0.0;     ///< what it is thought to gain, in money
};

/// What the linear program says of a box.
struct Relaxed {
    double bound = 0.0;                      ///< safe; +infinity: no design of it is allowed
    bool solved = false;                     ///< the rest is there
    std::vector<std::vector<double>> share;  ///< per choice and size
    std::optional<Split> split;              ///< none: nothing of the program is loose, as far as it can see
};

/// A workspace of one thread.
class Relaxation {
public:
    explicit Relaxation(const SizingProblem& problem);
    ~Relaxation();
    Relaxation(Relaxation&&) noexcept;
    Relaxation& operator=(Relaxation&&) noexcept;

    Box root() const;

    /// Narrows a box; false: no design of it is allowed.
    bool tighten(Box& box);

    /// Bounds a box that tighten() has just narrowed. May stop once the bound is above `cutoff`.
    Relaxed solve(const Box& box, double cutoff);

    /// Narrows the flows of a box to those that designs of at most `cutoff` can have, one linear program for each end of each that still
    /// matters; false: there is none. `programs`: how many were solved. A stop leaves the box as narrow as it is by then.
    bool squeeze(Box& box, double cutoff, std::int64_t& programs, const std::stop_token& stop);

private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace ebb::choose
