// What the clock and the switches do, against a diary that can be kept by hand: timers, rotations, cuts, failures, changes and level-switches that
// move one valve or one pump in a farm where nothing flows, or where a vessel fills and falls evenly.

#include "solver/time/clockwork.h"
#include "tests/near.h"
#include "tests/time/busy_farm.h"

namespace {

using namespace ebb;
using layout::Act;
using layout::Layout;
using layout::VesselKind;
using test::first_of;
using test::times_of;
using time::Happening;

using Diary = std::vector<std::string>;

/// Three valves and a pump in still water.
Layout still() {
    Layout layout;
    layout.vessels = {test::prism("A", 0.0, 2.0, 4.0, 1.0, VesselKind::sump), test::prism("B", 0.0, 2.0, 4.0, 1.0)};
    layout.pipes = {test::pipe("P1", "A", "B", 1.0, 0.05), test::pipe("P2", "A", "B", 1.0, 0.05), test::pipe("P3", "A", "B", 1.0, 0.05)};
    for (const char* which : {"1", "2", "3"}) test::add_valve(layout, std::string("P") + which, std::string("V") + which);
    test::add_pump(layout, "Q", "A", 1e-5, 1.0, 0.1);
    layout.pipes.push_back(test::pipe("UP", "Q", "B", 1.0, 0.02));
    return layout;
}

Diary diary(layout::Routine routine, double lasts_s) {
    Layout layout = still();
    const auto course = test::follow(layout, lasts_s, std::move(routine));
    CHECK(course.ending == time::Ending::time_over);
    for (std::size_t i = 1; i < course.events.size(); ++i) CHECK(course.events[i - 1].t_s <= course.events[i].t_s);
    return test::told(course, true);
}

double common_period_s(const layout::Routine& routine) {
    Layout layout = still();
    const time::Plan plan = test::plan_for(layout, routine, 1.0);
    return time::Clockwork(layout, plan).common_period_s();
}

layout::Failure failure(const std::string& pump, double at_s, double for_s = layout::kNotSaid) {
    layout::Failure made;
    made.pump_id = pump;
    made.at_s = at_s;
    made.for_s = for_s;
    return made;
}

}  // namespace

TEST_CASE("a timer opens at its moments; that it is shut before the first is no event") {
    layout::Routine routine;
    routine.timers = {test::timer("V1", 600.0, 120.0, 50.0)};
    CHECK(diary(routine, 1300.0) ==
          Diary{"50 valve-opens V1", "170 valve-closes V1", "650 valve-opens V1", "770 valve-closes V1", "1250 valve-opens V1"});
}

TEST_CASE("a timer that is always on never moves its valve") {
    layout::Routine routine;
    routine.timers = {test::timer("V1", 600.0, 600.0)};
    const Diary told = diary(routine, 3000.0);
    CHECK(std::count_if(told.begin(), told.end(), [](const std::string& line) { return line.find("closes") != std::string::npos; }) == 0);
}

TEST_CASE("a rotation opens one valve after another, one at a time") {
    layout::Routine routine;
    layout::Rotation rotation;
    rotation.valve_ids = {"V2", "V3", "V1"};
    rotation.each_s = 100.0;
    routine.rotations = {rotation};
    Layout layout = still();
    const auto course = test::follow(layout, 650.0, routine);
    CHECK(times_of(course, Happening::valve_opens, "V3") == std::vector<double>{100.0, 400.0});
    CHECK(times_of(course, Happening::valve_closes, "V3").back() == 500.0);
    CHECK(times_of(course, Happening::valve_opens, "V1") == std::vector<double>{200.0, 500.0});
    CHECK(times_of(course, Happening::valve_closes, "V1").back() == 600.0);
    CHECK(times_of(course, Happening::valve_closes, "V2") == std::vector<double>{100.0, 400.0});
}

TEST_CASE("a power cut leaves the clock alone: the pump is back when its timer still wants it, and not when it does not") {
    layout::Routine routine;
    routine.timers = {test::timer("Q", 1000.0, 500.0)};
    routine.power_cuts = {test::power_cut(300.0, 400.0), test::power_cut(1100.0, 100.0)};
    Layout layout = still();
    const auto course = test::follow(layout, 2000.0, routine);
    CHECK(times_of(course, Happening::power_fails, "") == std::vector<double>{300.0, 1100.0});
    CHECK(times_of(course, Happening::power_returns, "") == std::vector<double>{700.0, 1200.0});
    // 0 to 300, and 1000 to 1500 less 100 s
    CHECK(course.pumps[0].run_s == ebb::test::near(300.0 + 400.0).epsilon(1e-9));
}

TEST_CASE("a pump that gave out stays so until it is mended, whatever the timer says; without an end for good") {
    layout::Routine routine;
    routine.timers = {test::timer("Q", 1000.0, 500.0)};
    routine.failures = {failure("Q", 200.0, 1000.0)};
    Layout layout = still();
    auto course = test::follow(layout, 2000.0, routine);
    CHECK(times_of(course, Happening::pump_stops, "Q") == std::vector<double>{200.0, 1500.0});
    CHECK(times_of(course, Happening::pump_restarts, "Q").back() == 1200.0);
    CHECK(course.pumps[0].run_s == ebb::test::near(200.0 + 300.0).epsilon(1e-9));
    routine.failures = {failure("Q", 200.0)};
    course = test::follow(layout, 2000.0, routine);
    CHECK(course.pumps[0].run_s == ebb::test::near(200.0).epsilon(1e-9));
    CHECK(times_of(course, Happening::pump_stops, "Q") == std::vector<double>{200.0});
}

TEST_CASE("changed and changed back") {
    layout::Routine routine;
    routine.changes = {test::change(500.0, Act::open, "V1"), test::change(200.0, Act::close, "V1"), test::change(300.0, Act::throttle, "V2", 0.5),
                       test::change(400.0, Act::stop, "Q"), test::change(600.0, Act::run, "Q", 0.8)};
    CHECK(diary(routine, 1000.0) ==
          Diary{"200 valve-closes V1", "300 setting-changes V2", "400 pump-stops Q", "500 valve-opens V1", "600 pump-restarts Q"});
}

TEST_CASE("a draw that repeats begins and ends each time, and takes what it should") {
    layout::Routine routine;
    routine.draws = {test::draw("A", "B", 0.02, 100.0, 50.0, 400.0)};
    Layout layout = still();
    const auto course = test::follow(layout, 1250.0, routine);
    CHECK(times_of(course, Happening::draw_begins, "A") == std::vector<double>{100.0, 500.0, 900.0});
    CHECK(times_of(course, Happening::draw_ends, "A") == std::vector<double>{150.0, 550.0, 950.0});
    CHECK(course.draws[0].taken_m3 == ebb::test::near(0.06).epsilon(1e-9));
    CHECK(course.draws[0].missing_m3 == doctest::Approx(0.0));
}

TEST_CASE("a level-switch that starts below its threshold acts at once; in its dead band it is at ease; exactly at its threshold it acts when left") {
    constexpr double kArea = 4.0, kTaken = 1e-4;
    const auto stops = [&](double start_m) {
        Layout layout = still();
        layout.vessels[0].start_depth_m = layout.vessels[1].start_depth_m = start_m;
        for (auto& pipe : layout.pipes) pipe.to.height_m = 1.9;  // nothing levels out
        layout::Routine routine;
        routine.level_switches = {test::level_switch("A", "Q", 0.8, 1.2)};
        routine.draws = {test::draw("A", "", kTaken * 40000.0, 0.0, 40000.0)};
        layout.pipes.erase(layout.pipes.begin(), layout.pipes.begin() + 3);
        layout.valves.clear();
        const auto course = test::follow(layout, 20000.0, routine);
        return times_of(course, Happening::pump_stops, "Q");
    };
    const auto below = stops(0.7);
    REQUIRE(below.size() == 1);
    CHECK(below[0] == 0.0);
    const auto at_it = stops(0.8);
    REQUIRE(at_it.size() == 1);
    CHECK(at_it[0] < 0.1);
    const auto in_band = stops(1.0);
    REQUIRE(in_band.size() == 1);
    // the draw and the pump take it down; the pump gives between nothing and 1e-5 m3/s
    CHECK(in_band[0] <= kArea * 0.2 / kTaken + 0.01);
    CHECK(in_band[0] >= kArea * 0.2 / (kTaken + 1e-5) - 0.01);
}

TEST_CASE("what opens at the beginning is told as an event, what was open before is not") {
    layout::Routine routine;
    routine.timers = {test::timer("V1", 600.0, 120.0)};
    const Diary told = diary(routine, 100.0);
    CHECK(told == Diary{"0 valve-opens V1"});
}

TEST_CASE("the common period of clocks") {
    layout::Routine routine;
    CHECK(std::isinf(common_period_s(routine)));
    routine.timers = {test::timer("V1", 1200.0, 100.0), test::timer("V2", 1800.0, 100.0)};
    CHECK(common_period_s(routine) == ebb::test::near(3600.0));
    layout::Rotation rotation;
    rotation.valve_ids = {"V3"};
    rotation.each_s = 700.0;
    routine.rotations = {rotation};
    CHECK(common_period_s(routine) == ebb::test::near(25200.0));
    routine.draws = {test::draw("A", "B", 0.02, 100.0, 50.0, 86400.0)};
    CHECK(common_period_s(routine) == ebb::test::near(7.0 * 86400.0));
    // a rotation has come round when each of its valves has had its turn
    routine = {};
    rotation.valve_ids = {"V1", "V2", "V3"};
    routine.rotations = {rotation};
    CHECK(common_period_s(routine) == ebb::test::near(2100.0));
    // 999.983 s and 1 234.577 s have 1 234 556 012.4 s in common, 39 years
    routine = {};
    routine.timers = {test::timer("V1", 999.983, 100.0), test::timer("V2", 1234.577, 100.0)};
    CHECK(std::isnan(common_period_s(routine)));
    // nor do nine years and a day less a millisecond, whose product no integer holds
    routine.timers = {test::timer("V1", 283824000.001, 100.0), test::timer("V2", 86399.999, 100.0)};
    CHECK(std::isnan(common_period_s(routine)));
}
