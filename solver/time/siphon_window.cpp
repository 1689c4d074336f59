// Bisection on a constant inflow. Whether a siphon starts can only turn from no to yes as the inflow grows (more water stands over the crest),
// and whether it breaks only from yes to no (the level falls more slowly), so that each end is one number; each trial answers yes or no.

#include "solver/time/siphon_window.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "solver/physics/constants.h"
#include "solver/time/options_kept.h"

namespace ebb::time {

namespace {

using layout::Kind;
using layout::Ref;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kSettling_s = 12.0 * 3600.0;  ///< the rest of the farm comes to rest within this, or is taken as it then is
constexpr double kLook_s = 8.0 * 3600.0;       ///< so long the arrangement is followed for the inflow of its bed
constexpr double kHair_m = 1e-5;               ///< above the break height: nothing against the head of the siphon
constexpr double kGrowth = 1.5;                ///< of the inflow, while an end is looked for
constexpr int kMostGrowth = 30;                ///< so many times: a factor of 200,000
constexpr double kTrickle = 1e-3;              ///< share of `starts-with` that must let any siphon break
constexpr double kFillings = 20.0;             ///< a row of the table is followed for so many fillings at the most ...
constexpr double kFillingsNearEnd = 80.0;      ///< ... and near the upper end, where draining takes many times the filling
constexpr double kNearEnd = 0.9;
constexpr double kNothing_m3_s = 1e-9;
constexpr double kSelfVenting = 0.3;  ///< of A sqrt(g D): below, the downpipe vents itself (common practice, uncertain)
constexpr double kClearing = 1.0;     ///< above, it carries all its air away (the same)
constexpr std::array<double, 5> kAcross = {0.02, 0.25, 0.5, 0.75, 0.98};

std::int32_t pipe_from(const layout::Layout& layout, const Ref& ref) {
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].from.ref == ref) return static_cast<std::int32_t>(p);
    return -1;
}

/// The vessel that the water of a siphon comes to, down its pipe; -1: a pond, or not to be told.
std::int32_t vessel_below(const layout::Layout& layout, std::int32_t siphon) {
    Ref here{Kind::siphon, siphon};
    for (std::size_t step = 0; step <= layout.pipes.size(); ++step) {
        const std::int32_t pipe = pipe_from(layout, here);
        if (pipe < 0) return -1;
        here = layout.pipes[at(pipe)].to.ref;
        if (here.kind == Kind::vessel) return here.index;
        if (here.kind != Kind::tee && here.kind != Kind::filter) return -1;
    }
    return -1;
}

double volume_at(const layout::Layout& layout, std::int32_t vessel, double depth_m) {
    return layout::volume_at_depth(layout.vessels[at(vessel)], depth_m);
}

/// Everything that feeds a vessel besides the hose.
std::vector<Ref> feeds_of(const layout::Layout& layout, std::int32_t vessel) {
    std::vector<Ref> feeds;
    const Ref here{Kind::vessel, vessel};
    const auto add = [&](Kind kind, std::size_t index) { feeds.push_back({kind, static_cast<std::int32_t>(index)}); };
    for (std::size_t p = 0; p < layout.pipes.size(); ++p)
        if (layout.pipes[p].to.ref == here) add(Kind::pipe, p);
    for (std::size_t n = 0; n < layout.nozzles.size(); ++n)
        if (layout.nozzles[n].into == here) add(Kind::nozzle, n);
    for (std::size_t f = 0; f < layout.float_valves.size(); ++f)
        if (layout.float_valves[f].into == here) add(Kind::float_valve, f);
    return feeds;
}

/// Moves water of the farm so that the bed holds `volume_m3`: what it has more is missing where its water ends.
void hold(Memory& memory, std::int32_t bed, std::int32_t below, double volume_m3) {
    const double more = volume_m3 - memory.volume_m3[at(bed)];
    memory.volume_m3[at(bed)] = volume_m3;
    if (below >= 0 && memory.volume_m3[at(below)] > 2.0 * more) memory.volume_m3[at(below)] -= more;
}

class Seeker {
public:
    Seeker(Simulation& simulation, const SiphonWindowWanted& wanted)
        : simulation_(&simulation), wanted_(&wanted), layout_(&simulation.layout()), siphon_(&layout_->siphons[at(wanted.siphon)]),
          bed_(siphon_->in.index) {}
    SiphonWindow window();

private:
    bool starts(double inflow_m3_s, bool& spills);
    bool breaks(double inflow_m3_s);
    void seek_lower();
    void seek_upper();
    void look_at_inflow();
    void fill_table();
    double full_m3() const { return volume_at(*layout_, bed_, siphon_->crest_m); }
    bool told(const Course& course, Happening what) const;

    Simulation* simulation_;
    const SiphonWindowWanted* wanted_;
    const layout::Layout* layout_;
    const layout::Siphon* siphon_;
    std::int32_t bed_;
    Memory start_;
    SiphonWindow window_;
};

bool Seeker::told(const Course& course, Happening what) const {
    const Ref about = what == Happening::reaches_rim ? Ref{Kind::vessel, bed_} : Ref{Kind::siphon, wanted_->siphon};
    return std::any_of(course.events.begin(), course.events.end(), [&](const Event& event) { return event.what == what && event.about == about; });
}

bool Seeker::starts(double inflow_m3_s, bool& spills) {
    Plan plan = siphon_trial(*layout_, *wanted_, start_, inflow_m3_s);
    hold(plan.start, bed_, window_.ends_in, full_m3());
    plan.lasts_s = full_m3() / inflow_m3_s;  // many times what the film over the crest takes to come to rest
    const Course course = simulation_->run(plan);
    ++window_.runs;
    spills = told(course, Happening::reaches_rim);
    return told(course, Happening::siphon_starts);
}

bool Seeker::breaks(double inflow_m3_s) {
    Plan plan = siphon_trial(*layout_, *wanted_, start_, inflow_m3_s);
    hold(plan.start, bed_, window_.ends_in, volume_at(*layout_, bed_, siphon_->breaks_at_m + kHair_m));
    plan.start.primed[at(wanted_->siphon)] = 1;
    plan.lasts_s = full_m3() / inflow_m3_s;
    ++window_.runs;
    const Course course = simulation_->run(plan);
    return told(course, Happening::siphon_breaks);
}

void Seeker::seek_lower() {
    double low = 0.0, high = siphon_->starts_with_m3_s;
    bool spills = false;
    int tries = 0;
    while (!starts(high, spills)) {
        low = high;
        high *= tries == 0 ? 1.0 + 2.0 * wanted_->share : kGrowth;  // where nothing else drains the bed the end is starts-with itself
        if (spills || ++tries > kMostGrowth) {
            window_.lower = spills ? WindowEnd::spills_first : WindowEnd::never;
            return;
        }
    }
    if (low == 0.0) low = high * (1.0 - 2.0 * wanted_->share);
    for (tries = 0; starts(low, spills); ++tries) {
        high = low;
        low /= kGrowth;
        if (tries > kMostGrowth) break;  // it gets water of its own: any inflow does
    }
    while (high - low > 0.5 * wanted_->share * high) {
        const double middle = 0.5 * (low + high);
        (starts(middle, spills) ? high : low) = middle;
    }
    window_.lower = WindowEnd::found;
    window_.starts_from_m3_s = high;
}

void Seeker::seek_upper() {
    double low = kTrickle * siphon_->starts_with_m3_s, high = siphon_->starts_with_m3_s;
    if (!breaks(low)) {
        window_.upper = WindowEnd::never;
        return;
    }
    for (int tries = 0; breaks(high); ++tries) {
        low = high;
        high *= kGrowth;
        if (tries > kMostGrowth) {
            window_.upper = WindowEnd::always;
            return;
        }
    }
    while (high - low > 0.5 * wanted_->share * high) {
        const double middle = 0.5 * (low + high);
        (breaks(middle) ? low : high) = middle;
    }
    window_.upper = WindowEnd::found;
    window_.breaks_to_m3_s = low;
}

/// What the bed gets in the arrangement as it stands.
void Seeker::look_at_inflow() {
    Plan plan;
    plan.arrangement = wanted_->arrangement;
    plan.conditions = layout::conditions_of(*layout_, wanted_->arrangement);
    plan.start = start_memory(*layout_);
    plan.lasts_s = kLook_s;
    plan.until_repeats = plan.until_still = true;
    const Course course = simulation_->run(plan);
    ++window_.runs;
    if (course.series.t_s.empty()) return;
    window_.inflow_m3_s = course.vessels[at(bed_)].mean_inflow_m3_s;
    const double from_s = std::isnan(course.cycle_begin_s) || course.repeat == Repeat::still ? 0.5 * course.lasted_s : course.cycle_begin_s;
    const std::size_t vessels = layout_->vessels.size();
    double least = kUnknown, greatest = kUnknown, last = kUnknown;
    for (std::size_t row = 0; row < course.series.t_s.size(); ++row) {
        last = course.series.inflow_m3_s[row * vessels + at(bed_)];
        if (course.series.t_s[row] < from_s) continue;
        least = std::fmin(least, last);
        greatest = std::fmax(greatest, last);
    }
    if (course.ending == Ending::still) window_.inflow_m3_s = least = greatest = last;
    window_.least_inflow_m3_s = least;
    window_.greatest_inflow_m3_s = greatest;
    if (std::isnan(window_.inflow_m3_s)) return;
    window_.inflow_is = window_.inflow_m3_s <= kNothing_m3_s                 ? InflowIs::nothing
                        : !(window_.inflow_m3_s >= window_.starts_from_m3_s) ? InflowIs::too_little
                        : !(window_.inflow_m3_s <= window_.breaks_to_m3_s)   ? InflowIs::too_much
                                                                             : InflowIs::in_window;
}

void Seeker::fill_table() {
    if (window_.empty || window_.lower != WindowEnd::found || window_.upper != WindowEnd::found) return;
    const auto rows = static_cast<std::size_t>(std::clamp(wanted_->table_rows, 0, static_cast<int>(kAcross.size())));
    for (std::size_t r = 0; r < rows; ++r) {
        SiphonRow row;
        row.inflow_m3_s = std::lerp(window_.starts_from_m3_s, window_.breaks_to_m3_s, kAcross[r]);
        Plan plan = siphon_trial(*layout_, *wanted_, start_, row.inflow_m3_s);
        plan.lasts_s = (kAcross[r] > kNearEnd ? kFillingsNearEnd : kFillings) * full_m3() / row.inflow_m3_s;
        plan.until_repeats = true;
        const Course course = simulation_->run(plan);
        ++window_.runs;
        for (const BedCourse& bed : course.beds) {
            if (bed.vessel != bed_ || bed.breaks < 2) continue;
            row.fill_s = bed.fill_s;
            row.drain_s = bed.drain_s;
            row.period_s = bed.period_s;
            row.peak_drain_m3_s = bed.peak_drain_m3_s;
        }
        window_.rows.push_back(row);
    }
}

SiphonWindow Seeker::window() {
    window_.siphon = wanted_->siphon;
    window_.vessel = bed_;
    window_.arrangement = wanted_->arrangement;
    window_.ends_in = vessel_below(*layout_, wanted_->siphon);
    const StartBand band = start_band_of(*siphon_);
    window_.may_start_from_m3_s = band.may_m3_s;
    window_.surely_starts_from_m3_s = band.surely_m3_s;
    const OptionsKept kept(*simulation_);
    simulation_->options().keep_series = false;
    start_ = siphon_trial_start(*simulation_, *wanted_);
    seek_lower();
    seek_upper();
    window_.empty = window_.lower == WindowEnd::found && window_.upper == WindowEnd::found && window_.starts_from_m3_s >= window_.breaks_to_m3_s;
    fill_table();
    simulation_->options().keep_series = simulation_->options().keep_flows = true;
    simulation_->options().series_every_s = kUnknown;
    look_at_inflow();
    if (simulation_->options().stop.stop_requested()) window_.cannot = "it was interrupted";
    return std::move(window_);
}

}  // namespace

const char* name_of(WindowEnd end) {
    static constexpr std::array<const char*, 5> kNames = {"not-sought", "found", "spills-first", "always", "never"};
    return kNames[static_cast<std::size_t>(end)];
}

const char* name_of(InflowIs where) {
    static constexpr std::array<const char*, 5> kNames = {"unknown", "nothing", "too-little", "in-window", "too-much"};
    return kNames[static_cast<std::size_t>(where)];
}

Plan siphon_trial(const layout::Layout& layout, const SiphonWindowWanted& wanted, const Memory& start, double inflow_m3_s) {
    const std::int32_t bed = layout.siphons[at(wanted.siphon)].in.index, below = vessel_below(layout, wanted.siphon);
    Plan plan;
    plan.arrangement = wanted.arrangement;
    plan.conditions = layout::conditions_of(layout, wanted.arrangement);
    plan.start = start;
    plan.shut = feeds_of(layout, bed);
    if (inflow_m3_s > 0.0) plan.hoses.push_back({.vessel = bed, .rate_m3_s = inflow_m3_s});
    if (below >= 0 && inflow_m3_s > 0.0)
        plan.routine.uptakes.push_back(
            {.place = {}, .from_id = layout.vessels[at(below)].id, .from = {Kind::vessel, below}, .rate_m3_s = inflow_m3_s});
    return plan;
}

Memory siphon_trial_start(Simulation& simulation, const SiphonWindowWanted& wanted) {
    const layout::Layout& layout = simulation.layout();
    Plan plan = siphon_trial(layout, wanted, start_memory(layout), 0.0);
    plan.lasts_s = kSettling_s;
    plan.until_still = true;
    Memory start = simulation.run(plan).end;
    if (start.volume_m3.empty()) start = start_memory(layout);
    start.switch_acts.clear();
    start.primed[at(wanted.siphon)] = 0;
    hold(start, layout.siphons[at(wanted.siphon)].in.index, vessel_below(layout, wanted.siphon), 0.0);
    return start;
}

StartBand start_band_of(const layout::Siphon& siphon) {
    const double area = 0.25 * std::numbers::pi * siphon.bore_m * siphon.bore_m;
    const double scale = area * std::sqrt(physics::kGravity_m_s2 * siphon.bore_m);
    return {kSelfVenting * scale, kClearing * scale};
}

SiphonWindow siphon_window(Simulation& simulation, const SiphonWindowWanted& wanted) { return Seeker(simulation, wanted).window(); }

}  // namespace ebb::time
