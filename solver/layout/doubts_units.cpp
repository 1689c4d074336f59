// Doubts about units: figures that are off by the ratio of two units from what stands beside them, or that are no figure of this trade.
//
// What can be found without knowing what was meant: two curves or tables that are the same but for one of the known ratios
// (1.201 imperial to US gallon, 3.281 feet to the metre, 1.422 psi to metres of water, 1.2 and 1.44 from 50 to 60 Hz); a pump that gives
// out more power than it takes in; bores that are exact nominal sizes; a vessel 3.28 times as tall as its like; temperatures and pressures
// that only make sense in another unit.

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "solver/layout/doubting.h"
#include "solver/physics/water.h"

namespace ebb::layout {
namespace {

constexpr double kFeetPerMetre = 1.0 / 0.3048;
constexpr double kUsPerImperialGallon = 4.54609 / 3.785411784;  // 1.20095
constexpr double kPsiPerMetre = 9806.65 / 6894.757293168;       // 1.4223: a head in metres written where psi stood, or the reverse
constexpr double kSpeed60To50 = 1.2;                            // flow by the affinity laws; head by its square

bool near(double value, double wanted, double share) { return std::abs(value / wanted - 1.0) <= share; }

// ---- pairs of pump models

struct CurveRatio {
    double flow, head;
    const char* question;
};
constexpr std::array kCurveRatios = {
    CurveRatio{kUsPerImperialGallon, 1.0, "is one of them in US, the other in imperial gallons?"},
    CurveRatio{1.0, kFeetPerMetre, "is one of them in feet, the other in metres?"},
    CurveRatio{1.0, kPsiPerMetre, "is one of them in psi, the other in metres?"},
    CurveRatio{kSpeed60To50, kSpeed60To50* kSpeed60To50, "is one of them the curve at 60 Hz, the other at 50 Hz?"},
    CurveRatio{kSpeed60To50, 1.0, "is one of them the flow at 60 Hz, the other at 50 Hz?"},
};

/// True when the heads of `large` are `ratio.head` times those of `small` at `ratio.flow` times the flow, all along the curve.
bool same_but_for(const PumpModel& large, const PumpModel& small, const CurveRatio& ratio) {
    constexpr double kSameShare = 0.0015;  // maker's figures are rounded; 1.200 and 1.201 still differ by 0.0008
    if (!near(large.greatest_flow_m3_s, small.greatest_flow_m3_s * ratio.flow, kSameShare)) {
        return false;
    }
    constexpr int kSamples = 8;
    const physics::PumpDuty duty;
    const double scale_m = small.curve.head(0.0, duty).value;
    for (int i = 0; i < kSamples; ++i) {
        const double flow_m3_s = small.greatest_flow_m3_s * i / kSamples;
        const double wanted_m = small.curve.head(flow_m3_s, duty).value * ratio.head;
        if (std::abs(large.curve.head(flow_m3_s * ratio.flow, duty).value - wanted_m) > 0.004 * scale_m * ratio.head) {
            return false;
        }
    }
    return true;
}

void doubt_pair(Doubts& doubts, const PumpModel& one, const PumpModel& other) {
    for (const CurveRatio& ratio : kCurveRatios) {
        const bool first_larger = same_but_for(one, other, ratio);
        if (!first_larger && !same_but_for(other, one, ratio)) {
            continue;
        }
        const PumpModel& large = first_larger ? one : other;
        const PumpModel& small = first_larger ? other : one;
        const std::string what = ratio.head == 1.0 ? "the flows" : (ratio.flow == 1.0 ? "the heads" : "flows and heads");
        const std::string factor =
            ratio.head == 1.0 ? figure(ratio.flow) : (ratio.flow == 1.0 ? figure(ratio.head) : figure(ratio.flow) + " and " + figure(ratio.head));
        doubts.add(
            {"curve-ratio", large.name,
             what + " of pump model " + in_quotes(large.name) + " are those of " + in_quotes(small.name) + " times " + factor + ": " + ratio.question,
             "check the units on both data sheets; if they are two speeds of one pump, one model and <run speed=.../> will do"},
            large.place, small.place);
        return;
    }
}

// ---- one pump model

void doubt_efficiency(Doubts& doubts, const PumpModel& model, double density_kg_m3) {
    constexpr double kBest = 0.85;  // no small pump with its motor is better
    if (!model.has_power) {
        return;
    }
    const physics::PumpDuty duty;
    double best = 0.0;
    for (int i = 1; i <= 20; ++i) {
        best = std::max(best, model.curve.efficiency(model.greatest_flow_m3_s * i / 20.0, duty, density_kg_m3));
    }
    if (best > kBest) {
        const char* guess = best / kFeetPerMetre < 0.75 ? ": are its heads in feet, or its flows in another unit?" : ": are its units right?";
        doubts.add(
            {"efficiency-high", model.name,
             "pump model " + in_quotes(model.name) + " would turn " + figure(best * 100.0) + " % of its electrical power into lifted water" + guess,
             "small pumps reach 20 to 60 %; check the units of flow, head and power"},
            model.place);
    } else if (best > 0.0 && best < 0.03) {
        doubts.add({"efficiency-low", model.name,
                    "pump model " + in_quotes(model.name) + " turns no more than " + figure(best * 100.0) +
                        " % of its electrical power into lifted water: are its units right?",
                    "small pumps reach 20 to 60 %; check the units of flow, head and power"},
                   model.place);
    }
}

// ---- the rest of the layout

/// Bores that are exactly a nominal size: inches written as the bore, or the outside diameter of metric pipe.
void doubt_bores(Doubts& doubts) {
    constexpr std::array kInches = {0.5, 0.75, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0};
    constexpr std::array kMetric_mm = {20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 75.0, 90.0, 110.0, 125.0, 140.0, 160.0};
    const auto among = [](const auto& list, double value) {
        return std::ranges::any_of(list, [value](double candidate) { return std::abs(candidate - value) < 1e-6 * candidate; });
    };
    std::map<double, std::vector<const Pipe*>> by_bore;
    for (const Pipe& pipe : doubts.layout.pipes) {
        if (pipe.series.empty()) {
            by_bore[pipe.bore_m].push_back(&pipe);
        }
    }
    for (const auto& [bore_m, pipes] : by_bore) {
        const double bore_mm = bore_m * 1000.0;
        const std::string who = pipes[0]->id + (pipes.size() > 1 ? " and " + std::to_string(pipes.size() - 1) + " more pipes have" : " has");
        const Place& place = pipes[0]->place;
        if (among(kInches, bore_mm)) {
            doubts.add({"bore-inches-as-mm", pipes[0]->id, who + " a bore of " + figure(bore_mm) + " mm: is it " + figure(bore_mm) + " inch?",
                        "write size=" + in_quotes(figure(bore_mm) + " in") + " series=\"schedule-40\", or the bore in mm", "bore"},
                       place);
        } else if (among(kInches, bore_m / 0.0254)) {
            doubts.add({"bore-nominal", pipes[0]->id, who + " a bore of exactly " + figure(bore_m / 0.0254) + " in: is that the nominal size?",
                        "the true bore differs: write size= and series=, such as schedule-40", "bore"},
                       place);
        } else if (among(kMetric_mm, bore_mm)) {
            doubts.add({"bore-nominal", pipes[0]->id, who + " a bore of exactly " + figure(bore_mm) + " mm: is that the outside diameter?",
                        "if so, write size=" + in_quotes(figure(bore_mm) + " mm") + " series=\"pvc-pn16\": the bore is less by two walls", "bore"},
                       place);
        }
    }
}

/// Vessels of one kind are built alike; one 3.28 times as tall, or as high up, as most of them was meant in the other unit.
void doubt_vessels(Doubts& doubts) {
    constexpr double kSameShare = 0.02;
    std::map<VesselKind, std::vector<const Vessel*>> kinds;
    for (const Vessel& vessel : doubts.layout.vessels) {
        kinds[vessel.kind].push_back(&vessel);
    }
    const auto median = [](std::vector<double> values) {
        std::ranges::sort(values);
        return values[values.size() / 2];
    };
    for (const auto& [kind, vessels] : kinds) {
        if (vessels.size() < 3) {
            continue;
        }
        std::vector<double> heights;
        std::vector<double> floors;
        for (const Vessel* vessel : vessels) {
            heights.push_back(height_of(*vessel));
            floors.push_back(vessel->floor_m);
        }
        const double usual_height_m = median(heights);
        const double usual_floor_m = median(floors);
        for (const Vessel* vessel : vessels) {
            const double height_m = height_of(*vessel);
            const bool tall =
                near(height_m, usual_height_m * kFeetPerMetre, kSameShare) || near(height_m, usual_height_m / kFeetPerMetre, kSameShare);
            const bool worth = std::abs(usual_floor_m) > 0.3 && vessel->floor_m != 0.0;
            const bool high = worth && (near(vessel->floor_m, usual_floor_m * kFeetPerMetre, kSameShare) ||
                                        near(vessel->floor_m, usual_floor_m / kFeetPerMetre, kSameShare));
            if (tall || high) {
                doubts.add({"feet-for-metres", vessel->id,
                            std::string(name_of(kind)) + " " + vessel->id +
                                (tall ? " is " + metres(height_m) + " tall" : " has its floor at " + metres(vessel->floor_m)) + ", most others " +
                                metres(tall ? usual_height_m : usual_floor_m) + ": are feet and metres mixed?",
                            "check floor= and rim=", tall ? "rim" : "floor"},
                           vessel->place);
            }
        }
    }
}

/// Vessels of one kind with the same depth and volumes in the ratio of the gallons.
void doubt_tables(Doubts& doubts) {
    std::vector<const Vessel*> tables;
    for (const Vessel& vessel : doubts.layout.vessels) {
        if (!said(vessel.plan_area_m2) && tables.size() < 200) {
            tables.push_back(&vessel);
        }
    }
    for (std::size_t i = 0; i < tables.size(); ++i) {
        for (std::size_t j = 0; j < tables.size(); ++j) {
            const VolumePoint& large = tables[i]->volume.back();
            const VolumePoint& small = tables[j]->volume.back();
            if (i != j && near(large.depth_m, small.depth_m, 1e-6) && near(large.volume_m3, small.volume_m3 * kUsPerImperialGallon, 0.0015)) {
                doubts.add({"volume-ratio", tables[i]->id,
                            tables[i]->id + " holds 1.201 times as much as " + tables[j]->id +
                                " of the same depth: is one table in US, the other in imperial gallons?",
                            "check gal and imp-gal in both tables"},
                           tables[i]->place, tables[j]->place);
            }
        }
    }
}

void doubt_site(Doubts& doubts) {
    constexpr double kWarmest_c = 40.0;
    const double temperature_c = doubts.layout.water_temperature_c;
    if (temperature_c > kWarmest_c) {
        doubts.add({"water-hot", "", "the water has " + figure(temperature_c) + " degC: is it degF?",
                    "no fish lives there; write water-temperature=" + in_quotes(figure(temperature_c) + " degF") + " if that is meant"},
                   {});
    }
    for (const Supply& supply : doubts.layout.supplies) {
        constexpr double kLeastMains_m = 8.0;
        constexpr double kMostMains_m = 110.0;
        if (supply.head_m < kLeastMains_m) {
            doubts.add({"supply-weak", supply.id, "supply " + supply.id + " has a pressure of " + metres(supply.head_m) + " of water: is it bar?",
                        "mains have 2 to 6 bar (20 to 60 m, 30 to 90 psi)", "pressure"},
                       supply.place);
        } else if (supply.head_m > kMostMains_m) {
            doubts.add({"supply-strong", supply.id,
                        "supply " + supply.id + " has a pressure of " + metres(supply.head_m) + " of water: is it psi, or kPa?",
                        "mains have 2 to 6 bar (20 to 60 m, 30 to 90 psi)", "pressure"},
                       supply.place);
        }
    }
}

double head_at(const std::vector<LossPoint>& points, double flow_m3_s) {
    const auto found = std::ranges::find_if(points, [flow_m3_s](const LossPoint& point) { return near(point.flow_m3_s, flow_m3_s, 1e-9); });
    return found == points.end() ? kNotSaid : found->head_m;
}

void doubt_filters(Doubts& doubts) {
    double strongest_m = 0.0;
    for (const PumpModel& model : doubts.layout.pump_models) {
        strongest_m = std::max(strongest_m, model.curve.shut_off_head_m({}));
    }
    for (const Filter& filter : doubts.layout.filters) {
        for (const LossPoint& dirty : filter.dirty) {
            const double clean_m = head_at(filter.clean, dirty.flow_m3_s);
            if (dirty.head_m < clean_m) {
                doubts.add({"filter-dirty-below-clean", filter.id,
                            "filter " + filter.id + " loses less dirty (" + metres(dirty.head_m) + ") than clean (" + metres(clean_m) +
                                ") at one flow: are the two states swapped?",
                            "check state= of its losses"},
                           filter.place);
                break;
            }
        }
        const bool any_pump = strongest_m > 0.0 && !filter.clean.empty();
        if (any_pump && filter.clean.back().head_m > strongest_m) {
            doubts.add({"filter-loss-large", filter.id,
                        "filter " + filter.id + " loses " + metres(filter.clean.back().head_m) +
                            " clean, more than any pump here gives: is that in psi or kPa?",
                        "check the unit of its losses"},
                       filter.place);
        }
    }
}

/// Water the targets ask for against what all pumps could give at no head.
void doubt_targets(Doubts& doubts) {
    double wanted_m3_s = 0.0;
    for (const Vessel& vessel : doubts.layout.vessels) {
        const double by_turnover = said(vessel.turnover_s) ? volume_at_depth(vessel, vessel.start_depth_m) / vessel.turnover_s : 0.0;
        wanted_m3_s = std::max(wanted_m3_s, std::max(by_turnover, said(vessel.inflow_m3_s) ? vessel.inflow_m3_s : 0.0));
    }
    double given_m3_s = 0.0;
    for (const Pump& pump : doubts.layout.pumps) {
        given_m3_s += doubts.layout.pump_models[static_cast<std::size_t>(pump.model)].curve.zero_head_flow_m3_s({1.0, pump.count, pump.wear});
    }
    if (!doubts.layout.pumps.empty() && doubts.layout.supplies.empty() && doubts.layout.ponds.empty() && wanted_m3_s > given_m3_s) {
        doubts.add({"targets-beyond-pumps", doubts.layout.name,
                    "one vessel alone asks for " + figure(wanted_m3_s * 60000.0) + " l/min, all pumps together give at most " +
                        figure(given_m3_s * 60000.0) + " l/min without any lift: are the flows or times in the right unit?",
                    "check turnover= and inflow= of the vessels, and the flows of the pump models"},
                   {});
    }
}

}  // namespace

void doubt_pump_units(Doubts& doubts) {
    constexpr std::size_t kMostCompared = 300;
    const std::vector<PumpModel>& models = doubts.layout.pump_models;
    const double density_kg_m3 = physics::water_density_kg_m3(doubts.layout.water_temperature_c);
    for (std::size_t i = 0; i < models.size(); ++i) {
        if (models[i].curve.empty()) {
            continue;
        }
        doubt_efficiency(doubts, models[i], density_kg_m3);
        for (std::size_t j = 0; j < i && i < kMostCompared; ++j) {
            if (!models[j].curve.empty()) {
                doubt_pair(doubts, models[i], models[j]);
            }
        }
    }
}

void doubt_units(Doubts& doubts) {
    doubt_bores(doubts);
    doubt_vessels(doubts);
    doubt_tables(doubts);
    doubt_site(doubts);
    doubt_filters(doubts);
    doubt_targets(doubts);
}

}  // namespace ebb::layout
