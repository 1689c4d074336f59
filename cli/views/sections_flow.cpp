// Sections about water that moves: pumps, outlets, overflows, drains, pipes and the devices on them.

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "cli/views/sections.h"
#include "cli/words.h"

namespace ebb::cli {
namespace {

Ink ink_of(const Scene& scene, const std::string& id) {
    Ink ink = Ink::plain;
    for (const Finding& finding : scene.found) {
        if (finding.about == id) {
            if (finding.weight == Weight::trouble) {
                return Ink::trouble;
            }
            ink = Ink::doubt;
        }
    }
    return ink;
}

std::string margin_cell(const settle::PumpAnswer& pump, const Speech& speech) {
    if (std::isnan(pump.npsh_available_m) || std::isnan(pump.npsh_required_m)) {
        return "-";
    }
    return speech.head(pump.npsh_available_m - pump.npsh_required_m);
}

/// The band of a figure that grows in step with the flow of a pipe, as velocity does in a full one.
settle::Band in_step(double value, double flow_m3_s, const settle::Band& flow) {
    if (!flow.there() || !(std::abs(flow_m3_s) > 0.0)) {
        return {};
    }
    return {value * flow.low / flow_m3_s, value * flow.high / flow_m3_s};
}

/// The band of what goes through a device at one end of a pipe: the pipe's own.
class Bands {
public:
    explicit Bands(const Scene& scene) : answer_(scene.answer) {
        for (std::size_t i = 0; answer_.rests_on_label && i < scene.layout.pipes.size(); ++i) {
            pipe_at_.emplace(key(scene.layout.pipes[i].from.ref, true), i);
            pipe_at_.emplace(key(scene.layout.pipes[i].to.ref, false), i);
        }
    }
    /// `at_from`: the device stands at the beginning of the pipe.
    settle::Band operator()(layout::Kind kind, std::size_t index, bool at_from) const {
        const auto found = pipe_at_.find(key({kind, static_cast<std::int32_t>(index)}, at_from));
        return found == pipe_at_.end() ? settle::Band{} : answer_.pipes[found->second].flow_band;
    }

private:
    using Key = std::tuple<layout::Kind, std::int32_t, bool>;
    static Key key(const layout::Ref& ref, bool at_from) { return {ref.kind, ref.index, at_from}; }

    const settle::Answer& answer_;
    std::map<Key, std::size_t> pipe_at_;
};

/// A band wide enough to be said as one; what rests on a narrower one is said plainly too.
bool is_banded(const settle::Band& band) {
    constexpr double kNarrow = 0.03;
    return band.there() && band.high - band.low > kNarrow * std::max(std::abs(band.low), std::abs(band.high));
}

std::string way_of(const layout::Pipe& pipe) { return fmt::format("{} > {}", pipe.from.id, pipe.to.id); }

/// More than drops: 4 ml an hour. Unknown flows do not move.
bool moves(double flow_m3_s) {
    constexpr double kDropsM3S = 1e-9;
    return std::abs(flow_m3_s) > kDropsM3S;
}

/// The pipes worth a line, at most `shown`: those with water moving, the quickest first when there are too many for a page.
std::vector<std::size_t> moving_pipes(const Scene& scene, bool gravity, std::size_t shown) {
    std::vector<std::size_t> moving;
    for (std::size_t i = 0; i < scene.layout.pipes.size(); ++i) {
        const double flow = scene.answer.pipes[i].flow_m3_s;
        if (scene.layout.pipes[i].gravity == gravity && moves(flow)) {
            moving.push_back(i);
        }
    }
    if (moving.size() > shown) {
        const auto quicker = [&](std::size_t one, std::size_t other) {
            return std::abs(scene.answer.pipes[one].velocity_m_s) > std::abs(scene.answer.pipes[other].velocity_m_s);
        };
        std::nth_element(moving.begin(), moving.begin() + static_cast<std::ptrdiff_t>(shown), moving.end(), quicker);
        moving.resize(shown);
        std::sort(moving.begin(), moving.end());
    }
    return moving;
}

/// "still: a, b and 3 more", and how many more move than were shown.
std::string still_pipes(const Scene& scene, bool gravity, std::size_t shown) {
    constexpr std::size_t kNamed = 15;
    std::vector<std::string> still;
    std::size_t count = 0;
    std::size_t moving = 0;
    for (std::size_t i = 0; i < scene.layout.pipes.size(); ++i) {
        if (scene.layout.pipes[i].gravity != gravity) {
            continue;
        }
        const double flow = scene.answer.pipes[i].flow_m3_s;
        if (moves(flow)) {
            ++moving;
        } else if (++count <= kNamed) {
            still.push_back(scene.layout.pipes[i].id);
        }
    }
    std::string text;
    if (moving > shown) {
        text += fmt::format("  the {} quickest of {}: --format csv lists them all.\n", shown, moving);
    }
    if (count > 0) {
        text += wrapped("  still: ", listed(still, kNamed) + (count > kNamed ? fmt::format(" and {} more", count - kNamed) : std::string()));
    }
    return text;
}

constexpr std::size_t kPipesShown = 200;

std::string text_of(const Table& table, const Scene& scene) { return table.empty() ? std::string() : "\n" + table.text(scene.paint); }

/// A table of drains or pipes with the names of those in which nothing moves.
std::string with_still(const Table& table, const Scene& scene, bool gravity) {
    const std::string still = still_pipes(scene, gravity, kPipesShown);
    if (table.empty() && still.empty()) {
        return {};
    }
    return "\n" + (table.empty() ? std::string(gravity ? "  drains\n" : "  pipes\n") : table.text(scene.paint)) + still;
}

}  // namespace

Table pumps_table(const Scene& scene) {
    Table table({{"pump", Align::left}, {"", Align::left}, {"moves"}, {"lifts"}, {"power"}, {"efficiency"}, {"best flow"}, {"suction left"}});
    for (std::size_t i = 0; i < scene.layout.pumps.size(); ++i) {
        const settle::PumpAnswer& pump = scene.answer.pumps[i];
        const std::string& id = scene.layout.pumps[i].id;
        const std::string note = pump.intake_bare ? "intake bare" : pump.from_label ? "by its label" : "";
        if (!pump.running) {
            table.add({id, "stopped"});
        } else {
            table.add({id, note, scene.speech.flow(pump.flow_m3_s, pump.flow_band), scene.speech.head(pump.head_m, pump.head_band),
                       Speech::about(scene.speech.power(pump.power_w), is_banded(pump.flow_band)),
                       Speech::about(Speech::share(pump.efficiency), is_banded(pump.flow_band)),
                       Speech::about(Speech::share(pump.best_point_ratio), is_banded(pump.flow_band)), margin_cell(pump, scene.speech)},
                      ink_of(scene, id));
        }
    }
    return table;
}

Table nozzles_table(const Scene& scene) {
    const Bands band_of(scene);
    Table table({{"nozzle", Align::left}, {"waters", Align::left}, {"gives"}, {"under"}});
    for (std::size_t i = 0; i < scene.layout.nozzles.size(); ++i) {
        const layout::Nozzle& nozzle = scene.layout.nozzles[i];
        const settle::NozzleAnswer& water = scene.answer.nozzles[i];
        const settle::Band band = band_of(layout::Kind::nozzle, i, false);
        table.add({nozzle.id, nozzle.into_id, scene.speech.flow(water.flow_m3_s, band),
                   moves(water.flow_m3_s) ? Speech::about(scene.speech.head(water.head_m), is_banded(band)) : "-"},
                  ink_of(scene, nozzle.id));
    }
    return table;
}

Table standpipes_table(const Scene& scene) {
    const Bands band_of(scene);
    Table table(
        {{"overflow", Align::left}, {"in", Align::left}, {"insert", Align::left}, {"takes"}, {"over its lip"}, {"", Align::left}, {"by its holes"}});
    for (std::size_t i = 0; i < scene.layout.standpipes.size(); ++i) {
        const layout::Standpipe& standpipe = scene.layout.standpipes[i];
        const settle::StandpipeAnswer& overflow = scene.answer.standpipes[i];
        const layout::Insert& insert = standpipe.inserts[static_cast<std::size_t>(scene.conditions.insert[i])];
        const bool over = overflow.depth_over_lip_m > 0.0 && moves(overflow.flow_m3_s);
        const settle::Band band = band_of(layout::Kind::standpipe, i, true);
        table.add({standpipe.id, standpipe.in_id, fmt::format("{} {}", insert.name, scene.speech.height(insert.lip_m)),
                   scene.speech.flow(overflow.flow_m3_s, band),
                   over ? Speech::about(scene.speech.height(overflow.depth_over_lip_m), is_banded(band)) : "-",
                   moves(overflow.flow_m3_s) ? settle::name_of(overflow.regime) : "dry",
                   standpipe.holes.empty() ? "-" : scene.speech.flow(overflow.through_holes_m3_s)},
                  ink_of(scene, standpipe.id));
    }
    return table;
}

Table siphons_table(const Scene& scene) {
    Table siphons({{"siphon", Align::left}, {"in", Align::left}, {"", Align::left}, {"takes"}, {"starts with"}});
    for (std::size_t i = 0; i < scene.layout.siphons.size(); ++i) {
        const layout::Siphon& siphon = scene.layout.siphons[i];
        const settle::SiphonAnswer& water = scene.answer.siphons[i];
        const char* doing = water.runs_for_ever ? "runs for ever" : water.dribbles ? "dribbles" : water.primed ? "runs" : "waits";
        siphons.add({siphon.id, siphon.in_id, doing, scene.speech.flow(water.flow_m3_s), scene.speech.flow(siphon.starts_with_m3_s)},
                    ink_of(scene, siphon.id));
    }
    return siphons;
}

Table drains_table(const Scene& scene) {
    const std::vector<std::size_t> moving = moving_pipes(scene, true, kPipesShown);
    Table table({{"drain", Align::left}, {"from > to", Align::left}, {"carries"}, {"full to"}, {"of its capacity"}, {"velocity"}, {"", Align::left}});
    for (const std::size_t i : moving) {
        const layout::Pipe& pipe = scene.layout.pipes[i];
        const settle::PipeAnswer& flow = scene.answer.pipes[i];
        const bool banded = is_banded(flow.flow_band);
        table.add({pipe.id, way_of(pipe), scene.speech.flow(flow.flow_m3_s, flow.flow_band), Speech::about(Speech::share(flow.fill_ratio), banded),
                   Speech::about(Speech::share(flow.capacity_used), banded), Speech::about(scene.speech.velocity(flow.velocity_m_s), banded),
                   flow.drowned ? "drowned" : ""},
                  ink_of(scene, pipe.id));
    }
    return table;
}

Table pipes_table(const Scene& scene) {
    const std::vector<std::size_t> moving = moving_pipes(scene, false, kPipesShown);
    Table table({{"pipe", Align::left}, {"from > to", Align::left}, {"carries"}, {"velocity"}, {"loses"}});
    for (const std::size_t i : moving) {
        const layout::Pipe& pipe = scene.layout.pipes[i];
        const settle::PipeAnswer& flow = scene.answer.pipes[i];
        table.add({pipe.id, way_of(pipe), scene.speech.flow(flow.flow_m3_s, flow.flow_band),
                   scene.speech.velocity(flow.velocity_m_s, in_step(flow.velocity_m_s, flow.flow_m3_s, flow.flow_band)),
                   Speech::about(scene.speech.head(flow.loss_m), is_banded(flow.flow_band))},
                  ink_of(scene, pipe.id));
    }
    return table;
}

Table devices_table(const Scene& scene) {
    Table table({{"also", Align::left}, {"", Align::left}, {"flow"}, {"", Align::left}});
    for (std::size_t i = 0; i < scene.layout.filters.size(); ++i) {
        const settle::FilterAnswer& filter = scene.answer.filters[i];
        table.add({scene.layout.filters[i].id, fmt::format("filter, {} dirty", Speech::share(scene.conditions.filter_load[i])),
                   scene.speech.flow(filter.flow_m3_s), std::isnan(filter.loss_m) ? "" : "loses " + scene.speech.head(filter.loss_m)});
    }
    for (std::size_t i = 0; i < scene.layout.float_valves.size(); ++i) {
        const settle::SourceAnswer& valve = scene.answer.float_valves[i];
        table.add({scene.layout.float_valves[i].id, "float valve", scene.speech.flow(valve.flow_m3_s), Speech::share(valve.opening) + " open"},
                  ink_of(scene, scene.layout.float_valves[i].id));
    }
    for (std::size_t i = 0; i < scene.layout.supplies.size(); ++i) {
        table.add({scene.layout.supplies[i].id, "supply", scene.speech.flow(scene.answer.supplies[i].flow_m3_s), ""});
    }
    for (std::size_t i = 0; i < scene.layout.ponds.size(); ++i) {
        const double flow = scene.answer.ponds[i].flow_m3_s;
        table.add({scene.layout.ponds[i].id, "pond at " + scene.speech.level(scene.layout.ponds[i].level_m), scene.speech.flow(std::abs(flow)),
                   !moves(flow) ? ""
                   : flow > 0.0 ? "given"
                                : "taken"});
    }
    return table;
}

Table tees_table(const Scene& scene) {
    Table tees({{"tee", Align::left}, {"pressure there"}, {"head above the datum"}, {"", Align::left}});
    constexpr std::size_t kTeesShown = 100;
    const bool about = scene.answer.rests_on_label;
    for (std::size_t i = 0; i < std::min(scene.layout.tees.size(), kTeesShown); ++i) {
        const settle::TeeAnswer& tee = scene.answer.tees[i];
        const std::string takes =
            scene.layout.tees[i].takes_m3_s > 0.0 ? "gives " + scene.speech.flow(scene.layout.tees[i].takes_m3_s) + " away" : "";
        const std::string note = std::isnan(tee.head_m) ? "cut off" : tee.air ? "air stands in it" : scene.layout.tees[i].vented ? "filled" : takes;
        tees.add({scene.layout.tees[i].id, Speech::about(scene.speech.head(tee.pressure_m), about),
                  Speech::about(scene.speech.head(tee.head_m), about), note},
                 ink_of(scene, scene.layout.tees[i].id));
    }
    return tees;
}

std::string pumps_section(const Scene& scene) { return text_of(pumps_table(scene), scene); }

std::string outlets_section(const Scene& scene) { return text_of(nozzles_table(scene), scene); }

std::string overflows_section(const Scene& scene) { return text_of(standpipes_table(scene), scene) + text_of(siphons_table(scene), scene); }

std::string drains_section(const Scene& scene) { return with_still(drains_table(scene), scene, true); }

std::string pipes_section(const Scene& scene) { return with_still(pipes_table(scene), scene, false); }

std::string devices_section(const Scene& scene) { return text_of(devices_table(scene), scene) + text_of(tees_table(scene), scene); }

}  // namespace ebb::cli
