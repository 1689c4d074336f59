// Water is kept: what was there, plus what came, less what went, is what is there, to 1e-9 of the farm's water. The sum is taken twice: by the
// engine at every step, and here from the figures of the answer alone.

#include "tests/near.h"
#include "tests/time/busy_farm.h"

namespace {

using namespace ebb;
using layout::Layout;
using time::Happening;

constexpr double kMostLost = 1e-9;  ///< of the water in the vessels at the start

void hold(Layout& layout, layout::Routine routine, double lasts_s) {
    const time::Plan plan = test::plan_for(layout, std::move(routine), lasts_s);
    const auto course = time::Simulation(layout).run(plan);
    REQUIRE(course.ending == time::Ending::time_over);
    CHECK(course.worst_water_error_m3 <= kMostLost * course.water_m3);
    CHECK(std::abs(test::water_missing_m3(plan, course)) <= kMostLost * course.water_m3);
}

/// Ends while both timed beds hold water: a bed drained to its last film may stand a millionth of a metre below its floor, which the answer says
/// as nothing.
void busy_days(double days) {
    constexpr double kBothWet_s = 2100.0;
    Layout layout = test::busy_farm();
    const double lasts_s = days * test::kDay_s + kBothWet_s;
    const time::Plan plan = test::plan_for(layout, test::busy_day(), lasts_s);
    const auto course = time::Simulation(layout).run(plan);
    REQUIRE(course.ending == time::Ending::time_over);
    // it does what it is there for
    CHECK(course.vessels[5].spilled_m3 > 0.01 * days);
    CHECK(course.supplies[0].given_m3 > 0.0);
    CHECK(course.beds.size() == 3);
    CHECK(course.beds[2].breaks > 10);
    CHECK(course.uptakes[0].taken_m3 == ebb::test::near(2e-7 * lasts_s).epsilon(1e-9));
    CHECK(course.draws[0].taken_m3 == ebb::test::near(0.03 * days).epsilon(1e-9));
    CHECK(course.draws[1].taken_m3 == ebb::test::near(0.02 * days).epsilon(1e-9));
    CHECK(course.worst_water_error_m3 <= kMostLost * course.water_m3);
    CHECK(std::abs(test::water_missing_m3(plan, course)) <= kMostLost * course.water_m3);
    std::printf("%.0f days: water missing %.1e of it, at the worst step %.1e; %ld steps, %ld network solves, %ld Newton steps\n", days,
                std::abs(test::water_missing_m3(plan, course)) / course.water_m3, course.worst_water_error_m3 / course.water_m3,
                static_cast<long>(course.counts.steps), static_cast<long>(course.counts.network_solves),
                static_cast<long>(course.counts.newton_steps));
    std::fflush(stdout);
}

}  // namespace

TEST_CASE("a busy farm keeps its water for a day") { busy_days(1.0); }

TEST_CASE("a farm that ends in the middle of a spill keeps its water") {
    for (const double lasts_s : {7230.0, 7500.0, 7790.0}) {
        Layout layout = test::busy_farm();
        hold(layout, test::busy_day(), lasts_s);
    }
}

TEST_CASE("a power cut, a stop and an insert swapped lose no water") {
    Layout layout = test::busy_farm();
    layout.standpipes[0].inserts.push_back({.name = "short", .lip_m = 0.1, .place = {}});
    layout::Routine routine = test::busy_day();
    routine.power_cuts = {test::power_cut(2000.0, 3600.0)};
    routine.changes = {test::change(9000.0, layout::Act::fit, "S1"), test::change(10000.0, layout::Act::throttle, "V3", 0.3),
                       test::change(12000.0, layout::Act::stop, "P"), test::change(14000.0, layout::Act::run, "P", 0.9)};
    routine.changes[0].settings[0].insert = "short";
    hold(layout, routine, 18300.0);
}

TEST_CASE("a vessel drawn dry gives no more than it had") {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 1.0, 0.5, 0.2), test::prism("B", 0.0, 1.0, 2.0, 0.0)};
    constexpr double kFilm_m = 1e-6;  ///< a level may go below the floor by so much: ten times the tolerance of a step
    layout::Routine routine;
    routine.draws = {test::draw("A", "B", 0.08, 100.0, 600.0), test::draw("A", "", 0.05, 300.0, 600.0)};
    const time::Plan plan = test::plan_for(layout, routine, 4000.0);
    const auto course = time::Simulation(layout).run(plan);
    CHECK(course.worst_water_error_m3 <= kMostLost * course.water_m3);
    CHECK(course.vessels[0].end_depth_m >= 0.0);
    CHECK(course.vessels[0].end_volume_m3 < 1e-3);
    CHECK(course.draws[0].taken_m3 + course.draws[1].taken_m3 <= 0.1 + kFilm_m * 0.5);
    CHECK(course.draws[0].missing_m3 + course.draws[1].missing_m3 == ebb::test::near(0.13 - (0.1 - course.vessels[0].end_volume_m3)).epsilon(1e-6));
    CHECK(!test::times_of(course, Happening::draw_short, "A").empty());
}

TEST_SUITE("slow conservation") {
    TEST_CASE("a busy farm keeps its water for thirty days") { busy_days(std::max(1.0, std::round(30.0 * test::slow_share()))); }
}
