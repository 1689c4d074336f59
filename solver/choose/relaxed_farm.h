#pragma once
// What relaxation.cpp keeps of the farm: open links with what their laws promise, balances, targets as bounds. Made once per problem.

#include <algorithm>
#include <cstdint>
#include <utility>
#include <vector>

#include "solver/choose/relaxation.h"
#include "solver/choose/sizing.h"
#include "solver/network/network.h"

namespace ebb::choose {

/// By how much heads and flows of a solved network may be out, generously.
inline constexpr double kHeadSlack_m = 1e-7;
inline constexpr double kFlowSlackShare = 1e-9, kLeastFlowSlack_m3_s = 1e-11;
/// A flow that is surely one: less may be reported as nothing.
inline constexpr double kSomeFlow_m3_s = 1e-9;

/// One open link of one arrangement. With dh the head shown at `from` less that shown at `to`, and f its law: q is the flow with f(q) = dh, or one
/// between that and nothing where `short_forwards` (of flows above 0) or `short_backwards` (below) says that something may hold it back.
struct RelaxedLink {
    std::int32_t link = -1;  ///< of the network
    std::int32_t from = -1, to = -1;
    std::int32_t choice = -1;
    bool has_law = false;
    bool forwards_only = false;
    bool short_forwards = false, short_backwards = false;
    bool hands_on = false;  ///< leaves a vented node, and while air stands there carries what arrives, whatever its law would draw
    double from_port_m = network::kNoPort, to_port_m = network::kNoPort;
    std::vector<double> most_m3_s;  ///< per option: what the limits let flow in it

    /// May f(q) <= dh, f(q) >= dh be taken for certain, if its flow lies in `flow`?
    bool holds_from_below(const Interval& flow) const;
    bool holds_from_above(const Interval& flow) const;
};

/// A vessel whose targets want water.
struct RelaxedInflow {
    std::int32_t vessel = -1;
    double least_m3_s = 0.0;
    double turnover_s = 0.0;  ///< 0: none wanted
};

struct RelaxedPump {
    std::size_t place = 0;  ///< of RelaxedCase::links
    std::int32_t law = -1;
    double speed = 0.0;
    double money_per_w = 0.0;  ///< present worth of a watt in this arrangement
};

/// One arrangement.
struct RelaxedCase {
    std::int32_t arrangement = -1;
    std::vector<network::Settings> settings;  ///< per option
    std::vector<RelaxedLink> links;
    /// Per node: places of the links that touch it, and whether their flow comes in (+1) or goes out (-1).
    std::vector<std::vector<std::pair<std::size_t, double>>> touching;
    std::vector<std::uint8_t> balanced;  ///< per node
    std::vector<double> slack_m3_s;      ///< per node: by how much its balance may be out
    std::vector<RelaxedInflow> inflows;
    std::vector<RelaxedPump> pumps;
    std::size_t first_flow = 0, first_head = 0;  ///< of its parts of a Box
};

struct RelaxedFarm {
    const SizingProblem* problem = nullptr;
    std::vector<network::Network> networks;  ///< per option: every choice has that size (its largest where it has fewer)
    std::vector<RelaxedCase> cases;
    double flow_scale_m3_s = 1e-3;  ///< what a flow that matters is like
    Box root;                       ///< not yet tightened

    explicit RelaxedFarm(const SizingProblem& problem);
    LinkLaw law(const RelaxedCase& one, const RelaxedLink& link, std::size_t option) const {
        const auto l = static_cast<std::size_t>(link.link);
        return {networks[option], one.settings[option].links[l], networks[option].links[l]};
    }
    std::size_t option_count(const RelaxedLink& link) const {
        return link.choice < 0 ? 1 : problem->choices[static_cast<std::size_t>(link.choice)].cost.size();
    }
    const network::Network& network() const { return networks.front(); }
    double flow_slack_m3_s() const { return std::max(kFlowSlackShare * flow_scale_m3_s, kLeastFlowSlack_m3_s); }
    /// Pressures wanted at tees count where a head is sure to be determined; more is sure once flows are known: false when nothing was added.
    bool add_pressures(Box& box) const;
};

/// The head a port shows when the head behind it lies in `head`.
inline Interval shown(const Interval& head, double port_m) {
    return {head.low > port_m ? head.low : port_m, head.high > port_m ? head.high : port_m};
}

/// What a vessel must get at least while its level is at least this, m3/s.
double least_inflow(const RelaxedFarm& farm, const RelaxedInflow& wanted, double least_level_m);

/// Narrows a box (relaxation.h). `options`: per Box::flow and option, between what its flow lies if the option is chosen; empty where it cannot be.
bool tighten(const RelaxedFarm& farm, Box& box, std::vector<std::vector<Interval>>& options);

}  // namespace ebb::choose
