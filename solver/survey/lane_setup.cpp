// What the lanes know of a network before any arrangement.
//
// The order of elimination is minimum degree in its plain form: always an unknown with the fewest neighbours left, of equals
// the one whose neighbours were left alone longest, so that a pivot seldom waits for the one before it. For the few
// hundred unknowns of a farm the true minimum costs less than the approximations that large networks need (network/factor.h), and farms, which are
// trees with a few rings, fill in next to nothing. Cost: unknowns^2 comparisons, once per thread. Failure: none.

#include "solver/survey/lane_setup.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "solver/network/kinks.h"
#include "solver/network/laws.h"
#include "solver/physics/constants.h"
#include "solver/physics/eight_friction.h"
#include "solver/physics/fittings.h"
#include "solver/physics/overflow.h"

namespace ebb::survey {

namespace {

using network::Law;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }
std::int32_t count(std::size_t size) { return static_cast<std::int32_t>(size); }

/// The places of the matrix: the diagonal first, then an entry wherever one is asked for.
class Places {
public:
    explicit Places(std::int32_t unknowns) : lines_(unknowns), unknowns_(unknowns) {}
    std::int32_t of(std::int32_t row, std::int32_t column) {
        if (row == column) return row;
        const auto [place, is_new] = place_.try_emplace({row, column}, lines_);
        if (is_new) ++lines_;
        return place->second;
    }
    std::int32_t lines() const { return lines_; }
    std::int32_t unknowns() const { return unknowns_; }

private:
    std::map<std::pair<std::int32_t, std::int32_t>, std::int32_t> place_;
    std::int32_t lines_, unknowns_;
};

/// The programme of lane_kernel.h.
std::vector<std::int32_t> programme_of(const network::Network& net, Places& places, std::vector<std::int32_t>& zeros) {
    const std::int32_t unknowns = places.unknowns();
    std::vector<std::set<std::int32_t>> touches(at(unknowns));
    for (const network::Link& link : net.links) {
        if (link.from >= unknowns || link.to >= unknowns || link.from == link.to) continue;
        touches[at(link.from)].insert(link.to);
        touches[at(link.to)].insert(link.from);
    }
    std::vector<std::int32_t> programme, starts;
    std::vector<std::uint8_t> done(at(unknowns), 0);
    std::vector<std::int32_t> last(at(unknowns), -1);  // when a neighbour was eliminated
    const auto before = [&](std::int32_t i, std::int32_t j) {
        return std::make_pair(touches[at(i)].size(), last[at(i)]) < std::make_pair(touches[at(j)].size(), last[at(j)]);
    };
    for (std::int32_t k = 0; k < unknowns; ++k) {
        std::int32_t n = -1;
        for (std::int32_t i = 0; i < unknowns; ++i)
            if (done[at(i)] == 0 && (n < 0 || before(i, n))) n = i;
        done[at(n)] = 1;
        const std::vector<std::int32_t> rest(touches[at(n)].begin(), touches[at(n)].end());
        starts.push_back(count(programme.size()));
        programme.push_back(n);
        const std::size_t size_at = programme.size();
        programme.push_back(count(rest.size()));
        for (const std::int32_t j : rest) programme.insert(programme.end(), {places.of(n, j), places.of(j, n), j});
        const std::int32_t lines_before = places.lines();
        for (const std::int32_t i : rest) {
            touches[at(i)].erase(n);
            last[at(i)] = k;
            for (const std::int32_t j : rest) {
                programme.push_back(places.of(i, j));
                if (i != j) touches[at(i)].insert(j);
            }
        }
        // all new between two or three: the step writes them; else they are zero before it adds to them
        const std::int32_t fresh = places.lines() - lines_before, all = count(rest.size() * (rest.size() - 1));
        if (fresh == all && (rest.size() == 2 || rest.size() == 3))
            programme[size_at] = -programme[size_at];
        else
            for (std::int32_t place = lines_before; place < places.lines(); ++place) zeros.push_back(place);
    }
    programme.insert(programme.end(), starts.begin(), starts.end());
    return programme;
}

LaneLaw law_of(const network::Link& link) {
    switch (link.law) {
        case Law::darcy: return link.plain_pipe ? LaneLaw::plain : LaneLaw::darcy;
        case Law::hazen: return LaneLaw::hazen;
        case Law::square: return LaneLaw::square;
        case Law::siphon: return LaneLaw::siphon;
        case Law::standpipe: return LaneLaw::standpipe;
        case Law::float_valve: return LaneLaw::opening;
        default: return LaneLaw::device;
    }
}

void add_standpipe(const network::Network& net, std::int32_t index, const network::Link& link, LaneLink& lane, LaneNetwork& to) {
    const network::StandpipeLaw& law = net.standpipes[at(link.law_index)];
    lane.weir = count(to.weirs.size());
    // the laws' own numbers, from the laws themselves: the weir at 1 mm, the mouth at ten bores
    constexpr double kThin_m = 1e-3;
    const double deep = 10.0 * law.bore_m, thin = std::min(kThin_m, 0.1 * law.bore_m);
    to.weirs.push_back({.link = index,
                        .vent = -1,
                        .weir_factor = physics::overflow_flow(law.bore_m, thin).value / (thin * std::sqrt(thin)),
                        .mouth_factor = physics::overflow_flow(law.bore_m, deep).value / std::sqrt(deep),
                        .crossing_m = physics::kLipCrossing * law.bore_m,
                        .first_hole = count(to.holes.size()),
                        .end_hole = count(to.holes.size() + law.holes.size())});
    for (const auto& hole : law.holes) {
        const double k = physics::orifice_coefficient_m_per_m6_s2(hole.area_m2, hole.discharge_coefficient);
        to.holes.push_back({.elevation_m = hole.elevation_m, .inverse_coefficient = 1.0 / k, .core2 = physics::kLinearCore_m / k});
    }
}

void add_link(const network::Network& net, std::int32_t index, Places& places, LaneNetwork& to) {
    const network::Link& link = net.links[at(index)];
    LaneLink lane{};
    lane.from = link.from;
    lane.to = link.to;
    const bool in_matrix = link.from < to.unknowns && link.to < to.unknowns && link.from != link.to;
    const std::int32_t before = places.lines();
    lane.from_to = in_matrix ? places.of(link.from, link.to) : -1;
    lane.first_in_matrix = places.lines() > before;
    lane.to_from = in_matrix ? places.of(link.to, link.from) : -1;
    lane.law = law_of(link);
    lane.limited_from = link.at_from.limited;
    lane.limited_to = link.at_to.limited;
    lane.port_from = !link.at_from.limited && link.at_from.elevation_m > network::kNoPort;
    lane.port_to = !link.at_to.limited && link.at_to.elevation_m > network::kNoPort && link.law != Law::square;
    lane.is_pump = link.law == Law::pump;
    lane.from_port_m = link.at_from.elevation_m;
    lane.from_leaves_m = link.at_from.leaves_above_m;
    lane.to_port_m = link.at_to.elevation_m;
    lane.to_leaves_m = link.at_to.leaves_above_m;
    const OpeningNumbers opening = opening_numbers(link.bore_m);
    lane.inverse_bore = opening.inverse_bore;
    lane.opening_flow_scale = opening.flow_scale;
    lane.opening_slope_scale = opening.slope_scale;
    lane.flow_from_rest_m3_s = opening.flow_from_rest_m3_s;
    lane.vent = lane.band = lane.weir = lane.pipe = -1;
    if (link.law == Law::siphon || (link.law == Law::pump && net.pumps[at(link.law_index)].intake_m > network::kNoPort)) {
        const bool siphon = link.law == Law::siphon;
        lane.band = to.bands++;
        lane.band_zero_m = siphon ? net.siphons[at(link.law_index)].breaks_at_m : net.pumps[at(link.law_index)].intake_m;
        lane.inverse_band = 1.0 / (siphon ? network::kBreakBand_m : network::kBareBand_m);
    }
    if (link.law == Law::darcy || link.law == Law::hazen) {
        lane.pipe = count(to.pipe_numbers.size() / physics::kPipeNumbers);
        to.pipe_numbers.resize(to.pipe_numbers.size() + physics::kPipeNumbers, 0.0);
        double* const numbers = to.pipe_numbers.data() + to.pipe_numbers.size() - physics::kPipeNumbers;
        if (link.law == Law::darcy)
            write_numbers(net.darcy[at(link.law_index)], numbers);
        else
            write_numbers(net.hazen[at(link.law_index)], numbers);
    }
    if (link.law == Law::standpipe) add_standpipe(net, index, link, lane, to);
    if (link.law == Law::standpipe || link.law == Law::siphon) {
        const bool siphon = link.law == Law::siphon;
        to.feet.push_back({.link = index,
                           .drain = net.drain_of[at(link.to)],
                           .crest_m = siphon ? net.siphons[at(link.law_index)].crest_m : 0.0,
                           .standpipe = !siphon});
    }
    to.links.push_back(lane);
}

void add_vessels(const network::Network& net, LaneNetwork& to) {
    const std::vector<std::vector<network::Kink>> kinks = network::kinks_of(net);
    for (std::size_t v = 0; v < net.storage.size(); ++v) {
        const network::Storage& storage = net.storage[v];
        LaneVessel vessel{};
        vessel.floor_m = storage.floor_m;
        vessel.rim_m = storage.rim_m;
        vessel.first_piece = count(to.pieces.size());
        for (std::size_t i = 0; i + 1 < storage.table.size(); ++i) {
            const auto &low = storage.table[i], &high = storage.table[i + 1];
            to.pieces.push_back(
                {.depth_m = low.depth_m, .volume_m3 = low.volume_m3, .area_m2 = (high.volume_m3 - low.volume_m3) / (high.depth_m - low.depth_m)});
        }
        vessel.end_piece = count(to.pieces.size());
        vessel.first_kink = count(to.kinks.size());
        for (const network::Kink& kink : kinks[v]) to.kinks.push_back({kink.lip_of, kink.elevation_m, kink.scale_m});
        vessel.end_kink = count(to.kinks.size());
        to.vessels.push_back(vessel);
    }
}

/// A head below the drain of node `n` that is usual and leaves some for the drain; minus infinite where there is none.
double safe_below_m(const network::Network& net, std::int32_t n, std::int32_t drain) {
    constexpr double kShare = 0.5;  // of the height between the port and the node, for the level over a drowned port
    const network::Link& link = net.links[at(drain)];
    if (link.to < net.plain_count) return net.drain_of[at(link.to)] >= 0 ? net.elevation_m[at(link.to)] : network::kNoPort;
    const double port = link.at_to.elevation_m;
    return port > network::kNoPort ? port + kShare * (net.elevation_m[at(n)] - port) : network::kNoPort;
}

}  // namespace

double safe_flow_m3_s(const network::Network& net, const LaneVent& vent, const network::LinkSetting& setting) {
    constexpr double kEase = 0.999;
    constexpr int kHalvings = 40;
    const double head = kEase * (vent.elevation_m - vent.safe_below_m);
    if (setting.shut || !(head > 0.0) || !std::isfinite(head)) return -HUGE_VAL;
    const network::Link& link = net.links[at(vent.link)];
    const auto loss = [&](double flow) {
        double no_friction = 0.0;
        return network::loss_at(net, setting, link, flow, no_friction).value;
    };
    double low = 0.0, high = physics::bore_area_m2(link.bore_m);
    while (loss(high) < head) high *= 2.0;
    for (int i = 0; i < kHalvings; ++i) {
        const double middle = 0.5 * (low + high);
        (loss(middle) < head ? low : high) = middle;
    }
    return static_cast<double>(static_cast<float>(low * kEase));  // the same number on every machine
}

void write_numbers(const physics::DarcyPipe& pipe, double* numbers) {
    constexpr double kRough = 3.7, kSmooth = 2.51;  // of Colebrook's equation
    numbers[physics::kRoughShare] = pipe.relative_roughness / kRough;
    numbers[physics::kSmooth] = kSmooth / pipe.reynolds_per_flow;
    numbers[physics::kPull] = physics::kTwoOverLn10Eight * numbers[physics::kSmooth];
    numbers[physics::kTurbulent] = pipe.turbulent_m_per_m6_s2;
    numbers[physics::kSlowFlow] = physics::kTurbulentReynolds / pipe.reynolds_per_flow;
    numbers[physics::kReynoldsPerFlow] = pipe.reynolds_per_flow;
    numbers[physics::kLaminar] = pipe.laminar_m_per_m3_s;
    numbers[physics::kJoin0] = pipe.hermite_c0_m;
    numbers[physics::kJoin1] = pipe.hermite_c1_m;
    numbers[physics::kJoin2] = pipe.hermite_c2_m;
    numbers[physics::kJoin3] = pipe.hermite_c3_m;
}

void write_numbers(const physics::HazenPipe& pipe, double* numbers) {
    const double all[kHazenNumbers] = {pipe.resistance, pipe.flow_power, pipe.slow_flow_m3_s, pipe.slow_alpha_m_per_m3_s, pipe.slow_beta_m_per_m6_s2};
    std::copy(all, all + kHazenNumbers, numbers);
}

OpeningNumbers opening_numbers(double bore_m) {
    if (bore_m <= 0.0) return {0.0, 0.0, 0.0, network::kSmallDevice_m3_s};
    const double slope_scale = bore_m * std::sqrt(physics::kGravity_m_s2 * bore_m);
    return {1.0 / bore_m, slope_scale * bore_m, slope_scale, network::kSlow_m_s * physics::bore_area_m2(bore_m)};
}

LaneNetwork lane_network(const network::Network& net) {
    LaneNetwork to;
    to.unknowns = net.plain_count + net.vessel_count;
    Places places(to.unknowns);
    for (std::int32_t l = 0; l < count(net.links.size()); ++l) add_link(net, l, places, to);
    to.programme = programme_of(net, places, to.zero_places);
    to.matrix_lines = places.lines();
    for (std::int32_t n = 0; n < net.plain_count; ++n) {
        if (net.takes_m3_s[at(n)] != 0.0) to.takers.push_back(n);
        const std::int32_t drain = net.drain_of[at(n)];
        if (drain < 0) continue;
        to.links[at(drain)].vent = count(to.vents.size());
        to.vents.push_back({.node = n, .link = drain, .elevation_m = net.elevation_m[at(n)], .safe_below_m = safe_below_m(net, n, drain)});
    }
    add_vessels(net, to);
    return to;
}

}  // namespace ebb::survey
