#include "solver/choose/pump_beside.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/pump_place.h"
#include "solver/choose/pump_routines.h"
#include "solver/settle/farm.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

constexpr double kDrops_m3_s = 1e-9;  // 4 ml an hour

settle::Answer solve(const layout::Layout& layout, std::int32_t arrangement) {
    settle::Options options;
    options.bands = options.ledgers = false;
    return settle::Farm(layout, options).solve(arrangement);
}

Beside compare(const settle::Answer& before, const settle::Answer& after) {
    Beside beside;
    beside.state = after.state;
    beside.had_balance = before.state != settle::State::no_solution;
    for (std::size_t t = 0; t < after.targets.size() && t < before.targets.size(); ++t) {
        const settle::Target& target = after.targets[t];
        const bool no_figure = after.state == settle::State::cycles && std::isnan(target.got);
        if (target.asked && !target.met && !no_figure && before.targets[t].met) beside.missed.push_back(target);
    }
    for (std::size_t v = 0; v < after.vessels.size() && v < before.vessels.size(); ++v)
        if (after.vessels[v].spill_m3_s > kDrops_m3_s && !(before.vessels[v].spill_m3_s > kDrops_m3_s))
            beside.spills.push_back(static_cast<std::int32_t>(v));
    return beside;
}

/// Whether a pump takes part in a routine: it runs in its arrangement, or a change of it says so.
bool takes_part(const layout::Layout& layout, const layout::Routine& routine, std::int32_t pump) {
    if (routine.arrangement >= 0 && layout::conditions_of(layout, routine.arrangement).pump_speed[at(pump)] > 0.0) return true;
    for (const layout::Change& change : routine.changes)
        for (const layout::Setting& setting : change.settings)
            if (setting.about == layout::Ref{layout::Kind::pump, pump}) return true;
    return false;
}

}  // namespace

void look_beside(PumpsAnswer& answer, const layout::Layout& layout, const Watch& watch) {
    layout::Layout changed = layout;
    std::vector<const PumpChoice*> chosen;
    for (const PumpChoice& choice : answer.pumps) {
        if (choice.winner() == nullptr) continue;
        changed = with_candidate(changed, choice.pump, *choice.winner());
        chosen.push_back(&choice);
    }
    std::vector<std::int32_t> arrangements;
    for (std::size_t a = 0; a < layout.arrangements.size(); ++a) {
        const auto index = static_cast<std::int32_t>(a);
        if (std::find(answer.arrangements.begin(), answer.arrangements.end(), index) != answer.arrangements.end()) continue;
        const layout::Conditions conditions = layout::conditions_of(changed, index);
        if (std::any_of(chosen.begin(), chosen.end(), [&](const PumpChoice* one) { return conditions.pump_speed[at(one->pump)] > 0.0; }))
            arrangements.push_back(index);
    }
    std::vector<Beside> found(arrangements.size());
    const auto done = work_through(arrangements.size(), watch, 0.9, 0.9, [&](std::size_t i) {
        const settle::Answer before = solve(layout, arrangements[i]);
        if (watch.stop.stop_requested()) throw Stopped{};
        found[i] = compare(before, solve(changed, arrangements[i]));
        found[i].arrangement = arrangements[i];
    });
    if (std::any_of(done.begin(), done.end(), [](std::uint8_t one) { return one == 0; })) return;
    answer.beside = std::move(found);
    for (std::size_t r = 0; r < layout.routines.size(); ++r) {
        const auto index = static_cast<std::int32_t>(r);
        const bool open = std::any_of(chosen.begin(), chosen.end(), [&](const PumpChoice* one) {
            const std::vector<BedInTime>& beds = one->winner()->beds;
            return takes_part(layout, layout.routines[r], one->pump) &&
                   std::none_of(beds.begin(), beds.end(), [&](const BedInTime& bed) { return bed.routine == index; });
        });
        if (open) answer.routines_not_followed.push_back(index);
    }
}

}  // namespace ebb::choose
