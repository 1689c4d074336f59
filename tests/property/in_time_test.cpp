// Random farms followed in time, with random timers and a power cut: every one gets to its end with numbers that are numbers, keeps its water to 1e-9
// of itself, goes no deeper than its floors, and spills nothing without saying that a rim was reached.
//
// "slow farms in time" takes 3,000 seeds; EBB_SLOW_SHARE in the environment takes a share of them.

#include <doctest/doctest.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <string>
#include <vector>

#include "solver/layout/validate.h"
#include "solver/time/simulation.h"
#include "tests/property/random_farm.h"

namespace {

using namespace ebb;

constexpr double kLasts_s = 6.0 * 3600.0;
constexpr double kMostLost = 1e-9;  ///< share of the water that there was and that came
constexpr double kBelowFloor_m = 1e-5;
constexpr double kSpillCounts_m3 = 1e-9;  ///< a spill of less is a wet edge

layout::Routine random_routine(const layout::Layout& layout, test::Random& random) {
    layout::Routine routine;
    routine.name = "random";
    routine.arrangement_name = layout.arrangements[0].name;
    routine.lasts_s = kLasts_s;
    const auto turn = [&](const std::string& about) {
        layout::Timer timer;
        timer.about_id = about;
        timer.every_s = random.log_uniform(300.0, 10000.0);
        timer.for_s = random.uniform(0.05, 1.0) * timer.every_s;
        timer.after_s = random.chance(0.5) ? 0.0 : random.uniform(0.0, 3000.0);
        routine.timers.push_back(timer);
    };
    for (const auto& valve : layout.valves)
        if (valve.kind != physics::ValveKind::check && random.chance(0.3)) turn(valve.id);
    for (const auto& pump : layout.pumps)
        if (random.chance(0.3)) turn(pump.id);
    layout::PowerCut cut;
    cut.at_s = random.uniform(0.0, 15000.0);
    cut.for_s = random.log_uniform(60.0, 6000.0);
    routine.power_cuts = {cut};
    return routine;
}

/// What is wrong with the course; empty: nothing.
std::string fault(const layout::Layout& layout, const time::Course& course) {
    if (course.ending != time::Ending::time_over) return std::string(time::name_of(course.ending)) + ": " + course.why;
    double water = course.water_m3;
    for (const auto* list : {&course.ponds, &course.supplies})
        for (const auto& source : *list) water += std::max(0.0, source.given_m3);
    if (!(course.worst_water_error_m3 <= kMostLost * water)) return "water lost: " + std::to_string(course.worst_water_error_m3 / water);
    for (std::size_t v = 0; v < course.vessels.size(); ++v) {
        const auto& vessel = course.vessels[v];
        const std::string& id = layout.vessels[v].id;
        for (const double figure : {vessel.least_depth_m, vessel.greatest_depth_m, vessel.end_depth_m, vessel.end_volume_m3, vessel.spilled_m3,
                                    vessel.mean_depth_m, vessel.mean_volume_m3})
            if (!std::isfinite(figure)) return id + ": a figure is no number";
        if (vessel.least_depth_m < -kBelowFloor_m || course.end.volume_m3[v] < -kBelowFloor_m)
            return id + ": below its floor by " + std::to_string(-vessel.least_depth_m);
        const bool told = std::any_of(course.events.begin(), course.events.end(),
                                      [&](const time::Event& event) { return event.what == time::Happening::reaches_rim && event.about_id == id; });
        const bool began_there = layout.vessels[v].start_depth_m >= layout.vessels[v].rim_m - layout.vessels[v].floor_m - 1e-3;
        if (vessel.spilled_m3 > kSpillCounts_m3 && !told && !began_there) return id + ": spilled without a word";
    }
    for (std::size_t i = 1; i < course.events.size(); ++i)
        if (course.events[i].t_s < course.events[i - 1].t_s) return "events out of order";
    return "";
}

void follow(std::uint64_t seeds) {
    long followed = 0, steps = 0, solves = 0, fallbacks = 0;
    std::size_t events = 0;
    int most_told = 0, faults = 0;
    for (std::uint64_t seed = 0; seed < seeds; ++seed) {
        layout::Layout layout = test::random_farm(seed);
        if (layout.vessels.empty()) continue;  // nothing to follow in time
        ++followed;
        test::Random random(seed + 4711);
        layout.routines = {random_routine(layout, random)};
        REQUIRE(layout::validate(layout).empty());
        const time::Plan plan = time::plan_of_routine(layout, 0);
        const auto course = time::Simulation(layout).run(plan);
        steps += static_cast<long>(course.counts.steps);
        solves += static_cast<long>(course.counts.network_solves);
        fallbacks += static_cast<long>(course.counts.fallbacks);
        events += course.events.size();
        const std::string wrong = fault(layout, course);
        if (wrong.empty()) continue;
        ++faults;
        if (++most_told <= 40) {
            const std::string where = "seed " + std::to_string(seed) + ": " + wrong;
            FAIL_CHECK(where);
        }
    }
    std::printf("%ld random farms for six hours: %ld steps, %ld network solves, %ld fallbacks, %zu events; %d break a promise\n", followed, steps,
                solves, fallbacks, events, faults);
    std::fflush(stdout);
    CHECK(followed >= static_cast<long>(seeds / 2));
}

double slow_share() {
    double share = 1.0;
    if (const char* text = std::getenv("EBB_SLOW_SHARE")) std::from_chars(text, text + std::strlen(text), share);
    return share;
}

}  // namespace

TEST_CASE("thirty random farms are followed for six hours") { follow(30); }

TEST_SUITE("slow farms in time") {
    TEST_CASE("three thousand random farms are followed for six hours") { follow(static_cast<std::uint64_t>(3000.0 * slow_share())); }
}
