// What a row says of a lane at rest: the numbers of settle's answers (settle/fill_answer.cpp, settle/judge.cpp), for the columns of a block.

#include <algorithm>
#include <bit>
#include <cmath>
#include <cstring>

#include "solver/settle/heads.h"
#include "solver/survey/lane_settle.h"
#include "solver/survey/row.h"

namespace ebb::survey {

namespace {

using layout::said;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

// as in settle's answers
constexpr double kDust_m3_s = 1e-13, kDrops_m3_s = 1e-9;

}  // namespace

double LaneSettle::reported_flow(const Lane& lane, int index, std::int32_t link) const {
    const double flow = lanes_.flows()[link].lane[index];
    return std::abs(flow) < kDust_m3_s || (lane.own.settings.links[at(link)].one_way && flow < 0.0) ? 0.0 : flow;
}

void LaneSettle::write(int index) {
    const Lane& lane = lane_[static_cast<std::size_t>(index)];
    const network::Network& net = *network_;
    Block& block = *block_;
    const std::size_t row = lane.row;
    block.state[row] = question_->at_start_levels ? settle::State::given_levels : settle::State::settled;
    block.alarms[row] = 0;
    std::fill(in_m3_s_.begin(), in_m3_s_.end(), 0.0);
    for (const Mouth& mouth : mouths_) in_m3_s_[at(mouth.vessel)] += std::max(0.0, mouth.inwards * reported_flow(lane, index, mouth.link));
    for (std::size_t v = 0; v < block.vessels; ++v) {
        const layout::Vessel& vessel = layout_->vessels[v];
        const std::size_t i = row * block.vessels + v;
        const double level = std::min(lanes_.head_m(net.plain_count + static_cast<std::int32_t>(v), index), vessel.rim_m);
        block.depth_m[i] = std::max(0.0, level - vessel.floor_m);
        block.volume_m3[i] = std::max(0.0, network::volume_at_level(net.storage[v], vessel.floor_m + block.depth_m[i]).value);
        block.inflow_m3_s[i] = in_m3_s_[v];
        block.spill_m3_s[i] = block.spilled_m3[i] = 0.0;
        if (said(vessel.least_depth_m) && block.depth_m[i] < vessel.least_depth_m - kSeenBelowLeast_m) block.alarms[row] |= kBelowLeast;
    }
    for (std::size_t p = 0; p < block.pipes; ++p) block.pipe_flow_m3_s[row * block.pipes + p] = reported_flow(lane, index, net.pipe_link[p]);
    write_pumps(index);
    write_tees(index);
    write_targets(index);
}

/// Water that hangs. The heads of the lane are those of the answer wherever something determines them; only where one looks as if water hung, or
/// where a part may be held by nothing but a check valve, is it found out in full, which takes memory and time.
void LaneSettle::write_tees(int index) {
    Lane& lane = lane_[static_cast<std::size_t>(index)];
    const network::Network& net = *network_;
    bool asks = false;
    for (std::size_t t = 0; t < layout_->tees.size() && !asks; ++t)
        asks = lanes_.head_m(net.tee_node[t], index) - layout_->tees[t].elevation_m < -settle::kHangs_m;
    for (std::size_t b = 0; b < bars_.size() && !asks && !layout_->tees.empty(); ++b)
        asks = std::abs(lanes_.flows()[bars_[b]].lane[index]) <= settle::kNoFlow_m3_s && !lane.own.settings.links[at(bars_[b])].shut;
    if (!asks) return;
    lanes_.store(index, point_);
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Law law = net.links[l].law;
        const bool opening = law == network::Law::standpipe || law == network::Law::float_valve || law == network::Law::siphon;
        linears_[l].hold = lanes_.hold(static_cast<std::int32_t>(l), index);
        const double steepest =
            std::max(lanes_.slope_from(static_cast<std::int32_t>(l), index), lanes_.slope_to(static_cast<std::int32_t>(l), index));
        linears_[l].slope = opening          ? 0.0
                            : steepest > 0.0 ? 1.0 / steepest
                                             : 1.0;  // 1: neither end's head moves it, and it is none of a valve all but shut
    }
    const settle::Heads heads(net, lane.own.settings, point_, linears_);
    for (std::size_t t = 0; t < layout_->tees.size(); ++t)
        note_hanging(lane.row, t, heads[net.tee_node[t]] - layout_->tees[t].elevation_m, most_hanging_m_, *block_);
}

void LaneSettle::write_pumps(int index) {
    const Lane& lane = lane_[static_cast<std::size_t>(index)];
    const network::Network& net = *network_;
    Block& block = *block_;
    for (std::size_t p = 0; p < block.pumps; ++p) {
        const std::size_t i = lane.row * block.pumps + p;
        const std::int32_t l = net.pump_link[p];
        const network::PumpLaw& law = net.pumps[at(net.links[at(l)].law_index)];
        const double flow = reported_flow(lane, index, l), speed = lane.conditions.pump_speed[p];
        block.pump_flow_m3_s[i] = flow;
        block.pump_power_w[i] = 0.0;
        if (speed <= 0.0) continue;
        const layout::Pump& pump = layout_->pumps[p];
        const physics::PumpDuty duty{.speed = speed, .count = pump.count, .wear = 1.0 - lane.own.pump_share[p]};
        block.pump_head_m[i] = law.curve.head(flow, duty).value;
        block.pump_power_w[i] = law.curve.power_w(flow, duty);
        block.pump_best_ratio[i] = flow / law.curve.best_efficiency_flow_m3_s(duty);
        const bool bare = law.intake_m > network::kNoPort && (lanes_.head_m(net.links[at(l)].from, index) < law.intake_m + network::kBareBand_m ||
                                                              lanes_.hold(l, index) == network::Hold::entrance_from);
        std::uint8_t alarms = 0;
        if (bare) alarms |= kIntakeBare;
        if (flow > law.curve.greatest_flow_m3_s(duty) * (1.0 + 1e-12)) alarms |= kBeyondCurve;
        if (!bare && flow <= kDrops_m3_s) alarms |= kAgainstShut;
        block.pump_alarms[i] = alarms;
        block.alarms[lane.row] |= alarms;
    }
}

/// Fewer open ways never bring water to more vessels: what one switch alone keeps dry is dry. Else the flood is asked.
bool LaneSettle::is_fed(const Lane& lane, std::size_t vessel) {
    for (std::uint64_t off = lane.off; off != 0; off &= off - 1)
        if (fed_without_[static_cast<std::size_t>(std::countr_zero(off))][vessel] == 0) return false;
    return fed_.under(lane.conditions)[vessel] != 0;
}

void LaneSettle::write_targets(int index) {
    const Lane& lane = lane_[static_cast<std::size_t>(index)];
    Block& block = *block_;
    for (std::size_t t = 0; t < block.targets; ++t) {
        const TargetColumn& target = (*targets_)[t];
        const std::size_t v = at(target.vessel), i = lane.row * block.vessels + v, column = lane.row * block.targets + t;
        const double inflow = block.inflow_m3_s[i];
        double got = inflow;
        if (target.at_most) got = inflow > settle::kNoFlow_m3_s ? block.volume_m3[i] / inflow : settle::kUnknown;
        const bool met = target.at_most ? got <= target.wanted * (1.0 + 1e-9) : got >= target.wanted * (1.0 - 1e-9);
        const bool asked = met || inflow > kDrops_m3_s || feedable_[v] == 0 || is_fed(lane, v);
        block.target_got[column] = got;
        block.target_state[column] = !asked ? TargetState::not_asked : met ? TargetState::met : TargetState::missed;
    }
}

}  // namespace ebb::survey
