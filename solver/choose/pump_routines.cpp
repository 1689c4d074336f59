#include "solver/choose/pump_routines.h"

#include <algorithm>
#include <cmath>

#include "solver/choose/pump_place.h"

namespace ebb::choose {

namespace {

std::size_t at(std::int32_t index) { return static_cast<std::size_t>(index); }

bool is_about(const layout::Setting& setting, std::int32_t pump) {
    return setting.about == layout::Ref{layout::Kind::pump, pump} && (setting.act == layout::Act::run || setting.act == layout::Act::stop);
}

/// The arrangement says this speed itself, whatever it is based on.
void say_speed(layout::Layout& layout, std::int32_t arrangement, std::int32_t pump, double speed) {
    std::vector<layout::Setting>& settings = layout.arrangements[at(arrangement)].settings;
    std::erase_if(settings, [&](const layout::Setting& setting) { return is_about(setting, pump); });
    layout::Setting setting;
    setting.act = layout::Act::run;
    setting.about_id = layout.pumps[at(pump)].id;
    setting.about = {layout::Kind::pump, pump};
    setting.value = speed;
    settings.push_back(std::move(setting));
}

}  // namespace

std::vector<std::int32_t> routines_that_tell(const layout::Layout& layout, std::int32_t pump) {
    return routines_that_tell(layout, reach_of(layout, pump).vessels);
}

layout::Layout with_candidate(const layout::Layout& layout, std::int32_t pump, const Candidate& candidate) {
    layout::Layout changed = with_pump(layout, pump, {.model = candidate.model, .count = candidate.count});
    for (const CandidatePoint& point : candidate.points) {
        const double now = layout::conditions_of(changed, point.arrangement).pump_speed[at(pump)];
        if (point.speed > 0.0 && std::abs(point.speed - now) > 1e-12) say_speed(changed, point.arrangement, pump, point.speed);
    }
    if (candidate.mode == SpeedMode::one_speed)
        for (layout::Routine& routine : changed.routines)
            for (layout::Change& change : routine.changes)
                for (layout::Setting& setting : change.settings)
                    if (is_about(setting, pump) && setting.act == layout::Act::run) setting.value = candidate.speed;
    return changed;
}

std::vector<BedInTime> beds_in_time(const layout::Layout& layout, std::int32_t pump, const std::vector<std::int32_t>& routines,
                                    const std::stop_token& stop) {
    return beds_in_time(layout, reach_of(layout, pump).vessels, routines, stop);
}

}  // namespace ebb::choose
