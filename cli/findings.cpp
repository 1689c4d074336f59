#include "cli/findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string_view>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "cli/views/speech.h"
#include "cli/words.h"
#include "solver/physics/suction.h"
#include "solver/settle/fed.h"

namespace ebb::cli {
namespace {

constexpr double kDropsM3S = 1e-9;   // 4 ml an hour
constexpr double kThimbleM3 = 1e-6;  // 1 ml
constexpr std::string_view kSpillsUntilDry = "spills-until-dry";

/// Where each thing stands in the file, by its id.
class Places {
public:
    explicit Places(const layout::Layout& layout) {
        add(layout.vessels);
        add(layout.pumps);
        add(layout.pipes);
        add(layout.standpipes);
        add(layout.siphons);
        add(layout.tees);
        add(layout.filters);
        add(layout.nozzles);
        add(layout.valves);
        add(layout.supplies);
        add(layout.float_valves);
        add(layout.ponds);
    }
    layout::Place of(const std::string& id) const {
        const auto found = places_.find(id);
        return found == places_.end() ? layout::Place{} : found->second;
    }

private:
    template <typename Things>
    void add(const Things& things) {
        for (const auto& thing : things) {
            places_.emplace(thing.id, thing.place);
        }
    }
    std::unordered_map<std::string_view, layout::Place> places_;
};

/// Gathers the findings of one answer.
class Judge {
public:
    Judge(const layout::Layout& layout, const settle::Answer& answer, const layout::Conditions* conditions, const Speech& speech)
        : layout_(layout), answer_(answer), conditions_(conditions), speech_(speech), practice_(layout.limits) {}

    std::vector<Finding> judge() {
        if (answer_.state != settle::State::not_run && answer_.state != settle::State::no_solution) {
            if (answer_.state == settle::State::spills_until_dry) {
                tell_of_spilling();
            }
            judge_vessels();
            judge_pumps();
            judge_reach();
            judge_pipes();
            judge_tees();
            judge_overflows();
            judge_ledgers();
        }
        take_over_warnings();
        std::stable_sort(found_.begin(), found_.end(), [](const Finding& one, const Finding& other) { return one.weight < other.weight; });
        return std::move(found_);
    }

private:
    /// Made only where they are asked for: most answers need none.
    layout::Conditions conditions() const { return conditions_ != nullptr ? *conditions_ : layout::conditions_of(layout_, answer_.arrangement); }

    void say(Weight weight, std::string_view code, const std::string& about, const layout::Place& place, std::string says) {
        found_.push_back({weight, std::string(code), about, std::move(says), place});
    }

    bool something_overflows() const;
    void judge_reach();
    bool is_out_of_reach(std::size_t pump);
    double head_at(const layout::Ref& ref) const;
    double entry_of(const layout::Pipe& pipe) const;
    std::int32_t vessel_of(const layout::Pipe& pipe) const;
    const std::vector<const layout::Pipe*>& open_pipes();

    static std::string name_of(std::string_view code, const std::string& about) { return std::string(code) + ' ' + about; }

    void take_over_warnings();
    void tell_of_spilling();
    void judge_vessels();
    void judge_pumps();
    void judge_pump(std::size_t index);
    void judge_pipes();
    void judge_tees();
    void judge_drain(const layout::Pipe& pipe, const settle::PipeAnswer& flow);
    void judge_overflows();
    void judge_ledgers();

    const layout::Layout& layout_;
    const settle::Answer& answer_;
    const layout::Conditions* conditions_;  ///< null: those of the answer's arrangement
    const Speech& speech_;
    Practice practice_;
    std::vector<Finding> found_;
    std::vector<const layout::Pipe*> open_pipes_;
    bool open_pipes_known_ = false;
};

const char* whose(bool of_the_layout) { return of_the_layout ? "the layout's limit" : "common practice"; }

/// Which of the solver's warnings mean that something is wrong now.
bool is_trouble(std::string_view code) {
    constexpr std::string_view kTrouble[] = {"spills-until-dry"};
    return std::find(std::begin(kTrouble), std::end(kTrouble), code) != std::end(kTrouble);
}

/// What the solver warns of and nothing above has said already in the reader's units.
void Judge::take_over_warnings() {
    if (answer_.warnings.empty()) {
        return;
    }
    std::unordered_set<std::string> said;
    for (const Finding& finding : found_) {
        said.insert(name_of(finding.code, finding.about));
    }
    const Places places(layout_);
    for (const settle::Warning& warning : answer_.warnings) {
        const bool told_with_all = answer_.state == settle::State::spills_until_dry && warning.code == "spilled-on-the-way";
        if (!told_with_all && !said.contains(name_of(warning.code, warning.about))) {
            // A drain pushed full by the water behind it carries what it must; it is trouble once something rises because of it.
            const bool pushed_over = warning.code == "drain-overloaded" && something_overflows();
            const Weight weight = is_trouble(warning.code) || pushed_over ? Weight::trouble : Weight::doubt;
            found_.push_back({weight, warning.code, warning.about, warning.says, places.of(warning.about)});
        }
    }
}

/// In the reader's units what the solver says of a farm that spills until a pump draws air.
void Judge::tell_of_spilling() {
    double spilled_m3 = 0.0;
    std::vector<std::string> where;
    for (std::size_t i = 0; i < answer_.vessels.size(); ++i) {
        spilled_m3 += answer_.vessels[i].spilled_m3;
        if (answer_.vessels[i].spilled_m3 > kThimbleM3) {
            where.push_back(layout_.vessels[i].id);
        }
    }
    constexpr std::size_t kNamed = 4;
    const auto said = std::find_if(answer_.warnings.begin(), answer_.warnings.end(),
                                   [](const settle::Warning& warning) { return warning.code == kSpillsUntilDry; });
    const std::string about = said != answer_.warnings.end() ? said->about : where.empty() ? std::string() : where.front();
    const bool several = where.size() > 1;
    say(Weight::trouble, kSpillsUntilDry, about, where.empty() ? layout::Place{} : Places(layout_).of(where.front()),
        fmt::format("{} {} over until a pump is dry: {} are lost in {}; the levels given are those at the end", listed(where, kNamed),
                    several ? "run" : "runs", speech_.volume(spilled_m3), Speech::duration(answer_.dry_after_s)));
}

void Judge::judge_vessels() {
    const bool dry = answer_.state == settle::State::spills_until_dry;  // then said once, for all of them
    for (std::size_t i = 0; i < answer_.vessels.size(); ++i) {
        const layout::Vessel& vessel = layout_.vessels[i];
        const settle::VesselAnswer& water = answer_.vessels[i];
        const double freeboard =
            water.depth_band.there() ? std::min(water.freeboard_m, vessel.rim_m - vessel.floor_m - water.depth_band.high) : water.freeboard_m;
        if (water.spill_m3_s > kDropsM3S) {
            say(Weight::trouble, "spills", vessel.id, vessel.place,
                fmt::format("{} runs over its rim at {} and does not stop", vessel.id, speech_.flow(water.spill_m3_s)));
        } else if (freeboard < practice_.least_freeboard_m && !dry) {
            say(Weight::doubt, "little-freeboard", vessel.id, vessel.place,
                fmt::format("{} stands only {} below its rim; less than {} leaves nothing for a leaf in the overflow", vessel.id,
                            speech_.height(freeboard), speech_.height(practice_.least_freeboard_m)));
        } else if (freeboard < practice_.freeboard_m && !dry) {
            say(Weight::doubt, "freeboard", vessel.id, vessel.place,
                fmt::format("{} stands {} below its rim; {} is common practice", vessel.id, speech_.height(freeboard),
                            speech_.height(practice_.freeboard_m)));
        }
        if (water.spilled_m3 > kThimbleM3 && !(water.spill_m3_s > kDropsM3S) && !dry) {
            say(Weight::trouble, "spilled-on-the-way", vessel.id, vessel.place,
                fmt::format("{} loses {} over its rim on the way from the start depths", vessel.id, speech_.volume(water.spilled_m3)));
        }
        constexpr double kSeenM = 0.0005;  // less cannot be seen on a wall
        if (layout::said(vessel.least_depth_m) && water.depth_m < vessel.least_depth_m - kSeenM) {
            say(Weight::trouble, "below-least-depth", vessel.id, vessel.place,
                fmt::format("{} stands {} deep, below its least depth of {}", vessel.id, speech_.height(water.depth_m),
                            speech_.height(vessel.least_depth_m)));
        }
    }
}

void Judge::judge_pumps() {
    for (std::size_t i = 0; i < answer_.pumps.size(); ++i) {
        if (answer_.pumps[i].running) {
            judge_pump(i);
        }
    }
}

void Judge::judge_pump(std::size_t index) {
    const layout::Pump& pump = layout_.pumps[index];
    const settle::PumpAnswer& duty = answer_.pumps[index];
    if (duty.intake_bare) {
        say(Weight::trouble, "intake-bare", pump.id, pump.place, fmt::format("{} draws air: its intake stands out of the water", pump.id));
        return;
    }
    if (duty.against_shut || !(duty.flow_m3_s > kDropsM3S)) {
        if (!is_out_of_reach(index)) {
            say(Weight::trouble, "pump-against-shut", pump.id, pump.place,
                fmt::format("{} runs but nothing flows: every way is shut; it heats and wears", pump.id));
        }
        return;
    }
    if (duty.beyond_curve) {
        say(Weight::doubt, "beyond-curve", pump.id, pump.place,
            fmt::format("{} runs at {}, beyond the last point of its curve: the figures there are a straight guess", pump.id,
                        speech_.flow(duty.flow_m3_s)));
    }
    if (duty.best_point_ratio < practice_.best_point_low || duty.best_point_ratio > practice_.best_point_high) {
        say(Weight::doubt, "off-best-point", pump.id, pump.place,
            fmt::format("{} runs at {} of its best-efficiency flow; {} to {} is common practice", pump.id, Speech::share(duty.best_point_ratio),
                        Speech::share(practice_.best_point_low), Speech::share(practice_.best_point_high)));
    }
    if (duty.npsh_available_m < duty.npsh_required_m) {
        say(Weight::trouble, "cavitates", pump.id, pump.place,
            fmt::format("{} cavitates: its inlet has {} of net positive suction head and needs {}", pump.id, speech_.head(duty.npsh_available_m),
                        speech_.head(duty.npsh_required_m)));
    } else if (duty.npsh_available_m < practice_.npsh_ratio * duty.npsh_required_m) {
        say(Weight::doubt, "little-suction-head", pump.id, pump.place,
            fmt::format("{} has {} of net positive suction head and needs {}: less than a tenth to spare", pump.id,
                        speech_.head(duty.npsh_available_m), speech_.head(duty.npsh_required_m)));
    }
}

bool Judge::something_overflows() const {
    const bool spills = std::any_of(answer_.vessels.begin(), answer_.vessels.end(), [](const settle::VesselAnswer& vessel) {
        return vessel.spill_m3_s > kDropsM3S || vessel.spilled_m3 > kThimbleM3;
    });
    return spills || std::any_of(answer_.standpipes.begin(), answer_.standpipes.end(),
                                 [](const settle::StandpipeAnswer& standpipe) { return standpipe.regime == settle::OverflowRegime::drowned; });
}

/// Head of the water where a pipe leaves a tee, pump or filter; not known elsewhere, or when cut off.
double Judge::head_at(const layout::Ref& ref) const {
    const auto index = static_cast<std::size_t>(ref.index);
    switch (ref.kind) {
        case layout::Kind::tee: return layout_.tees[index].vented ? settle::kUnknown : answer_.tees[index].head_m;
        case layout::Kind::pump: return answer_.pumps[index].outlet_head_m;
        case layout::Kind::filter: return answer_.filters[index].outlet_head_m;
        default: return settle::kUnknown;
    }
}

/// The vessel a pipe leads into, by a nozzle too; -1 for other ends.
std::int32_t Judge::vessel_of(const layout::Pipe& pipe) const {
    const layout::Ref& to = pipe.to.ref;
    return to.kind == layout::Kind::vessel   ? to.index
           : to.kind == layout::Kind::nozzle ? layout_.nozzles[static_cast<std::size_t>(to.index)].into.index
                                             : -1;
}

/// Elevation the water must rise above to come into a vessel by this pipe.
double Judge::entry_of(const layout::Pipe& pipe) const {
    const auto vessel = static_cast<std::size_t>(vessel_of(pipe));
    const double height_m =
        pipe.to.ref.kind == layout::Kind::nozzle ? layout_.nozzles[static_cast<std::size_t>(pipe.to.ref.index)].height_m : pipe.to.height();
    return std::fmax(layout_.vessels[vessel].floor_m + height_m, answer_.vessels[vessel].level_m);
}

/// Full pipes into vessels without a shut valve.
const std::vector<const layout::Pipe*>& Judge::open_pipes() {
    if (!open_pipes_known_) {
        open_pipes_known_ = true;
        const layout::Conditions conditions = this->conditions();
        for (const layout::Pipe& pipe : layout_.pipes) {
            const bool shut = std::any_of(pipe.valves.begin(), pipe.valves.end(),
                                          [&](std::int32_t valve) { return conditions.valve_opening[static_cast<std::size_t>(valve)] <= 0.0; });
            if (!pipe.gravity && !shut && vessel_of(pipe) >= 0) {
                open_pipes_.push_back(&pipe);
            }
        }
    }
    return open_pipes_;
}

/// Says how high a pump that moves nothing lifts, and how high the lowest open way out stands; false when there is none.
bool Judge::is_out_of_reach(std::size_t index) {
    constexpr double kSameHeadM = 1e-6;  // nothing flows: the head is the same wherever its water stands
    const settle::PumpAnswer& duty = answer_.pumps[index];
    const layout::Pipe* lowest = nullptr;
    for (const layout::Pipe* pipe : open_pipes()) {
        const bool its_water = std::abs(head_at(pipe->from.ref) - duty.outlet_head_m) < kSameHeadM;
        if (its_water && entry_of(*pipe) > duty.outlet_head_m && (lowest == nullptr || entry_of(*pipe) < entry_of(*lowest))) {
            lowest = pipe;
        }
    }
    if (lowest == nullptr) {
        return false;
    }
    const layout::Pump& pump = layout_.pumps[index];
    say(Weight::trouble, "pump-against-shut", pump.id, pump.place,
        fmt::format("{} runs but moves nothing: with {} at no flow it lifts its water to {}, and the lowest open way out, {}, stands at {}: {} more "
                    "is needed; it heats and wears",
                    pump.id, speech_.head(duty.head_m), speech_.level(duty.outlet_head_m), lowest->id, speech_.level(entry_of(*lowest)),
                    speech_.height(entry_of(*lowest) - duty.outlet_head_m)));
    return true;
}

/// Vessels that are meant to be fed but stand above the water in every open pipe that leads into them.
void Judge::judge_reach() {
    const bool dead = std::all_of(answer_.pumps.begin(), answer_.pumps.end(), [](const settle::PumpAnswer& pump) { return !pump.running; });
    const bool all_get = std::all_of(answer_.vessels.begin(), answer_.vessels.end(),
                                     [](const settle::VesselAnswer& vessel) { return vessel.inflow_m3_s > kDropsM3S; });
    if (dead || all_get) {
        return;
    }
    std::vector<const layout::Pipe*> nearest(layout_.vessels.size(), nullptr);
    const auto short_by = [&](const layout::Pipe& pipe) { return entry_of(pipe) - head_at(pipe.from.ref); };
    for (const layout::Pipe* pipe : open_pipes()) {
        const layout::Pipe*& best = nearest[static_cast<std::size_t>(vessel_of(*pipe))];
        if (short_by(*pipe) > 0.0 && (best == nullptr || short_by(*pipe) < short_by(*best))) {
            best = pipe;
        }
    }
    const std::vector<std::uint8_t> fed = settle::fed_vessels(layout_, conditions());
    for (std::size_t i = 0; i < nearest.size(); ++i) {
        const layout::Vessel& vessel = layout_.vessels[i];
        if (nearest[i] == nullptr || fed[i] == 0 || answer_.vessels[i].inflow_m3_s > kDropsM3S) {
            continue;
        }
        const bool wanted = layout::said(vessel.turnover_s) || layout::said(vessel.inflow_m3_s);
        say(wanted ? Weight::trouble : Weight::doubt, "out-of-reach", vessel.id, vessel.place,
            fmt::format("{} is out of reach: {} enters it at {}, and the water in that pipe rises to {}: {} more is needed", vessel.id,
                        nearest[i]->id, speech_.level(entry_of(*nearest[i])), speech_.level(head_at(nearest[i]->from.ref)),
                        speech_.height(short_by(*nearest[i]))));
    }
}

/// Water that hangs below the pressure of the air: beyond the vapour pressure it cannot, short of it air gathers.
void Judge::judge_tees() {
    constexpr double kWorthSayingM = 0.3;
    const double most_m = physics::npsh_available_m(physics::water_at(layout_.water_temperature_c, layout_.altitude_m), 0.0);
    for (std::size_t i = 0; i < answer_.tees.size(); ++i) {
        const layout::Tee& tee = layout_.tees[i];
        const double below_m = -answer_.tees[i].pressure_m;
        if (below_m > most_m) {
            say(Weight::trouble, "below-vapour", tee.id, tee.place,
                fmt::format(
                    "the water at {} would hang {} below the pressure of the air, and none can below {}: the line breaks there, and the flows "
                    "through it are not to be had",
                    tee.id, speech_.head(below_m), speech_.head(most_m)));
        } else if (below_m > kWorthSayingM) {
            say(Weight::doubt, "under-vacuum", tee.id, tee.place,
                fmt::format(
                    "the water at {} hangs {} below the pressure of the air: it does not start by itself, air gathers there, and a leak draws "
                    "air in",
                    tee.id, speech_.head(below_m)));
        }
    }
}

void Judge::judge_pipes() {
    for (std::size_t i = 0; i < answer_.pipes.size(); ++i) {
        const layout::Pipe& pipe = layout_.pipes[i];
        const settle::PipeAnswer& flow = answer_.pipes[i];
        const double velocity = std::abs(flow.velocity_m_s);
        if (pipe.gravity) {
            judge_drain(pipe, flow);
        } else if (pipe.to.ref.kind == layout::Kind::pump && velocity > practice_.suction_velocity_m_s) {
            say(Weight::doubt, "suction-velocity", pipe.id, pipe.place,
                fmt::format("{} brings water to a pump at {}; not above {} is {}", pipe.id, speech_.velocity(velocity),
                            speech_.velocity(practice_.suction_velocity_m_s), whose(practice_.own_suction_velocity)));
        } else if (velocity > practice_.supply_velocity_m_s) {
            say(Weight::doubt, "supply-velocity", pipe.id, pipe.place,
                fmt::format("{} runs at {}; not above {} is {}", pipe.id, speech_.velocity(velocity), speech_.velocity(practice_.supply_velocity_m_s),
                            whose(practice_.own_supply_velocity)));
        }
        if (flow.entrance_limits) {
            say(Weight::doubt, "draws-air", pipe.id, pipe.place,
                fmt::format("{} draws air where it leaves {}: the opening lets in no more at this level", pipe.id, pipe.from.id));
        }
    }
}

void Judge::judge_drain(const layout::Pipe& pipe, const settle::PipeAnswer& flow) {
    constexpr double kTrickleM3S = 1e-7;  // 6 ml/min: drops that carry nothing in any pipe
    if (!(std::abs(flow.flow_m3_s) > kTrickleM3S)) {
        return;
    }
    const double velocity = std::abs(flow.velocity_m_s);
    const bool full = flow.drowned || flow.fill_ratio >= 1.0;
    if (!full && flow.fill_ratio > practice_.drain_fill) {
        say(Weight::doubt, "drain-nearly-full", pipe.id, pipe.place,
            practice_.own_drain_fill ? fmt::format("{} runs {} full; not above {} is the layout's limit", pipe.id, Speech::share(flow.fill_ratio),
                                                   Speech::share(practice_.drain_fill))
                                     : fmt::format("{} runs {} full; above {} waves close the crown and it gulps", pipe.id,
                                                   Speech::share(flow.fill_ratio), Speech::share(practice_.drain_fill)));
    }
    if (!full && velocity < practice_.drain_scour_m_s) {
        say(Weight::doubt, "drain-does-not-scour", pipe.id, pipe.place,
            fmt::format("{} runs at {}; {} {}", pipe.id, speech_.velocity(velocity),
                        practice_.own_drain_scour ? "the layout's limits want at least" : "below", speech_.velocity(practice_.drain_scour_m_s)) +
                (practice_.own_drain_scour ? "" : " solids stay in it"));
    } else if (full && velocity < practice_.full_line_scour_m_s) {
        say(Weight::doubt, "drain-does-not-scour", pipe.id, pipe.place,
            fmt::format("{} runs full at {}; below {} solids settle in it", pipe.id, speech_.velocity(velocity),
                        speech_.velocity(practice_.full_line_scour_m_s)));
    }
}

void Judge::judge_overflows() {
    for (std::size_t i = 0; i < answer_.standpipes.size(); ++i) {
        const layout::Standpipe& standpipe = layout_.standpipes[i];
        const settle::StandpipeAnswer& overflow = answer_.standpipes[i];
        if (overflow.may_run_full) {
            const std::string lower = std::isnan(overflow.full_pipe_level_m)
                                          ? std::string("a second, lower level is possible")
                                          : fmt::format("the level may also fall to {}", speech_.level(overflow.full_pipe_level_m));
            say(Weight::doubt, "may-run-full", standpipe.id, standpipe.place,
                fmt::format("{} takes {}, more than it can vent: it may gulp and siphon, and {}", standpipe.id, speech_.flow(overflow.flow_m3_s),
                            lower));
        }
    }
    for (std::size_t i = 0; i < answer_.siphons.size(); ++i) {
        const layout::Siphon& siphon = layout_.siphons[i];
        if (answer_.siphons[i].dribbles) {
            say(Weight::trouble, "siphon-dribbles", siphon.id, siphon.place,
                fmt::format("{} never starts: {} runs over its crest and it needs {}", siphon.id, speech_.flow(answer_.siphons[i].flow_m3_s),
                            speech_.flow(siphon.starts_with_m3_s)));
        }
        if (answer_.siphons[i].runs_for_ever) {
            say(Weight::trouble, "siphon-runs-for-ever", siphon.id, siphon.place,
                fmt::format("{} never stops: more water comes in than it takes away at the height where it should break", siphon.id));
        }
    }
}

void Judge::judge_ledgers() {
    for (const settle::SumpLedger& ledger : answer_.ledgers) {
        const layout::Vessel& sump = layout_.vessels[static_cast<std::size_t>(ledger.vessel)];
        const bool spills_anyway = answer_.vessels[static_cast<std::size_t>(ledger.vessel)].spill_m3_s > kDropsM3S;
        if (ledger.stopped_spill_m3 > kThimbleM3 && !spills_anyway) {
            say(Weight::trouble, "spills-when-stopped", sump.id, sump.place,
                fmt::format("{} spills {} when every pump stops and the water comes home", sump.id, speech_.volume(ledger.stopped_spill_m3)));
        } else if (ledger.freeboard_stopped_m < practice_.least_freeboard_m && !spills_anyway) {
            say(Weight::doubt, "little-freeboard-when-stopped", sump.id, sump.place,
                fmt::format("{} ends {} below its rim when every pump stops; {} is common practice", sump.id,
                            speech_.height(ledger.freeboard_stopped_m), speech_.height(practice_.freeboard_m)));
        }
        if (ledger.margin_m < 0.0 && !(ledger.running_depth_m < ledger.least_depth_m)) {
            say(Weight::doubt, "less-than-a-day", sump.id, sump.place,
                fmt::format("{} falls below its least depth within a day without top-up", sump.id));
        }
    }
}

}  // namespace

Practice::Practice(const layout::Limits& limits) {
    const auto take = [](double said, double& limit, bool& own) {
        own = layout::said(said);
        limit = own ? said : limit;
    };
    take(limits.greatest_velocity_m_s, supply_velocity_m_s, own_supply_velocity);
    take(limits.greatest_suction_velocity_m_s, suction_velocity_m_s, own_suction_velocity);
    take(limits.greatest_drain_fill, drain_fill, own_drain_fill);
    take(limits.least_drain_velocity_m_s, drain_scour_m_s, own_drain_scour);
}

std::vector<Finding> findings(const layout::Layout& layout, const settle::Answer& answer, const Speech& speech) {
    return Judge(layout, answer, nullptr, speech).judge();
}

std::vector<Finding> findings(const layout::Layout& layout, const settle::Answer& answer, const layout::Conditions& conditions,
                              const Speech& speech) {
    return Judge(layout, answer, &conditions, speech).judge();
}

}  // namespace ebb::cli
