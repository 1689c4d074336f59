#pragma once
// One link at the present heads and flow: its law made linear, the way Newton's step wants it.
//
// Two families of law meet here. Pipes, pumps, filters and nozzles know the head they take at a flow, h(Q); weirs, orifices and float
// valves know the flow at heads, Q(H). Both are written as   Q' = q + a dH_from - b dH_to   with a, b >= 0: for h(Q) laws one
// step of Newton on h(Q) = E_from - E_to, with E the heads the ports show; for Q(H) laws the value and its two slopes.
//
// One-way elements and entrances are bounds on the flow of an h(Q) law: the step's own prediction q decides which bound holds
// (the semismooth min-rule), so that the answer is Q = min(pipe law, what the opening lets in), or exactly 0.

#include <cstddef>
#include <cstdint>
#include <span>

#include "solver/network/network.h"

namespace ebb::network {

/// Heads and flows of a network: the unknowns, and what a warm start starts from.
struct Point {
    std::vector<double> head_m;                 ///< per node; level at vessels
    std::vector<double> flow_m3_s;              ///< per link
    std::vector<std::uint8_t> brim;             ///< per vessel: it stands at its rim and what does not fit goes over
    std::vector<double> spill_m3_s;             ///< per vessel: that flow, 0 below the rim
    std::vector<std::uint8_t> air;              ///< per plain node: a vented node with air standing in it
    std::vector<double> inverse_sqrt_friction;  ///< per link: where Colebrook's iteration starts
    std::vector<double> tee_loss_m, tee_slope;  ///< per link, of tees on headers (header_tees.h); empty without them
};

/// Smallest slope Newton divides by, m per m3/s: keeps pure square laws and level pump curves regular at rest.
inline constexpr double kLeastSlope = 1e-6;

/// What holds the flow of a link.
enum class Hold : std::uint8_t { law, shut, one_way, entrance_from, entrance_to, cascade };

struct Linear {
    double q = 0.0;           ///< flow predicted at the present heads
    double a = 0.0, b = 0.0;  ///< slopes by the head at from and (minus) at to
    double error_m = 0.0;     ///< h(Q) - (E_from - E_to) of a held law; 0 for bounds
    double slope = 0.0;       ///< dh/dQ at Q; 0 for Q(H) laws and bounds
    Hold hold = Hold::law;
};

/// The drain of a vented node carries what arrives while this head, needed to push the drain's flow, is not above the node:
/// head at the drain's lower end plus its loss.
double head_needed(const Network& network, const Settings& settings, Point& point, std::int32_t link);

/// Makes link `index` linear at `point`. Updates only the friction cache of `point`. `secant`: a cold start's first line through rest and
/// the law at the present flow instead of the tangent, which favours no direction.
Linear linearise(const Network& network, const Settings& settings, Point& point, std::int32_t index, bool secant = false);

/// A law of openings, Q(H): standpipe, float valve, siphon that is not primed. From the heads alone.
Linear linearise_opening(const Network& network, const LinkSetting& setting, const Link& link, double from_m, double to_m);

/// What a pump's intake or a primed siphon gives at most: nothing up to `zero_m`, `most_m3_s` over `band_m` of level more, in proportion between and
/// beyond. Infinite `most_m3_s`: this link has no such bound.
struct Band {
    double most_m3_s, zero_m, band_m;
};
Band band_of(const Network& network, const LinkSetting& setting, const Link& link);

/// Flow at which a link is first made linear, m3/s: half a metre per second in pipes, half a metre of head elsewhere.
double first_flow(const Network& network, const LinkSetting& setting, const Link& link);

/// A link that opens from rest (no flow at all) under a head of more than this: the tangent at rest is that of laminar flow and would let the
/// flood through. It is made linear near the flow that the drive will bring instead: two rounds of the square law from a slow flow, each by at
/// most these factors.
inline constexpr double kDriveThatCounts_m = 1e-3, kSlow_m_s = 0.05, kSmallDevice_m3_s = 1e-5, kLeastRound = 0.02, kMostRound = 50.0;
inline constexpr int kRoundsFromRest = 2;

/// What an opening lets in is less by a dust that nobody could see: without it, a film a few thousandths of a millimetre deep trickles for years into
/// whatever dead end lies behind.
inline constexpr double kDust_m3_s = 1e-13;

/// Head the port at an end of a link shows.
inline double port_head(const Port& port, double head_m) { return head_m > port.elevation_m ? head_m : port.elevation_m; }

/// Loss of an h(Q) law at its present flow (pipes, filters, nozzles; minus the head of a pump) and its slope.
physics::ValueSlope loss_at(const Network& network, const LinkSetting& setting, const Link& link, double flow_m3_s, double& inverse_sqrt_friction);

/// Volume at a level and its slope (plan area of water), straight on beyond both ends of the table.
inline physics::ValueSlope volume_at_level(const Storage& storage, double level_m) {
    const double depth = level_m - storage.floor_m;
    const auto& table = storage.table;
    std::size_t i = 1;
    while (i + 1 < table.size() && table[i].depth_m < depth) ++i;
    const double slope = (table[i].volume_m3 - table[i - 1].volume_m3) / (table[i].depth_m - table[i - 1].depth_m);
    return {table[i - 1].volume_m3 + slope * (depth - table[i - 1].depth_m), slope};
}

inline double level_at_volume(const Storage& storage, double volume_m3) {
    const auto& table = storage.table;
    std::size_t i = 1;
    while (i + 1 < table.size() && table[i].volume_m3 < volume_m3) ++i;
    const double slope = (table[i].volume_m3 - table[i - 1].volume_m3) / (table[i].depth_m - table[i - 1].depth_m);
    return storage.floor_m + table[i - 1].depth_m + (volume_m3 - table[i - 1].volume_m3) / slope;
}

/// Depth over a submersible's intake at which it gives all it can; from there to the intake it gives in proportion.
inline constexpr double kBareBand_m = 0.020;

/// A primed siphon is taken to give in proportion over this height above its break height, so that a level can be held there: a level
/// settled in the band means the siphon would break.
inline constexpr double kBreakBand_m = 0.001;

}  // namespace ebb::network
