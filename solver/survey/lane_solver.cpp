// Eight arrangements side by side: the memory, the settings of a lane, where it starts and what it found. The arithmetic is in lane_kernel.h.

#include "solver/survey/lane_solver.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <utility>
#include <vector>

#include "solver/network/newton_rules.h"
#include "solver/physics/eight_friction.h"
#include "solver/survey/lane_scalar.h"
#include "solver/survey/lane_setup.h"

namespace ebb::survey {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }
std::size_t of_lane(std::int32_t thing, int lane) { return at(thing) * kLanes + static_cast<std::size_t>(lane); }
LaneBits bit(int lane) { return static_cast<LaneBits>(1U << static_cast<unsigned>(lane)); }
void set_bit(LaneBits& bits, int lane, bool on) { bits = static_cast<LaneBits>(on ? bits | bit(lane) : bits & ~bit(lane)); }
bool has_bit(LaneBits bits, int lane) { return (bits & bit(lane)) != 0; }

LaneKernels kernels_of(LaneSolver::Instructions instructions) {
    switch (instructions) {
        case LaneSolver::Instructions::avx512: return lane_kernels_avx512();
        case LaneSolver::Instructions::avx2: return lane_kernels_avx2();
        default: return lane_kernels_baseline();
    }
}

LaneSolver::Instructions chosen(LaneSolver::Instructions wanted) {
    using enum LaneSolver::Instructions;
    if (wanted != best) return wanted;
    return LaneSolver::has(avx512) ? avx512 : LaneSolver::has(avx2) ? avx2 : baseline;
}

/// Hands out runs of one vector whose size was counted first.
template <typename T>
class Arena {
public:
    void want(T*& pointer, std::int32_t count) {
        wanted_.emplace_back(&pointer, total_);
        total_ += at(count);
    }
    void make(std::vector<T>& memory) {
        memory.assign(total_, T{});
        for (const auto& [pointer, offset] : wanted_) *pointer = memory.data() + offset;
    }

private:
    std::vector<std::pair<T**, std::size_t>> wanted_;
    std::size_t total_ = 0;
};

}  // namespace

struct LaneSolver::Impl {
    const network::Network* net;
    LaneNetwork lanes;
    Instructions instructions;
    LaneAdvance advance = nullptr;
    LaneData data{};
    LaneScalar scalar;
    std::vector<Line> lines, own_numbers;
    std::vector<LaneBits> bits;
    struct SafeFor {
        double k_forward = std::numeric_limits<double>::quiet_NaN();
        bool shut = false;
    };
    std::vector<SafeFor> safe_for;       ///< per vent and lane: what its safe flow was reckoned for
    std::vector<double> own_bore_m;      ///< per link and lane: of a pipe that is not the network's, else 0
    std::vector<std::int32_t> taker_of;  ///< per plain node, -1: nothing is taken there
    bool own;

    Impl(const network::Network& network, Pipes pipes, Instructions with)
        : net(&network), lanes(lane_network(network)), instructions(chosen(with)), own(pipes == Pipes::own) {
        const LaneKernels kernels = kernels_of(instructions);
        advance = own ? kernels.own : kernels.shared;
        assert(advance != nullptr);
        point_at_network();
        take_memory();
        fill_memory();
        make_scalar();
    }

    void point_at_network() {
        LaneData& d = data;
        d.plain = net->plain_count;
        d.vessels = net->vessel_count;
        d.nodes = net->node_count();
        d.links = static_cast<std::int32_t>(net->links.size());
        d.unknowns = lanes.unknowns;
        d.zeros = static_cast<std::int32_t>(lanes.zero_places.size());
        d.zero_place = lanes.zero_places.data();
        d.vents = static_cast<std::int32_t>(lanes.vents.size());
        d.feet = static_cast<std::int32_t>(lanes.feet.size());
        d.takers = static_cast<std::int32_t>(lanes.takers.size());
        d.link = lanes.links.data();
        d.vent = lanes.vents.data();
        d.foot = lanes.feet.data();
        d.weir = lanes.weirs.data();
        d.hole = lanes.holes.data();
        d.vessel = lanes.vessels.data();
        d.piece = lanes.pieces.data();
        d.kink = lanes.kinks.data();
        d.taker = lanes.takers.data();
        d.programme = lanes.programme.data();
        d.pipe_numbers = lanes.pipe_numbers.data();
        d.own_inverse_bore = d.own_flow_scale = d.own_slope_scale = d.own_from_rest = nullptr;
    }

    void take_memory() {
        LaneData& d = data;
        Arena<Line> line;
        for (Line** each : {&d.k_forward, &d.k_reverse, &d.value, &d.flow, &d.start_X, &d.q, &d.a, &d.b}) line.want(*each, d.links);
        for (Line** each : {&d.head, &d.change}) line.want(*each, d.nodes);
        for (Line** each : {&d.old_head, &d.rhs, &d.balance}) line.want(*each, d.unknowns);
        for (Line** each : {&d.spill, &d.volume, &d.area, &d.start_volume}) line.want(*each, d.vessels);
        for (Line** each : {&d.vent_loss, &d.vent_inverse, &d.safe_flow}) line.want(*each, d.vents);
        line.want(d.matrix, lanes.matrix_lines);
        line.want(d.taken, d.takers);
        line.want(d.band_most, lanes.bands);
        Line* own_lines[4] = {};
        if (own)
            for (Line*& each : own_lines) line.want(each, d.links);
        line.make(lines);
        if (own) {
            for (std::int32_t l = 0; l < d.links; ++l) {
                const OpeningNumbers numbers = opening_numbers(net->links[at(l)].bore_m);
                for (int lane = 0; lane < kLanes; ++lane) {
                    own_lines[0][l].lane[lane] = numbers.inverse_bore;
                    own_lines[1][l].lane[lane] = numbers.flow_scale;
                    own_lines[2][l].lane[lane] = numbers.slope_scale;
                    own_lines[3][l].lane[lane] = numbers.flow_from_rest_m3_s;
                }
            }
            d.own_inverse_bore = own_lines[0];
            d.own_flow_scale = own_lines[1];
            d.own_slope_scale = own_lines[2];
            d.own_from_rest = own_lines[3];
            own_numbers.resize(lanes.pipe_numbers.size());
            for (std::size_t i = 0; i < own_numbers.size(); ++i)
                for (double& number : own_numbers[i].lane) number = lanes.pipe_numbers[i];
            d.pipe_numbers = own_numbers.data()->lane;
        }
        Arena<LaneBits> set;
        for (LaneBits** each :
             {&d.shut, &d.one_way, &d.primed, &d.unbanded, &d.by_law, &d.cascade, &d.at_entrance_from, &d.at_entrance_to, &d.at_one_way})
            set.want(*each, d.links);
        for (LaneBits** each : {&d.vented, &d.air}) set.want(*each, d.plain);
        set.want(d.brim, d.vessels);
        set.want(d.known, d.nodes);
        set.make(bits);
    }

    void fill_memory() {
        LaneData& d = data;
        std::fill_n(d.shut, d.links, kAllLanes);  // until a lane is loaded
        for (std::int32_t n = d.unknowns; n < d.nodes; ++n) {
            d.known[n] = kAllLanes;
            for (double& head : d.head[n].lane) head = net->fixed_head_m[at(n - d.unknowns)];
        }
        safe_for.resize(lanes.vents.size() * kLanes);
        own_bore_m.assign(net->links.size() * kLanes, 0.0);
        taker_of.assign(at(d.plain), -1);
        for (std::int32_t t = 0; t < d.takers; ++t) taker_of[at(lanes.takers[at(t)])] = t;
        for (double& tau : d.tau.lane) tau = 1.0;
        const network::Tolerances usual;
        for (int lane = 0; lane < kLanes; ++lane) {
            d.head_tolerance.lane[lane] = usual.head_m;
            d.flow_share.lane[lane] = usual.flow_share;
            d.greatest_steps[lane] = usual.greatest_steps;
            set_bit(d.keep_water, lane, usual.keep_water);
        }
    }

    void make_scalar() {
        scalar.net = net;
        scalar.data = &data;
        scalar.settings.resize(net->links.size() * kLanes);
        scalar.pump_share.resize(net->pumps.size() * kLanes);
        for (std::size_t p = 0; p < net->pumps.size(); ++p)
            for (std::size_t lane = 0; lane < kLanes; ++lane) scalar.pump_share[p * kLanes + lane] = 1.0 - net->pumps[p].wear;
        scalar.lowest_way_m.resize(at(net->node_count()));
        data.context = &scalar;
        data.losses = &lane_losses;
        data.openings = &lane_openings;
        data.lift_starved = &lane_lift_starved;
    }

    /// Heads and flows of a lane of which only the levels are known (Solver::cold_start).
    void cold_start(int lane) {
        LaneData& d = data;
        double mean = 0.0;
        for (std::int32_t n = d.plain; n < d.nodes; ++n) mean += d.head[n].lane[lane];
        mean /= std::max(1, d.vessels + net->fixed_count);
        for (std::int32_t n = 0; n < d.plain; ++n) {
            const bool vented = has_bit(d.vented[n], lane) && net->drain_of[at(n)] >= 0;
            set_bit(d.air[n], lane, vented);
            d.head[n].lane[lane] = vented ? net->elevation_m[at(n)] : mean;
        }
        double largest = 0.0;
        for (std::int32_t l = 0; l < d.links; ++l) {
            const network::Link& link = net->links[at(l)];
            const bool drain = link.drains_vented && has_bit(d.vented[link.from], lane);
            const network::LinkSetting& setting = scalar.settings[of_lane(l, lane)];
            const double flow = setting.shut || drain ? 0.0 : first_flow(l, lane, link, setting);
            d.flow[l].lane[lane] = flow;
            d.start_X[l].lane[lane] = 0.0;
            largest = std::max(largest, std::abs(flow));
        }
        d.largest_flow.lane[lane] = largest;
    }
    double first_flow(std::int32_t l, int lane, const network::Link& link, const network::LinkSetting& setting) const {
        const bool pipe = link.law == network::Law::darcy || link.law == network::Law::hazen;
        if (own && pipe && own_bore_m[of_lane(l, lane)] > 0.0) {
            network::Link mine = link;
            mine.bore_m = own_bore_m[of_lane(l, lane)];
            return network::first_flow(*net, setting, mine);
        }
        return network::first_flow(*net, setting, link);
    }
    /// Cheap when the drain's losses are what they were.
    void renew_safe_flow(int lane, std::int32_t vent, const network::LinkSetting& setting) {
        SafeFor& known = safe_for[of_lane(vent, lane)];
        if (known.k_forward == setting.k_forward && known.shut == setting.shut) return;
        known = {setting.k_forward, setting.shut};
        double& safe = data.safe_flow[vent].lane[lane];
        // the other lanes have mostly asked the same
        for (int other = 0; other < kLanes; ++other)
            if (const SafeFor& there = safe_for[of_lane(vent, other)];
                !own && other != lane && there.k_forward == known.k_forward && there.shut == known.shut) {
                safe = data.safe_flow[vent].lane[other];
                return;
            }
        safe = own_bore_m[of_lane(lanes.vents[at(vent)].link, lane)] > 0.0 ? -HUGE_VAL : safe_flow_m3_s(*net, lanes.vents[at(vent)], setting);
    }
    void set_level(int lane, std::int32_t vessel, double level_m) {
        data.head[data.plain + vessel].lane[lane] = level_m;
        data.spill[vessel].lane[lane] = 0.0;
        set_bit(data.brim[vessel], lane, false);
    }
    void set_opening(int lane, std::int32_t link, double bore_m) {
        own_bore_m[of_lane(link, lane)] = bore_m;
        const OpeningNumbers numbers = opening_numbers(bore_m);
        const auto put = [&](const Line* line, double value) { const_cast<Line*>(line)[link].lane[lane] = value; };
        put(data.own_inverse_bore, numbers.inverse_bore);
        put(data.own_flow_scale, numbers.flow_scale);
        put(data.own_slope_scale, numbers.slope_scale);
        put(data.own_from_rest, numbers.flow_from_rest_m3_s);
    }
    void set_numbers(int lane, std::int32_t link, const double* numbers) {
        const auto first = at(lanes.links[at(link)].pipe) * physics::kPipeNumbers;
        for (std::size_t i = 0; i < physics::kPipeNumbers; ++i) own_numbers[first + i].lane[lane] = numbers[i];
        if (const std::int32_t vent = data.link[link].vent; vent >= 0) data.safe_flow[vent].lane[lane] = -HUGE_VAL;
    }
};

bool LaneSolver::supports(const network::Network& network) {
    return network.header_tees.empty() &&
           std::none_of(network.links.begin(), network.links.end(), [](const network::Link& link) { return link.trapped_air_m > 0.0; });
}

bool LaneSolver::has(Instructions instructions) {
    if (instructions == Instructions::best || instructions == Instructions::baseline) return true;
    if (kernels_of(instructions).shared == nullptr) return false;
#if defined(__x86_64__)
    if (instructions == Instructions::avx2) return __builtin_cpu_supports("avx2") != 0;
    return __builtin_cpu_supports("avx512f") != 0 && __builtin_cpu_supports("avx512dq") != 0 && __builtin_cpu_supports("avx512vl") != 0;
#else
    return false;
#endif
}

LaneSolver::LaneSolver(const network::Network& network, Pipes pipes, Instructions instructions)
    : impl_(std::make_unique<Impl>(network, pipes, instructions)) {}
LaneSolver::~LaneSolver() = default;
LaneSolver::LaneSolver(LaneSolver&&) noexcept = default;
LaneSolver& LaneSolver::operator=(LaneSolver&&) noexcept = default;

const network::Network& LaneSolver::network() const { return *impl_->net; }
LaneSolver::Instructions LaneSolver::instructions() const { return impl_->instructions; }

void LaneSolver::load(int lane, const network::Settings& settings) {
    const LaneData& d = impl_->data;
    for (std::int32_t l = 0; l < d.links; ++l) set_link(lane, l, settings.links[at(l)]);
    for (std::int32_t n = 0; n < d.plain; ++n) {
        set_vented(lane, n, at(n) < settings.vented.size() && settings.vented[at(n)] != 0);
        set_dry(lane, n, at(n) < settings.dry.size() && settings.dry[at(n)] != 0);
    }
}

void LaneSolver::set_link(int lane, std::int32_t link, const network::LinkSetting& setting) {
    LaneData& d = impl_->data;
    impl_->scalar.settings[of_lane(link, lane)] = setting;
    d.k_forward[link].lane[lane] = setting.k_forward;
    d.k_reverse[link].lane[lane] = setting.k_reverse;
    d.value[link].lane[lane] = setting.value;
    const LaneLaw law = d.link[link].law;
    set_bit(d.shut[link], lane, setting.shut);
    set_bit(d.one_way[link], lane, setting.one_way || law == LaneLaw::siphon);
    set_bit(d.primed[link], lane, setting.primed);
    if (d.link[link].vent >= 0) impl_->renew_safe_flow(lane, d.link[link].vent, setting);
    const std::int32_t band = d.link[link].band;
    if (band < 0) return;
    const network::Band most = network::band_of(*impl_->net, setting, impl_->net->links[at(link)]);
    set_bit(d.unbanded[link], lane, !(most.most_m3_s < HUGE_VAL));
    d.band_most[band].lane[lane] = most.most_m3_s < HUGE_VAL ? most.most_m3_s : 0.0;
}

void LaneSolver::set_vented(int lane, std::int32_t node, bool vented) { set_bit(impl_->data.vented[node], lane, vented); }
void LaneSolver::set_dry(int lane, std::int32_t node, bool dry) {
    const std::int32_t taker = impl_->taker_of[at(node)];
    if (taker >= 0) impl_->data.taken[taker].lane[lane] = dry ? 0.0 : impl_->net->takes_m3_s[at(node)];
}
const network::LinkSetting& LaneSolver::setting(int lane, std::int32_t link) const { return impl_->scalar.settings[of_lane(link, lane)]; }

void LaneSolver::give_levels(int lane) {
    set_bit(impl_->data.levels_unknown, lane, false);
    impl_->data.tau.lane[lane] = 1.0;
}
void LaneSolver::set_step(int lane, double tau_s, std::span<const double> start_volume_m3) {
    set_tau(lane, tau_s);
    for (std::size_t v = 0; v < start_volume_m3.size(); ++v) impl_->data.start_volume[v].lane[lane] = start_volume_m3[v];
}
void LaneSolver::set_tau(int lane, double tau_s) {
    set_bit(impl_->data.levels_unknown, lane, true);
    impl_->data.tau.lane[lane] = tau_s;
}
void LaneSolver::set_start_volume(int lane, std::int32_t vessel, double volume_m3) { impl_->data.start_volume[vessel].lane[lane] = volume_m3; }
void LaneSolver::set_tolerances(int lane, const network::Tolerances& tolerances) {
    LaneData& d = impl_->data;
    d.head_tolerance.lane[lane] = tolerances.head_m;
    d.flow_share.lane[lane] = tolerances.flow_share;
    d.greatest_steps[lane] = tolerances.greatest_steps;
    set_bit(d.keep_water, lane, tolerances.keep_water);
}

void LaneSolver::set_pipe(int lane, std::int32_t link, const physics::DarcyPipe& pipe, double bore_m) {
    assert(impl_->own);
    double numbers[physics::kPipeNumbers] = {};
    write_numbers(pipe, numbers);
    impl_->set_numbers(lane, link, numbers);
    impl_->set_opening(lane, link, bore_m);
}
void LaneSolver::set_pipe(int lane, std::int32_t link, const physics::HazenPipe& pipe, double bore_m) {
    assert(impl_->own);
    double numbers[physics::kPipeNumbers] = {};
    write_numbers(pipe, numbers);
    impl_->set_numbers(lane, link, numbers);
    impl_->set_opening(lane, link, bore_m);
}
void LaneSolver::set_pump_share(int lane, std::int32_t pump, double share) { impl_->scalar.pump_share[of_lane(pump, lane)] = share; }

void LaneSolver::put_levels(int lane, std::span<const double> level_m) {
    for (std::size_t v = 0; v < level_m.size(); ++v) impl_->set_level(lane, static_cast<std::int32_t>(v), level_m[v]);
}
void LaneSolver::set_head(int lane, std::int32_t node, double head_m) {
    if (impl_->net->is_vessel(node))
        impl_->set_level(lane, node - impl_->data.plain, head_m);
    else
        impl_->data.head[node].lane[lane] = head_m;
}
void LaneSolver::take(int lane, const network::Point& point) {
    LaneData& d = impl_->data;
    for (std::int32_t n = 0; n < d.nodes; ++n) d.head[n].lane[lane] = point.head_m[at(n)];
    double largest = 0.0;
    for (std::int32_t l = 0; l < d.links; ++l) {
        d.flow[l].lane[lane] = point.flow_m3_s[at(l)];
        d.start_X[l].lane[lane] = point.inverse_sqrt_friction[at(l)];
        largest = std::max(largest, std::abs(point.flow_m3_s[at(l)]));
    }
    d.largest_flow.lane[lane] = largest;
    for (std::int32_t n = 0; n < d.plain; ++n) set_bit(d.air[n], lane, point.air[at(n)] != 0);
    for (std::int32_t v = 0; v < d.vessels; ++v) {
        set_bit(d.brim[v], lane, point.brim[at(v)] != 0);
        d.spill[v].lane[lane] = point.spill_m3_s[at(v)];
    }
}
void LaneSolver::copy_point(int from_lane, int to_lane) {
    LaneData& d = impl_->data;
    const auto lines = [&](Line* line, std::int32_t count) {
        for (std::int32_t i = 0; i < count; ++i) line[i].lane[to_lane] = line[i].lane[from_lane];
    };
    lines(d.head, d.nodes);
    lines(d.flow, d.links);
    lines(d.start_X, d.links);
    lines(d.spill, d.vessels);
    lines(&d.largest_flow, 1);
    for (std::int32_t n = 0; n < d.plain; ++n) set_bit(d.air[n], to_lane, has_bit(d.air[n], from_lane));
    for (std::int32_t v = 0; v < d.vessels; ++v) set_bit(d.brim[v], to_lane, has_bit(d.brim[v], from_lane));
}

void LaneSolver::begin(int lane, bool warm) {
    LaneData& d = impl_->data;
    if (!warm) impl_->cold_start(lane);
    d.steps[lane] = 0;
    set_bit(d.full_step, lane, true);
    set_bit(d.linear_start, lane, !warm);
    set_bit(d.active, lane, true);
}
void LaneSolver::stop(int lane) { set_bit(impl_->data.active, lane, false); }
LaneBits LaneSolver::active() const { return impl_->data.active; }

LaneSolver::Masks LaneSolver::advance() {
    Masks masks;
    if (impl_->data.active != 0) impl_->advance(impl_->data, masks.arrived, masks.failed);
    return masks;
}

int LaneSolver::steps(int lane) const { return impl_->data.steps[lane]; }
double LaneSolver::head_m(std::int32_t node, int lane) const { return impl_->data.head[node].lane[lane]; }
double LaneSolver::flow_m3_s(std::int32_t link, int lane) const { return impl_->data.flow[link].lane[lane]; }
double LaneSolver::spill_m3_s(std::int32_t vessel, int lane) const { return impl_->data.spill[vessel].lane[lane]; }
double LaneSolver::volume_m3(std::int32_t vessel, int lane) const { return impl_->data.volume[vessel].lane[lane]; }
bool LaneSolver::brim(std::int32_t vessel, int lane) const { return has_bit(impl_->data.brim[vessel], lane); }
bool LaneSolver::air(std::int32_t node, int lane) const { return has_bit(impl_->data.air[node], lane); }
double LaneSolver::slope_from(std::int32_t link, int lane) const { return impl_->data.a[link].lane[lane]; }
double LaneSolver::slope_to(std::int32_t link, int lane) const { return impl_->data.b[link].lane[lane]; }

network::Hold LaneSolver::hold(std::int32_t link, int lane) const {
    const LaneData& d = impl_->data;
    using enum network::Hold;
    if (has_bit(d.shut[link], lane)) return shut;
    if (has_bit(d.cascade[link], lane)) return cascade;
    if (has_bit(d.at_one_way[link], lane)) return one_way;
    if (has_bit(d.at_entrance_from[link], lane)) return entrance_from;
    return has_bit(d.at_entrance_to[link], lane) ? entrance_to : law;
}

void LaneSolver::store(int lane, network::Point& point) const {
    const LaneData& d = impl_->data;
    for (std::int32_t n = 0; n < d.nodes; ++n) point.head_m[at(n)] = d.head[n].lane[lane];
    for (std::int32_t l = 0; l < d.links; ++l) {
        point.flow_m3_s[at(l)] = d.flow[l].lane[lane];
        point.inverse_sqrt_friction[at(l)] = d.start_X[l].lane[lane];
    }
    for (std::int32_t n = 0; n < d.plain; ++n) point.air[at(n)] = has_bit(d.air[n], lane) ? 1 : 0;
    for (std::int32_t v = 0; v < d.vessels; ++v) {
        point.brim[at(v)] = has_bit(d.brim[v], lane) ? 1 : 0;
        point.spill_m3_s[at(v)] = d.spill[v].lane[lane];
    }
}

const Line* LaneSolver::heads() const { return impl_->data.head; }
const Line* LaneSolver::flows() const { return impl_->data.flow; }
const Line* LaneSolver::spills() const { return impl_->data.spill; }
const Line* LaneSolver::volumes() const { return impl_->data.volume; }
const Line* LaneSolver::areas() const { return impl_->data.area; }
const Line* LaneSolver::slopes_from() const { return impl_->data.a; }
const Line* LaneSolver::slopes_to() const { return impl_->data.b; }
const LaneBits* LaneSolver::brims() const { return impl_->data.brim; }
const LaneBits* LaneSolver::airs() const { return impl_->data.air; }

}  // namespace ebb::survey
