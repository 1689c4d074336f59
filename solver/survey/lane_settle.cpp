#include "solver/survey/lane_settle.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>
#include <numeric>

#include "solver/survey/row.h"

namespace ebb::survey {

namespace {

using layout::said;
using network::Link;
using settle::Certainty;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

// settle/levels.cpp has the same numbers for the same things
constexpr double kLongStep_s = 1e7;

/// From this step of Newton's method on the long step is one from where the last iterate left the water.
constexpr int kFollowFrom = 2;

constexpr int kMostRepeats = 40, kDirectSteps = 40, kMostRaises = 3, kMostRests = 6;
constexpr double kBoundAtRest_m3 = 1e-6;
constexpr double kRestorable_m3 = 1e-6, kFilm_m = 0.01;

/// What moves less than this over a long step is at rest: as in settle.
constexpr double kMoved_m3 = 1e-9;

/// States with more water only bound the way: so exactly.
constexpr double kRoughHead_m = 1e-6, kRoughFlow = 1e-6;

/// Less than this missing from a loop is not worth another step: a thousandth of a millilitre, a nanometre over a square metre.
constexpr double kRestoreFrom_m3 = 1e-9;

/// A vessel asleep may have moved by so much, m3.
constexpr double kAsleep_m3 = 1e-10;

/// The flood that finds sleeping vessels is made for levels so much over the greatest of the combination before, m: mostly it then serves at the end.
constexpr double kFloodSlack_m = 5e-3;

/// The neighbour's levels are no start where they would leave the sump less than this share of its room, or more than this.
constexpr double kLeastShare = 0.03, kMostShare = 0.97;

}  // namespace

bool LaneSettle::applies_to(const network::Network& network, const layout::Layout& layout) {
    const bool takes = std::any_of(network.takes_m3_s.begin(), network.takes_m3_s.end(), [](double q) { return q != 0.0; });
    const bool pressures = std::any_of(layout.tees.begin(), layout.tees.end(), [](const layout::Tee& tee) { return said(tee.least_pressure_m); });
    return LaneSolver::supports(network) && Certainty::applies_to(network) && !takes && !pressures;
}

/// Room for what write_tees() asks.
void LaneSettle::make_point() {
    const network::Network& net = *network_;
    point_.head_m.resize(at(net.node_count()));
    point_.flow_m3_s.resize(net.links.size());
    point_.inverse_sqrt_friction.resize(net.links.size());
    point_.brim.resize(at(net.vessel_count));
    point_.spill_m3_s.resize(at(net.vessel_count));
    point_.air.resize(at(net.plain_count));
    for (std::size_t l = 0; l < net.links.size(); ++l)
        if (net.links[l].to < net.plain_count && (net.links[l].law == network::Law::pump || all_on_.links[l].one_way))
            bars_.push_back(static_cast<std::int32_t>(l));
}

LaneSettle::LaneSettle(const network::Network& network, const layout::Layout& layout, const Question& question,
                       const std::vector<TargetColumn>& targets, const settle::Options& options, LaneSolver::Instructions instructions,
                       LaneSolver::Pipes pipes)
    : network_(&network), layout_(&layout), question_(&question), targets_(&targets), table_(network, layout, question), all_on_(table_.settings(0)),
      lanes_(network, pipes, instructions), fed_(layout), feedable_(settle::feedable_vessels(layout)), taker_order_(at(network.vessel_count)),
      most_hanging_m_(most_hanging_m(layout)), linears_(network.links.size()), in_m3_s_(at(network.vessel_count)) {
    make_point();
    const settle::Start start = settle::start_of(layout);
    drawn_m3_ = start.volume_m3;
    for (const network::Storage& storage : network.storage) rim_m3_.push_back(network::volume_at_level(storage, storage.rim_m).value);
    std::iota(taker_order_.begin(), taker_order_.end(), 0);
    const auto drawn_from = [&](std::int32_t v) {
        return std::find(network.pump_inlet_node.begin(), network.pump_inlet_node.end(), network.vessel_node(v)) != network.pump_inlet_node.end();
    };
    std::stable_sort(taker_order_.begin(), taker_order_.end(), [&](std::int32_t a, std::int32_t b) {
        if (drawn_from(a) != drawn_from(b)) return drawn_from(a);
        return rim_m3_[at(a)] > rim_m3_[at(b)];
    });
    exact_.head_m = options.head_tolerance_m;
    exact_.flow_share = options.flow_tolerance;
    exact_.greatest_steps = question.at_start_levels ? options.greatest_steps : kDirectSteps;
    rough_ = exact_;
    rough_.head_m = kRoughHead_m;
    rough_.flow_share = kRoughFlow;
    rough_.keep_water = false;
    loop_sum_.resize(at(network.node_count()));
    now_m3_.resize(start.volume_m3.size());
    std::vector<std::int32_t> changing;
    for (std::size_t s = 0; s < question.switches.size(); ++s)
        for (const LinkChange& change : table_.links(s)) changing.push_back(change.link);
    std::sort(changing.begin(), changing.end());
    changing.erase(std::unique(changing.begin(), changing.end()), changing.end());
    for (std::size_t s = 0; s < question.switches.size(); ++s) fed_without_.push_back(fed_.under(conditions_with(question, std::uint64_t{1} << s)));
    for (std::size_t l = 0; l < network.links.size(); ++l) {
        const Link& link = network.links[l];
        const auto index = static_cast<std::int32_t>(l);
        if (network.is_vessel(link.to)) mouths_.push_back({index, link.to - network.plain_count, 1.0});
        if (network.is_vessel(link.from)) mouths_.push_back({index, link.from - network.plain_count, -1.0});
    }
    for (int i = 0; i < kLanes; ++i) {
        Lane& lane = lane_.emplace_back(network);
        for (auto* list : {&lane.from_m3, &lane.rest_m3, &lane.awake_m3, &lane.end_level_m, &lane.bound_level_m})
            list->resize(start.volume_m3.size());
        lane.asleep.resize(start.volume_m3.size());
        lane.own = {all_on_, start.volume_m3, start.level_m, {}};
        for (const network::PumpLaw& pump : network.pumps) lane.own.pump_share.push_back(1.0 - pump.wear);
        lane.certainty.keep_fixed(all_on_, changing);
        lane.conditions = conditions_with(question, 0);
        lanes_.load(i, all_on_);
        lanes_.set_tolerances(i, exact_);
    }
}

// ------------------------------------------------------------------------------------------------ rows and switches

void LaneSettle::solve(const Combinations& combinations, Block& block, std::vector<std::size_t>& alone) {
    combinations_ = &combinations;
    source_ = nullptr;
    solve_block(block, alone);
}

void LaneSettle::solve(RowSource& source, Block& block, std::vector<std::size_t>& alone) {
    combinations_ = nullptr;
    source_ = &source;
    solve_block(block, alone);
}

void LaneSettle::solve_block(Block& block, std::vector<std::size_t>& alone) {
    block_ = &block;
    alone_ = &alone;
    alone.clear();
    share_ = std::bit_ceil((block.rows + kLanes - 1) / kLanes);
    for (int i = 0; i < kLanes; ++i) {
        Lane& lane = lane_[static_cast<std::size_t>(i)];
        lane.visited = 0;
        lane.warm = lane.raised = false;
        std::copy(drawn_m3_.begin(), drawn_m3_.end(), lane.awake_m3.begin());
        for (std::size_t s = 0; s < network_->standpipes.size(); ++s) {
            const auto link = at(network_->standpipe_link[s]);
            const auto v = at(network_->links[link].from - network_->plain_count);
            lane.awake_m3[v] = network::volume_at_level(network_->storage[v], all_on_.links[link].value + kFilm_m).value;
        }
        std::fill(lane.asleep.begin(), lane.asleep.end(), std::uint8_t{0});
        lane.certainty.forget_bound();
        next_row(i);
    }
    while (lanes_.active() != 0) {
        const LaneSolver::Masks ended = lanes_.advance();
        for (int i = 0; i < kLanes; ++i) {
            const bool failed = (ended.failed >> i & 1U) != 0;
            if (!failed && (ended.arrived >> i & 1U) == 0) {
                follow(i);
                continue;
            }
            steps_ += static_cast<std::uint64_t>(std::max(0, lanes_.steps(i)));
            if (failed) leave_alone(i);
            if (failed || arrived(i)) next_row(i);
        }
    }
    std::sort(alone.begin(), alone.end());
}

/// Begins the lane's next row; false when it has none left.
bool LaneSettle::next_row(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    while (lane.visited < share_) {
        const std::size_t step = lane.visited++;
        const std::size_t row = static_cast<std::size_t>(index) * share_ + (step ^ (step >> 1));  // Gray code
        if (row >= block_->rows) continue;
        lane.row = row;
        if (source_ == nullptr) {
            switch_to(index, combinations_->off_at(block_->first + row));
        } else {
            source_->put(row, index, lanes_, lane.own);
            lanes_.load(index, lane.own.settings);
        }
        begin(index);
        return true;
    }
    lane.stage = Stage::idle;
    return false;
}

void LaneSettle::switch_to(int index, std::uint64_t off) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    const std::uint64_t changed = off ^ lane.off;
    lane.off = off;
    bool anew = false;
    for (std::uint64_t rest = changed; rest != 0; rest &= rest - 1) {
        const auto s = static_cast<std::size_t>(std::countr_zero(rest));
        const bool is_off = (off >> s & 1U) != 0;
        anew = anew || table_.entangled(s);
        for (const LinkChange& change : table_.links(s)) {
            lane.own.settings.links[at(change.link)] = is_off ? change.off : change.on;
            lanes_.set_link(index, change.link, lane.own.settings.links[at(change.link)]);
        }
        for (const VentChange& change : table_.vents(s)) {
            lane.own.settings.vented[at(change.node)] = (is_off ? change.off : change.on) ? 1 : 0;
            lanes_.set_vented(index, change.node, is_off ? change.off : change.on);
        }
        switch_conditions(*question_, s, is_off, lane.conditions);
    }
    if (!anew) return;
    lane.own.settings = table_.settings(off);
    lanes_.load(index, lane.own.settings);
}

// ------------------------------------------------------------------------------------------------ the steps of one row

void LaneSettle::begin(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    lane.rounds = 0;
    lane.stage = Stage::direct;
    lane.water_m3 = lane.own.start_m3;
    if (question_->at_start_levels) {
        lanes_.put_levels(index, lane.own.start_level_m);
        lanes_.give_levels(index);
        lanes_.begin(index, lane.warm);
        return;
    }
    lane.certainty.take(lane.own.settings, false);
    if (lane.warm) {
        share_out_water(lane);
        for (std::size_t v = 0; v < lane.from_m3.size(); ++v) lane.end_level_m[v] = network::level_at_volume(network_->storage[v], lane.from_m3[v]);
    } else {
        lane.certainty.wake(lane.own.start_level_m, kFloodSlack_m);
        for (std::size_t v = 0; v < lane.own.start_m3.size(); ++v) lane.asleep[v] = lane.certainty.sleeps(static_cast<std::int32_t>(v)) ? 1 : 0;
        std::copy(lane.own.start_m3.begin(), lane.own.start_m3.end(), lane.from_m3.begin());
        std::copy(lane.own.start_level_m.begin(), lane.own.start_level_m.end(), lane.end_level_m.begin());
        for (std::size_t s = 0; s < network_->standpipes.size(); ++s) {
            const auto link = at(network_->standpipe_link[s]);
            lane.end_level_m[at(network_->links[link].from - network_->plain_count)] = lane.own.settings.links[link].value + kFilm_m;
        }
    }
    lanes_.put_levels(index, lane.end_level_m);
    lanes_.set_tolerances(index, exact_);
    lanes_.set_step(index, kLongStep_s, lane.from_m3);
    lanes_.begin(index, lane.warm);
}

/// The water of this combination in the levels of the one before: vessels that fell asleep have their start again, those that woke what they last
/// held, and what is over or missing is the sump's.
void LaneSettle::share_out_water(Lane& lane) {
    Certainty& certainty = lane.certainty;
    certainty.wake(lane.own.start_level_m, kFloodSlack_m);
    for (const std::int32_t v : taker_order_) loop_sum_[at(certainty.loop_of(v))] = 0.0;
    for (std::size_t v = 0; v < lane.own.start_m3.size(); ++v) {
        const auto vessel = static_cast<std::int32_t>(v);
        const bool asleep = certainty.sleeps(vessel);
        lane.from_m3[v] = asleep ? lane.own.start_m3[v] : lane.asleep[v] != 0 ? lane.awake_m3[v] : lane.rest_m3[v];
        lane.asleep[v] = asleep ? 1 : 0;
        loop_sum_[at(certainty.loop_of(vessel))] += lane.own.start_m3[v] - lane.from_m3[v];
    }
    for (const std::int32_t v : taker_order_) {
        if (lane.asleep[at(v)] != 0) continue;
        double& missing = loop_sum_[at(certainty.loop_of(v))];
        if (missing == 0.0) continue;
        const double holds = lane.from_m3[at(v)] + missing;
        missing = 0.0;
        if (holds >= kLeastShare * rim_m3_[at(v)] && holds <= kMostShare * rim_m3_[at(v)]) {
            lane.from_m3[at(v)] = holds;
            continue;
        }
        for (std::size_t w = 0; w < lane.own.start_m3.size(); ++w)
            if (certainty.loop_of(static_cast<std::int32_t>(w)) == certainty.loop_of(v)) lane.from_m3[w] = lane.own.start_m3[w];
    }
}

void LaneSettle::leave_alone(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    alone_->push_back(lane.row);
    lane.warm = false;
}

/// A lane has arrived: what next? True when its row is done with.
bool LaneSettle::arrived(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    if (question_->at_start_levels) {
        lane.warm = true;
        write(index);
        return true;
    }
    for (std::int32_t v = 0; v < network_->vessel_count; ++v)
        if (lanes_.spill_m3_s(v, index) != 0.0 || lanes_.brim(v, index)) {
            leave_alone(index);
            return true;
        }
    switch (lane.stage) {
        case Stage::direct:
        case Stage::repeat:
            if (at_rest(index, kMoved_m3)) return settled(index);
            if (lane.rounds++ >= kMostRepeats) {
                leave_alone(index);
                return true;
            }
            lane.stage = Stage::repeat;
            again(index);
            return false;
        default:
            if (!at_rest(index, kBoundAtRest_m3)) {
                if (lane.rests++ >= kMostRests) {
                    leave_alone(index);
                    return true;
                }
                again(index);
                return false;
            }
            for (std::int32_t v = 0; v < network_->vessel_count; ++v) lane.bound_level_m[at(v)] = lanes_.head_m(network_->vessel_node(v), index);
            return bounded(index);
    }
}

void LaneSettle::again(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    lanes_.set_step(index, kLongStep_s, lane.from_m3);
    lanes_.begin(index, true);
}

/// Within the first long step, from the neighbour's levels: the water is taken to start from where the last iterate has it, so that the step ends at
/// rest, not nearly so. That an end at rest is the only one is asked afterwards, so that it does not matter where the step began.
void LaneSettle::follow(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    const bool follows = (lane.stage == Stage::direct && lane.warm && lanes_.steps(index) >= kFollowFrom) || lane.stage == Stage::bound;
    if (!follows || question_->at_start_levels) return;
    const Line* const heads = lanes_.heads() + network_->plain_count;
    for (std::size_t v = 0; v < now_m3_.size(); ++v) now_m3_[v] = network::volume_at_level(network_->storage[v], heads[v].lane[index]).value;
    follow_on(lane, HUGE_VAL);
    for (std::size_t v = 0; v < lane.from_m3.size(); ++v) lanes_.set_start_volume(index, static_cast<std::int32_t>(v), lane.from_m3[v]);
}

/// Takes the volumes in now_m3_ for the start of the next step, with closed loops given back what is missing in them up to `most_m3`; says the most
/// that moved since the last start, and the most that was missing, m3.
std::pair<double, double> LaneSettle::follow_on(Lane& lane, double most_m3) {
    const Certainty& certainty = lane.certainty;
    for (const std::int32_t v : taker_order_) loop_sum_[at(certainty.loop_of(v))] = 0.0;
    double moved = 0.0, missed = 0.0;
    for (std::size_t v = 0; v < now_m3_.size(); ++v) {
        moved = std::max(moved, std::abs(now_m3_[v] - lane.from_m3[v]));
        lane.from_m3[v] = now_m3_[v];
        loop_sum_[at(certainty.loop_of(static_cast<std::int32_t>(v)))] += lane.water_m3[v] - now_m3_[v];
    }
    for (const std::int32_t v : taker_order_) {
        double& missing = loop_sum_[at(certainty.loop_of(v))];
        if (lane.asleep[at(v)] != 0 || certainty.is_open(certainty.loop_of(v))) continue;
        if (std::abs(missing) > most_m3) continue;  // not rounding: settled() leaves it to the single solve
        missed = std::max(missed, std::abs(missing));
        lane.from_m3[at(v)] += missing;
        missing = 0.0;
    }
    return {moved, missed};
}

/// Whether next to nothing moved over the step, and no water is missing.
bool LaneSettle::at_rest(int index, double most_m3) {
    const Line* const volumes = lanes_.volumes();
    for (std::size_t v = 0; v < now_m3_.size(); ++v) now_m3_[v] = volumes[v].lane[index];
    const auto [moved, missed] = follow_on(lane_[static_cast<std::size_t>(index)], kRestorable_m3);
    return moved <= most_m3 && missed <= std::max(most_m3, kRestoreFrom_m3);
}

/// At rest: writes the row, and asks whether it is certain. True when the row is done with.
bool LaneSettle::settled(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    const network::Network& net = *network_;
    const Certainty& certainty = lane.certainty;
    for (const std::int32_t v : taker_order_) loop_sum_[at(certainty.loop_of(v))] = 0.0;
    bool fine = true;
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const double holds = lanes_.volume_m3(v, index);
        lane.rest_m3[at(v)] = holds;
        lane.end_level_m[at(v)] = lanes_.head_m(net.vessel_node(v), index);
        loop_sum_[at(certainty.loop_of(v))] += lane.own.start_m3[at(v)] - holds;
        if (lane.asleep[at(v)] == 0) lane.awake_m3[at(v)] = holds;
        fine = fine && (lane.asleep[at(v)] == 0 || std::abs(holds - lane.own.start_m3[at(v)]) <= kAsleep_m3);
    }
    for (const std::int32_t v : taker_order_) {
        const std::int32_t loop = certainty.loop_of(v);
        fine = fine && (certainty.is_open(loop) || std::abs(loop_sum_[at(loop)]) <= kRestoreFrom_m3);
    }
    for (std::size_t s = 0; s < net.siphons.size(); ++s) fine = fine && lanes_.flow_m3_s(net.siphon_link[s], index) < net.siphons[s].starts_with_m3_s;
    if (!fine) {
        leave_alone(index);
        return true;
    }
    const Line *const heads = lanes_.heads(), *const flows = lanes_.flows(), *const slopes_from = lanes_.slopes_from(),
                      *const slopes_to = lanes_.slopes_to();
    const LaneBits* const airs = lanes_.airs();
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const Link& link = net.links[l];
        const auto air = [&](std::int32_t node) { return node < net.plain_count && (airs[node] >> index & 1U) != 0; };
        const bool drains = air(link.from) && lanes_.hold(static_cast<std::int32_t>(l), index) == network::Hold::cascade;
        const double a = air(link.from) && !drains ? 0.0 : slopes_from[l].lane[index], b = air(link.to) ? 0.0 : slopes_to[l].lane[index];
        lane.certainty.pass(l, {a, b}, heads[link.from].lane[index], heads[link.to].lane[index], flows[l].lane[index]);
    }
    write(index);
    lane.rounds = 0;
    std::copy(lane.end_level_m.begin(), lane.end_level_m.end(), lane.bound_level_m.begin());
    return bounded(index);
}

/// Does the state at rest reached last bound the way below every rim? Then whether the end is the only one decides; else one with more water is
/// tried.
bool LaneSettle::bounded(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    Certainty& certainty = lane.certainty;
    // where the settled state itself did not bound the row before it will not bound this one
    const bool asks = lane.rounds > 0 || !lane.raised;
    bool fits = asks && certainty.fits(lane.own.start_m3, lane.bound_level_m);
    const bool closed = fits && certainty.floats_stay_shut(lane.own.settings, lane.own.start_m3, lane.bound_level_m);
    if (!closed && lane.rounds++ < kMostRaises) {
        lane.stage = Stage::bound;
        lane.rests = 0;
        certainty.pour(lane.own.start_m3, lane.bound_level_m, lane.from_m3);
        lane.water_m3 = lane.from_m3;
        lanes_.set_tolerances(index, rough_);
        again(index);
        return false;
    }
    if (fits && !closed) {
        certainty.take(lane.own.settings, true);
        fits = certainty.fits(lane.own.start_m3, lane.bound_level_m);
    }
    lane.warm = true;
    lane.raised = lane.rounds > 0;
    bool certain = fits && certainty.one_end(lane.own.start_level_m, lane.end_level_m);
    // what sleeps as it was asked just now must have its start, whatever was thought when the row began
    for (std::int32_t v = 0; v < network_->vessel_count; ++v)
        certain = certain && !(certainty.sleeps(v) && std::abs(lane.rest_m3[at(v)] - lane.own.start_m3[at(v)]) > kAsleep_m3);
    if (!certain) {
        alone_->push_back(lane.row);  // what the lane found is a good start for its next row all the same
        block_->state[lane.row] = settle::State::not_run;
    }
    return true;
}

}  // namespace ebb::survey
