#pragma once
// What the kernels of the lanes work on: plain numbers and pointers, nothing of the standard library, since the kernels are compiled for one
// processor each (lane_kernel.h). LaneSolver owns the memory and fills it.

#include <cstdint>

namespace ebb::survey {

inline constexpr int kLanes = 8;

/// One number per lane, the unit of all storage: a cache line.
struct alignas(64) Line {
    double lane[kLanes];
};

/// A set of lanes: bit i is lane i.
using LaneBits = std::uint8_t;
inline constexpr LaneBits kAllLanes = 0xff;

/// How a link's law is reckoned in the kernels.
enum class LaneLaw : std::uint8_t {
    plain,  ///< Darcy-Weisbach between heads that show themselves
    darcy,  ///< with ports or with a vented node above
    hazen,
    square,  ///< nozzles
    device,  ///< pumps, filters: loss from the scalar code, lane by lane
    siphon,  ///< a device where it is primed, an opening where it is not
    standpipe,
    opening  ///< float valves: flow from the scalar code
};

inline constexpr int kHazenNumbers = 5;  ///< resistance, power, slow flow, alpha, beta: at the beginning of a pipe's numbers

/// A link as the kernels see it.
struct LaneLink {
    std::int32_t from, to;
    std::int32_t from_to, to_from;  ///< places in the matrix of A(from, to) and A(to, from), -1: none
    std::int32_t pipe;              ///< its numbers (physics::PipeNumber)
    std::int32_t vent;              ///< of drains of vented nodes: which (LaneVent), else -1
    std::int32_t band;              ///< of pumps with an intake and siphons: which line of band_most, else -1
    std::int32_t weir;              ///< of standpipes: which (LaneWeir)
    LaneLaw law;
    bool limited_from, limited_to;  ///< a round opening in a vessel bounds what leaves there
    bool port_from, port_to;        ///< a pond's port: nothing leaves while it stands over the level
    bool is_pump;
    bool first_in_matrix;  ///< the first link at these places: it writes, later ones add
    double from_port_m, from_leaves_m, to_port_m, to_leaves_m;
    double inverse_bore, opening_flow_scale, opening_slope_scale;  ///< of the round opening: sqrt(g) D^2.5 and that over D; shared pipes
    double flow_from_rest_m3_s;
    double band_zero_m, inverse_band;
};

/// A vented node and its drain.
struct LaneVent {
    std::int32_t node, link;
    double elevation_m;
    double safe_below_m;  ///< with no more head than this below the drain ...
};

struct LaneHole {
    double elevation_m, inverse_coefficient, core2;  ///< 1/k and q0^2 of its square law
};
/// A standpipe's weir.
struct LaneWeir {
    std::int32_t link, vent;  ///< link of the drain below
    double weir_factor, mouth_factor, crossing_m;
    std::int32_t first_hole, end_hole;
};

/// Weirs whose feet must stay under them: standpipes and siphons.
struct LaneFoot {
    std::int32_t link, drain;
    double crest_m;  ///< of siphons; standpipes have theirs in `value`
    bool standpipe;
};

struct LaneKink {
    std::int32_t lip_of;
    double elevation_m, scale_m;
};

/// Level to volume: straight pieces, each from its lower point; the last piece whose lower depth is under the water holds.
struct LanePiece {
    double depth_m, volume_m3, area_m2;
};
struct LaneVessel {
    double floor_m, rim_m;
    std::int32_t first_piece, end_piece, first_kink, end_kink;
};

struct LaneData {
    std::int32_t plain, vessels, nodes, links, unknowns, zeros;
    std::int32_t vents, feet, takers;
    // the network
    const LaneLink* link;
    const LaneVent* vent;
    const LaneFoot* foot;
    const LaneWeir* weir;
    const LaneHole* hole;
    const LaneVessel* vessel;
    const LanePiece* piece;
    const LaneKink* kink;
    const std::int32_t* taker;       ///< plain nodes where water is taken
    const std::int32_t* programme;   ///< of the elimination: lane_kernel.h
    const std::int32_t* zero_place;  ///< places of the matrix that the elimination adds to and no link fills
    const double* pipe_numbers;      ///< shared: one after another; own: a line each
    const Line *own_inverse_bore, *own_flow_scale, *own_slope_scale, *own_from_rest;  ///< per link, with own pipes
    // settings
    Line *k_forward, *k_reverse, *value;  ///< per link
    Line* band_most;
    Line* safe_flow;                               ///< per vent: ... and no more flow than this, air certainly stands in the node
    Line* taken;                                   ///< per taker
    LaneBits *shut, *one_way, *primed, *unbanded;  ///< per link
    LaneBits* vented;                              ///< per plain node
    // the point
    Line *head, *flow, *spill, *start_X;
    LaneBits *air, *brim;
    // work
    Line *old_head, *rhs, *change, *matrix, *balance;
    Line *q, *a, *b, *inverse_slope;
    Line *vent_loss, *vent_inverse;
    Line *volume, *area, *start_volume;
    LaneBits* known;                                                              ///< per node: the step does not change its head
    LaneBits *by_law, *cascade, *at_entrance_from, *at_entrance_to, *at_one_way;  ///< per link: what holds it
    // lanes
    Line tau, head_tolerance, flow_share, largest_flow;
    std::int32_t steps[kLanes], greatest_steps[kLanes];
    LaneBits active, full_step, linear_start, levels_unknown, keep_water, unsure;
    // rare laws, in scalar code
    void* context;
    void (*losses)(void* context, std::int32_t link, const Line& flow, Line& loss, Line& slope);
    void (*openings)(void* context, std::int32_t link, const Line& from, const Line& to, Line& q, Line& a, Line& b);
    void (*lift_starved)(void* context, int lane);
};

/// One advance(). `arrived` and `failed` are set.
using LaneAdvance = void (*)(LaneData& data, LaneBits& arrived, LaneBits& failed);

/// What each processor's source hands out; null where this build has none.
struct LaneKernels {
    LaneAdvance shared, own;
    /// For tests: function `which` (0 ln, 1 exponential) of eight numbers.
    void (*function)(int which, const Line& x, Line& y);
};
LaneKernels lane_kernels_baseline();
LaneKernels lane_kernels_avx2();
LaneKernels lane_kernels_avx512();

}  // namespace ebb::survey
