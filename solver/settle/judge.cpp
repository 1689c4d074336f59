// What a person should know about an answer: targets met or missed, and warnings in plain words. Numbers in the sentences are SI here
// (the codes and ids are for machines); the text view says them again in the reader's units.

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>
#include <unordered_map>

#include "solver/physics/part_full.h"
#include "solver/physics/suction.h"
#include "solver/settle/fed.h"
#include "solver/settle/heads.h"
#include "solver/settle/model.h"

namespace ebb::settle {

namespace {

using layout::Layout;
using layout::said;

/// A number for a sentence: `digits` after the point.
std::string number(double value, int digits) {
    if (std::isnan(value)) return "?";
    double scale = 1.0;
    for (int i = 0; i < digits; ++i) scale *= 10.0;
    const bool negative = value < 0.0;
    const auto whole = static_cast<long long>(std::llround(std::min(std::abs(value), 1e12) * scale));
    std::string text = std::to_string(whole);
    const auto wanted = static_cast<std::size_t>(digits) + 1;
    if (text.size() < wanted) text.insert(0, wanted - text.size(), '0');
    if (digits > 0) text.insert(text.size() - static_cast<std::size_t>(digits), ".");
    return negative && whole != 0 ? "-" + text : text;
}

std::string litres(double m3) { return number(1000.0 * m3, m3 < 0.01 ? 2 : 0) + " l"; }
std::string litres_per_minute(double m3_s) { return number(60000.0 * m3_s, 1) + " l/min"; }
std::string millimetres(double m) { return number(1000.0 * m, 0) + " mm"; }
std::string minutes(double s) { return number(s / 60.0, s < 600.0 ? 1 : 0) + " min"; }

constexpr double kSamePressure_m = 1e-9;  ///< solves agree to this

class Judge {
public:
    Judge(const Layout& layout, const layout::Conditions& conditions, Answer& answer) : layout_(layout), conditions_(conditions), answer_(answer) {}

    void run() {
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) vessel(layout_.vessels[v], answer_.vessels[v]);
        for (std::size_t t = 0; t < layout_.tees.size(); ++t) pressure(layout_.tees[t], answer_.tees[t]);
        find_asked();
        for (std::size_t p = 0; p < layout_.pumps.size(); ++p) pump(layout_.pumps[p], answer_.pumps[p]);
        for (std::size_t p = 0; p < layout_.pipes.size(); ++p) pipe(layout_.pipes[p], answer_.pipes[p]);
        for (std::size_t t = 0; t < layout_.tees.size(); ++t) tee(layout_.tees[t], answer_.tees[t]);
        for (std::size_t s = 0; s < layout_.standpipes.size(); ++s) standpipe(layout_.standpipes[s], answer_.standpipes[s]);
        for (std::size_t s = 0; s < layout_.siphons.size(); ++s) siphon(s);
        if (answer_.state == State::spills_until_dry) explain_dry();
        if (answer_.state == State::settled) creeping();
    }

private:
    void warn(std::string code, const std::string& about, std::string says) { answer_.warnings.push_back({std::move(code), about, std::move(says)}); }

    void vessel(const layout::Vessel& vessel, const VesselAnswer& a) {
        if (a.spill_m3_s > 1e-9)
            warn("spills", vessel.id, vessel.id + " runs over its rim at " + litres_per_minute(a.spill_m3_s) + " and does not stop");
        else if (a.spilled_m3 > 1e-6)
            warn("spilled-on-the-way", vessel.id,
                 vessel.id + " loses " + litres(a.spilled_m3) + " over its rim on the way from the start depths, beginning after " +
                     minutes(a.first_spill_s));
        if (said(vessel.turnover_s)) {
            Target target{.about = vessel.id, .quantity = "turnover_s", .at_most = true, .wanted = vessel.turnover_s, .got = a.turnover_s};
            target.met = target.got <= target.wanted * (1.0 + 1e-9);
            answer_.targets.push_back(target);
        }
        if (said(vessel.inflow_m3_s)) {
            Target target{.about = vessel.id, .quantity = "inflow_m3_s", .at_most = false, .wanted = vessel.inflow_m3_s, .got = a.inflow_m3_s};
            target.met = target.got >= target.wanted * (1.0 - 1e-9);
            answer_.targets.push_back(target);
        }
        constexpr double kSeen_m = 0.0005;  // less cannot be seen on a wall
        if (said(vessel.least_depth_m) && a.depth_m < vessel.least_depth_m - kSeen_m)
            warn("below-least-depth", vessel.id,
                 vessel.id + " stands at " + millimetres(a.depth_m) + ", below the least depth of " + millimetres(vessel.least_depth_m));
    }

    /// What passes a way that is all but shut, or leaves a vessel as wide as a lake, takes years to bring it to rest: the balance that is not kept to
    /// the promised figure is said.
    void creeping() {
        constexpr double kPromised = 1e-9, kStill_m3_s = 1e-13, kDay_s = 86400.0, kDribble_m3_s = 1e-7, kThin_m = 1e-3;
        double largest = 0.0;
        for (const auto& pipe : answer_.pipes) largest = std::max(largest, std::abs(pipe.flow_m3_s));
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) {
            const VesselAnswer& a = answer_.vessels[v];
            const double gains = a.inflow_m3_s - a.outflow_m3_s - a.spill_m3_s;
            if (std::abs(gains) <= kPromised * largest + kStill_m3_s) continue;
            const layout::Vessel& vessel = layout_.vessels[v];
            const std::string& id = vessel.id;
            if (std::abs(gains) > kDribble_m3_s) {
                const double low_m = std::max(0.0, a.depth_m - kThin_m);
                const double area_m2 = (layout::volume_at_depth(vessel, low_m + kThin_m) - layout::volume_at_depth(vessel, low_m)) / kThin_m;
                warn("still-creeps", id,
                     id + " still " + (gains > 0.0 ? "gains " : "loses ") + litres_per_minute(std::abs(gains)) +
                         ", and is so wide that its level moves by " + number(1000.0 * kDay_s * std::abs(gains) / area_m2, 3) +
                         " mm a day: it is given as it stands after months, and goes on creeping");
                continue;
            }
            warn("still-creeps", id,
                 id + " still " + (gains > 0.0 ? "gains " : "loses ") + number(1e6 * kDay_s * std::abs(gains), 3) +
                     " ml a day through a way that is all but shut: its level is given as it stands after months, and goes on creeping");
        }
    }

    void pressure(const layout::Tee& tee, const TeeAnswer& a) {
        if (!said(tee.least_pressure_m)) return;
        Target target{.about = tee.id, .quantity = "pressure_m", .at_most = false, .wanted = tee.least_pressure_m, .got = a.pressure_m};
        target.met = target.got >= target.wanted - kSamePressure_m;
        target.asked = said(a.pressure_m);  // cut off: shut on purpose
        answer_.targets.push_back(target);
    }

    /// A vessel without water misses its targets on purpose when the arrangement leaves no way open to it that the layout has.
    void find_asked() {
        constexpr double kDrops_m3_s = 1e-9;  // 4 ml an hour
        const auto of_tee = [](const Target& target) { return target.quantity == "pressure_m"; };
        const auto water_of = [&](const Target& target) { return answer_.vessels[vessel_named(target.about)].inflow_m3_s; };
        if (std::none_of(answer_.targets.begin(), answer_.targets.end(),
                         [&](const Target& t) { return !of_tee(t) && !t.met && !(water_of(t) > kDrops_m3_s); }))
            return;
        const std::vector<std::uint8_t> fed = fed_vessels(layout_, conditions_);
        const std::vector<std::uint8_t> feedable = feedable_vessels(layout_);
        for (Target& target : answer_.targets) {
            if (of_tee(target)) continue;
            const std::size_t v = vessel_named(target.about);
            target.asked = target.met || water_of(target) > kDrops_m3_s || fed[v] != 0 || feedable[v] == 0;
        }
    }

    std::size_t vessel_named(const std::string& id) {
        if (by_id_.empty())
            for (std::size_t v = 0; v < layout_.vessels.size(); ++v) by_id_.emplace(layout_.vessels[v].id, v);
        return by_id_.at(id);
    }

    void pump(const layout::Pump& pump, const PumpAnswer& a) {
        if (!a.running) return;
        if (a.intake_bare)
            warn("intake-bare", pump.id,
                 "the water at " + pump.id + " stands at its intake: it draws air and gives only " + litres_per_minute(a.flow_m3_s));
        else if (a.against_shut)
            warn("pump-against-shut", pump.id, pump.id + " runs but nothing flows: shut valves, or a head beyond its reach; it heats and wears");
        if (a.beyond_curve)
            warn("beyond-curve", pump.id, pump.id + " works beyond the last point of its curve; the figures there are a straight guess");
        if (a.npsh_available_m < a.npsh_required_m)
            warn("cavitates", pump.id,
                 pump.id + " has " + number(a.npsh_available_m, 1) + " m of suction head (NPSH) and needs " + number(a.npsh_required_m, 1) +
                     " m: it will cavitate");
        if (a.from_label) warn("label-only", pump.id, pump.id + " is known only by its label: every figure that rests on it is a band");
    }

    void pipe(const layout::Pipe& pipe, const PipeAnswer& a) {
        if (a.entrance_limits)
            warn("draws-air", pipe.id,
                 "the water stands so low at the mouth of " + pipe.id + " that the opening, not the pipe, limits its flow; it draws air");
        if (!pipe.gravity) return;
        if (a.capacity_used > 1.0)
            warn("drain-overloaded", pipe.id, pipe.id + " must carry " + number(a.capacity_used, 2) + " times what it can full under its own fall");
        else if (a.drowned && a.flow_m3_s > 0.0 && a.fill_ratio >= 1.0 && pipe.to.ref.kind == layout::Kind::vessel && a.flow_m3_s > 1e-9)
            warn("drain-drowned", pipe.id,
                 "the lower end of " + pipe.id + " is under water: it runs full and what stands before it follows the level below");
    }

    /// Water that would have to hang below the pressure of the air: beyond the vapour pressure it cannot, short of it air gathers.
    void tee(const layout::Tee& tee, const TeeAnswer& a) {
        const double least_m = -physics::npsh_available_m(water_, 0.0);
        if (a.pressure_m < least_m)
            warn("below-vapour", tee.id,
                 "the water at " + tee.id + " would stand " + number(-a.pressure_m, 1) + " m below the pressure of the air, and no water can below " +
                     number(-least_m, 1) + " m: the line breaks there, and the flows given through it are not to be had");
        else if (a.pressure_m < -kHangs_m)
            warn("under-vacuum", tee.id,
                 "the water at " + tee.id + " stands " + number(-a.pressure_m, 1) +
                     " m below the pressure of the air: it will not start by itself, air gathers there, and a leak draws air in");
    }

    void standpipe(const layout::Standpipe& standpipe, const StandpipeAnswer& a) {
        if (a.regime == OverflowRegime::drowned)
            warn("overflow-drowned", standpipe.id,
                 a.flow_m3_s == 0.0 ? "nothing leaves by " + standpipe.id + ": its drain is shut, or leads nowhere lower"
                                    : "the pipe below " + standpipe.id + " backs up over its lip: the drain, not the standpipe, sets the level");
        if (a.may_run_full)
            warn("may-run-full", standpipe.id,
                 standpipe.id + " carries more than a pipe that vents itself: it may gulp air and run full, with the level hunting down to " +
                     millimetres(-std::min(0.0, a.full_pipe_level_m - level_of(standpipe.in.index))) + " lower; the higher level is given here");
    }

    double level_of(std::int32_t vessel) const { return answer_.vessels[static_cast<std::size_t>(vessel)].level_m; }

    void siphon(std::size_t index) {
        const layout::Siphon& siphon = layout_.siphons[index];
        const SiphonAnswer& a = answer_.siphons[index];
        if (a.dribbles)
            warn("siphon-dribbles", siphon.id,
                 siphon.id + " never starts: " + litres_per_minute(a.flow_m3_s) + " dribble over its crest, it starts with " +
                     litres_per_minute(siphon.starts_with_m3_s));
        else if (a.runs_for_ever)
            warn("siphon-runs-for-ever", siphon.id, siphon.id + " never breaks: as much comes in as it carries, and the bed stays where it is");
        else if (answer_.state == State::cycles && !a.primed && a.flow_m3_s >= siphon.starts_with_m3_s)
            warn("siphon-cycles", siphon.id,
                 siphon.id + " fills and empties its bed over and over; the levels given are those just before it starts");
    }

    void explain_dry() {
        double spilled = 0.0;
        std::string where;
        for (std::size_t v = 0; v < layout_.vessels.size(); ++v) {
            spilled += answer_.vessels[v].spilled_m3;
            if (answer_.vessels[v].spilled_m3 > 1e-6) where += (where.empty() ? "" : ", ") + layout_.vessels[v].id;
        }
        answer_.why = where + " runs over until a pump is dry: " + litres(spilled) + " are lost in " + minutes(answer_.dry_after_s) +
                      "; the levels given are those at the end";
        warn("spills-until-dry", where, answer_.why);
    }

    const Layout& layout_;
    const layout::Conditions& conditions_;
    Answer& answer_;
    physics::Water water_ = physics::water_at(layout_.water_temperature_c, layout_.altitude_m);
    std::unordered_map<std::string_view, std::size_t> by_id_;
};

}  // namespace

void judge(const Layout& layout, const layout::Conditions& conditions, Answer& answer) {
    if (answer.state == State::no_solution) return;
    Judge(layout, conditions, answer).run();
    if (answer.state == State::cycles && answer.why.empty())
        answer.why = "a siphon neither dribbles nor runs for ever: the levels rise and fall for ever";
}

}  // namespace ebb::settle
