#pragma once
// A layout compiled for solving: names are gone, things are nodes and links, every link knows its law and its places in the matrix.
//
// Nodes, in this order:  plain   junctions (tees, device ends) and vented nodes (vented tees, feet of standpipes and siphons)
//                        vessels their unknown is the level
//                        fixed   ponds and supplies
// Links are directed from -> to; flow is positive that way. A link that leaves a vented node is that node's drain.
//
// Per arrangement only `Settings` change: a loss, a speed, a lip, a shut flag. The pattern never does: what is shut stays in it with zeros.

#include <cstdint>
#include <limits>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/physics/filter_loss.h"
#include "solver/physics/friction.h"
#include "solver/physics/pump_curve.h"
#include "solver/physics/water.h"

namespace ebb::network {

inline constexpr double kNoPort = -std::numeric_limits<double>::infinity();

enum class Law : std::uint8_t { darcy, hazen, pump, filter, square, float_valve, standpipe, siphon };

/// One end of a link at a vessel or pond: the head there is max(level, port), and water leaves only while it stands above `leaves_above_m`.
struct Port {
    double elevation_m = kNoPort;     ///< invert of the port; kNoPort at tees and devices
    double leaves_above_m = kNoPort;  ///< elevation below which nothing leaves here (the port, or an air hole above it)
    bool limited = false;             ///< a round opening in a vessel: outflow also limited by the depth over it
};

struct Link {
    std::int32_t from = -1, to = -1;
    std::int32_t law_index = -1;  ///< into the table of its law
    Law law = Law::darcy;
    bool drains_vented = false;  ///< leaves a vented node
    bool plain_pipe = false;     ///< Darcy-Weisbach between two heads that show themselves: no ports, no air
    Port at_from, at_to;
    double bore_m = 0.0;
    double trapped_air_m = 0.0;  ///< head that water must have before any flows; its setting is then one-way
    layout::Ref element;         ///< what it is in the layout
};

struct PumpLaw {
    physics::PumpCurve curve;  ///< the central curve, or an end of a label's band
    int count = 1;
    double wear = 0.0;
    double intake_m = kNoPort;         ///< elevation of a submersible's intake
    double least_slope = 0.0;          ///< floor of -dH/dQ used by Newton
    double stopped_coefficient = 0.0;  ///< square law through the pump at rest, 0 = shut at rest
};

struct StandpipeLaw {
    double bore_m = 0.0;
    double floor_m = 0.0;  ///< of the vessel
    struct Hole {
        double elevation_m, area_m2, discharge_coefficient;
    };
    std::vector<Hole> holes;
};

struct SiphonLaw {
    double bore_m = 0.0, crest_m = 0.0, breaks_at_m = 0.0, starts_with_m3_s = 0.0;
    double coefficient = 0.0;  ///< primed: (entrance + loss) velocity heads, m per (m3/s)^2
};

struct FloatLaw {
    double opens_at_m = 0.0, closes_at_m = 0.0;  ///< elevations
    double coefficient = 0.0;                    ///< fully open, m per (m3/s)^2
};

/// Level -> volume of one vessel, and its way over the rim.
struct Storage {
    double floor_m = 0.0, rim_m = 0.0;
    std::vector<layout::VolumePoint> table;
};

/// A tee on a header whose losses are counted: its two runs and its branch.
struct HeaderTee {
    struct Leg {
        std::int32_t link = -1;
        bool ends_here = true;  ///< the link's `to` is the tee
    };
    Leg leg[3];  ///< run, run, branch
    double branch_angle_deg = 90.0;
};

/// What an arrangement sets on one link.
struct LinkSetting {
    double k_forward = 0.0, k_reverse = 0.0;  ///< local losses, m per (m3/s)^2
    double value = 0.0;                       ///< pump speed, filter load, lip elevation, square-law coefficient
    bool shut = false;
    bool one_way = false;        ///< never against from -> to
    bool primed = false;         ///< siphons
    bool runs_to_break = false;  ///< primed siphons followed in time: full flow down to the break height, which is an event
    bool resting = false;        ///< pump at rest that water can pass: a square law of `value`
};

struct Settings {
    std::vector<LinkSetting> links;
    std::vector<std::uint8_t> vented;  ///< per plain node: air can stand in it (a primed siphon's foot is not vented)
    std::vector<std::uint8_t> dry;     ///< per plain node: what is taken there cannot be had, and is not; empty: nowhere
    double taken_m3_s(std::size_t node, double takes_m3_s) const { return node < dry.size() && dry[node] != 0 ? 0.0 : takes_m3_s; }
};

/// Which curve label-only pumps run on.
enum class LabelCurve : std::uint8_t { central, low, high };

struct Network {
    std::int32_t plain_count = 0, vessel_count = 0, fixed_count = 0;
    std::vector<double> elevation_m;     ///< per node: of tees and vented nodes; floor of vessels; NaN for device ends
    std::vector<double> fixed_head_m;    ///< per fixed node
    std::vector<std::int32_t> drain_of;  ///< per plain node: its drain when it can be vented, else -1
    std::vector<double> takes_m3_s;      ///< per plain node: what leaves the farm there
    std::vector<Link> links;
    std::vector<physics::DarcyPipe> darcy;
    std::vector<physics::HazenPipe> hazen;
    std::vector<PumpLaw> pumps;
    std::vector<physics::FilterLoss> filters;
    std::vector<StandpipeLaw> standpipes;
    std::vector<SiphonLaw> siphons;
    std::vector<FloatLaw> float_valves;
    std::vector<HeaderTee> header_tees;
    std::vector<Storage> storage;  ///< per vessel
    physics::Water water;

    // where each thing of the layout went
    std::vector<std::int32_t> tee_node;  ///< per tee
    std::vector<std::int32_t> pipe_link, pump_link, filter_link, nozzle_link, float_link, standpipe_link, siphon_link;
    std::vector<std::int32_t> pump_inlet_node;  ///< per pump: node of its inlet

    std::int32_t node_count() const { return plain_count + vessel_count + fixed_count; }
    std::int32_t vessel_node(std::int32_t vessel) const { return plain_count + vessel; }
    bool is_vessel(std::int32_t node) const { return node >= plain_count && node < plain_count + vessel_count; }
    bool is_fixed(std::int32_t node) const { return node >= plain_count + vessel_count; }
};

/// Compiles a validated layout.
Network compile(const layout::Layout& layout, LabelCurve label = LabelCurve::central);

/// Puts the bore (and wall roughness) that pipe `pipe` of `layout` has now into a network that was compiled from it with another: the pattern stays.
void resize_pipe(const layout::Layout& layout, std::int32_t pipe, Network& network);

/// The settings of one arrangement. `primed` has one entry per siphon.
Settings settings_for(const Network& network, const layout::Layout& layout, const layout::Conditions& conditions,
                      const std::vector<std::uint8_t>& primed);

/// The setting of one pipe among them: what changes when the pipe gets another bore.
LinkSetting setting_of_pipe(const layout::Layout& layout, std::int32_t pipe, const layout::Conditions& conditions);

/// A vented node whose drain is shut fills and backs up, and an overflow over such a foot, which has no other way on, is shut with it.
/// settings_for() has done it; to be called again by whoever shuts more.
void shut_over_shut_drains(const Network& network, Settings& settings);

}  // namespace ebb::network
