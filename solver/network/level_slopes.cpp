// How flows follow levels, by the implicit function theorem on the solved network: the slopes of the laws are at hand as the last Newton step
// left them, so that one factorisation and one solve per vessel give the whole matrix.

#include <algorithm>

#include "solver/network/newton.h"

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

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
        std::fill(rhs_.begin(), rhs_.end(), 0.0);
        const auto own = [&](std::size_t l) {
            const Link& link = net.links[l];
            return (link.from == moved ? linear_[l].a : 0.0) - (link.to == moved ? linear_[l].b : 0.0);
        };
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            const double more = own(l);
            if (more == 0.0) continue;
            if (net.links[l].from < net.plain_count) rhs_[at(net.links[l].from)] -= more;
            if (net.links[l].to < net.plain_count) rhs_[at(net.links[l].to)] += more;
        }
        heads_.factor.solve(std::span(rhs_).first(at(heads_.size)));
        double* column = slopes_m2_s.data() + at(v) * row_count;
        for (std::size_t l = 0; l < net.links.size(); ++l) {
            const Linear& linear = linear_[l];
            const Link& link = net.links[l];
            double more = own(l);
            if (link.from < net.plain_count && (linear.hold == Hold::cascade || point.air[at(link.from)] == 0))
                more += linear.a * rhs_[at(link.from)];
            if (link.to < net.plain_count && point.air[at(link.to)] == 0) more -= linear.b * rhs_[at(link.to)];
            if (link.from >= net.plain_count) column[link.from - net.plain_count] -= more;
            if (link.to >= net.plain_count) column[link.to - net.plain_count] += more;
        }
    }
    return true;
}

}  // namespace ebb::network
