#include "solver/settle/taking.h"

#include <algorithm>
#include <numeric>

namespace ebb::settle {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Nodes that hang together by ways that are not shut.
class Together {
public:
    explicit Together(std::int32_t nodes) : root_(at(nodes)) { std::iota(root_.begin(), root_.end(), 0); }
    std::int32_t find(std::int32_t n) {
        while (root_[at(n)] != n) n = root_[at(n)] = root_[at(root_[at(n)])];
        return n;
    }
    void join(std::int32_t one, std::int32_t other) { root_[at(find(one))] = find(other); }

private:
    std::vector<std::int32_t> root_;
};

}  // namespace

bool any_taken(const layout::Layout& layout) {
    return std::any_of(layout.tees.begin(), layout.tees.end(), [](const layout::Tee& tee) { return tee.takes_m3_s > 0.0; });
}

std::string may_take_too_much(const layout::Layout& layout) {
    constexpr std::size_t kMostNamed = 5;
    std::vector<std::string> names;
    for (const layout::Tee& tee : layout.tees)
        if (tee.takes_m3_s > 0.0) names.push_back(tee.id);
    const std::size_t count = names.size();
    if (count > kMostNamed) {
        names.resize(kMostNamed);
        names.push_back(std::to_string(count - kMostNamed) + (count == kMostNamed + 1 ? " other tee" : " other tees"));
    }
    std::string who;
    for (std::size_t i = 0; i < names.size(); ++i) who += (i == 0 ? "" : (i + 1 == names.size() ? " and " : ", ")) + names[i];
    return "what " + who + (count == 1 ? " takes may be more than can reach it" : " take may be more than can reach them");
}

std::vector<std::int32_t> starved_tees(const network::Network& network, const layout::Layout& layout, const network::Settings& settings) {
    std::vector<std::int32_t> starved;
    if (!any_taken(layout)) return starved;
    const std::int32_t water = network.node_count();  // one more node for all there is
    Together together(water + 1);
    for (std::int32_t n = network.plain_count; n < network.node_count(); ++n) together.join(n, water);
    for (std::size_t l = 0; l < network.links.size(); ++l)
        if (!settings.links[l].shut) together.join(network.links[l].from, network.links[l].to);
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (layout.tees[t].takes_m3_s > 0.0 && together.find(network.tee_node[t]) != together.find(water))
            starved.push_back(static_cast<std::int32_t>(t));
    return starved;
}

std::int32_t emptying_tee(const network::Network& network, const layout::Layout& layout, const network::Settings& settings) {
    if (!any_taken(layout)) return -1;
    Together together(network.node_count());
    // a pond gives the tees beside it, but does not join two loops that merely drain into it
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const network::Link& link = network.links[l];
        if (!settings.links[l].shut && !network.is_fixed(link.from) && !network.is_fixed(link.to)) together.join(link.from, link.to);
    }
    std::vector<std::uint8_t> fed(at(network.node_count()), 0);
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const network::Link& link = network.links[l];
        if (settings.links[l].shut) continue;
        if (network.is_fixed(link.from)) fed[at(together.find(link.to))] = 1;
        if (network.is_fixed(link.to)) fed[at(together.find(link.from))] = 1;
    }
    for (std::size_t t = 0; t < layout.tees.size(); ++t)
        if (layout.tees[t].takes_m3_s > 0.0 && fed[at(together.find(network.tee_node[t]))] == 0) return static_cast<std::int32_t>(t);
    return -1;
}

}  // namespace ebb::settle
