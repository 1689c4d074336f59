// The layout as a C++ user makes it: volumes, settings, and what validate() says. Volumes are elementary geometry.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "solver/layout/layout.h"
#include "solver/layout/nearest.h"
#include "solver/layout/validate.h"

using namespace ebb::layout;

namespace {

Vessel tank(std::string id, double floor_m) {
    Vessel vessel;
    vessel.id = std::move(id);
    vessel.floor_m = floor_m;
    vessel.rim_m = floor_m + 1.0;
    vessel.start_depth_m = 0.5;
    vessel.plan_area_m2 = 2.0;
    vessel.volume = prism_volume(2.0, 1.0);
    return vessel;
}

Pipe pipe(std::string id, std::string from, std::string to) {
    Pipe made;
    made.id = std::move(id);
    made.from.id = std::move(from);
    made.to.id = std::move(to);
    made.to.height_m = 0.8;
    made.length_m = 3.0;
    made.bore_m = 0.03;
    made.roughness_m = 1.5e-6;
    return made;
}

Layout two_tanks() {
    Layout layout;
    layout.vessels = {tank("HIGH", 1.0), tank("LOW", 0.0)};
    layout.pipes = {pipe("P", "HIGH", "LOW")};
    Valve valve;
    valve.id = "V";
    valve.loss = 0.1;
    layout.valves = {valve};
    layout.pipes[0].valves = {0};
    return layout;
}

Arrangement arrangement(std::string name, std::string based_on, std::vector<Setting> settings) {
    Arrangement made;
    made.name = std::move(name);
    made.based_on = std::move(based_on);
    made.settings = std::move(settings);
    return made;
}

Setting setting(Act act, std::string about, double value = kNotSaid) {
    Setting made;
    made.act = act;
    made.about_id = std::move(about);
    made.value = value;
    return made;
}

bool has(const std::vector<Problem>& problems, std::string_view code) { return std::ranges::find(problems, code, &Problem::code) != problems.end(); }

}  // namespace

TEST_CASE("volume and depth are inverse, straight between points and beyond the rim") {
    Vessel vessel;
    vessel.volume = {{0.0, 0.0}, {0.3, 0.2}, {0.5, 0.25}, {1.1, 0.53}};
    CHECK(volume_at_depth(vessel, 0.0) == 0.0);
    CHECK(volume_at_depth(vessel, 0.15) == doctest::Approx(0.1));
    CHECK(volume_at_depth(vessel, 0.3) == doctest::Approx(0.2));
    CHECK(volume_at_depth(vessel, 0.4) == doctest::Approx(0.225));
    CHECK(volume_at_depth(vessel, 1.1) == doctest::Approx(0.53));
    CHECK(volume_at_depth(vessel, 1.4) == doctest::Approx(0.53 + 0.3 * 0.28 / 0.6));
    for (double depth = 0.0; depth < 1.5; depth += 0.01) {
        CHECK(depth_at_volume(vessel, volume_at_depth(vessel, depth)) == doctest::Approx(depth).epsilon(1e-12));
    }
}

TEST_CASE("media hold their pores, open water above them all of its volume") {
    Vessel bed;
    bed.volume = prism_volume(2.88, 0.35, 0.30, 0.42);
    CHECK(volume_at_depth(bed, 0.30) == doctest::Approx(2.88 * 0.42 * 0.30));
    CHECK(volume_at_depth(bed, 0.35) == doctest::Approx(2.88 * (0.42 * 0.30 + 0.05)));
    bed.volume = prism_volume(2.88, 0.35, kNotSaid, 0.42);  // media to the rim
    CHECK(volume_at_depth(bed, 0.35) == doctest::Approx(2.88 * 0.42 * 0.35));
    bed.volume = prism_volume(2.0, 1.0);
    CHECK(volume_at_depth(bed, 0.5) == doctest::Approx(1.0));
}

TEST_CASE("a layout made by hand is resolved and gets an arrangement") {
    Layout layout = two_tanks();
    CHECK(validate(layout).empty());
    REQUIRE(layout.arrangements.size() == 1);
    CHECK(layout.arrangements[0].name == "as drawn");
    CHECK(layout.pipes[0].from.ref == Ref{Kind::vessel, 0});
    CHECK(layout.pipes[0].to.ref == Ref{Kind::vessel, 1});
    CHECK(layout.valves[0].pipe == 0);
    CHECK(validate(layout).empty());  // once more changes nothing
    CHECK(layout.arrangements.size() == 1);
}

TEST_CASE("what a layout made by hand may lack is said, all at once") {
    Layout layout = two_tanks();
    layout.vessels[0].volume.clear();
    layout.pipes[0].bore_m = kNotSaid;
    layout.pipes[0].to.id = "LWO";
    layout.pipes[0].roughness_m = kNotSaid;
    const std::vector<Problem> problems = validate(layout);
    CHECK(has(problems, "volume-table"));
    CHECK(has(problems, "missing"));
    REQUIRE(has(problems, "dangling"));
    CHECK(std::ranges::find(problems, "dangling", &Problem::code)->advice == "did you mean \"LOW\"?");
    CHECK(problems.size() == 4);
    Layout empty;
    CHECK(has(validate(empty), "nothing-there"));
}

TEST_CASE("the nearest line of a chain of arrangements wins") {
    Layout layout = two_tanks();
    layout.arrangements = {
        arrangement("c", "b", {setting(Act::throttle, "V", 0.7)}),
        arrangement("b", "a", {}),
        arrangement("a", "", {setting(Act::close, "V")}),
        arrangement("free", "", {}),
    };
    REQUIRE(validate(layout).empty());
    CHECK(conditions_of(layout, 0).valve_opening[0] == 0.7);
    CHECK(conditions_of(layout, 1).valve_opening[0] == 0.0);
    CHECK(conditions_of(layout, 2).valve_opening[0] == 0.0);
    CHECK(conditions_of(layout, 3).valve_opening[0] == 1.0);
}

TEST_CASE("circles of any length are found once, and do not hang") {
    Layout layout = two_tanks();
    layout.arrangements = {arrangement("a", "b", {}), arrangement("b", "c", {}), arrangement("c", "a", {}), arrangement("d", "a", {})};
    const std::vector<Problem> problems = validate(layout);
    CHECK(problems.size() == 1);
    CHECK(has(problems, "based-on-circle"));
    layout = two_tanks();
    layout.arrangements = {arrangement("a", "a", {})};
    CHECK(has(validate(layout), "based-on-circle"));
}

TEST_CASE("contradictions are errors, repetitions are not") {
    Layout layout = two_tanks();
    layout.arrangements = {arrangement("a", "", {setting(Act::open, "V"), setting(Act::close, "V")})};
    CHECK(has(validate(layout), "contradiction"));
    layout.arrangements = {arrangement("a", "", {setting(Act::close, "V"), setting(Act::close, "V")})};
    CHECK(validate(layout).empty());
    layout.arrangements = {arrangement("a", "", {setting(Act::throttle, "V", 0.4), setting(Act::throttle, "V", 0.5)})};
    CHECK(has(validate(layout), "contradiction"));
}

TEST_CASE("edit distance of words") {
    // by hand: optimal string alignment
    CHECK(edit_distance("tank", "tank", 3) == 0);
    CHECK(edit_distance("tonk", "tank", 3) == 1);
    CHECK(edit_distance("tnak", "tank", 3) == 1);
    CHECK(edit_distance("tan", "tank", 3) == 1);
    CHECK(edit_distance("kitten", "sitting", 5) == 3);
    CHECK(edit_distance("abcdef", "uvwxyz", 3) == 4);  // limit + 1
    const std::vector<std::string_view> words = {"tank", "tee", "tier"};
    CHECK(nearest_word("TANK", words) == "tank");
    CHECK(nearest_word("zzzzzz", words).empty());
    CHECK(nearest_word("", words).empty());
}
