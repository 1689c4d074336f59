// Events are where they must be, to 10 ms: in vessels that fill and fall evenly their moments are known on paper. And the answer does not depend on
// how it was asked for: on the interval of the series, on the order of the elements, on the tolerances.

#include <map>
#include <set>

#include "tests/time/busy_farm.h"

namespace {

using namespace ebb;
using doctest::Approx;
using layout::Layout;
using layout::VesselKind;
using test::first_of;
using test::times_of;
using time::Happening;

constexpr double kEvent_s = 0.01;

/// A vessel on its own with a valve on a pipe that leads from nowhere to nowhere: something for a switch to move.
Layout with_idle_valve(double area_m2, double start_m) {
    Layout layout;
    layout.vessels = {test::prism("T", 0.0, 1.0, area_m2, start_m, VesselKind::sump), test::prism("X", 5.0, 1.0, 1.0, 0.5),
                      test::prism("Y", 5.0, 1.0, 1.0, 0.5)};
    layout.pipes = {test::pipe("IDLE", "X", "Y", 1.0, 0.05)};
    test::add_valve(layout, "IDLE", "V");
    return layout;
}

time::Plan with_hose(time::Plan plan, double rate_m3_s) {
    time::Hose hose;
    hose.vessel = 0;
    hose.rate_m3_s = rate_m3_s;
    plan.hoses = {hose};
    return plan;
}

void near(const std::vector<double>& times, const std::vector<double>& exact) {
    REQUIRE(times.size() == exact.size());
    for (std::size_t i = 0; i < times.size(); ++i) CHECK(std::abs(times[i] - exact[i]) < kEvent_s);
}

}  // namespace

TEST_CASE("lip, inlet, rim and least depth in a vessel that fills and falls evenly") {
    constexpr double kArea = 0.7, kRate = 1e-4, kDrawn = 3e-4;
    Layout layout;
    layout.vessels = {test::prism("T", 0.0, 0.9, kArea, 0.05, VesselKind::sump), test::prism("DRY", 2.0, 0.5, 1.0, 0.0)};
    layout.vessels[0].least_depth_m = 0.1;
    layout.pipes = {test::pipe("IN", "DRY", "T", 1.0, 0.02)};
    layout.pipes[0].to.height_m = 0.4;
    test::add_valve(layout, "IN", "V", physics::ValveKind::check);
    layout::Routine routine;
    constexpr double kTurns_s = 8000.0;
    routine.draws = {test::draw("T", "", kDrawn * 4000.0, kTurns_s, 4000.0)};
    const time::Plan plan = with_hose(test::plan_for(layout, routine, 11500.0), kRate);
    const auto course = time::Simulation(layout).run(plan);
    const double fills = kRate / kArea, falls = (kDrawn - kRate) / kArea, full_s = 0.85 / fills;
    // a mark that only tells waits a tenth of a millimetre beyond on the way up, so that a level at rest there is not told of for ever
    CHECK(std::abs(first_of(course, Happening::inlet_submerged, "IN") - 0.35 / fills) < 1.1e-4 / fills);
    near(times_of(course, Happening::reaches_rim, "T"), {full_s});
    CHECK(course.vessels[0].spilled_m3 == Approx(kRate * (kTurns_s - full_s)).epsilon(1e-4));
    near(times_of(course, Happening::inlet_free, "IN"), {kTurns_s + 0.5 / falls});
    near(times_of(course, Happening::below_least_depth, "T"), {kTurns_s + 0.8 / falls});
    CHECK(times_of(course, Happening::draw_begins, "T") == std::vector<double>{kTurns_s});
}

TEST_CASE("a level-switch goes over at its thresholds, whichever way it acts") {
    constexpr double kArea = 0.4, kRate = 1.5e-4, kDrawn = 4e-4, kBelow = 0.25, kAbove = 0.6;
    const double fills = kRate / kArea, falls = (kDrawn - kRate) / kArea;
    for (const bool stops_below : {true, false}) {
        Layout layout = with_idle_valve(kArea, 0.4);
        layout::Routine routine;
        routine.level_switches = {test::level_switch("T", "V", kBelow, kAbove, stops_below)};
        constexpr double kFirst_s = 1000.0, kSecond_s = 1500.0;  // drawn 1000 s long, twice
        routine.draws = {test::draw("T", "", kDrawn * 1000.0, kFirst_s, 1000.0, 2500.0)};
        const time::Plan plan = with_hose(test::plan_for(layout, routine, 2.0 * 2500.0), kRate);
        const auto course = time::Simulation(layout).run(plan);
        // up to 0.6 on the way to the first draw, down 0.625 m in it, and again
        const double up = 0.2 / fills, top = 0.4 + fills * kFirst_s, down = kFirst_s + (top - kBelow) / falls;
        const double bottom = top - falls * 1000.0, up_again = kFirst_s + 1000.0 + (kAbove - bottom) / fills;
        REQUIRE(up < kFirst_s);
        REQUIRE(bottom < kBelow);
        const double second_top = bottom + fills * kSecond_s, down_again = 2.0 * kFirst_s + kSecond_s + (second_top - kBelow) / falls;
        REQUIRE(second_top > kAbove);
        const bool again = second_top - falls * 1000.0 < kBelow;
        std::vector<double> highs{up, up_again}, lows{down};
        if (again) lows.push_back(down_again);
        if (stops_below) {
            near(times_of(course, Happening::valve_closes, "V"), lows);
            near(times_of(course, Happening::valve_opens, "V"), {up_again});
        } else {
            near(times_of(course, Happening::valve_closes, "V"), highs);
            near(times_of(course, Happening::valve_opens, "V"), lows);
        }
    }
}

TEST_CASE("what the clock does is done at its own moment to the last bit") {
    Layout layout = with_idle_valve(1.0, 0.5);
    layout::Routine routine;
    routine.timers = {test::timer("V", 1800.0, 420.0, 600.0)};
    const auto course = test::follow(layout, 4.0 * 3600.0, routine);
    std::vector<double> opens, closes;
    for (double t = 600.0; t < 4.0 * 3600.0; t += 1800.0) {
        opens.push_back(t);
        closes.push_back(t + 420.0);
    }
    CHECK(times_of(course, Happening::valve_opens, "V") == opens);
    CHECK(times_of(course, Happening::valve_closes, "V") == closes);
}

TEST_CASE("the answer is the same to the last bit whatever the interval of the series") {
    Layout layout = test::busy_farm();
    const time::Plan plan = test::plan_for(layout, test::busy_day(), 12.0 * 3600.0);
    const auto plain = time::Simulation(layout).run(plan);
    for (const double every_s : {time::kUnknown, 1.0, 60.0, 977.0}) {
        time::Options options;
        options.keep_series = true;
        options.series_every_s = every_s;
        const auto with = time::Simulation(layout, options).run(plan);
        CAPTURE(every_s);
        CHECK(with.series.t_s.size() > 40);
        REQUIRE(with.events.size() == plain.events.size());
        bool same = true;
        for (std::size_t i = 0; i < plain.events.size(); ++i)
            same = same && with.events[i].t_s == plain.events[i].t_s && with.events[i].about_id == plain.events[i].about_id;
        CHECK(same);
        for (std::size_t v = 0; v < plain.vessels.size(); ++v) {
            CHECK(with.vessels[v].end_volume_m3 == plain.vessels[v].end_volume_m3);
            CHECK(with.vessels[v].least_depth_m == plain.vessels[v].least_depth_m);
            CHECK(with.vessels[v].spilled_m3 == plain.vessels[v].spilled_m3);
        }
        CHECK(with.beds[0].fill_s == plain.beds[0].fill_s);
        CHECK(with.beds[2].period_s == plain.beds[2].period_s);
        CHECK(with.counts.steps == plain.counts.steps);
    }
}

TEST_CASE("the rows of a series are even in time and agree with what is known on paper") {
    constexpr double kArea = 0.7, kRate = 1e-4;
    Layout layout;
    layout.vessels = {test::prism("T", 0.0, 0.9, kArea, 0.05)};
    time::Options options;
    options.keep_series = true;
    options.series_every_s = 60.0;
    const time::Plan plan = with_hose(test::plan_for(layout, {}, 3600.0), kRate);
    const auto course = time::Simulation(layout, options).run(plan);
    REQUIRE(course.series.t_s.size() == 61);
    REQUIRE(course.series.depth_m.size() == 61);
    for (std::size_t row = 0; row < 61; ++row) {
        CHECK(course.series.t_s[row] == 60.0 * static_cast<double>(row));
        CHECK(course.series.depth_m[row] == Approx(0.05 + kRate / kArea * course.series.t_s[row]).epsilon(1e-7));
    }
}

TEST_CASE("the same Simulation gives the same course again") {
    Layout layout = test::busy_farm();
    const time::Plan plan = test::plan_for(layout, test::busy_day(), 6.0 * 3600.0);
    time::Simulation simulation(layout);
    const auto first = simulation.run(plan), second = simulation.run(plan);
    REQUIRE(first.events.size() == second.events.size());
    for (std::size_t i = 0; i < first.events.size(); ++i) CHECK(first.events[i].t_s == second.events[i].t_s);
}

TEST_CASE("the order of the elements does not move an event") {
    constexpr double kLasts_s = 4.0 * 3600.0;
    Layout layout = test::busy_farm(), turned = test::busy_farm();
    std::reverse(turned.vessels.begin(), turned.vessels.end());
    std::rotate(turned.pumps.begin(), turned.pumps.begin() + 1, turned.pumps.end());
    std::reverse(turned.standpipes.begin(), turned.standpipes.end());
    // pipes carry their valves by index: both lists are turned, and the indices with them
    std::reverse(turned.pipes.begin(), turned.pipes.end());
    std::reverse(turned.valves.begin(), turned.valves.end());
    for (auto& valve : turned.valves) valve.pipe = static_cast<std::int32_t>(turned.pipes.size()) - 1 - valve.pipe;
    for (auto& pipe : turned.pipes)
        for (auto& valve : pipe.valves) valve = static_cast<std::int32_t>(turned.valves.size()) - 1 - valve;
    layout::Routine day = test::busy_day(), turned_day = test::busy_day();
    std::reverse(turned_day.timers.begin(), turned_day.timers.end());
    std::reverse(turned_day.uptakes.begin(), turned_day.uptakes.end());
    const auto one = test::follow(layout, kLasts_s, day), other = test::follow(turned, kLasts_s, turned_day);
    REQUIRE(one.ending == time::Ending::time_over);
    std::set<std::pair<Happening, std::string>> things;
    for (const auto& event : one.events) things.emplace(event.what, event.about_id);
    double worst = 0.0;
    for (const auto& [what, id] : things) {
        const auto mine = times_of(one, what, id), theirs = times_of(other, what, id);
        REQUIRE(mine.size() == theirs.size());
        for (std::size_t i = 0; i < mine.size(); ++i) worst = std::max(worst, std::abs(mine[i] - theirs[i]));
    }
    CHECK(worst < kEvent_s);
    CHECK(one.events.size() > 40);
    CHECK(one.events.size() == other.events.size());
    std::printf("another order of elements: %zu events, the one that moves most by %.1e s\n", one.events.size(), worst);
    std::fflush(stdout);
}

namespace {

/// Every time that is reported, by what it is.
std::vector<std::pair<std::string, double>> reported(const Layout& layout, const time::Course& course) {
    std::vector<std::pair<std::string, double>> figures;
    for (const auto& bed : course.beds) {
        const std::string& id = layout.vessels[static_cast<std::size_t>(bed.vessel)].id;
        figures.emplace_back(id + " fill", bed.fill_s);
        figures.emplace_back(id + " hold", bed.hold_s);
        figures.emplace_back(id + " drain", bed.drain_s);
        figures.emplace_back(id + " period", bed.period_s);
    }
    // of events: the time between one and the next of its kind; the first from the beginning
    std::map<std::string, double> last;
    for (const auto& event : course.events) {
        const std::string name = std::string(time::name_of(event.what)) + " " + event.about_id;
        figures.emplace_back(name, event.t_s - last[name]);
        last[name] = event.t_s;
    }
    return figures;
}

/// Halving both tolerances moves no reported time by more than 0.1 %, nor by more than 10 ms where that is more.
void hold_when_halved(Layout& layout, const layout::Routine& routine, double lasts_s, double tolerance) {
    constexpr double kPromised = 1e-3;
    time::Options options;
    options.level_tolerance_m = options.relative_tolerance = tolerance;
    const auto coarse = test::follow(layout, lasts_s, routine, options);
    options.level_tolerance_m = options.relative_tolerance = tolerance / 2.0;
    const auto fine = test::follow(layout, lasts_s, routine, options);
    const auto one = reported(layout, coarse), other = reported(layout, fine);
    REQUIRE(one.size() == other.size());
    double worst = 0.0;
    std::string which;
    for (std::size_t i = 0; i < one.size(); ++i) {
        CAPTURE(one[i].first);
        REQUIRE(one[i].first == other[i].first);
        if (std::isnan(one[i].second)) {
            CHECK(std::isnan(other[i].second));
            continue;
        }
        const double moved = std::abs(one[i].second - other[i].second);
        CHECK(moved <= std::max(kPromised * std::abs(other[i].second), kEvent_s));
        if (other[i].second > 10.0 && moved / other[i].second > worst) {
            worst = moved / other[i].second;
            which = other[i].first;
        }
    }
    std::printf("halving a tolerance of %.0e: %zu times, the one that moves most by %.1e of itself (%s)\n", tolerance, one.size(), worst,
                which.c_str());
    std::fflush(stdout);
}

}  // namespace

TEST_CASE("halving the tolerances moves no reported time by more than 0.1 %") {
    const double tolerance = time::Options{}.level_tolerance_m;
    Layout busy = test::busy_farm();
    hold_when_halved(busy, test::busy_day(), 12.0 * 3600.0, tolerance);
    layout::Routine cut = test::busy_day();
    cut.power_cuts = {test::power_cut(6000.0, 5000.0)};
    Layout with_cut = test::busy_farm();
    hold_when_halved(with_cut, cut, 12.0 * 3600.0, tolerance);
}
