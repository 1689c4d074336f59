// How flows follow levels, by the implicit function theorem on the solved network: the slopes of the laws are at hand as the last Newton step
// left them, so that one factorisation and one solve per vessel give the whole matrix.

#include <algorithm>

#include "solver/network/newton.h"

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr int kRounds = 4;  ///< a solve, two to put right what it left, and a last look at what flows

}  // namespace

bool Solver::level_slopes(const Settings& settings, Point& point, std::span<double> slopes_m2_s) {
    const Network& net = *network_;
    prepare(heads_, false);
    linear_start_ = false;
    evaluate(settings, point);
    const bool symmetric = assemble_links(heads_, point);
    for (std::int32_t n = 0; n < net.plain_count; ++n)
        if (point.air[at(n)] == 0) heads_.factor.add_diagonal(n, kTinyProximal);
    heads_.factor.stiffen(net.plain_count, kTinyShare);
    if (!heads_.factor.factorise(symmetric)) return false;
    const auto row_count = at(net.vessel_count + net.fixed_count);
    std::fill(slopes_m2_s.begin(), slopes_m2_s.end(), 0.0);
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const std::int32_t moved = net.vessel_node(v);
        double* column = slopes_m2_s.data() + at(v) * row_count;
        std::fill(balance_.begin(), balance_.end(), 0.0);  // heads of the plain nodes as they follow
        // what holds lone nodes holds a little water back: the second round puts what is out of balance in again
        for (int round = 0; round < kRounds; ++round) {
            std::fill(rhs_.begin(), rhs_.end(), 0.0);
            std::fill(column, column + row_count, 0.0);
            for (std::size_t l = 0; l < net.links.size(); ++l) {
                const Linear& linear = linear_[l];
                const Link& link = net.links[l];
                const bool plain_from = link.from < net.plain_count, plain_to = link.to < net.plain_count;
                double more = (link.from == moved ? linear.a : 0.0) - (link.to == moved ? linear.b : 0.0);
                if (plain_from && (linear.hold == Hold::cascade || point.air[at(link.from)] == 0)) more += linear.a * balance_[at(link.from)];
                if (plain_to && point.air[at(link.to)] == 0) more -= linear.b * balance_[at(link.to)];
                if (more == 0.0) continue;
                (plain_from ? rhs_[at(link.from)] : column[link.from - net.plain_count]) -= more;
                (plain_to ? rhs_[at(link.to)] : column[link.to - net.plain_count]) += more;
            }
            if (round + 1 == kRounds) break;
            heads_.factor.solve(std::span(rhs_).first(at(heads_.size)));
            for (std::int32_t n = 0; n < net.plain_count; ++n) balance_[at(n)] += rhs_[at(n)];
        }
    }
    return true;
}

}  // namespace ebb::network
