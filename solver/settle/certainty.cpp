#include "solver/settle/certainty.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace ebb::settle {

namespace {

using network::Law;
using network::Link;
using network::Network;
using network::Settings;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Less than this passes nothing on that would be noticed in a year, m3/s per m.
constexpr double kWeakest_m2_s = 1e-9;

/// A level nearer than this to a port may be on either side of it, m.
constexpr double kAtPort_m = 1e-7;

/// Kept free below every rim, m: what the state at rest is not at rest by, and the errors of solves.
constexpr double kSpare_m = 2e-3;

/// So many vessels of a loop are tried as the one that all others pass on to; farms have one that a pump draws from.
constexpr int kMostTried = 8;

/// A vessel that has drained so near to its lowest way out has drained, m; and so little flow through what passes nothing back is at its edge, m3/s
/// (a weir of 30 mm bore under that head).
constexpr double kDrained_m = 5e-6, kTrickle_m3_s = 1e-9;

/// The least level at which something leaves a vessel by this link, which starts there; kNoPort: at any.
double leaves_by(const Network& net, const Settings& settings, std::size_t index) {
    const Link& link = net.links[index];
    switch (link.law) {
        case Law::standpipe: {
            double lowest = settings.links[index].value;
            for (const auto& hole : net.standpipes[at(link.law_index)].holes) lowest = std::min(lowest, hole.elevation_m);
            return lowest;
        }
        case Law::siphon: {
            const network::SiphonLaw& law = net.siphons[at(link.law_index)];
            return settings.links[index].primed ? law.breaks_at_m : law.crest_m;
        }
        case Law::pump: return net.pumps[at(link.law_index)].intake_m;
        default: return link.at_from.leaves_above_m;
    }
}

/// Overflows, siphons and what is barred pass nothing back.
bool one_way(const Link& link, const network::LinkSetting& setting) {
    return setting.one_way || link.law == Law::standpipe || link.law == Law::siphon || link.law == Law::float_valve;
}

}  // namespace

Certainty::Certainty(const Network& network)
    : network_(&network), way_start_(at(network.node_count()) + 1, 0), ways_(2 * network.links.size()), links_of_(at(network.vessel_count)),
      root_(at(network.node_count())), loop_(at(network.vessel_count)), touched_(root_.size()), open_(root_.size()), fixed_root_(root_.size()),
      fixed_touched_(root_.size(), 0), changing_(network.links.size()), is_(network.links.size()), passes_(network.links.size()),
      reached_(root_.size()), awake_(at(network.vessel_count)), asked_(at(network.vessel_count)), wet_(root_.size()), surplus_m3_(root_.size()),
      water_m3_(root_.size()), greatest_level_m_(at(network.vessel_count), HUGE_VAL), flood_level_m_(at(network.vessel_count)),
      seen_level_m_(at(network.vessel_count), -HUGE_VAL) {
    waiting_.reserve(2 * root_.size());
    trail_.reserve(2 * root_.size());
    std::iota(fixed_root_.begin(), fixed_root_.end(), 0);
    std::iota(changing_.begin(), changing_.end(), 0);
    for (const Link& link : network.links) {
        ++way_start_[at(link.from) + 1];
        ++way_start_[at(link.to) + 1];
    }
    for (std::size_t n = 1; n < way_start_.size(); ++n) way_start_[n] += way_start_[n - 1];
    std::vector<std::int64_t> fill(way_start_.begin(), way_start_.end() - 1);
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const Link& link = network.links[l];
        const auto index = static_cast<std::int32_t>(l);
        ways_[static_cast<std::size_t>(fill[at(link.to)]++)] = {index, link.from, true};
        ways_[static_cast<std::size_t>(fill[at(link.from)]++)] = {index, link.to, false};
        for (const std::int32_t node : {link.from, link.to})
            if (network.is_vessel(node)) links_of_[at(node - network.plain_count)].push_back(index);
    }
}

std::int32_t Certainty::find(std::int32_t node) {
    while (root_[at(node)] != node) node = root_[at(node)] = root_[at(root_[at(node)])];
    return node;
}

void Certainty::look_at(const Settings& settings, std::int32_t index) {
    const network::LinkSetting& setting = settings.links[at(index)];
    const Link& link = network_->links[at(index)];
    const bool into_air = at(link.to) < settings.vented.size() && settings.vented[at(link.to)] != 0;
    is_[at(index)] = {leaves_by(*network_, settings, at(index)), setting.shut, one_way(link, setting), into_air};
}

/// A link that is not shut makes one loop of what it joins. A pond gives a loop its water but does not join two that merely drain into it.
void Certainty::join(std::int32_t index, bool floats_give) {
    const Network& net = *network_;
    const Link& link = net.links[at(index)];
    if (is_[at(index)].shut) return;
    if (net.is_fixed(link.from)) {
        touched_[at(link.to)] = 1;
    } else if (net.is_fixed(link.to)) {
        touched_[at(link.from)] = 1;
    } else if (link.law != Law::float_valve || floats_give) {
        const std::int32_t from = find(link.from), to = find(link.to);
        root_[at(from)] = to;
    }
}

void Certainty::keep_fixed(const Settings& settings, std::span<const std::int32_t> changing) {
    const Network& net = *network_;
    std::iota(root_.begin(), root_.end(), 0);
    std::fill(touched_.begin(), touched_.end(), std::uint8_t{0});
    changing_.assign(changing.begin(), changing.end());
    for (const std::int32_t link : net.float_link)
        if (std::find(changing_.begin(), changing_.end(), link) == changing_.end()) changing_.push_back(link);
    std::vector<std::uint8_t> changes(net.links.size(), 0);
    for (const std::int32_t link : changing_) changes[at(link)] = 1;
    for (std::size_t l = 0; l < net.links.size(); ++l)
        if (changes[l] == 0) {
            look_at(settings, static_cast<std::int32_t>(l));
            join(static_cast<std::int32_t>(l), false);
        }
    for (std::size_t n = 0; n < root_.size(); ++n) fixed_root_[n] = find(static_cast<std::int32_t>(n));
    fixed_touched_ = touched_;
}

void Certainty::take(const Settings& settings, bool floats_give) {
    const Network& net = *network_;
    woken_ = false;
    std::copy(fixed_root_.begin(), fixed_root_.end(), root_.begin());
    std::copy(fixed_touched_.begin(), fixed_touched_.end(), touched_.begin());
    for (const std::int32_t link : changing_) {
        look_at(settings, link);
        join(link, floats_give);
    }
    std::fill(open_.begin(), open_.end(), std::uint8_t{0});
    if (net.fixed_count > 0)
        for (std::int32_t n = 0; n < net.plain_count + net.vessel_count; ++n)
            if (touched_[at(n)] != 0) open_[at(find(n))] = 1;
    for (std::int32_t v = 0; v < net.vessel_count; ++v) loop_[at(v)] = find(net.vessel_node(v));
}

/// What a change does to the flow must be able to happen: where next to nothing flows, a fall at the upper end turns the flow round, and nothing
/// comes back from water that stands below its port, through a check valve or over a lip. A law at its very edge has a slope there, and none a hair
/// beyond.
void Certainty::pass(std::size_t link, const Slopes& slopes, double from_m, double to_m, double flow_m3_s) {
    const Network& net = *network_;
    const Link& is = net.links[link];
    const Open& open = is_[link];
    Passes& passes = passes_[link];
    const double edge = net.is_vessel(is.from) ? open.edge_m : network::kNoPort;
    bool forth = true, back = true;  // the flow can grow, and fall
    if (open.one_way || open.into_air) {
        forth = back = flow_m3_s > kTrickle_m3_s;
    } else if (std::abs(flow_m3_s) <= kTrickle_m3_s) {
        forth = from_m > std::max(edge, is.at_to.elevation_m) + kDrained_m;
        back = to_m > std::max(is.at_to.leaves_above_m, is.at_from.elevation_m) + kDrained_m;
    }
    const auto changes = [](bool rise, bool fall) { return static_cast<std::uint8_t>((rise ? kRise : 0) | (fall ? kFall : 0)); };
    const bool from_shows = from_m - std::max(edge, is.at_from.elevation_m) > kDrained_m, to_shows = to_m - is.at_to.elevation_m > kDrained_m;
    passes.forward = slopes.a > kWeakest_m2_s && from_shows ? changes(forth, back) : std::uint8_t{0};
    passes.backward = slopes.b > kWeakest_m2_s && to_shows ? changes(back, forth) : std::uint8_t{0};
    // at the edge of a way out what rises goes that way all the same
    if ((passes.forward & kRise) != 0 || open.shut || !net.is_vessel(is.from) || is.law == Law::pump || is.law == Law::siphon) return;
    if (from_m >= edge - kAtPort_m && network::port_head(is.at_to, to_m) < edge) passes.forward |= kRise;
}

/// The least level at which something leaves a vessel, by any way.
double Certainty::leaves_at(std::int32_t vessel) const {
    const Network& net = *network_;
    double least = HUGE_VAL;
    for (const std::int32_t index : links_of_[at(vessel)]) {
        const Link& link = net.links[at(index)];
        const Open& open = is_[at(index)];
        if (open.shut) continue;
        if (link.from == net.vessel_node(vessel)) least = std::min(least, open.edge_m);
        if (link.to == net.vessel_node(vessel) && !open.one_way) least = std::min(least, link.at_to.leaves_above_m);
    }
    return least;
}

void Certainty::forget_bound() {
    std::fill(greatest_level_m_.begin(), greatest_level_m_.end(), HUGE_VAL);
    std::fill(seen_level_m_.begin(), seen_level_m_.end(), -HUGE_VAL);
}

/// Water that stands at a node up to `level_m` goes on over the ways that are open.
void Certainty::spread(std::int32_t node, double level_m) {
    const Network& net = *network_;
    const bool vessel = net.is_vessel(node);
    for (auto w = way_start_[at(node)]; w < way_start_[at(node) + 1]; ++w) {
        const Way& way = ways_[static_cast<std::size_t>(w)];
        const Open& open = is_[at(way.link)];
        // the ways of a node are listed by where they come from: here they are gone the other way
        if (wet_[at(way.other)] != 0 || open.shut || (way.forward && open.one_way)) continue;
        if (vessel && level_m <= (way.forward ? net.links[at(way.link)].at_to.leaves_above_m : open.edge_m)) continue;
        wet_[at(way.other)] = 1;
        waiting_.push_back(way.other);
    }
}

void Certainty::wake(std::span<const double> start_level_m, double slack_m) {
    const Network& net = *network_;
    woken_ = true;
    for (std::size_t v = 0; v < flood_level_m_.size(); ++v)
        flood_level_m_[v] = slack_m > 0.0 ? std::max(greatest_level_m_[v], seen_level_m_[v]) + slack_m : greatest_level_m_[v];
    const std::int32_t first_fixed = net.plain_count + net.vessel_count;
    std::fill(wet_.begin(), wet_.end(), std::uint8_t{0});
    for (std::int32_t n = first_fixed; n < net.node_count(); ++n) spread(n, 0.0);
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const std::size_t before = waiting_.size();
        const bool was_wet = wet_[at(net.vessel_node(v))] != 0;
        spread(net.vessel_node(v), start_level_m[at(v)]);
        // a way whose other end is wet already is a way all the same
        awake_[at(v)] = was_wet || waiting_.size() > before || start_level_m[at(v)] > leaves_at(v) ? 1 : 0;
    }
    while (!waiting_.empty()) {
        const std::int32_t here = waiting_.back();
        waiting_.pop_back();
        if (net.is_fixed(here)) continue;
        if (net.is_vessel(here)) awake_[at(here - net.plain_count)] = 1;
        spread(here, net.is_vessel(here) ? flood_level_m_[at(here - net.plain_count)] : 0.0);
    }
}

void Certainty::reach_back_from(std::int32_t node, std::uint8_t changes) {
    const auto mark = [&](std::int32_t n, std::uint8_t more) {
        more = static_cast<std::uint8_t>(more & ~reached_[at(n)]);
        if (more == 0) return;
        reached_[at(n)] |= more;
        trail_.emplace_back(n, more);
        waiting_.push_back(n);
    };
    mark(node, changes);
    while (!waiting_.empty()) {
        const std::int32_t here = waiting_.back();
        waiting_.pop_back();
        for (auto w = way_start_[at(here)]; w < way_start_[at(here) + 1]; ++w) {
            const Way& way = ways_[static_cast<std::size_t>(w)];
            const Passes& passes = passes_[at(way.link)];
            mark(way.other, reached_[at(here)] & (way.forward ? passes.forward : passes.backward));
        }
    }
}

bool Certainty::is_left(std::int32_t vessel, std::int32_t loop, std::uint8_t changes) const {
    return loop_[at(vessel)] == loop && awake_[at(vessel)] != 0 && (reached_[at(network_->vessel_node(vessel))] & changes) != changes;
}

bool Certainty::any_left(std::int32_t first, std::int32_t loop, std::uint8_t changes) const {
    for (std::int32_t v = first; v < network_->vessel_count; ++v)
        if (is_left(v, loop, changes)) return true;
    return false;
}

/// Does every vessel of the loop pass rises and falls on to this one? If not, nothing is left marked.
bool Certainty::all_pass_on_to(std::int32_t node, std::int32_t first, std::int32_t loop) {
    if (!network_->is_vessel(node) || loop_[at(node - network_->plain_count)] != loop) return false;
    const std::size_t before = trail_.size();
    reach_back_from(node, kBoth);
    if (!any_left(first, loop, kBoth)) return true;
    for (std::size_t i = before; i < trail_.size(); ++i) reached_[at(trail_[i].first)] &= static_cast<std::uint8_t>(~trail_[i].second);
    trail_.resize(before);
    return false;
}

bool Certainty::one_end_of_loop(std::int32_t first, std::int32_t loop) {
    const Network& net = *network_;
    if (!any_left(first, loop, kRise)) return open_[at(loop)] == 0 || !any_left(first, loop, kFall);
    if (open_[at(loop)] != 0) return false;
    // what all pass on to is, as a rule, what a pump draws from
    for (const std::int32_t inlet : net.pump_inlet_node)
        if (all_pass_on_to(inlet, first, loop)) return true;
    int tried = 0;
    for (std::int32_t v = first; v < net.vessel_count && tried < kMostTried; ++v) {
        if (!is_left(v, loop, kRise)) continue;
        if (all_pass_on_to(net.vessel_node(v), first, loop)) return true;
        ++tried;
    }
    return false;
}

bool Certainty::one_end(std::span<const double> start_level_m, std::span<const double> end_level_m) {
    const Network& net = *network_;
    const auto under = [](double greatest, double flooded) { return greatest <= flooded; };
    if (!woken_ || !std::equal(greatest_level_m_.begin(), greatest_level_m_.end(), flood_level_m_.begin(), under)) wake(start_level_m, 0.0);
    std::fill(reached_.begin(), reached_.end(), std::uint8_t{0});
    trail_.clear();
    for (std::int32_t n = net.plain_count + net.vessel_count; n < net.node_count(); ++n) reach_back_from(n, kBoth);
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        asked_[at(v)] = 0;
        if (awake_[at(v)] == 0) continue;
        const double edge = leaves_at(v);
        if (start_level_m[at(v)] >= edge && end_level_m[at(v)] - edge <= kDrained_m) reach_back_from(net.vessel_node(v), kFall);
    }
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const std::int32_t loop = loop_[at(v)];
        if (asked_[at(v)] != 0) continue;
        for (std::int32_t w = v; w < net.vessel_count; ++w)
            if (loop_[at(w)] == loop) asked_[at(w)] = 1;
        if (!one_end_of_loop(v, loop)) return false;
    }
    return true;
}

bool Certainty::fits(std::span<const double> start_m3, std::span<const double> rest_level_m) {
    const Network& net = *network_;
    for (const std::int32_t root : loop_) surplus_m3_[at(root)] = water_m3_[at(root)] = 0.0;
    for (std::size_t v = 0; v < start_m3.size(); ++v) {
        water_m3_[at(loop_[v])] += start_m3[v];
        surplus_m3_[at(loop_[v])] += std::max(0.0, start_m3[v] - network::volume_at_level(net.storage[v], rest_level_m[v]).value);
    }
    bool fits = true;
    for (std::size_t v = 0; v < start_m3.size(); ++v) {
        const network::Storage& storage = net.storage[v];
        double most = network::volume_at_level(storage, rest_level_m[v]).value + surplus_m3_[at(loop_[v])];
        if (open_[at(loop_[v])] == 0) most = std::min(most, water_m3_[at(loop_[v])]);
        greatest_level_m_[v] = network::level_at_volume(storage, std::max(most, start_m3[v]));
        fits = fits && greatest_level_m_[v] <= storage.rim_m - kSpare_m;
    }
    if (fits)
        for (std::size_t v = 0; v < seen_level_m_.size(); ++v) seen_level_m_[v] = std::max(seen_level_m_[v], greatest_level_m_[v]);
    return fits;
}

bool Certainty::floats_stay_shut(const Settings& settings, std::span<const double> start_m3, std::span<const double> rest_level_m) const {
    const Network& net = *network_;
    return std::all_of(net.float_link.begin(), net.float_link.end(), [&](std::int32_t index) {
        const Link& link = net.links[at(index)];
        if (settings.links[at(index)].shut || !net.is_vessel(link.to)) return true;
        const auto vessel = at(link.to - net.plain_count);
        double least = -surplus_m3_[at(loop_[vessel])];
        for (std::size_t v = 0; v < start_m3.size(); ++v) {
            if (loop_[v] != loop_[vessel]) continue;
            least += start_m3[v] - (v == vessel ? 0.0 : network::volume_at_level(net.storage[v], rest_level_m[v]).value);
        }
        const network::Storage& storage = net.storage[vessel];
        return least > network::volume_at_level(storage, net.float_valves[at(link.law_index)].closes_at_m + kSpare_m).value;
    });
}

void Certainty::pour(std::span<const double> start_m3, std::span<const double> rest_level_m, std::span<double> volume_m3) const {
    for (std::size_t v = 0; v < start_m3.size(); ++v) {
        const double rest = network::volume_at_level(network_->storage[v], rest_level_m[v]).value;
        volume_m3[v] = rest + std::max(0.0, start_m3[v] - rest);
    }
}

}  // namespace ebb::settle
