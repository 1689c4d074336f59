#include "solver/settle/heads.h"

#include <algorithm>

#include "solver/settle/answer.h"

namespace ebb::settle {

namespace {

using network::Hold;
using network::Link;
using network::Network;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// A way at rest in which that flow would take more head hands no head on: a valve opened by a millionth.
constexpr double kAllButShut_m = 1e-3;

}  // namespace

Heads::Heads(const Network& net, const network::Settings& settings, const network::Point& point, const std::vector<network::Linear>& linears)
    : net_(net), settings_(settings), root_(at(net.node_count())), head_m_(at(net.node_count()), kUnknown) {
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const bool one_way = settings.links[l].one_way && !settings.links[l].shut;
        const bool rests = std::abs(point.flow_m3_s[l]) <= kNoFlow_m3_s, idle = one_way && rests;
        const bool all_but_shut = rests && linears[l].slope * kNoFlow_m3_s > kAllButShut_m;
        const bool law = linears[l].hold == Hold::law && linears[l].slope > 0.0 && !all_but_shut;
        holds_.push_back(linears[l].hold == Hold::one_way || (linears[l].hold == Hold::law && idle) ? Holds::bar : law ? Holds::law : Holds::nothing);
    }
    find_held(point);
    for (std::int32_t n = 0; n < net.node_count(); ++n)
        if (!is_plain(n) || held_[at(find(n))] != 0) head_m_[at(n)] = point.head_m[at(n)];
    raise_behind_bars();
}

std::int32_t Heads::find(std::int32_t n) {
    while (root_[at(n)] != n) n = root_[at(n)] = root_[at(root_[at(n)])];
    return n;
}

/// Parts that laws join, and which of them a free surface holds.
void Heads::find_held(const network::Point& point) {
    for (std::size_t n = 0; n < root_.size(); ++n) root_[n] = static_cast<std::int32_t>(n);
    for (std::size_t l = 0; l < net_.links.size(); ++l)
        if (holds_[l] == Holds::law && is_plain(net_.links[l].from) && is_plain(net_.links[l].to))
            root_[at(find(net_.links[l].from))] = find(net_.links[l].to);
    held_.assign(root_.size(), 0);
    for (std::int32_t n = 0; n < net_.plain_count; ++n)
        if (point.air[at(n)] != 0) held_[at(find(n))] = 1;
    for (std::size_t l = 0; l < net_.links.size(); ++l) {
        const Link& link = net_.links[l];
        if (holds_[l] != Holds::law) continue;
        // at rest a port above the water determines nothing
        const auto shows = [&](const network::Port& port, std::int32_t node) {
            return std::abs(point.flow_m3_s[l]) > kNoFlow_m3_s || point.head_m[at(node)] > port.elevation_m;
        };
        if (!is_plain(link.from) && is_plain(link.to) && shows(link.at_from, link.from)) held_[at(find(link.to))] = 1;
        if (!is_plain(link.to) && is_plain(link.from) && shows(link.at_to, link.to)) held_[at(find(link.from))] = 1;
    }
}

/// What lets water only into a part that nothing else holds; by the part it leads from, -1 for a head that stands whatever happens here.
std::vector<Heads::Bar> Heads::find_bars() {
    std::vector<Bar> found;
    for (std::size_t l = 0; l < net_.links.size(); ++l) {
        const Link& link = net_.links[l];
        if (holds_[l] != Holds::bar || settings_.links[l].shut || !is_plain(link.to)) continue;
        const std::int32_t into = find(link.to), from = is_plain(link.from) ? find(link.from) : -1;
        if (held_[at(into)] != 0 || from == into) continue;
        found.push_back({static_cast<std::int32_t>(l), from >= 0 && held_[at(from)] == 0 ? from : -1, into});
    }
    std::stable_sort(found.begin(), found.end(), [](const Bar& one, const Bar& other) { return one.from < other.from; });
    return found;
}

/// Every part that only bars hold takes the greatest head that comes through them. Heads come down a chain of bars in as many rounds as it is
/// long; in each only the bars behind what has just risen are looked at.
void Heads::raise_behind_bars() {
    const std::vector<Bar> all = find_bars();
    if (all.empty()) return;
    std::vector<double> risen(root_.size(), kUnknown);
    std::vector<std::int32_t> rose = {-1}, next;
    for (std::size_t round = 0; round < net_.links.size() && !rose.empty(); ++round) {
        next.clear();
        for (const std::int32_t part : rose) {
            auto bar = std::lower_bound(all.begin(), all.end(), part, [](const Bar& one, std::int32_t from) { return one.from < from; });
            for (; bar != all.end() && bar->from == part; ++bar) raise_through(*bar, risen, next);
        }
        std::swap(rose, next);
        for (const std::int32_t part : rose) head_m_[at(part)] = risen[at(part)];
    }
    for (std::int32_t n = 0; n < net_.plain_count; ++n)
        if (held_[at(find(n))] == 0) head_m_[at(n)] = head_m_[at(find(n))];
}

/// What comes through one bar: `risen` is the greatest head of its part so far, `parts` take those that it has raised in this round.
void Heads::raise_through(const Bar& bar, std::vector<double>& risen, std::vector<std::int32_t>& parts) const {
    const Link& link = net_.links[at(bar.link)];
    const double before = head_m_[at(bar.from >= 0 ? bar.from : link.from)];
    if (std::isnan(before) || before <= link.at_from.elevation_m) return;  // no water stands before it
    double cache = 0.0;
    const double head =
        network::port_head(link.at_from, before) - network::loss_at(net_, settings_.links[at(bar.link)], link, 0.0, cache).value - link.trapped_air_m;
    double& most = risen[at(bar.into)];
    if (!std::isnan(most) && head <= most) return;
    if (std::isnan(most) || most == head_m_[at(bar.into)]) parts.push_back(bar.into);  // else it has risen in this round already
    most = head;
}

}  // namespace ebb::settle
