// A farm from bytes, followed in time with pumps and valves that switch and the power failing: a course that gets to its end keeps its water, goes
// below no floor, has numbers where they are owed and tells its events in order; one that does not says why in a sentence.
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>

#include "solver/time/simulation.h"
#include "tests/fuzz/parts/extreme_farm.h"
#include "tests/fuzz/parts/must.h"

namespace {

using namespace ebb;

constexpr double kMostLost = 1e-9;  ///< share of the water that there was and that came
constexpr double kBelowFloor_m = 1e-5;

void hold(const layout::Layout& layout, const time::Course& course) {
    double water_m3 = course.water_m3;
    for (const auto* list : {&course.ponds, &course.supplies})
        for (const auto& source : *list) water_m3 += std::abs(source.given_m3);
    if (!(course.worst_water_error_m3 <= kMostLost * water_m3 + 1e-12))
        fuzz::broken("a course keeps its water, lost " + std::to_string(course.worst_water_error_m3) + " of " + std::to_string(water_m3) + " m3");
    for (std::size_t v = 0; v < course.vessels.size(); ++v) {
        const auto& vessel = course.vessels[v];
        for (const double figure : {vessel.least_depth_m, vessel.greatest_depth_m, vessel.end_depth_m, vessel.end_volume_m3, vessel.spilled_m3,
                                    vessel.mean_depth_m, vessel.mean_volume_m3})
            fuzz::must(std::isfinite(figure), "a figure of a course is a number");
        if (!(vessel.least_depth_m >= -kBelowFloor_m))
            fuzz::broken(layout.vessels[v].id + " stays above its floor: " + std::to_string(vessel.least_depth_m));
    }
    for (std::size_t i = 1; i < course.events.size(); ++i) fuzz::must(course.events[i].t_s >= course.events[i - 1].t_s, "events are told in order");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    fuzz::Bytes bytes({data, size});
    layout::Layout layout = fuzz::extreme_farm(bytes);
    fuzz::add_routine(layout, bytes);
    const time::Course course = time::Simulation(layout).run(time::plan_of_routine(layout, 0));
    fuzz::must(course.ending != time::Ending::not_run, "a course that is asked for is followed");
    if (course.ending != time::Ending::time_over) {
        fuzz::must(!course.why.empty(), "a course that does not get to its end says why");
        return 0;
    }
    hold(layout, course);
    return 0;
}
