// From conditions to a solved state: given levels, or settled with the siphons' memory.

#include "solver/settle/model.h"

#include <algorithm>
#include <cmath>

#include "solver/settle/taking.h"

namespace ebb::settle {

namespace {

using layout::Layout;

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

/// Levels Newton starts from: over the lip where a standpipe stands in a vessel, else the start level.
std::vector<double> first_levels(const network::Network& net, const network::Settings& settings, const Start& start) {
    constexpr double kFilm_m = 0.01;
    std::vector<double> levels = start.level_m;
    for (std::size_t s = 0; s < net.standpipes.size(); ++s) {
        const auto link = at(net.standpipe_link[s]);
        levels[at(net.links[link].from - net.plain_count)] = settings.links[link].value + kFilm_m;
    }
    return levels;
}

double siphon_level(const network::Network& net, const network::Point& point, std::size_t siphon) {
    return point.head_m[at(net.links[at(net.siphon_link[siphon])].from)];
}

/// A siphon's memory, settled: it primes where the unprimed flow over its crest would reach its starting flow; primed, it runs for ever
/// where the level then settles above its break height, and cycles where it does not.
void settle_with_siphons(Model& model, const Layout& layout, const layout::Conditions& conditions, const Start& start,
                         const LevelTolerances& tolerances, Solved& solved) {
    const network::Network& net = model.network;
    const auto settle = [&] {
        solved.settings = network::settings_for(net, layout, conditions, solved.primed);
        const Settled before = std::move(solved.levels);
        solved.levels =
            settle_levels(model.solver, solved.settings, start.volume_m3, first_levels(net, solved.settings, start), tolerances, &model.certainty);
        solved.levels.network_solves += before.network_solves;
        solved.levels.newton_steps_total += before.newton_steps_total;
        return solved.levels.found;
    };
    if (!settle()) return;
    for (std::size_t round = 0; round < net.siphons.size(); ++round) {
        bool primes = false;
        for (std::size_t s = 0; s < net.siphons.size(); ++s) {
            const double flow = solved.levels.point.flow_m3_s[at(net.siphon_link[s])];
            if (solved.primed[s] == 0 && solved.cycling[s] == 0 && flow >= net.siphons[s].starts_with_m3_s) {
                solved.primed[s] = 1;
                primes = true;
            }
        }
        if (!primes) break;
        if (!settle()) return;
        bool breaks = false;
        for (std::size_t s = 0; s < net.siphons.size(); ++s)
            if (solved.primed[s] != 0 && siphon_level(net, solved.levels.point, s) <= net.siphons[s].breaks_at_m + network::kBreakBand_m) {
                solved.cycling[s] = 1;
                solved.primed[s] = 0;
                breaks = true;
            }
        if (breaks && !settle()) return;
    }
}

/// Why water that tees take cannot be had for ever under these settings; empty when it can, as far as the ways tell.
std::string why_not_taken(const network::Network& net, const Layout& layout, const network::Settings& settings, bool at_start_levels) {
    if (const std::vector<std::int32_t> starved = starved_tees(net, layout, settings); !starved.empty())
        return "water is taken at " + layout.tees[at(starved.front())].id + ", and every way to it is shut";
    const std::int32_t emptying = at_start_levels ? -1 : emptying_tee(net, layout, settings);
    if (emptying < 0) return {};
    return "the water taken at " + layout.tees[at(emptying)].id +
           " comes out of the vessels and nothing brings it back: their levels fall until they are dry and never settle "
           "(a routine follows them in time; levels=\"start\" answers at the drawn levels)";
}

/// ": it went to and fro at d41 (a bore of 2.7 mm), ..." where a thing of the layout stands behind the link; else nothing.
std::string where_it_went_round(const network::Network& net, const Layout& layout, std::int32_t link) {
    std::string at_thing;
    const auto look = [&](const std::vector<std::int32_t>& links, const auto& things, const auto& words_of) {
        for (std::size_t i = 0; i < things.size(); ++i)
            if (links[i] == link) at_thing = words_of(things[i]);
    };
    const auto id = [](const auto& thing) { return thing.id; };
    look(net.pipe_link, layout.pipes, [](const layout::Pipe& pipe) {
        const long tenths_mm = std::lround(1e4 * pipe.bore_m);
        return pipe.id + " (bore " + std::to_string(tenths_mm / 10) + "." + std::to_string(tenths_mm % 10) + " mm)";
    });
    look(net.pump_link, layout.pumps, id);
    look(net.filter_link, layout.filters, id);
    look(net.nozzle_link, layout.nozzles, id);
    look(net.float_link, layout.float_valves, id);
    look(net.standpipe_link, layout.standpipes, id);
    look(net.siphon_link, layout.siphons, id);
    return at_thing.empty() ? at_thing : ": it went to and fro at " + at_thing + ", whose figures are worth a look";
}

}  // namespace

Start start_of(const Layout& layout) {
    Start start;
    for (const auto& vessel : layout.vessels) {
        const double depth = layout::said(vessel.start_depth_m) ? vessel.start_depth_m : 0.0;
        start.level_m.push_back(vessel.floor_m + depth);
        start.volume_m3.push_back(layout::volume_at_depth(vessel, depth));
    }
    return start;
}

Solved solve_model(Model& model, const Layout& layout, const layout::Conditions& conditions, bool at_start_levels, const Start& start,
                   const LevelTolerances& tolerances) {
    Solved solved;
    solved.primed.assign(model.network.siphons.size(), 0);
    solved.cycling.assign(model.network.siphons.size(), 0);
    solved.levels.lost.resize(layout.vessels.size());
    solved.settings = network::settings_for(model.network, layout, conditions, solved.primed);
    solved.why = why_not_taken(model.network, layout, solved.settings, at_start_levels);
    if (!solved.why.empty()) {
        solved.state = State::no_solution;
        solved.levels.point = model.solver.cold_point(start.level_m);
        return solved;
    }
    if (at_start_levels) {
        solved.settings = network::settings_for(model.network, layout, conditions, solved.primed);
        solved.levels.point = model.solver.cold_point(start.level_m);
        const network::Outcome outcome = model.solver.solve(solved.settings, {}, tolerances.network, false, solved.levels.point);
        solved.levels.found = outcome.converged;
        solved.levels.newton_steps = solved.levels.newton_steps_total = outcome.steps;
        solved.levels.network_solves = 1;
        solved.levels.fallbacks = outcome.fallbacks;
    } else {
        settle_with_siphons(model, layout, conditions, start, tolerances, solved);
    }
    if (!solved.levels.found) {
        solved.state = State::no_solution;
        solved.why = any_taken(layout) ? "no balance was found: " + may_take_too_much(layout)
                                       : "the iteration did not arrive at a balance within its limits" +
                                             where_it_went_round(model.network, layout, model.solver.worst_link(solved.levels.point)) +
                                             "; please report this layout";
    } else if (at_start_levels) {
        solved.state = State::given_levels;
    } else if (std::any_of(solved.cycling.begin(), solved.cycling.end(), [](auto c) { return c != 0; })) {
        solved.state = State::cycles;
    } else {
        solved.state = solved.levels.ran_dry ? State::spills_until_dry : State::settled;
    }
    return solved;
}

Loops loops_of(const network::Network& net, const network::Settings& settings) {
    std::vector<std::int32_t> root(at(net.node_count()));
    for (std::size_t n = 0; n < root.size(); ++n) root[n] = static_cast<std::int32_t>(n);
    const auto find = [&](std::int32_t n) {
        while (root[at(n)] != n) n = root[at(n)] = root[at(root[at(n)])];
        return n;
    };
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Link& link = net.links[l];
        // a pond gives one loop its water but does not join two that merely drain into it
        if (settings.links[l].shut || net.is_fixed(link.from) || net.is_fixed(link.to)) continue;
        root[at(find(link.from))] = find(link.to);
    }
    std::vector<std::uint8_t> open_root(root.size(), 0);
    for (std::size_t l = 0; l < net.links.size(); ++l) {
        const network::Link& link = net.links[l];
        if (settings.links[l].shut) continue;
        if (net.is_fixed(link.from)) open_root[at(find(link.to))] = 1;
        if (net.is_fixed(link.to)) open_root[at(find(link.from))] = 1;
    }
    Loops loops;
    std::vector<std::int32_t> number(root.size(), -1);
    for (std::int32_t v = 0; v < net.vessel_count; ++v) {
        const auto r = at(find(net.vessel_node(v)));
        if (number[r] < 0) {
            number[r] = static_cast<std::int32_t>(loops.open.size());
            loops.open.push_back(open_root[r]);
        }
        loops.of_vessel.push_back(number[r]);
    }
    return loops;
}

}  // namespace ebb::settle
