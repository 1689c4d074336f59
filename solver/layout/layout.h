#pragma once
// What is there: the farm as plain data in SI units. Nothing here computes.
//
// A layout is made by the reader of layout files (netfiles) or by hand in C++; `validate()` (validate.h) then
// resolves every name to an index and says everything that is missing, dangling or contradictory. After a clean
// validation nothing downstream checks input again.
//
// Conventions: elevations are above one datum of the user's choice, heights and depths above the vessel's floor;
// a NaN means "not said"; indices are into the vectors of `Layout` and are -1 until `validate()` has run.

#include <cmath>
#include <cstdint>
#include <limits>
#include <string>
#include <vector>

#include "solver/physics/friction.h"
#include "solver/physics/pump_curve.h"
#include "solver/physics/valves.h"

namespace ebb::layout {

inline constexpr double kNotSaid = std::numeric_limits<double>::quiet_NaN();
/// Whether a figure was given.
inline bool said(double value) { return !std::isnan(value); }

/// Where the user wrote a thing: index of the file in the reader's list, line and column from 1. All -1 for layouts made in C++.
struct Place {
    std::int32_t file = -1;
    std::int32_t line = -1;
    std::int32_t column = -1;
};

/// What a pipe can end at, and what an id can name.
enum class Kind : std::uint8_t {
    none,
    vessel,
    pond,
    tee,
    pump,
    filter,
    nozzle,
    supply,
    float_valve,
    standpipe,
    siphon,
    pipe,
    valve,
};

/// A thing by kind and index in the vector of its kind; until resolved the index is -1 and the kind the one wanted (none: any that fits).
struct Ref {
    Kind kind = Kind::none;
    std::int32_t index = -1;
    friend bool operator==(const Ref&, const Ref&) = default;
};

// ---------------------------------------------------------------------------------------------- water with a free surface

/// What a vessel is called on site. Beds and tiers start empty unless they say otherwise; sumps have a ledger in the answers.
enum class VesselKind : std::uint8_t { tank, sump, trough, bed, tier, vessel };

/// One point of the volume table: water held (pores only, where there is media) up to that depth.
struct VolumePoint {
    double depth_m = 0.0;
    double volume_m3 = 0.0;
};

/// A vessel. `volume` rises from (0, 0) to (rim - floor, ...) and is straight between its points.
struct Vessel {
    std::string id;
    Place place;
    VesselKind kind = VesselKind::tank;
    double floor_m = kNotSaid;
    double rim_m = kNotSaid;
    std::vector<VolumePoint> volume;
    double start_depth_m = kNotSaid;
    double least_depth_m = kNotSaid;  ///< sumps: the depth below which the user does not want to go
    double media_depth_m = kNotSaid;  ///< beds: depth of the media (the rim if not said)
    double void_fraction = kNotSaid;  ///< beds: share of drainable pores
    double plan_area_m2 = kNotSaid;   ///< of diameter, or length and width; NaN with a table
    // targets, NaN when there is none
    double turnover_s = kNotSaid;
    double inflow_m3_s = kNotSaid;
    double fills_within_s = kNotSaid;
    double drains_within_s = kNotSaid;
    double x_m = kNotSaid;  ///< its place along the farm: only drawings heed it
};

/// A level that never changes; opens the loop.
struct Pond {
    std::string id;
    Place place;
    double level_m = kNotSaid;
    double x_m = kNotSaid;  ///< its place along the farm: only drawings heed it
};

// ---------------------------------------------------------------------------------------------- devices

/// Which published relation gives the loss of a tee on a header. `none`: no loss at the tee.
enum class TeeLoss : std::uint8_t { none, header };

/// Where pipes join. A vented tee lets air in; exactly one drain leads out of it.
/// With `loss == header`: `run` and `branch` name pipes (the other run pipe is the third one); equal bores are assumed as the relations are
/// published.
struct Tee {
    std::string id;
    Place place;
    double elevation_m = kNotSaid;
    bool vented = false;
    double takes_m3_s = 0.0;             ///< leaves the farm here whatever the pressure: a wash-down tap, a hatchery next door
    double least_pressure_m = kNotSaid;  ///< target: metres of water above its elevation; NaN when there is none
    TeeLoss loss = TeeLoss::none;
    std::string branch_id;     ///< the pipe that stands off the header
    std::int32_t branch = -1;  ///< index of that pipe
    double branch_angle_deg = 90.0;
    double x_m = kNotSaid;  ///< its place along the farm: only drawings heed it
};

/// One kind of pump: its curve, or what its label says.
struct PumpModel {
    std::string name;
    Place place;
    bool from_label = false;  ///< only greatest flow and greatest head known: every answer is a band
    double greatest_flow_m3_s = kNotSaid;
    double greatest_head_m = kNotSaid;
    physics::PumpCurve curve;                  ///< the central curve
    physics::PumpCurve curve_low, curve_high;  ///< the band of a label curve; empty otherwise
    bool has_power = false;
    bool has_npsh = false;
    double price = kNotSaid;
    double least_speed = kNotSaid;  ///< it can be turned down to this share of full speed; NaN: one speed only
};

/// A pump: submersible (`in` a vessel or pond, with an intake height) or fed by a pipe and standing at an elevation.
struct Pump {
    std::string id;
    Place place;
    std::string model_name;
    std::int32_t model = -1;
    std::string in_id;  ///< empty when fed by a pipe
    Ref in;
    double intake_height_m = kNotSaid;
    double elevation_m = kNotSaid;  ///< of a pump fed by a pipe
    int count = 1;
    double wear = 0.0;  ///< share of head lost
    bool check_valve = false;
    double stopped_flow_m3_s = kNotSaid;  ///< loss through the pump at rest: square law through this point; NaN = shut at rest
    double stopped_head_m = kNotSaid;
    double x_m = kNotSaid;  ///< its place along the farm: only drawings heed it
};

/// A point of a loss curve.
struct LossPoint {
    double flow_m3_s = 0.0;
    double head_m = 0.0;
};

/// A filter: its loss in m against flow in m3/s, clean and dirty, by points.
struct Filter {
    std::string id;
    Place place;
    std::vector<LossPoint> clean;  ///< sorted by flow
    std::vector<LossPoint> dirty;  ///< empty: same as clean
    double x_m = kNotSaid;         ///< its place along the farm: only drawings heed it
};

/// Spray or drip outlet into a vessel: `holes` round holes, or rated flow at a head.
struct Nozzle {
    std::string id;
    Place place;
    std::string into_id;
    Ref into;
    double height_m = 0.0;  ///< above the floor of the vessel
    int holes = 0;
    double hole_diameter_m = kNotSaid;
    double discharge_coefficient = 0.61;
    double rated_flow_m3_s = kNotSaid;
    double rated_head_m = kNotSaid;
};

/// A pressure that gives water and never takes it (the mains).
struct Supply {
    std::string id;
    Place place;
    double head_m = kNotSaid;  ///< pressure as metres of water at `elevation_m`
    double elevation_m = kNotSaid;
    double x_m = kNotSaid;  ///< its place along the farm: only drawings heed it
};

/// Opens in proportion as the level falls from `closes_at` to `opens_at`; rated flow (fully open) at a head.
struct FloatValve {
    std::string id;
    Place place;
    std::string into_id;
    Ref into;
    double opens_at_m = kNotSaid;   ///< depth at and below which it is fully open
    double closes_at_m = kNotSaid;  ///< depth at and above which it is shut
    double rated_flow_m3_s = kNotSaid;
    double rated_head_m = kNotSaid;
    double height_m = kNotSaid;  ///< of its outlet above the floor; not said: it works against the level itself
};

/// One of the upright pipes that can be put in a standpipe.
struct Insert {
    std::string name;
    double lip_m = kNotSaid;  ///< height above the floor
    Place place = {};
};

/// Equal round holes in a standpipe, open to the vessel whatever insert is fitted.
struct DrainHole {
    double height_m = 0.0;
    double diameter_m = kNotSaid;
    int count = 1;
    double discharge_coefficient = 0.61;
    Place place = {};
};

/// An overflow pipe standing in a vessel, with inserts of several heights.
struct Standpipe {
    std::string id;
    Place place;
    std::string in_id;
    Ref in;
    double bore_m = kNotSaid;
    std::vector<Insert> inserts;  ///< at least one; the first is fitted unless an arrangement says otherwise
    std::vector<DrainHole> holes;
};

/// A bell or loop siphon in a bed: starts when the water over its crest is enough, breaks at a lower level.
struct Siphon {
    std::string id;
    Place place;
    std::string in_id;
    Ref in;
    double bore_m = kNotSaid;
    double crest_m = kNotSaid;  ///< heights above the floor
    double breaks_at_m = kNotSaid;
    double starts_with_m3_s = kNotSaid;
    double loss = 2.0;  ///< velocity heads besides the entrance
};

// ---------------------------------------------------------------------------------------------- pipes

/// Equal fittings of a pipe.
struct Fitting {
    std::string kind;  ///< empty when only a loss was given
    int count = 1;
    double loss = kNotSaid;  ///< velocity heads, each
};

/// A valve in a pipe.
struct Valve {
    std::string id;
    Place place;
    physics::ValveKind kind = physics::ValveKind::ball;
    double loss = kNotSaid;  ///< velocity heads when fully open
    std::int32_t pipe = -1;
};

/// One end of a pipe.
struct End {
    std::string id;
    Ref ref;
    double height_m = kNotSaid;  ///< invert of the port above the floor; not said: 0
    /// The height, 0 where none was said.
    double height() const { return said(height_m) ? height_m : 0.0; }
};

/// A full pipe, or (gravity == true, element `drain`) a drain that may run part full.
struct Pipe {
    std::string id;
    Place place;
    bool gravity = false;
    End from, to;
    double length_m = kNotSaid;
    double bore_m = kNotSaid;
    double roughness_m = kNotSaid;
    double hazen_williams_c = kNotSaid;
    double manning_n = kNotSaid;   ///< drains only
    double entry_loss = kNotSaid;  ///< said: counted at the from end whatever stands there
    double exit_loss = kNotSaid;   ///< said: counted at the to end whatever stands there
    double loss_factor = 1.0;      ///< of all its local losses: not 1 only where it is asked what their uncertainty does
    double trapped_air_m = 0.0;    ///< head lost to air that stands in a falling leg: nothing flows below it, and nothing back
    double air_hole_m = kNotSaid;  ///< height above the floor of the to-vessel at which backward flow ends
    double wall_m = kNotSaid;
    double price_per_metre = kNotSaid;
    std::string series, size;  ///< as written; empty when bore= was given
    std::string choose_group;  ///< of choose="yes" (its own id) or choose="NAME"; empty otherwise
    bool choose = false;
    std::int32_t sold_series = -1;  ///< of a pipe to choose: index into Layout::sold_series; -1 otherwise
    std::vector<Fitting> fittings;
    std::vector<std::int32_t> valves;  ///< indices into Layout::valves
};

// ---------------------------------------------------------------------------------------------- arrangements

/// What a line of an arrangement or a change does.
enum class Act : std::uint8_t { open, close, throttle, run, stop, fit, load };

/// One line of an arrangement: `<throttle valve="V" to="40 %"/>` is {throttle, "V", 0.4}.
struct Setting {
    Act act = Act::open;
    Place place = {};
    std::string about_id = {};
    Ref about = {};
    double value = kNotSaid;  ///< opening, speed or load as a share; NaN where the act has none
    std::string insert;       ///< of fit
};

/// A way the farm is run: settings of valves, pumps, inserts and filters.
struct Arrangement {
    std::string name;
    Place place;
    std::string based_on;
    std::int32_t base = -1;         ///< index of the arrangement it is based on; set by validate()
    bool at_start_levels = false;   ///< levels="start": a network solve at the drawn levels
    std::vector<Setting> settings;  ///< own lines only; `conditions_of()` follows based_on
};

// ---------------------------------------------------------------------------------------------- routines (what happens in time)

/// Opens a valve or runs a pump for `for_s` of every `every_s`, from `after_s` on.
struct Timer {
    Place place;
    std::string about_id;  ///< a valve (opens=) or a pump (runs=)
    Ref about;
    double every_s = kNotSaid, for_s = kNotSaid, after_s = 0.0;
};
/// Opens its valves one after the other, each for `each_s`.
struct Rotation {
    Place place;
    std::vector<std::string> valve_ids;
    std::vector<std::int32_t> valves;
    double each_s = kNotSaid;
};
/// Switches a pump or a valve by the level of a vessel; depths above its floor.
struct LevelSwitch {
    Place place;
    std::string watches_id;
    Ref watches;
    std::string about_id;  ///< pump (stops=/starts=) or valve (closes=/opens=)
    Ref about;
    bool stops_below = true;  ///< true: acts below and restores above; false: the reverse
    double below_m = kNotSaid, above_m = kNotSaid;
};
/// Every pump stands still for a while; seconds from the beginning of the routine.
struct PowerCut {
    Place place;
    double at_s = kNotSaid, for_s = kNotSaid;
};
/// Water taken from a vessel at a moment, evenly over a time.
struct Draw {
    Place place;
    std::string from_id, into_id;
    Ref from, into;
    double volume_m3 = kNotSaid, at_s = kNotSaid, over_s = kNotSaid;
    double every_s = kNotSaid;  ///< not said: once
};
/// Water taken from a vessel all the time.
struct Uptake {
    Place place;
    std::string from_id;
    Ref from;
    double rate_m3_s = kNotSaid;
};
/// Settings that change at a moment and stay changed (until another change): a valve moved, a pump stopped, an insert swapped.
struct Change {
    Place place;
    double at_s = kNotSaid;
    std::vector<Setting> settings;
};
/// A pump that gives out: nothing starts it before it is mended.
struct Failure {
    Place place;
    std::string pump_id;
    std::int32_t pump = -1;
    double at_s = kNotSaid;
    double for_s = kNotSaid;  ///< not said: for good
};

/// What happens in time, from one arrangement on.
struct Routine {
    std::string name;
    Place place;
    std::string arrangement_name;
    std::int32_t arrangement = -1;
    double lasts_s = 86400.0;  ///< a day, when nothing is said
    bool from_settled = false;
    std::vector<Timer> timers;
    std::vector<Rotation> rotations;
    std::vector<LevelSwitch> level_switches;
    std::vector<PowerCut> power_cuts;
    std::vector<Draw> draws;
    std::vector<Uptake> uptakes;
    std::vector<Change> changes;
    std::vector<Failure> failures;
};

// ---------------------------------------------------------------------------------------------- what was assumed

/// A default that stands in the answer because the layout did not say: value, plausible range, where it comes from.
struct Assumption {
    std::string about;  ///< ids it concerns, or "every pipe of series ..."
    std::string what;   ///< "roughness", "void fraction", ...
    double value = kNotSaid, low = kNotSaid, high = kNotSaid;
    std::string unit;  ///< SI unit of the three numbers, "" for plain numbers
    std::string source;
    std::int32_t count = 1;  ///< how many things it concerns
};

// ---------------------------------------------------------------------------------------------- what things cost, and limits of design

/// One size in which a series of pipe is sold.
struct SoldSize {
    std::string name;
    double bore_m = kNotSaid;
    double wall_m = kNotSaid;
    double price_per_metre = kNotSaid;
};
/// A series with its priced sizes, by rising bore.
struct SoldSeries {
    std::string name;
    std::vector<SoldSize> sizes;
};

/// How many hours of a year an arrangement runs.
struct YearlyHours {
    Place place = {};
    std::string arrangement_name;
    std::int32_t arrangement = -1;
    double hours = kNotSaid;
};
/// A pump model that may be bought.
struct PumpCandidate {
    Place place = {};
    std::string model_name;
    std::int32_t model = -1;
    int most = 1;         ///< up to so many in parallel
    std::string pump_id;  ///< only in the place of this pump; empty: of any
    std::int32_t pump = -1;
};
/// Prices are in one currency of the user's choice.
struct Economy {
    Place place = {};
    std::string currency;  ///< as it is printed; empty: "money"
    double price_per_kwh = kNotSaid;
    double years = kNotSaid;
    double interest = kNotSaid;             ///< share a year; not said: none
    std::vector<YearlyHours> hours;         ///< empty: the year is shared equally
    std::vector<PumpCandidate> candidates;  ///< empty: every model that is known
};
/// What `pipes` keeps the pipes it chooses within. NaN: the default of solver/choose, or no limit where that has none.
struct Limits {
    Place place = {};
    double greatest_velocity_m_s = kNotSaid;          ///< pipes under pressure
    double greatest_suction_velocity_m_s = kNotSaid;  ///< pipes that lead to a pump
    double least_velocity_m_s = kNotSaid;             ///< full pipes: below it solids settle
    double greatest_drain_fill = kNotSaid;            ///< depth over bore
    double least_drain_velocity_m_s = kNotSaid;       ///< part full: below it solids stay
};

// ---------------------------------------------------------------------------------------------- what is not known exactly

/// How far the truth may be from what is drawn, as expanded uncertainties: in 95 of 100 cases not further. NaN: nothing is said here.
struct PlusMinus {
    Place place = {};
    std::vector<std::string> of_ids;  ///< pipes, vessels, ponds, pumps, filters; empty: all of them that no other line names
    std::vector<Ref> of = {};
    double roughness = kNotSaid;       ///< a factor 1 + this, up or down
    double hazen_williams = kNotSaid;  ///< share of the coefficient C
    double bore = kNotSaid;            ///< share
    double losses = kNotSaid;          ///< of fittings, valves, entrances and exits: a factor 1 + this, up or down
    double start_depth_m = kNotSaid;   ///< of vessels with water in them at the start
    double level_m = kNotSaid;         ///< of ponds
    double pump_head = kNotSaid;       ///< share
    double filter_load = kNotSaid;     ///< of the way from clean to dirty
};

/// How the loss of pipes is counted; docs/theory.md has both.
enum class FrictionLaw : std::uint8_t { darcy_weisbach, hazen_williams };
/// The units of text for people; figures inside are always SI.
enum class UnitSystem : std::uint8_t { si, us };

/// The whole farm.
struct Layout {
    std::string name;
    UnitSystem units = UnitSystem::si;  ///< of text output only
    FrictionLaw friction = FrictionLaw::darcy_weisbach;
    physics::HazenConstants hazen;  ///< of the Hazen-Williams law; the literature uses several
    double altitude_m = 0.0;
    double water_temperature_c = 20.0;

    std::vector<Vessel> vessels;
    std::vector<Pond> ponds;
    std::vector<Tee> tees;
    std::vector<PumpModel> pump_models;
    std::vector<Pump> pumps;
    std::vector<Filter> filters;
    std::vector<Nozzle> nozzles;
    std::vector<Supply> supplies;
    std::vector<FloatValve> float_valves;
    std::vector<Standpipe> standpipes;
    std::vector<Siphon> siphons;
    std::vector<Pipe> pipes;  ///< pipes and drains, in the order of the file
    std::vector<Valve> valves;
    std::vector<Arrangement> arrangements;  ///< validate() adds "as drawn" when there is none
    std::vector<Routine> routines;
    std::vector<Assumption> assumptions;
    std::vector<SoldSeries> sold_series;  ///< of the pipes to choose
    Economy economy;
    Limits limits;
    std::vector<PlusMinus> plus_minus;
};

/// The settings of one arrangement, resolved: one entry per valve, pump, standpipe and filter of the layout.
struct Conditions {
    std::vector<double> valve_opening;  ///< 0 (shut) to 1
    std::vector<double> pump_speed;     ///< share of full speed, 0 = stopped
    std::vector<std::int32_t> insert;   ///< index of the fitted insert of each standpipe
    std::vector<double> filter_load;    ///< 0 clean to 1 dirty
};

/// The conditions of arrangement `index` of a validated layout, `based-on` chains followed (nearest line wins).
Conditions conditions_of(const Layout& layout, std::int32_t index);

/// Water held up to a depth, and the level that holds a volume (both straight between the points of the table; straight on beyond the rim).
double volume_at_depth(const Vessel& vessel, double depth_m);
/// The inverse: m above the floor.
double depth_at_volume(const Vessel& vessel, double volume_m3);

/// The volume table of a vessel of constant plan area, with media of `void_fraction` up to `media_depth_m` (NaN: none).
std::vector<VolumePoint> prism_volume(double plan_area_m2, double height_m, double media_depth_m = kNotSaid, double void_fraction = kNotSaid);

/// How high an end of a pipe lies, m above the datum: a port of a vessel, the level of a pond, a tee, the floor of the vessel that a standpipe or
/// siphon drains, a nozzle or float valve at its vessel (a float that does not say its height: where it closes), a pump's intake. NaN at what has no
/// height of its own: a filter.
double elevation_of(const Layout& layout, const End& end);

const char* name_of(VesselKind kind);  ///< the word of the layout file
const char* name_of(Kind kind);        ///< the word of the layout file

}  // namespace ebb::layout
