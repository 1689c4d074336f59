#pragma once
// Heads as an answer gives them: NaN where nothing determines one. A head is determined when laws that hold join the node to a free surface; behind
// something that lets water only in (a pump against shut valves, a check valve), it is the least head that holds back what would come.

#include <cmath>
#include <cstdint>
#include <vector>

#include "solver/network/laws.h"

namespace ebb::settle {

/// Water that hangs so far below the pressure of the air is worth a word, m: air gathers there, and it does not start by itself.
inline constexpr double kHangs_m = 0.3;

/// Below this nothing flows that anybody could see, m3/s (a millilitre in twelve days).
inline constexpr double kNoFlow_m3_s = 1e-12;

class Heads {
public:
    /// Of a solved point. Of `linears` only what holds each link and its slope are asked. All must outlive the Heads.
    Heads(const network::Network& net, const network::Settings& settings, const network::Point& point, const std::vector<network::Linear>& linears);

    double operator[](std::int32_t node) const { return head_m_[static_cast<std::size_t>(node)]; }
    bool known(std::int32_t node) const { return !std::isnan((*this)[node]); }
    /// Whether a link lets water one way only and carries none.
    bool bars(std::int32_t link) const { return holds_[static_cast<std::size_t>(link)] == Holds::bar; }

private:
    /// A link without flow that lets water in one way only is a bar whatever its law says: the part behind it keeps whatever head it had before, and
    /// nothing of this state holds it there.
    enum class Holds : std::uint8_t { nothing, law, bar };
    struct Bar {
        std::int32_t link, from, into;
    };

    bool is_plain(std::int32_t node) const { return node < net_.plain_count; }
    std::int32_t find(std::int32_t n);
    void find_held(const network::Point& point);
    std::vector<Bar> find_bars();
    void raise_behind_bars();
    void raise_through(const Bar& bar, std::vector<double>& risen, std::vector<std::int32_t>& parts) const;

    const network::Network& net_;
    const network::Settings& settings_;
    std::vector<Holds> holds_;  ///< per link
    std::vector<std::int32_t> root_;
    std::vector<std::uint8_t> held_;  ///< per root: joined to a free surface
    std::vector<double> head_m_;
};

}  // namespace ebb::settle
