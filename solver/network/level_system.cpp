#include "solver/network/level_system.h"

#include <algorithm>

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

}  // namespace

LevelSystem::LevelSystem(const Network& network) : network_(&network), slopes_(network.links.size()) {
    const std::int32_t size = network.plain_count + network.vessel_count;
    slot_ = place_links(network, size, factor_);
    rhs_.assign(at(size), 0.0);
}

void LevelSystem::take(Solver& solver, const Settings& settings, Point& point) {
    solver.look_at(settings, point);
    air_ = point.air;
    const auto unknown = [&](std::int32_t node) { return node < network_->plain_count ? air_[at(node)] == 0 : !network_->is_fixed(node); };
    for (std::size_t l = 0; l < slopes_.size(); ++l) {
        const Linear& linear = solver.linears()[l];
        const Link& link = network_->links[l];
        // the unknown of a vented node with air in it is the flow of its drain
        slopes_[l].a = unknown(link.from) || linear.hold == Hold::cascade ? linear.a : 0.0;
        slopes_[l].b = unknown(link.to) ? linear.b : 0.0;
    }
}

bool LevelSystem::factorise(std::span<const double> storage_m2_s) {
    storage_.assign(storage_m2_s.begin(), storage_m2_s.end());
    factor_.clear();
    bool symmetric = true;
    for (std::size_t l = 0; l < slopes_.size(); ++l)
        symmetric = add_link(factor_, network_->links[l], slot_[l], slopes_[l].a, slopes_[l].b) && symmetric;
    for (std::int32_t n = 0; n < network_->plain_count; ++n)
        if (air_[at(n)] == 0) factor_.add_diagonal(n, kTinyProximal);
    for (std::int32_t v = 0; v < network_->vessel_count; ++v) factor_.add_diagonal(network_->vessel_node(v), storage_m2_s[at(v)]);
    factor_.stiffen(network_->plain_count, kTinyShare);
    return factor_.factorise(symmetric);
}

/// What holds lone nodes (kTinyShare) holds a little water back, where a very steep law stands on the diagonal a hundred-thousandth of it: one
/// round of refinement with what is out of balance squares that away.
void LevelSystem::solve(std::span<double> b_then_u, std::span<double> fixed_gives) {
    const std::int32_t plain = network_->plain_count, first_fixed = plain + network_->vessel_count;
    std::fill(rhs_.begin(), rhs_.begin() + plain, 0.0);
    std::copy(b_then_u.begin(), b_then_u.end(), rhs_.begin() + plain);
    left_ = rhs_;
    factor_.solve(rhs_);
    const auto flow_of = [&](std::size_t l) {
        const Link& link = network_->links[l];
        return (link.from < first_fixed ? slopes_[l].a * rhs_[at(link.from)] : 0.0) -
               (link.to < first_fixed ? slopes_[l].b * rhs_[at(link.to)] : 0.0);
    };
    for (std::size_t l = 0; l < slopes_.size(); ++l) {
        const Link& link = network_->links[l];
        const double more = flow_of(l);
        if (link.from < first_fixed) left_[at(link.from)] -= more;
        if (link.to < first_fixed) left_[at(link.to)] += more;
    }
    for (std::size_t v = 0; v < storage_.size(); ++v) left_[at(plain) + v] -= storage_[v] * rhs_[at(plain) + v];
    factor_.solve(left_);
    for (std::size_t n = 0; n < rhs_.size(); ++n) rhs_[n] += left_[n];
    std::copy(rhs_.begin() + plain, rhs_.end(), b_then_u.begin());
    std::fill(fixed_gives.begin(), fixed_gives.end(), 0.0);
    if (fixed_gives.empty()) return;
    for (std::size_t l = 0; l < slopes_.size(); ++l) {
        const Link& link = network_->links[l];
        if (link.from < first_fixed && link.to < first_fixed) continue;
        const double more = flow_of(l);
        if (link.from >= first_fixed) fixed_gives[at(link.from - first_fixed)] += more;
        if (link.to >= first_fixed) fixed_gives[at(link.to - first_fixed)] -= more;
    }
}

}  // namespace ebb::network
