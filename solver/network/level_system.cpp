#include "solver/network/level_system.h"

#include <algorithm>
#include <limits>

namespace ebb::network {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr std::int32_t kNoSlot = std::numeric_limits<std::int32_t>::min();

}  // namespace

LevelSystem::LevelSystem(const Network& network) : network_(&network), slopes_(network.links.size()) {
    const std::int32_t size = network.plain_count + network.vessel_count;
    std::vector<std::pair<std::int32_t, std::int32_t>> edges;
    std::vector<std::size_t> edge_link;
    edges.reserve(network.links.size());
    edge_link.reserve(network.links.size());
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const Link& link = network.links[l];
        if (link.from >= size || link.to >= size || link.from == link.to) continue;
        edges.emplace_back(link.from, link.to);
        edge_link.push_back(l);
    }
    const std::vector<std::int32_t> slots = factor_.analyse(size, edges);
    slot_.assign(network.links.size(), kNoSlot);
    for (std::size_t e = 0; e < slots.size(); ++e) slot_[edge_link[e]] = slots[e];
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
    factor_.clear();
    bool symmetric = true;
    for (std::size_t l = 0; l < slopes_.size(); ++l) {
        const auto [a, b] = slopes_[l];
        if (a == 0.0 && b == 0.0) continue;
        const Link& link = network_->links[l];
        if (a != 0.0) factor_.add_diagonal(link.from, a);
        if (b != 0.0) factor_.add_diagonal(link.to, b);
        if (slot_[l] == kNoSlot) continue;
        factor_.add_pair(slot_[l], -b, -a);
        symmetric = symmetric && a == b;
    }
    for (std::int32_t n = 0; n < network_->plain_count; ++n)
        if (air_[at(n)] == 0) factor_.add_diagonal(n, Solver::kTinyProximal);
    for (std::int32_t v = 0; v < network_->vessel_count; ++v) factor_.add_diagonal(network_->vessel_node(v), storage_m2_s[at(v)]);
    factor_.stiffen(network_->plain_count, Solver::kTinyShare);
    return factor_.factorise(symmetric);
}

void LevelSystem::solve(std::span<double> b_then_u, std::span<double> fixed_gives) {
    std::fill(rhs_.begin(), rhs_.begin() + network_->plain_count, 0.0);
    std::copy(b_then_u.begin(), b_then_u.end(), rhs_.begin() + network_->plain_count);
    factor_.solve(rhs_);
    std::copy(rhs_.begin() + network_->plain_count, rhs_.end(), b_then_u.begin());
    std::fill(fixed_gives.begin(), fixed_gives.end(), 0.0);
    if (fixed_gives.empty()) return;
    const std::int32_t first_fixed = network_->plain_count + network_->vessel_count;
    for (std::size_t l = 0; l < slopes_.size(); ++l) {
        const Link& link = network_->links[l];
        if (link.from < first_fixed && link.to < first_fixed) continue;
        double more = 0.0;
        if (link.from < first_fixed) more += slopes_[l].a * rhs_[at(link.from)];
        if (link.to < first_fixed) more -= slopes_[l].b * rhs_[at(link.to)];
        if (link.from >= first_fixed) fixed_gives[at(link.from - first_fixed)] += more;
        if (link.to >= first_fixed) fixed_gives[at(link.to - first_fixed)] -= more;
    }
}

}  // namespace ebb::network
